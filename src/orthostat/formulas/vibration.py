"""Vibration: one mode's response, damping from energies, tooth passing."""

from __future__ import annotations

from math import pi

from orthostat.base.dimensions import (
    Hertz,
    Joule,
    Kilogram,
    MetrePerNewton,
    NewtonPerMetre,
    RadianPerSecond,
    Ratio,
)


def natural_frequency(stiffness: NewtonPerMetre, mass: Kilogram) -> Hertz:
    """Natural frequency of a mass on a spring: f = √(k/m)/(2π).

    Reference: rao-2011, section 2.2. Valid for light damping.

    >>> round(natural_frequency(NewtonPerMetre(1e8), Kilogram(100.0)), 2)
    159.15
    """
    return Hertz((stiffness / mass) ** 0.5 / (2 * pi))


def tooth_passing_frequency(speed: RadianPerSecond, teeth: int) -> Hertz:
    """How often a tooth enters: f = z·Ω/(2π).

    Reference: altintas-2012, section 2.5. Valid for evenly spaced teeth.

    >>> round(tooth_passing_frequency(RadianPerSecond(2 * pi * 25), 6), 6)
    150.0
    """
    return Hertz(speed * teeth / (2 * pi))


def least_real_receptance(stiffness: NewtonPerMetre, damping: Ratio) -> MetrePerNewton:
    """Lowest real part of one mode's receptance: G_min = -1/(4kζ(1 + ζ)).

    Reference: altintas-2012, section 4.3 (from Tlusty). Valid for one viscously damped mode, 0 < ζ < 1.
    Raises `ValueError` outside.

    >>> round(least_real_receptance(NewtonPerMetre(1e8), Ratio(0.02)) * 1e9, 3)
    -122.549
    """
    if not 0 < damping < 1:
        raise ValueError("damping ratio must lie between 0 and 1")
    return MetrePerNewton(-1 / (4 * stiffness * damping * (1 + damping)))


def damping_ratio(loss_factor: Ratio) -> Ratio:
    """Viscous damping ratio with the same loss at resonance: ζ = η/2.

    Reference: rao-2011, section 2.10 (hysteretic damping). Valid for light damping.

    >>> damping_ratio(Ratio(0.02))
    0.01
    """
    return Ratio(loss_factor / 2)


def modal_loss_factor(energies: tuple[Joule, ...], loss_factors: tuple[Ratio, ...]) -> Ratio:
    """Loss factor of a mode from its strain energies: η = Σ ηi·Ui/ΣU.

    Reference: ungar-kerwin-1962, eq. 6; johnson-kienholz-1982. Valid for light damping that leaves the mode's
    shape as it is. Raises `ValueError` where the lists differ in length.

    >>> round(modal_loss_factor((Joule(3.0), Joule(1.0)), (Ratio(0.002), Ratio(0.02))), 4)
    0.0065
    """
    if len(energies) != len(loss_factors) or not energies:
        raise ValueError("as many energies as loss factors")
    lost: float = energies[0] * loss_factors[0]
    total: float = energies[0]
    for energy, loss in zip(energies[1:], loss_factors[1:], strict=True):
        lost = lost + energy * loss
        total = total + energy
    return Ratio(lost / total)
