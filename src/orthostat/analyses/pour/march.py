"""The one integrator of curing bodies: conduction and the slowing of the cure implicit, steps adapted.

ROS2 as a W-method (Verwer, Spee, Blom & Hundsdorfer 1999): second order for any approximate Jacobian,
L-stable. The Jacobian holds conduction and, node by node, how the rate falls with the share cured; the
heat released equals the share cured times the heat exactly, so energy is conserved to rounding. The
step follows the difference to the embedded first-order result; steps are powers of √2 of a base, so
that a matrix factored once serves again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array, diags_array
from scipy.sparse.linalg import splu

from orthostat.analyses.pour.kinetics import Kinetics
from orthostat.base.dimensions import Kelvin, KelvinDifference, Second
from orthostat.base.progress import SILENT, Progress

Floats = NDArray[np.float64]

GAMMA = 1.0 - 1.0 / sqrt(2.0)


@dataclass(frozen=True)
class ThermalBody:
    """Nodes that hold heat, lead it and make it. `film` is included in `conduction`'s diagonal.

    `capacity` (n,) [J/K]; `conduction` (n, n) sparse [W/K]; `film` (n,) [W/K] to the room; `heat` (n,)
    [J] released at each node over the whole cure.
    """

    capacity: Floats
    conduction: csc_array
    film: Floats
    heat: Floats


@dataclass(frozen=True)
class History:
    """Every step: `times` (k,) [s], `temperatures` and `conversions` (k, n), heat to the room (k,) [J]."""

    times: Floats
    temperatures: Floats = field(repr=False)
    conversions: Floats = field(repr=False)
    lost: Floats = field(repr=False)
    stopped: bool
    """Whether it ended by its stop condition rather than by the time allowed."""

    def when(self, series: Floats, level: float) -> Second | None:
        """First time that a rising series (k,) reaches a level, by straight interpolation."""
        above = np.flatnonzero(series >= level)
        if not len(above):
            return None
        i = int(above[0])
        if i == 0:
            return Second(float(self.times[0]))
        share = (level - series[i - 1]) / (series[i] - series[i - 1])
        return Second(float(self.times[i - 1] + share * (self.times[i] - self.times[i - 1])))

    def at(self, time: Second) -> tuple[Floats, Floats]:
        """Temperatures and conversions (n,) at a time, by straight interpolation."""
        i = int(np.clip(np.searchsorted(self.times, time), 1, len(self.times) - 1))
        share = float(np.clip((time - self.times[i - 1]) / (self.times[i] - self.times[i - 1]), 0.0, 1.0))
        return (
            self.temperatures[i - 1] + share * (self.temperatures[i] - self.temperatures[i - 1]),
            self.conversions[i - 1] + share * (self.conversions[i] - self.conversions[i - 1]),
        )


@dataclass(frozen=True, slots=True)
class Tolerance:
    """Error let through in one step: temperature, and share cured over (EARLY + share cured).

    An early error grows with the autocatalytic rate, so it counts for more.
    """

    temperature: KelvinDifference
    conversion: float


EARLY = 0.05
USUAL = Tolerance(KelvinDifference(0.2), 4e-3)
Stop = Callable[[Floats, Floats], bool]


def march(
    body: ThermalBody,
    kinetics: Kinetics,
    start: Floats,
    *,
    room: Kelvin,
    until: Second,
    conversion: Floats | None = None,
    tolerance: Tolerance = USUAL,
    stop: Stop | None = None,
    fixed_step: Second | None = None,
    progress: Progress = SILENT,
) -> History:
    """Let the body cure from temperatures `start` (n,) until a time or a stop condition.

    `fixed_step` turns adaption off (for comparisons).
    """
    stepper = _Stepper(body, kinetics, float(room))
    cured = np.zeros_like(start) if conversion is None else conversion.astype(float)
    temperature, time, lost = start.astype(float), 0.0, 0.0
    times, fields, shares, losses = [time], [temperature], [cured], [lost]
    level = _level(fixed_step or _first_step(stepper, temperature, cured, tolerance))
    stopped = False
    while time < until * (1.0 - 1e-12) and not stopped:
        step = float(fixed_step) if fixed_step else min(_length(level), until / 20.0)
        step = min(step, until - time) if fixed_step else step
        new, grown, out, error = stepper.step(temperature, cured, step, tolerance)
        if not fixed_step and error > 1.0 and level > -40:
            level -= max(1, min(6, round(2.0 * np.log2(error * 1.1) / 2.0 + 0.5)))
            continue
        time += step
        temperature, cured, lost = new, grown, lost + out
        times.append(time)
        fields.append(temperature)
        shares.append(cured)
        losses.append(lost)
        if not fixed_step and error < 0.35:
            level += 2 if error < 0.1 else 1
        progress.at(time, until, f"hour {time / 3600.0:.1f} after pouring")
        stopped = stop is not None and stop(temperature, cured)
    return History(
        _frozen(np.array(times)),
        _frozen(np.array(fields)),
        _frozen(np.array(shares)),
        _frozen(np.array(losses)),
        stopped,
    )


BASE_STEP = 1.0


def _length(level: int) -> float:
    return float(BASE_STEP * sqrt(2.0) ** level)


def _level(step: float) -> int:
    return int(np.floor(2.0 * np.log2(step / BASE_STEP)))


class _Stepper:
    """One step of ARS(2,2,2) with factored matrices kept by step length."""

    def __init__(self, body: ThermalBody, kinetics: Kinetics, room: float) -> None:
        self.body, self.kinetics, self.room = body, kinetics, room
        self.supply = body.film * room
        self.makes = body.heat > 0.0
        self.heat = body.heat[self.makes]
        self.factors: dict[float, Any] = {}

    def solve(self, step: float, right: Floats) -> Floats:
        factor = self.factors.get(step)
        if factor is None:
            matrix = diags_array(self.body.capacity) + GAMMA * step * self.body.conduction
            factor = splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})
            self.factors[step] = factor
        return np.asarray(factor.solve(right))

    def step(
        self, temperature: Floats, cured: Floats, step: float, tolerance: Tolerance
    ) -> tuple[Floats, Floats, float, float]:
        """Temperatures, shares cured, heat lost to the room over the step, and error over tolerance."""
        body, makes = self.body, self.makes
        speed, slope = self.kinetics.speed_and_slope(temperature[makes], cured[makes])
        damping = 1.0 - GAMMA * step * np.minimum(slope, 0.0)
        cure_1 = speed / damping
        heat_1 = self._warming(temperature, self.heat * cure_1, step)
        middle = temperature + step * heat_1
        middle_cured = cured[makes] + step * cure_1
        cure_2 = (self.kinetics.speed(middle[makes], middle_cured) - 2.0 * cure_1) / damping
        heat_2 = self._warming(middle, self.heat * (cure_2 + 2.0 * cure_1), step, held=-2.0 * heat_1)
        new = temperature + step * (1.5 * heat_1 + 0.5 * heat_2)
        grown = cured.copy()
        grown[makes] += step * (1.5 * cure_1 + 0.5 * cure_2)
        released = float(self.heat @ (grown[makes] - cured[makes]))
        out = released - float(body.capacity @ (new - temperature))
        warm = np.abs(0.5 * step * (heat_1 + heat_2)).max()
        weight = EARLY + cured[makes]
        grow = (np.abs(0.5 * step * (cure_1 + cure_2)) / weight).max(initial=0.0)
        return new, grown, out, float(max(warm / tolerance.temperature, grow / tolerance.conversion))

    def _warming(
        self, temperature: Floats, source: Floats, step: float, held: Floats | None = None
    ) -> Floats:
        """dT/dt of one stage: (C + γ h K) x = supply - K T + source + C held."""
        right = self.supply - self.body.conduction @ temperature
        right[self.makes] += source
        if held is not None:
            right += self.body.capacity * held
        return self.solve(step, right)


def _first_step(stepper: _Stepper, temperature: Floats, cured: Floats, tolerance: Tolerance) -> float:
    makes = stepper.makes
    speed = float(stepper.kinetics.speed(temperature[makes], cured[makes]).max(initial=1e-9))
    return min(60.0, max(1e-3, tolerance.conversion / max(speed, 1e-12)))


def _frozen(array: Floats) -> Floats:
    array.setflags(write=False)
    return array
