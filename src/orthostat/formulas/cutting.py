"""Cutting forces: what a cutting edge, a mill, a drill, a tap and a boring bar push and turn with.

Kienzle's law throughout: the tangential force on an edge is the specific cutting force times the
chip's cross-section. Sharp edges; wear is a stated factor on the result.
"""

from __future__ import annotations

from math import cos, sin, tan

from orthostat.base.dimensions import (
    CubicMetrePerSecond,
    Metre,
    MetrePerSecond,
    Newton,
    NewtonMetre,
    Pascal,
    Radian,
    RadianPerSecond,
    Ratio,
    Watt,
)

UNIT_THICKNESS = Metre(1e-3)
"""The chip thickness at which kc1.1 is defined: 1 mm, part of the definition of the constant."""


def specific_cutting_force(
    kc11: Pascal, mc: Ratio, *, thickness: Metre, unit_thickness: Metre = UNIT_THICKNESS
) -> Pascal:
    """Specific cutting force of a chip of a given thickness.

    kc = kc1.1 · (h / 1 mm)^(-mc). Valid for about 0.05 mm ≤ h ≤ 2.5 mm, sharp edges, the speed and
    rake at which the constants were measured. kc1.1 2000 MPa, mc 0.25, h 0.1 mm gives 3557 MPa.
    Source: kienzle-victor-1957.
    """
    return Pascal(kc11 * (thickness / unit_thickness) ** (-mc))


def rake_factor(*, rake: Radian, reference_rake: Radian, per_radian: Ratio) -> Ratio:
    """Factor on kc for a rake angle other than that at which it was measured.

    K = 1 - s (γ - γ0), s about 1 % for each degree (0.573 per radian): 10° more rake gives 0.90.
    Valid for about -10° ≤ γ ≤ +20°. Source: tschaetsch-2009, section 2.3; koenig-klocke-1, chap. 3.
    """
    return Ratio(1.0 - per_radian * (rake - reference_rake))


def chip_width(*, depth: Metre, entering_angle: Radian) -> Metre:
    """Width of the chip along the edge, b = a_p / sin κ. 2 mm at 45° gives 2.83 mm.

    Source: geometry.
    """
    return Metre(depth / sin(entering_angle))


def milling_chip_thickness(
    *, feed_per_tooth: Metre, engagement_angle: Radian, entering_angle: Radian
) -> Metre:
    """Chip thickness of a mill's tooth at angle φ from the normal to the feed.

    h = f_z sin φ sin κ (circular path taken for the trochoid; good while f_z is small against D).
    0.2 mm at 90° and κ = 45° gives 0.141 mm. Source: altintas-2012, section 2.7.
    """
    return Metre(feed_per_tooth * sin(engagement_angle) * sin(entering_angle))


def removal_rate_milling(*, depth: Metre, width: Metre, feed_rate: MetrePerSecond) -> CubicMetrePerSecond:
    """Volume milled per second, Q = a_p a_e v_f [m³/s].

    2 mm × 80 mm at 280 mm/min gives 44.8 cm³/min.
    Source: geometry.
    """
    return CubicMetrePerSecond(depth * width * feed_rate)


def cutting_power(specific_force: Pascal, removal_rate: CubicMetrePerSecond) -> Watt:
    """Power at the cutter, P = kc Q. 1800 MPa at 44.8 cm³/min gives 1.344 kW.

    Source: cutting-technical-pages, milling formulas.
    """
    return Watt(specific_force * removal_rate)


def motor_power(power: Watt, efficiency: Ratio) -> Watt:
    """Power at the motor, P / η. 1.344 kW at 0.8 gives 1.68 kW.

    Source: definition.
    """
    return Watt(power / efficiency)


def torque_at_speed(power: Watt, speed: RadianPerSecond) -> NewtonMetre:
    """Torque that carries a power at a speed, M = P / ω. 1 kW at 100 rad/s gives 10 N·m.

    Source: definition.
    """
    return NewtonMetre(power / speed)


def drilling_thickness(*, feed_per_turn: Metre, point_angle: Radian, lips: int) -> Metre:
    """Chip thickness at a drill's lip, h = (f / z) sin(σ/2).

    0.2 mm, two lips, 118° gives 0.0857 mm.
    Source: geometry.
    """
    return Metre(feed_per_turn / lips * sin(0.5 * point_angle))


def drilling_torque(kc: Pascal, *, feed_per_turn: Metre, diameter: Metre) -> NewtonMetre:
    """Torque of drilling into solid, M = kc f d² / 8.

    Each lip's force acts at d/4; chisel edge and margin friction are not in it, so it is good to
    some ±40 %. 3000 MPa, 0.2 mm, 10 mm gives 7.5 N·m. Source: tschaetsch-2009, chap. 10.
    """
    return NewtonMetre(kc * feed_per_turn * diameter**2 / 8.0)


def drilling_thrust(
    kc: Pascal, thrust_ratio: Ratio, *, feed_per_turn: Metre, diameter: Metre, point_angle: Radian
) -> Newton:
    """Thrust of drilling into solid, F = r kc (d/2) f sin(σ/2), with r about 0.5.

    Good to some ±40 % (chisel edge, wear). 3000 MPa, r 0.5, 0.2 mm, 10 mm, 118° gives 1286 N.
    Source: cutting-technical-pages, drilling formulas.
    """
    return Newton(thrust_ratio * kc * 0.5 * diameter * feed_per_turn * sin(0.5 * point_angle))


def core_drilling_torque(
    kc: Pascal, *, feed_per_turn: Metre, diameter: Metre, start_diameter: Metre
) -> NewtonMetre:
    """Torque of opening out a hole, M = kc f (d² - d0²) / 8.

    The lips cut from d0 to d and act at the mean radius (d + d0)/4. 3000 MPa, 0.2 mm, 20 mm from
    10 mm gives 22.5 N·m. Source: tschaetsch-2009, chap. 10.
    """
    return NewtonMetre(kc * feed_per_turn * (diameter**2 - start_diameter**2) / 8.0)


def core_drilling_thrust(
    kc: Pascal,
    thrust_ratio: Ratio,
    *,
    feed_per_turn: Metre,
    diameter: Metre,
    start_diameter: Metre,
    point_angle: Radian,
) -> Newton:
    """Thrust of opening out a hole, F = r kc ((d - d0)/2) f sin(σ/2); no chisel edge cuts.

    3000 MPa, r 0.5, 0.2 mm, 20 mm from 10 mm, 118° gives 1286 N. Source: tschaetsch-2009, chap. 10.
    """
    return Newton(
        thrust_ratio * kc * 0.5 * (diameter - start_diameter) * feed_per_turn * sin(0.5 * point_angle)
    )


def breakthrough_pull(torque: NewtonMetre, *, diameter: Metre, helix_angle: Radian) -> Newton:
    """Pull of a twist drill on the work, toward the spindle, as it breaks through.

    The thrust of the chisel edge is gone and the lips' outer corners, which rake at the helix angle,
    screw into the rim: F = (2 M / d) tan β. An estimate from the geometry without edge friction
    (from memory; compare the 40 % range of the torque). 7.5 N·m, 10 mm, 30° gives 866 N.
    """
    return Newton(2.0 * torque / diameter * tan(helix_angle))


def tapping_thickness(*, pitch: Metre, chamfer_threads: Ratio, flutes: int) -> Metre:
    """Chip thickness of a cutting tap: the thread's height shared by the chamfer's teeth.

    h = 0.613 P / (n z), ISO 68-1 external thread height over n chamfer threads and z flutes.
    1.5 mm, 2.5 threads, 3 flutes gives 0.123 mm. From memory; the profile is that of iso-68-1.
    """
    return Metre(0.613 * pitch / (chamfer_threads * flutes))


def tapping_torque(kc: Pascal, *, pitch: Metre, diameter: Metre) -> NewtonMetre:
    """Torque of cutting a thread with a tap, M = kc P² d / 8.

    The chips of all teeth together have about P²/4 of section at radius d/2. Chips packing in the
    flutes can double it. 3000 MPa, 1.5 mm, 10 mm gives 8.44 N·m. From memory: the formula that tap
    makers print, confirmed by the derivation in this line.
    Source: derived.
    """
    return NewtonMetre(kc * pitch**2 * diameter / 8.0)


def turning_force(kc: Pascal, *, depth: Metre, feed_per_turn: Metre) -> Newton:
    """Tangential force of a single edge in turning or boring, F = kc a_p f.

    The section a_p·f is that of the chip whatever κ. 3000 MPa, 0.5 mm, 0.1 mm gives 150 N.
    Source: kienzle-victor-1957.
    """
    return Newton(kc * depth * feed_per_turn)


def edge_normal_split(normal_force: Newton, entering_angle: Radian) -> tuple[Newton, Newton]:
    """Radial and axial parts of the force normal to an edge: F_n sin κ, F_n cos κ.

    A square shoulder (κ = 90°) pushes only outward; 45° shares the force. 100 N at 45° gives 70.7 N
    and 70.7 N. Source: altintas-2012, section 2.8.
    """
    return Newton(normal_force * sin(entering_angle)), Newton(normal_force * cos(entering_angle))
