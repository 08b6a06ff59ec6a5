"""Bolted joints: torque and preload, stress in tightening, resilience, and what is lost.

Symbols: P pitch, d nominal diameter, d2 pitch diameter, A_s tensile stress area, d_0 its diameter,
µ_G thread friction, µ_K friction under the head or nut, D_Km mean bearing diameter, δ_S resilience
of the stud and δ_P of what it clamps. 60° threads (ISO metric and Unified) throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, pi, sqrt

from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    MetrePerNewton,
    Newton,
    NewtonMetre,
    NewtonPerMetre,
    Pascal,
    PascalPerMetre,
    PerKelvin,
    Radian,
    Ratio,
    SquareMetre,
)
from orthostat.formulas.exempt import not_dimensional

FLANK = 2.0 / sqrt(3.0)
"""1 / cos 30°: how a 60° thread's flank multiplies friction (VDI 2230 writes 1.155)."""


@dataclass(frozen=True, slots=True)
class Advice:
    """The torque to use: the greatest preload aimed at that nothing forbids, and what sets it."""

    preload: Newton
    torque: NewtonMetre
    governed_by: str


def stress_area_diameter(stress_area: SquareMetre) -> Metre:
    """Diameter of the circle with the tensile stress area, d_0 = √(4 A_s/π). 84.3 mm² gives 10.36 mm.

    Source: geometry.
    """
    return Metre((4.0 * stress_area / pi) ** 0.5)


def mean_bearing_diameter(*, outside: Metre, inside: Metre) -> Metre:
    """Mean diameter of the friction under a head or nut, (outside + inside)/2.

    18 mm and 13.5 mm give 15.75 mm. Source: vdi-2230-1-2003, section 5.4.
    """
    return Metre(0.5 * (outside + inside))


def thread_torque(
    preload: Newton, thread_friction: Ratio, *, pitch: Metre, pitch_diameter: Metre
) -> NewtonMetre:
    """Torque in the shank while tightening, M_G = F (P/(2π) + 0.577 µ_G d2).

    43.1 kN, µ 0.12, P 1.75 mm, d2 10.863 mm gives 44.4 N·m. Source: vdi-2230-1-2003, section 5.4.
    """
    return NewtonMetre(preload * (pitch / (2.0 * pi) + 0.5 * FLANK * thread_friction * pitch_diameter))


def tightening_torque(
    preload: Newton,
    *,
    thread_friction: Ratio,
    head_friction: Ratio,
    pitch: Metre,
    pitch_diameter: Metre,
    bearing_diameter: Metre,
) -> NewtonMetre:
    """Torque that gives a preload, M = F (0.16 P + 0.577 d2 µ_G + D_Km/2 µ_K).

    43.1 kN at µ 0.12 on M12 with D_Km 15.6 mm gives 84.7 N·m. Source: vdi-2230-1-2003, section 5.4.
    """
    in_thread = thread_torque(preload, thread_friction, pitch=pitch, pitch_diameter=pitch_diameter)
    return NewtonMetre(in_thread + preload * 0.5 * bearing_diameter * head_friction)


def preload_from_torque(
    torque: NewtonMetre,
    *,
    thread_friction: Ratio,
    head_friction: Ratio,
    pitch: Metre,
    pitch_diameter: Metre,
    bearing_diameter: Metre,
) -> Newton:
    """Preload that a torque gives, the inverse of `tightening_torque`. Source: vdi-2230-1-2003, section 5.4.

    84.7 N·m at µ 0.12 on M12 with D_Km 15.6 mm gives 43.1 kN.
    """
    arm = (
        pitch / (2.0 * pi)
        + 0.5 * FLANK * thread_friction * pitch_diameter
        + 0.5 * bearing_diameter * head_friction
    )
    return Newton(torque / arm)


def nut_factor_torque(preload: Newton, nut_factor: Ratio, *, diameter: Metre) -> NewtonMetre:
    """Torque by nut factor, T = K F d. 40 kN, K 0.2, 12 mm gives 96 N·m. Source: shigley, eq. 8-27."""
    return NewtonMetre(nut_factor * preload * diameter)


def nut_factor_preload(torque: NewtonMetre, nut_factor: Ratio, *, diameter: Metre) -> Newton:
    """Preload by nut factor, F = T/(K d). 96 N·m, K 0.2, 12 mm gives 40 kN. Source: shigley, eq. 8-27."""
    return Newton(torque / (nut_factor * diameter))


def axial_stress(force: Newton, stress_area: SquareMetre) -> Pascal:
    """Tension on the stress area, σ = F/A_s. 40 kN on 84.3 mm² gives 474 MPa.

    Source: definition.
    """
    return Pascal(force / stress_area)


def plastic_torsion_stress(torque: NewtonMetre, *, stress_area: SquareMetre) -> Pascal:
    """Shear stress of a fully plastic round section, τ = 12 M/(π d_0³).

    44.4 N·m on 84.3 mm² gives 153 MPa. Source: vdi-2230-1-2003, section 5.5.1.
    """
    return Pascal(12.0 * torque / (pi * stress_area_diameter(stress_area) ** 3))


def equivalent_stress(*, tension: Pascal, shear: Pascal) -> Pascal:
    """Von Mises stress of tension with torsion, √(σ² + 3 τ²). 511 and 153 MPa give 576 MPa.

    Source: shigley, eq. 5-14.
    """
    return Pascal((tension**2 + 3.0 * shear**2) ** 0.5)


def tightening_preload(
    yield_strength: Pascal,
    *,
    utilisation: Ratio,
    thread_friction: Ratio,
    stress_area: SquareMetre,
    pitch: Metre,
    pitch_diameter: Metre,
) -> Newton:
    """Preload at which the stud reaches a share ν of its yield while it is tightened.

    F = A_s ν R_p0.2 / √(1 + 3 [1.5 (d2/d_0) (P/(π d2) + 1.155 µ_G)]²): fully plastic torsion. M12
    8.8, ν 0.9, µ 0.12 gives 43.1 kN. Source: vdi-2230-1-2003, section 5.5.1.
    """
    root = stress_area_diameter(stress_area)
    lead = pitch / (pi * pitch_diameter) + FLANK * thread_friction
    ratio = 1.5 * (pitch_diameter / root) * lead
    return Newton(stress_area * utilisation * yield_strength / (1.0 + 3.0 * ratio**2) ** 0.5)


def rod_resilience(youngs_modulus: Pascal, *, length: Metre, area: SquareMetre) -> MetrePerNewton:
    """Stretch of a straight rod for each newton, l/(E A). 700 mm of 157 mm² steel gives 21.7 nm/N.

    Source: statics.
    """
    return MetrePerNewton(length / (youngs_modulus * area))


def engaged_thread_resilience(
    *,
    youngs_modulus: Pascal,
    mating_modulus: Pascal,
    diameter: Metre,
    root_area: SquareMetre,
    shank_area: SquareMetre,
    nut: bool,
) -> MetrePerNewton:
    """Resilience of the thread inside a nut or a tapped hole.

    δ = 0.5 d/(E_S A_d3) + l_M/(E_M A_N) with l_M = 0.4 d in a nut and 0.33 d in a tapped hole.
    Source: vdi-2230-1-2003, section 5.1.1. M16 in a steel nut gives 0.43 nm/N.
    """
    displaced = 0.4 if nut else 0.33
    return MetrePerNewton(
        0.5 * diameter / (youngs_modulus * root_area) + displaced * diameter / (mating_modulus * shank_area)
    )


def stud_stiffness(
    youngs_modulus: Pascal,
    *,
    shank_area: SquareMetre,
    shank_length: Metre,
    thread_area: SquareMetre,
    thread_length: Metre,
) -> NewtonPerMetre:
    """Stiffness of a bolt in its grip, k_b = A_d A_t E/(A_d l_t + A_t l_d).

    ⅝-11 with 0.75 in of each in 1.5 in of grip gives 5.21 Mlbf/in. Source: shigley, eq. 8-17.
    """
    return NewtonPerMetre(
        shank_area * thread_area * youngs_modulus / (shank_area * thread_length + thread_area * shank_length)
    )


def frustum_resilience(
    youngs_modulus: Pascal, *, hole: Metre, small: Metre, large: Metre, thickness: Metre
) -> MetrePerNewton:
    """Resilience of a clamped layer pressed over a cone that widens from `small` to `large`.

    With a hole h, small end d, large end D and thickness t:
    δ = 2 t ln[(D - h)(d + h)/((D + h)(d - h))] / (π E h (D - d)); for D = d it is the tube
    4 t/(π E (d² - h²)). Source: shigley, eq. 8-19. Cast iron 14 Mpsi, h ⅝ in,
    d 0.9375 in, 0.75 in thick at 30° gives 1/17.9 in/Mlbf.
    """
    if abs(large - small) < 1e-9 * small:
        return MetrePerNewton(4.0 * thickness / (pi * youngs_modulus * (small**2 - hole**2)))
    spread = log((large - hole) * (small + hole) / ((large + hole) * (small - hole)))
    return MetrePerNewton(2.0 * thickness * spread / (pi * youngs_modulus * hole * (large - small)))


def cone_large_end(*, small: Metre, thickness: Metre, tangent: Ratio) -> Metre:
    """Diameter of the pressure cone a thickness further, D = d + 2 t tan φ.

    20 mm, 10 mm, 0.577 gives 31.5 mm. Source: geometry.
    """
    return Metre(small + 2.0 * thickness * tangent)


def member_stiffness_wileman(
    youngs_modulus: Pascal, *, coefficient: Ratio, exponent: Ratio, diameter: Metre, grip: Metre
) -> NewtonPerMetre:
    """Stiffness of clamped members of one material, k_m = E d A exp(B d/l).

    A finite-element fit (grey iron A 0.77871, B 0.61616): ⅝ in bolt, 1.5 in grip, 14 Mpsi gives
    8.81 Mlbf/in. Source: shigley, eq. 8-23 and table 8-8.
    """
    return NewtonPerMetre(youngs_modulus * diameter * coefficient * exp(exponent * diameter / grip))


def load_share(*, stud: MetrePerNewton, clamped: MetrePerNewton) -> Ratio:
    """Share of an outside load that a stud takes, Φ = δ_P/(δ_S + δ_P) (Shigley's C).

    k_b 5.21 and k_m 8.95 give 0.368. Source: vdi-2230-1-2003, section 5.3; shigley, section 8-7.
    """
    return Ratio(clamped / (stud + clamped))


def embedding_loss(embedding: Metre, *, stud: MetrePerNewton, clamped: MetrePerNewton) -> Newton:
    """Preload lost when surfaces bed in by f_Z, F_Z = f_Z/(δ_S + δ_P).

    11 µm over 22 + 3 nm/N gives 440 N. Source: vdi-2230-1-2003, section 5.4.2.
    """
    return Newton(embedding / (stud + clamped))


def thermal_change(
    *, parts_growth: Metre, stud_growth: Metre, stud: MetrePerNewton, clamped: MetrePerNewton
) -> Newton:
    """Change of preload when clamped parts and stud grow by different lengths.

    ΔF = (Δl_P - Δl_S)/(δ_S + δ_P); positive when the parts outgrow the stud. 161 and 80 µm over
    25 nm/N give 3.24 kN. Source: vdi-2230-1-2003, section 5.4.2.2.
    """
    return Newton((parts_growth - stud_growth) / (stud + clamped))


def thermal_growth(expansion: PerKelvin, *, length: Metre, change: KelvinDifference) -> Metre:
    """Growth of a length with temperature, α l ΔT. 23e-6/K, 0.7 m, 10 K gives 161 µm.

    Source: definition.
    """
    return Metre(expansion * length * change)


def internal_shear_area(
    *, engagement: Metre, pitch: Metre, major_diameter: Metre, mating_pitch_diameter: Metre
) -> SquareMetre:
    """Area on which a tapped thread shears, at the screw's major diameter.

    A = π L d (1/2 + (d - D2)/(√3 P)), d the least major diameter of the screw and D2 the greatest
    pitch diameter of the hole. M12 basic sizes, 18 mm: 594 mm². Source: fed-std-h28-2b, appendix.
    """
    share = 0.5 + (major_diameter - mating_pitch_diameter) / (sqrt(3.0) * pitch)
    return SquareMetre(pi * engagement * major_diameter * share)


def external_shear_area(
    *, engagement: Metre, pitch: Metre, minor_diameter: Metre, pitch_diameter: Metre
) -> SquareMetre:
    """Area on which a screw's thread shears, at the hole's minor diameter.

    A = π L D1 (1/2 + (d2 - D1)/(√3 P)), D1 the greatest minor diameter of the hole and d2 the least
    pitch diameter of the screw. M12 basic sizes, 18 mm: 429 mm². Source: fed-std-h28-2b, appendix.
    """
    share = 0.5 + (pitch_diameter - minor_diameter) / (sqrt(3.0) * pitch)
    return SquareMetre(pi * engagement * minor_diameter * share)


def stripping_force(shear_strength: Pascal, shear_area: SquareMetre) -> Newton:
    """Force that strips a thread, τ A. 200 MPa on 594 mm² gives 119 kN.

    Source: definition.
    """
    return Newton(shear_strength * shear_area)


def washer_pressure(force: Newton, *, outside: Metre, inside: Metre) -> Pascal:
    """Pressure under a washer, head or nut, p = F/(π/4 (d_w² - d_h²)).

    40 kN on 24/13 mm gives 125 MPa. Source: vdi-2230-1-2003, section 5.5.4.
    """
    return Pascal(4.0 * force / (pi * (outside**2 - inside**2)))


def spread_diameter(*, outside: Metre, thickness: Metre) -> Metre:
    """Diameter on which a hard washer presses under a nut of bearing diameter `outside`.

    d = d_w + 1.6 t (the washer spreads the load by about 39° a side). 18 mm on a 3 mm washer gives
    22.8 mm. Source: vdi-2230-1-2003, section 5.5.4.
    """
    return Metre(outside + 1.6 * thickness)


def stretch(preload: Newton, stud: MetrePerNewton) -> Metre:
    """How much longer a stud is when tightened, F δ_S. 60 kN at 22 nm/N gives 1.32 mm.

    Source: definition.
    """
    return Metre(preload * stud)


def turn_of_nut(preload: Newton, *, stud: MetrePerNewton, clamped: MetrePerNewton, pitch: Metre) -> Radian:
    """Turn of the nut from snug to the preload, 2π F (δ_S + δ_P)/P.

    60 kN over 25 nm/N at 2 mm gives 270°. Source: vdi-2230-1-2003, section 5.4.1 (angle tightening).
    """
    return Radian(2.0 * pi * preload * (stud + clamped) / pitch)


def wind_up(torque: NewtonMetre, shear_modulus: Pascal, *, length: Metre, diameter: Metre) -> Radian:
    """How far a stud twists under the torque in its shank, 32 M l/(π G d⁴).

    80 N·m on 700 mm of Ø14.1 mm, G 79 GPa gives 10.4°. Source: shigley, eq. 3-35.
    """
    return Radian(32.0 * torque * length / (pi * shear_modulus * diameter**4))


def scattered_least(greatest: Newton, scatter: Ratio) -> Newton:
    """Least preload by tightening scatter, F_min = F_max/α_A. 43 kN at 1.6 gives 26.9 kN.

    Source: vdi-2230-1-2003, section 5.4.3.
    """
    return Newton(greatest / scatter)


def cone_tangent_tapped(*, length: Metre, seat: Metre, available: Metre) -> Ratio:
    """Tangent of the pressure cone's half angle under a nut, joint to a tapped hole.

    tan φ = 0.348 + 0.013 ln(l/d_w) + 0.193 ln(D/d_w) with the clamped length l, the seat's diameter
    d_w and the width available D. 700 mm, 30 mm, 60 mm gives 0.523. Source: vdi-2230-1-2003, section
    5.1.2 (from memory).

    >>> round(cone_tangent_tapped(length=Metre(0.7), seat=Metre(0.03), available=Metre(0.06)), 3)
    0.523
    """
    return Ratio(0.348 + 0.013 * log(length / seat) + 0.193 * log(available / seat))


def plate_wavelength(
    *, youngs_modulus: Pascal, thickness: Metre, poissons_ratio: Ratio, bed_stiffness: PascalPerMetre
) -> Metre:
    """Characteristic length of a plate on an elastic bed, ℓ = (D/k)^(1/4), D = E t³/(12 (1 - ν²)).

    A load is felt over about 2 ℓ around it. 25 mm of aluminium on 1e12 Pa/m gives 18 mm. Source:
    timoshenko-plates-1959, section 57.

    >>> round(plate_wavelength(youngs_modulus=Pascal(70e9), thickness=Metre(0.025),
    ...     poissons_ratio=Ratio(0.33), bed_stiffness=PascalPerMetre(1e12)) * 1e3, 1)
    17.9
    """
    rigidity = youngs_modulus * thickness**3 / (12.0 * (1.0 - poissons_ratio**2))
    return Metre((rigidity / bed_stiffness) ** 0.25)


@not_dimensional("σ = 0.85·(150/d + 45) is empirical: d in millimetres, σ in MPa")
def endurance_amplitude(diameter: Metre) -> Pascal:
    """Stress amplitude a rolled thread bears for ever, tension on the stress area.

    σ_A = 0.85 (150/d + 45) MPa with d in mm; M6 to M40 of classes 8.8 to 12.9, rolled before heat
    treatment. Source: vdi-2230-1-2003, section 5.5.3 (from memory).

    Raises:
        ValueError: outside 4 mm to 40 mm.

    >>> round(endurance_amplitude(Metre(0.016)) / 1e6, 1)
    46.2
    """
    if not 4e-3 <= diameter <= 40e-3:
        raise ValueError("endurance of threads is given for 4 mm to 40 mm")
    return Pascal(0.85 * (150.0 / (diameter * 1e3) + 45.0) * 1e6)
