"""A cut against the spindle's curve: torque and power available at its speed."""

from __future__ import annotations

import itertools
from functools import lru_cache

from orthostat.analyses.loads.inputs import Spindle
from orthostat.analyses.loads.result import CutLoads, SpindleUse
from orthostat.base.dimensions import NewtonMetre, RadianPerSecond, Watt
from orthostat.base.findings import NotStated, stated
from orthostat.formulas.cutting import motor_power
from orthostat.model.machine import SpindlePoint


@lru_cache(maxsize=512)
def spindle_use(cut: CutLoads, spindle: Spindle) -> SpindleUse:
    """Mean torque at the spindle and power at the motor, at the high end of the cut's range.

    The curve is for continuous use; the spindle's own inertia carries the peaks between teeth.

    Raises:
        NotStated: speed, curve or efficiency is missing, or the curve does not reach the speed.
    """
    forces = cut.forces
    speed = stated(forces.speed, forces.speed_missing)
    if not spindle.curve:
        raise NotStated(f"{spindle.path}.spindle_curve")
    torque_limit, power_limit = available(spindle, speed)
    power = Watt(forces.torque_mean * speed * forces.span.high)
    if power_limit is not None:
        power = motor_power(power, stated(spindle.efficiency, f"{spindle.path}.spindle_efficiency"))
    return SpindleUse(
        cut.path, speed, NewtonMetre(forces.torque_mean * forces.span.high), torque_limit, power, power_limit
    )


def available(spindle: Spindle, speed: RadianPerSecond) -> tuple[NewtonMetre | None, Watt | None]:
    """Torque and power of the curve at a speed, straight between its points.

    A point that states only one of the two gives the other at its own speed.

    Raises:
        NotStated: the speed lies outside the curve or over the spindle's limit.
    """
    points = sorted(spindle.curve, key=lambda point: point.speed)
    top = points[-1].speed if spindle.speed_limit is None else min(points[-1].speed, spindle.speed_limit)
    if speed > top * (1.0 + 1e-9) or speed < points[0].speed * (1.0 - 1e-9):
        raise NotStated(
            f"{spindle.path}.spindle_curve",
            reason="the cut's speed lies outside the spindle's curve",
        )
    torque = _between([(p.speed, value) for p in points if (value := _torque(p)) is not None], speed)
    power = _between([(p.speed, value) for p in points if (value := _power(p)) is not None], speed)
    if torque is not None and power is not None and speed > 0.0:
        torque = min(torque, power / speed)  # a straight line overstates torque where power is constant
    return (
        None if torque is None else NewtonMetre(torque),
        None if power is None else Watt(power),
    )


def _torque(point: SpindlePoint) -> float | None:
    if point.torque is not None:
        return point.torque
    return point.power / point.speed if point.power is not None and point.speed > 0.0 else None


def _power(point: SpindlePoint) -> float | None:
    if point.power is not None:
        return point.power
    return point.torque * point.speed if point.torque is not None else None


def _between(pairs: list[tuple[RadianPerSecond, float]], speed: float) -> float | None:
    for (low, at_low), (high, at_high) in itertools.pairwise(pairs):
        if low <= speed <= high:
            share = 0.0 if high == low else (speed - low) / (high - low)
            return at_low + share * (at_high - at_low)
    return pairs[0][1] if len(pairs) == 1 and pairs[0][0] == speed else None
