"""Unit types: one `NewType` of float for each kind of quantity, all in SI.

They cost nothing at run time; they say in every signature what a number means.
"""

from typing import NewType

Metre = NewType("Metre", float)
SquareMetre = NewType("SquareMetre", float)
CubicMetre = NewType("CubicMetre", float)
MetreToFourth = NewType("MetreToFourth", float)
Radian = NewType("Radian", float)
Second = NewType("Second", float)
Hertz = NewType("Hertz", float)
MetrePerSecond = NewType("MetrePerSecond", float)
MetrePerSecondSquared = NewType("MetrePerSecondSquared", float)
RadianPerSecond = NewType("RadianPerSecond", float)
RadianPerSecondSquared = NewType("RadianPerSecondSquared", float)
Kilogram = NewType("Kilogram", float)
KilogramPerCubicMetre = NewType("KilogramPerCubicMetre", float)
KilogramPerSecond = NewType("KilogramPerSecond", float)
KilogramSquareMetre = NewType("KilogramSquareMetre", float)
Newton = NewType("Newton", float)
NewtonMetre = NewType("NewtonMetre", float)
NewtonPerMetre = NewType("NewtonPerMetre", float)
NewtonMetrePerRadian = NewType("NewtonMetrePerRadian", float)
MetrePerNewton = NewType("MetrePerNewton", float)
Pascal = NewType("Pascal", float)
PascalPerMetre = NewType("PascalPerMetre", float)
PascalSecond = NewType("PascalSecond", float)
Watt = NewType("Watt", float)
Joule = NewType("Joule", float)
JoulePerKilogram = NewType("JoulePerKilogram", float)
JoulePerMole = NewType("JoulePerMole", float)
JoulePerKilogramKelvin = NewType("JoulePerKilogramKelvin", float)
WattPerMetreKelvin = NewType("WattPerMetreKelvin", float)
WattPerSquareMetre = NewType("WattPerSquareMetre", float)
WattPerSquareMetreKelvin = NewType("WattPerSquareMetreKelvin", float)
Kelvin = NewType("Kelvin", float)
"""An absolute temperature."""
KelvinDifference = NewType("KelvinDifference", float)
PerKelvin = NewType("PerKelvin", float)
PerSecond = NewType("PerSecond", float)
Ratio = NewType("Ratio", float)
