"""Cutting forces and power beside handbook examples; the tooth-by-tooth sum beside the same."""

from __future__ import annotations

from math import pi, radians

from orthostat.analyses.loads.milling import Milled, engagements, over_a_pitch
from orthostat.base.dimensions import (
    CubicMetrePerSecond,
    Metre,
    MetrePerSecond,
    Pascal,
    Radian,
    RadianPerSecond,
    Ratio,
    Watt,
)
from orthostat.formulas import cutting
from orthostat.validation.cases import case

MINUTE = 60.0
FACE_MILL = "cutting-technical-pages, milling power of a Ø250 face mill in tool steel"
SLAB_MILL = "kalpakjian-schmid, slab-milling example, from memory"
TURNING = "cutting-technical-pages, turning power in mild steel"
DRILLED = "drilling-course-page, a 10 mm drill at 0.3 mm/rev"


@case(
    "Milling power at the motor", expected=1.68, unit="kW", tolerance=0.005, source=FACE_MILL,
    reason="printed to three figures",
)  # fmt: skip
def milling_power() -> float:
    rate = cutting.removal_rate_milling(
        depth=Metre(2e-3), width=Metre(80e-3), feed_rate=MetrePerSecond(0.28 / MINUTE)
    )
    return cutting.motor_power(cutting.cutting_power(Pascal(1800e6), rate), Ratio(0.8)) / 1e3


@case(
    "Milling power at the cutter, summed tooth by tooth", expected=1.344, unit="kW", relative=0.01,
    source=FACE_MILL, reason="1.68 kW times 0.8; 720 steps over a revolution sum it to under 1 %",
)  # fmt: skip
def milling_power_by_teeth() -> float:
    speed = (80.0 / MINUTE) / 0.125
    feed = (0.28 / MINUTE) * 2.0 * pi / (speed * 12)
    milled = _milled(1800e6, width=2e-3, feed=feed, teeth=12, radius=0.125)
    way = engagements("face", width=Metre(0.08), diameter=Metre(0.25))[0]
    _, _, moment = over_a_pitch(milled, way)
    return float(-moment[:, 2].mean()) * speed / 1e3


@case(
    "Power of a slab-milling pass", expected=7.5, unit="kW", tolerance=0.05, source=SLAB_MILL,
    reason="printed to two figures",
)  # fmt: skip
def slab_power() -> float:
    rate = cutting.removal_rate_milling(
        depth=Metre(0.1), width=Metre(3e-3), feed_rate=MetrePerSecond(0.5 / MINUTE)
    )
    return cutting.cutting_power(Pascal(3e9), rate) / 1e3


@case(
    "Torque of a slab-milling pass", expected=716.0, unit="N·m", tolerance=1.0, source=SLAB_MILL,
    reason="printed to three figures",
)  # fmt: skip
def slab_torque() -> float:
    return cutting.torque_at_speed(Watt(7500.0), RadianPerSecond(100.0 * 2.0 * pi / MINUTE))


@case(
    "Torque of that pass, summed tooth by tooth", expected=716.0, unit="N·m", relative=0.03,
    source=SLAB_MILL,
    reason="twenty teeth of 28° engagement; steps and the circle taken for the trochoid leave some 2 %",
)  # fmt: skip
def slab_torque_by_teeth() -> float:
    milled = _milled(3e9, width=0.1, feed=0.25e-3, teeth=20, radius=0.025)
    way = engagements("shoulder", width=Metre(3e-3), diameter=Metre(0.05))[0]
    _, _, moment = over_a_pitch(milled, way, steps=400)
    return float(-moment[:, 2].mean())


def _milled(kc: float, *, width: float, feed: float, teeth: int, radius: float) -> Milled:
    return Milled(
        Metre(width), Metre(feed), Radian(pi / 2), Pascal(kc), Ratio(0.0), Ratio(0.0), Ratio(0.0), teeth,
        Metre(radius),
    )  # fmt: skip


@case(
    "Turning power at the motor", expected=4.65, unit="kW", tolerance=0.005, source=TURNING,
    reason="printed to three figures",
)  # fmt: skip
def turning_power() -> float:
    force = cutting.turning_force(Pascal(3100e6), depth=Metre(3e-3), feed_per_turn=Metre(0.2e-3))
    return cutting.motor_power(Watt(force * 120.0 / MINUTE), Ratio(0.8)) / 1e3


@case(
    "Drilling torque", expected=15.0, unit="N·m", relative=0.4, source=DRILLED,
    reason="the course names no steel; kc1.1 1700 MPa and the formula's own ±40 % are taken",
)  # fmt: skip
def drilling_torque() -> float:
    return cutting.drilling_torque(_kc_drilled(), feed_per_turn=Metre(0.3e-3), diameter=Metre(0.01))


@case(
    "Drilling thrust", expected=2500.0, unit="N", relative=0.4, source=DRILLED,
    reason="the course names no steel; kc1.1 1700 MPa and the formula's own ±40 % are taken",
)  # fmt: skip
def drilling_thrust() -> float:
    return cutting.drilling_thrust(
        _kc_drilled(),
        thrust_ratio=Ratio(0.5),
        feed_per_turn=Metre(0.3e-3),
        diameter=Metre(0.01),
        point_angle=Radian(radians(118)),
    )


@case(
    "Drilling torque over thrust, whatever the steel", expected=6.0, unit="mm", relative=0.05,
    source=DRILLED, reason="the material cancels; both are printed to two figures",
)  # fmt: skip
def drilling_arm() -> float:
    return drilling_torque.compute() / drilling_thrust.compute() * 1e3


def _kc_drilled() -> Pascal:
    thickness = cutting.drilling_thickness(
        feed_per_turn=Metre(0.3e-3), point_angle=Radian(radians(118)), lips=2
    )
    return cutting.specific_cutting_force(Pascal(1700e6), Ratio(0.25), thickness=thickness)


@case(
    "Drilling power over torque and speed", expected=1.0, unit="1", tolerance=1e-9,
    source="tschaetsch-2009, drilling power P = M ω against kc times the volume drilled",
    reason="both are the same work, so the torque formula and the removal rate must agree exactly",
)  # fmt: skip
def drilling_energy() -> float:
    kc, feed, diameter, speed = Pascal(2e9), 0.2e-3, 0.01, 100.0
    torque = cutting.drilling_torque(kc, feed_per_turn=Metre(feed), diameter=Metre(diameter))
    volume = CubicMetrePerSecond(0.25 * pi * diameter**2 * feed * speed / (2.0 * pi))
    return torque * speed / cutting.cutting_power(kc, volume)
