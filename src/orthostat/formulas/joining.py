"""Screws between plates: what they bear in shear and tension, and what a liquid fill pulls at a corner."""

from __future__ import annotations

from orthostat.base.dimensions import (
    KilogramPerCubicMetre,
    Metre,
    MetrePerSecondSquared,
    Newton,
    Pascal,
    Ratio,
    SquareMetre,
)


def screw_shear_resistance(
    tensile_strength: Pascal, *, stress_area: SquareMetre, shear_share: Ratio, partial_factor: Ratio
) -> Newton:
    """Shear that a screw bears with its thread in the shear plane, F = α_v f_ub A_s/γ_M2.

    M20 8.8 (800 MPa, 245 mm², α_v 0.6, γ 1.25) gives 94.1 kN. Source: en-1993-1-8, table 3.4.
    """
    return Newton(shear_share * tensile_strength * stress_area / partial_factor)


def screw_tension_resistance(
    tensile_strength: Pascal, *, stress_area: SquareMetre, tension_share: Ratio, partial_factor: Ratio
) -> Newton:
    """Tension that a screw bears, F = k_2 f_ub A_s/γ_M2.

    M20 8.8 (800 MPa, 245 mm², k_2 0.9, γ 1.25) gives 141 kN. Source: en-1993-1-8, table 3.4.
    """
    return Newton(tension_share * tensile_strength * stress_area / partial_factor)


def combined_use(
    *, shear: Newton, shear_resistance: Newton, tension: Newton, tension_resistance: Newton
) -> Ratio:
    """Share of a screw's resistance that shear with tension use, the larger of F_v/F_vR + F_t/(1.4 F_tR)
    and F_t/F_tR; 1 at most is wanted.

    47 kN of 94 kN with 70 kN of 140 kN gives 0.857. Source: en-1993-1-8, table 3.4.
    """
    pulled = tension / tension_resistance
    return Ratio(max(shear / shear_resistance + pulled / 1.4, pulled))


def liquid_push(
    density: KilogramPerCubicMetre, gravity: MetrePerSecondSquared, *, width: Metre, over: Metre, under: Metre
) -> Newton:
    """Push of a liquid on a strip between two depths, F = ρ g b (over² - under²)/2 with `over` the deeper.

    2200 kg/m³ on 0.3 m between 0.1 and 0.2 m of depth gives 97.1 N. Source: statics.
    """
    return Newton(density * gravity * width * (over**2 - under**2) / 2.0)


def corner_forces(*, push: Newton, other: Newton, cosine: Ratio) -> tuple[Newton, Newton]:
    """(across, along) parts of the force that holds two plates together at their corner.

    Each plate's push is shared by its two corners, so the force H of the second plate on the first
    satisfies H·n1 = -F1/2 and H·n2 = F2/2, n1·n2 being the cosine. `across` is the pull along n1, which
    a screw through the first plate feels as tension; `along` is the rest, which shears it. 100 N on
    both at a square corner give 50 N and 50 N; on a hexagon (cosine 0.5) 50 N and 86.6 N.
    Source: statics.
    """
    second = (0.5 * other + 0.5 * cosine * push) / (1.0 - cosine**2)
    first = -0.5 * push - cosine * second
    whole = first**2 + second**2 + 2.0 * cosine * first * second
    across = 0.5 * push
    return Newton(across), Newton(max(whole - across**2, 0.0 * whole) ** 0.5)
