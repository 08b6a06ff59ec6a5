"""Beams: shear coefficients, deflections and natural frequencies of straight uniform bars."""

from __future__ import annotations

from math import pi

from orthostat.base.dimensions import (
    Hertz,
    KilogramPerCubicMetre,
    Metre,
    MetrePerNewton,
    MetreToFourth,
    Pascal,
    Ratio,
    SquareMetre,
)


def rectangle_shear_coefficient(poissons_ratio: Ratio) -> Ratio:
    """Timoshenko's shear coefficient of a solid rectangle: K = 10(1 + ν)/(12 + 11ν).

    Reference: cowper-1966, table 1. Valid for any sides and -1 < ν ≤ 0.5.

    >>> round(rectangle_shear_coefficient(Ratio(0.3)), 4)
    0.8497
    """
    return Ratio(10 * (1 + poissons_ratio) / (12 + 11 * poissons_ratio))


def circle_shear_coefficient(poissons_ratio: Ratio) -> Ratio:
    """Timoshenko's shear coefficient of a solid circle: K = 6(1 + ν)/(7 + 6ν).

    Reference: cowper-1966, table 1. Valid for -1 < ν ≤ 0.5.

    >>> round(circle_shear_coefficient(Ratio(0.3)), 4)
    0.8864
    """
    return Ratio(6 * (1 + poissons_ratio) / (7 + 6 * poissons_ratio))


def thin_square_tube_shear_coefficient(poissons_ratio: Ratio) -> Ratio:
    """Timoshenko's shear coefficient of a thin-walled square tube: K = 20(1 + ν)/(48 + 39ν).

    Reference: cowper-1966, table 1. Valid for walls thin against the side and sections that keep their
    shape; a hollow column's section does not, see docs/methods/stiffness.md.

    >>> round(thin_square_tube_shear_coefficient(Ratio(0.3)), 4)
    0.4355
    """
    return Ratio(20 * (1 + poissons_ratio) / (48 + 39 * poissons_ratio))


def cantilever_compliance(*, length: Metre, modulus: Pascal, second_moment: MetreToFourth) -> MetrePerNewton:
    """End deflection of a slender cantilever per unit end load: L³/(3EI) (Euler and Bernoulli).

    Reference: roark-2012, table 8.1, case 1a. Valid for small deflections and length over some ten depths.

    >>> compliance = cantilever_compliance(
    ...     length=Metre(1.0), modulus=Pascal(206e9), second_moment=MetreToFourth(0.05**4 / 12))
    >>> round(compliance * 1e6, 3)
    3.107
    """
    return MetrePerNewton(length**3 / (3 * modulus * second_moment))


def shear_compliance(
    area: SquareMetre, coefficient: Ratio, *, length: Metre, shear_modulus: Pascal
) -> MetrePerNewton:
    """What shear adds to a cantilever's end deflection per unit end load: L/(K·G·A) (Timoshenko).

    Reference: timoshenko-1921, with K after cowper-1966. Valid for sections that keep their shape.

    >>> area, coefficient = SquareMetre(0.0025), Ratio(0.85)
    >>> found = shear_compliance(area, coefficient, length=Metre(1.0), shear_modulus=Pascal(79e9))
    >>> round(found * 1e9, 2)
    5.96
    """
    return MetrePerNewton(length / (coefficient * shear_modulus * area))


_CANTILEVER_ROOTS = (1.87510407, 4.69409113, 7.85475744, 10.99554073)


def cantilever_frequency(
    mode: int,
    density: KilogramPerCubicMetre,
    area: SquareMetre,
    *,
    length: Metre,
    modulus: Pascal,
    second_moment: MetreToFourth,
) -> Hertz:
    """Bending frequency of a slender clamped-free beam: f = λ²/(2πL²)·√(EI/(ρA)).

    λ = 1.8751, 4.6941, 7.8548, 10.9955. Reference: blevins-1979, table 8-1, case 3. Valid for modes 1 to 4
    and lengths over some ten depths. Raises `ValueError` for another mode.

    >>> f = cantilever_frequency(1, KilogramPerCubicMetre(7850.0), SquareMetre(0.0025), length=Metre(1.0),
    ...     modulus=Pascal(206e9), second_moment=MetreToFourth(0.05**4 / 12))
    >>> round(f, 2)
    41.38
    """
    if not 1 <= mode <= len(_CANTILEVER_ROOTS):
        raise ValueError("mode must be 1 to 4")
    root = _CANTILEVER_ROOTS[mode - 1]
    return Hertz(root**2 / (2 * pi * length**2) * (modulus * second_moment / (density * area)) ** 0.5)


def bar_frequency(mode: int, density: KilogramPerCubicMetre, modulus: Pascal, length: Metre) -> Hertz:
    """Lengthwise frequency of a clamped-free bar: f = (2i - 1)/(4L)·√(E/ρ).

    Reference: blevins-1979, table 8-16, case 2. Valid for bars long against their width. With G for E it is
    the twisting frequency of a round bar. Raises `ValueError` for a mode below one.

    >>> round(bar_frequency(1, KilogramPerCubicMetre(7850.0), Pascal(206e9), Metre(1.0)), 1)
    1280.7
    """
    if mode < 1:
        raise ValueError("modes are counted from 1")
    return Hertz((2 * mode - 1) / (4 * length) * (modulus / density) ** 0.5)


def twisting_frequency(
    mode: int,
    density: KilogramPerCubicMetre,
    shear_modulus: Pascal,
    length: Metre,
    *,
    torsion_constant: MetreToFourth,
    polar_moment: MetreToFourth,
) -> Hertz:
    """Twisting frequency of a clamped-free bar: f = (2i - 1)/(4L)·√(GJ/(ρ·Ip)).

    J is Saint-Venant's torsion constant, Ip the polar second moment. Reference: blevins-1979, table 8-19.
    Valid for bars long against their width (warping left free). Raises `ValueError` for a mode below one.

    >>> f = twisting_frequency(1, KilogramPerCubicMetre(7850.0), Pascal(79.23e9), Metre(1.0),
    ...     torsion_constant=MetreToFourth(0.1406), polar_moment=MetreToFourth(1 / 6))
    >>> round(f, 1)
    729.5
    """
    if mode < 1:
        raise ValueError("modes are counted from 1")
    share = torsion_constant / polar_moment
    return Hertz((2 * mode - 1) / (4 * length) * (shear_modulus * share / density) ** 0.5)
