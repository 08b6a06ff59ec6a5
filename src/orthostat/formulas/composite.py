"""Bodies of several materials: shear flow in the seams, unequal expansion, growth and lean."""

from __future__ import annotations

from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    Newton,
    NewtonMetre,
    NewtonPerMetre,
    NewtonSquareMetre,
    Pascal,
    PerKelvin,
    PerMetre,
)


def seam_shear_flow(
    shear: Newton, *, first_moment: NewtonMetre, bending: NewtonSquareMetre
) -> NewtonPerMetre:
    """Shear per length that a seam of a bent composite bar must carry: q = V·(ES)/(EI).

    `first_moment` ES = ∫E·y dA of what lies beyond the seam, `bending` EI of the whole transformed section.
    Reference: gere-2012, section 6.10 with 6.3 (transformed section). Valid for bonded slender bars.

    >>> first, bending = NewtonMetre(7.2e6), NewtonSquareMetre(1.8e7)
    >>> round(seam_shear_flow(Newton(1000.0), first_moment=first, bending=bending), 1)
    400.0
    """
    return NewtonPerMetre(shear * first_moment / bending)


def end_shear_of_unequal_expansion(
    temperature: KelvinDifference,
    *,
    plate_expansion: PerKelvin,
    fill_expansion: PerKelvin,
    plate_axial: Newton,
    fill_axial: Newton,
) -> Newton:
    """Force that a seam passes at each end when plates and fill grow unequally.

    F = Δα·ΔT/(1/EA₁ + 1/EA₂).     `plate_axial` and `fill_axial` are E·A of the two. Reference:
    timoshenko-1925 (forces of two bars held to
    equal length, without bending, as for plates all round a core). Valid away from the ends, where the
    whole force has passed.

    >>> force = end_shear_of_unequal_expansion(
    ...     KelvinDifference(10.0), plate_expansion=PerKelvin(23e-6), fill_expansion=PerKelvin(15e-6),
    ...     plate_axial=Newton(1.9e9), fill_axial=Newton(1.4e9))
    >>> round(force)
    64485
    """
    difference = (plate_expansion - fill_expansion) * temperature
    return Newton(difference / (1 / plate_axial + 1 / fill_axial))


def bimetal_curvature(
    temperature: KelvinDifference,
    *,
    first_thickness: Metre,
    second_thickness: Metre,
    first_modulus: Pascal,
    second_modulus: Pascal,
    first_expansion: PerKelvin,
    second_expansion: PerKelvin,
) -> PerMetre:
    """Curvature of a strip of two bonded layers when warmed; positive when the second side is the longer.

    κ = 6(α₂ - α₁)ΔT(1 + m)²/(h(3(1 + m)² + (1 + mn)(m² + 1/(mn)))), m = t₁/t₂, n = E₁/E₂, h = t₁ + t₂.
    Reference: timoshenko-1925, eq. 4. Valid for narrow, slender strips.

    >>> curvature = bimetal_curvature(
    ...     KelvinDifference(100.0), first_thickness=Metre(1e-3), second_thickness=Metre(1e-3),
    ...     first_modulus=Pascal(2e11), second_modulus=Pascal(2e11),
    ...     first_expansion=PerKelvin(1e-6), second_expansion=PerKelvin(20e-6))
    >>> round(curvature, 4)
    1.425
    """
    m = first_thickness / second_thickness
    n = first_modulus / second_modulus
    h = first_thickness + second_thickness
    stretch = (second_expansion - first_expansion) * temperature
    return PerMetre(
        6 * stretch * (1 + m) ** 2 / (h * (3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))))
    )


def gradient_lean(
    expansion: PerKelvin, temperature: KelvinDifference, *, height: Metre, width: Metre
) -> Metre:
    """How far the top of a uniform column leans when one side is warmer: δ = α·ΔT·H²/(2W).

    The temperature rises evenly across the width W by ΔT. Reference: boley-weiner-1960, section 10.2 (free
    bending of a beam by a linear temperature). Valid for a uniform free-standing body.

    >>> warmer = KelvinDifference(1.0)
    >>> round(gradient_lean(PerKelvin(12e-6), warmer, height=Metre(0.6), width=Metre(0.3)) * 1e6, 2)
    7.2
    """
    return Metre(expansion * temperature * height**2 / (2 * width))
