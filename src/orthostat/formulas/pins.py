"""Locating pins: how far a part moves before they carry, and what they then carry."""

from __future__ import annotations

from math import pi

from orthostat.base.dimensions import Metre, Newton, Pascal, Radian


def centred_shift(play: Metre) -> Metre:
    """How far a pin that stands in the middle of its hole moves before it touches, s = c/2 of the play.

    30 µm of diametral play gives 15 µm.
    Source: geometry.
    """
    return Metre(0.5 * play)


def turn_between_pins(*, play_first: Metre, play_second: Metre, spacing: Metre) -> Radian:
    """Largest turn of a part on two pins from one wall to the other, both plays taken up.

    θ = (c1 + c2) / s: one end moves c1 one way while the other moves c2 the other way. 20 µm and
    20 µm over 200 mm give 0.2 mrad.
    Source: geometry.
    """
    return Radian((play_first + play_second) / spacing)


def shear_stress(force: Newton, diameter: Metre) -> Pascal:
    """Mean shear stress of a round pin in single shear, τ = 4 F / (π d²).

    10 kN on Ø10 mm gives 127 MPa. Source: shigley, section 8-12.
    """
    return Pascal(4.0 * force / (pi * diameter**2))


def single_shear_force(shear_strength: Pascal, diameter: Metre) -> Newton:
    """Force that shears a round pin in single shear, τ π d² / 4. 500 MPa on Ø10 mm gives 39.3 kN.

    Source: definition.
    """
    return Newton(shear_strength * pi * diameter**2 / 4.0)


def bearing_pressure(force: Newton, *, diameter: Metre, length: Metre) -> Pascal:
    """Mean pressure of a pin on the wall of its hole, p = F / (d l).

    10 kN on Ø10 × 20 mm gives 50 MPa. Source: shigley, section 8-12.
    """
    return Pascal(force / (diameter * length))
