"""What a liquid fill does to its form: pressure, bulging plates, collapsing and floating tubes."""

from __future__ import annotations

from math import cosh, pi, tanh

from orthostat.base.dimensions import (
    CubicMetre,
    KilogramPerCubicMetre,
    Metre,
    MetrePerSecondSquared,
    MetreToFourth,
    Newton,
    NewtonMetre,
    Pascal,
    Ratio,
)


def liquid_head(density: KilogramPerCubicMetre, depth: Metre, gravity: MetrePerSecondSquared) -> Pascal:
    """Pressure of a fill that does not yet carry itself, p = ρ g h. 2300 kg/m³, 0.6 m: 13.5 kPa.

    Source: aci-347-14, section 2.2.2 (full liquid head, no reduction for stiffening).
    """
    return Pascal(density * gravity * depth)


def long_tube_collapse(modulus: Pascal, poisson: Ratio, *, wall: Metre, mean_radius: Metre) -> Pascal:
    """Outside pressure that buckles a long thin tube into two lobes, p = E t³ / (4 (1 - ν²) r³).

    2 GPa, 0.3, 3 mm on r 63.5 mm gives 57.9 kPa. Valid for r/t > 10, a length of many diameters, a
    round tube and stresses under yield; out-of-round tubes buckle sooner. Source: timoshenko-gere-1961,
    section 7.5; roark-7, table 15.2 case 19.
    """
    return Pascal(modulus * wall**3 / (4.0 * (1.0 - poisson**2) * mean_radius**3))


def ring_deflection(load: Newton, modulus: Pascal, *, radius: Metre, second_moment: MetreToFourth) -> Metre:
    """Shortening of a thin ring pressed across a diameter, δ = (π/4 - 2/π) F R³ / (E I).

    100 N, 2 GPa, R 60 mm, I 22.5 mm⁴·(10 mm wide, 3 mm) gives 71.4 mm: far past small deflections.
    Source: roark-7, table 9.2 case 1.
    """
    return Metre((pi / 4.0 - 2.0 / pi) * load * radius**3 / (modulus * second_moment))


def plate_rigidity(modulus: Pascal, poisson: Ratio, thickness: Metre) -> NewtonMetre:
    """Bending stiffness of a plate per width, D = E t³ / (12 (1 - ν²)). 70 GPa, 0.3, 25 mm: 100 kN·m.

    Source: timoshenko-plates-1959, section 2.
    """
    return NewtonMetre(modulus * thickness**3 / (12.0 * (1.0 - poisson**2)))


def held_plate_bulge(pressure: Pascal, rigidity: NewtonMetre, *, span: Metre, length: Metre) -> Metre:
    """Middle deflection of a rectangular plate under even pressure, all four edges simply supported.

    Lévy's series with `span` ≤ `length`. A square plate gives 0.00406 p b⁴/D. Source:
    timoshenko-plates-1959, section 30, table 8; roark-7, table 11.4 case 1a (ν 0.3).
    """
    b, a = sorted((span, length))
    total = 0.0
    for m in range(1, 40, 2):
        x = m * pi * a / (2.0 * b)
        sign = 1.0 if (m // 2) % 2 == 0 else -1.0
        edge = (x * tanh(x) + 2.0) / (2.0 * cosh(x)) if x < 300.0 else 0.0
        total += sign / m**5 * (1.0 - edge)
    return Metre(4.0 * pressure * b**4 / (pi**5 * rigidity) * total)


def clamped_strip_bulge(pressure: Pascal, rigidity: NewtonMetre, *, span: Metre) -> Metre:
    """Middle deflection of a wide strip built in at both edges, p b⁴ / (384 D).

    10 kPa, D 10 N·m, 100 mm gives 0.26 mm: the wall of a box tube, whose corners do not turn when
    all walls are alike. Source: roark-7, table 8.1 case 2d.
    """
    return Metre(pressure * span**4 / (384.0 * rigidity))


def buoyancy(density: KilogramPerCubicMetre, displaced: CubicMetre, gravity: MetrePerSecondSquared) -> Newton:
    """Uplift on a closed body in a liquid, ρ g V. 2300 kg/m³ and 7 L gives 158 N. Source: archimedes."""
    return Newton(density * gravity * displaced)
