"""The SI unit of every unit type, as text: the one place that says what a `NewType` is in."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

SI_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "Metre": "m",
        "SquareMetre": "m^2",
        "CubicMetre": "m^3",
        "CubicMetrePerSecond": "m^3/s",
        "MetreToFourth": "m^4",
        "Radian": "rad",
        "Second": "s",
        "Hertz": "1/s",
        "MetrePerSecond": "m/s",
        "MetrePerSecondSquared": "m/s^2",
        "RadianPerSecond": "rad/s",
        "RadianPerSecondSquared": "rad/s^2",
        "Kilogram": "kg",
        "KilogramPerCubicMetre": "kg/m^3",
        "KilogramPerSecond": "kg/s",
        "KilogramSquareMetre": "kg*m^2",
        "Newton": "N",
        "NewtonMetre": "N*m",
        "NewtonSquareMetre": "N*m^2",
        "NewtonPerMetre": "N/m",
        "NewtonMetrePerRadian": "N*m/rad",
        "MetrePerNewton": "m/N",
        "Pascal": "Pa",
        "PascalPerMetre": "Pa/m",
        "PascalSecond": "Pa*s",
        "Watt": "W",
        "Joule": "J",
        "JoulePerKilogram": "J/kg",
        "JoulePerMole": "J/mol",
        "JoulePerKilogramKelvin": "J/(kg*K)",
        "WattPerMetreKelvin": "W/(m*K)",
        "WattPerSquareMetre": "W/m^2",
        "WattPerSquareMetreKelvin": "W/(m^2*K)",
        "Kelvin": "K",
        "KelvinDifference": "K",
        "PerMetre": "1/m",
        "PerKelvin": "1/K",
        "PerSecond": "1/s",
        "Ratio": "1",
    }
)
"""From the name of a type in `base.dimensions` to its SI unit; a test keeps the two in step."""
