"""Pouring in lifts: the section stacked in layers, each new lift meeting a part-cured one.

Three-dimensional, since heat leaves a lift sideways through the plates as well as up and down: the
section's matrices once per layer, joined by conduction along the height. A layer not yet filled holds
its plates only. The foot is taken as closed to heat (a base plate on a bench), the top of the fill
loses heat by the outside film until the next lift covers it, and the air of a void is one node over
the whole height. Coarser than the section model; the one-go case of both is compared in the results.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array

from orthostat.analyses.pour.cup import Stuff, calibrated
from orthostat.analyses.pour.filling import fill_stuff
from orthostat.analyses.pour.gaps import layer_depths
from orthostat.analyses.pour.heat import element_size
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.kinetics import Kinetics
from orthostat.analyses.pour.march import ThermalBody, Tolerance, march
from orthostat.analyses.pour.mix import Mix
from orthostat.analyses.pour.section import Section, films, section
from orthostat.analyses.pour.solve import solve
from orthostat.base.dimensions import Kelvin, KelvinDifference, Metre, Ratio, Second, WattPerSquareMetreKelvin
from orthostat.base.findings import stated
from orthostat.base.progress import SILENT, Progress
from orthostat.catalogue.casting import assumption
from orthostat.model.pouring import Lift

Floats = NDArray[np.float64]

LIFT_TOLERANCE = Tolerance(KelvinDifference(0.6), 0.012)
LAYERS = 10
GONE = 0.8
"""Share of a lift's rise that has gone before the next is poured, where no wait is stated."""
MOST_LIFTS = 8
LAST = Second(4.0 * 86400.0)
"""How long the last lift is followed."""


@dataclass(frozen=True, slots=True)
class LiftPeak:
    """One lift: when it was poured, its peak, and how far the one below had cured by then."""

    number: int
    top: Metre
    """Above the underside of the fill [m]."""
    poured: Second
    """After the first lift."""
    peak: Kelvin
    peak_time: Second
    """After the first lift was poured."""
    below_cured: Ratio | None
    """Mean share cured of the lift below when this one was poured."""


@dataclass(frozen=True)
class Lifts:
    """A pour in lifts. Curves (k,) over `times` [s], of the hottest place in the fill [K]."""

    lifts: tuple[LiftPeak, ...]
    times: Floats
    hottest: Floats

    @property
    def peak(self) -> Kelvin:
        """The hottest of all lifts [K]."""
        return Kelvin(max(lift.peak for lift in self.lifts))

    @property
    def total(self) -> Second:
        """From the first lift to the last one's pouring [s]."""
        return self.lifts[-1].poured


def solve_lifts(
    inputs: Inputs, mix: Mix, *, layers: int = LAYERS, across: int = 9, progress: Progress = SILENT
) -> Lifts:
    """The pour in the lifts it states (one go if none). Raises `NotStated` naming what is missing.

    A lift without a stated wait is followed by the next once it has peaked and most of its rise has
    gone (`GONE`).
    """
    pour = inputs.pour
    room = stated(pour.room, f"{pour.path}.room")
    kinetics = calibrated(stated(pour.resin, f"{pour.path}.resin")).kinetics
    stuff = fill_stuff(inputs, mix, mix.used.likely)
    size = element_size(inputs, across=across)
    cut = section(inputs, stuff, stuff.resin_mass * kinetics.heat, films(inputs), size=size)
    stack = _Stack.of(inputs, cut, stuff, kinetics, layers)
    placed = pour.mix_temperature if pour.mix_temperature is not None else room
    return _poured(inputs, stack, room, placed, progress)


def solve_pour_in_lifts(inputs: Inputs, progress: Progress = SILENT) -> Lifts:
    """The pour as its document states it. Raises `NotStated` naming what is missing."""
    return solve_lifts(inputs, solve(inputs).known_mix(), progress=progress)


def in_equal_lifts(inputs: Inputs, count: int) -> Inputs:
    """The same pour in a number of equal lifts, each after the last has peaked and begun to cool."""
    tall = inputs.top - inputs.bottom
    lifts = tuple(Lift(Metre(tall * (k + 1) / count)) for k in range(count))
    return replace(inputs, pour=replace(inputs.pour, lifts=lifts if count > 1 else ()))


@dataclass(frozen=True)
class LiftStudy:
    """The same fill in one, two, … equal lifts, up to the first that stays under the resin's limit."""

    tried: tuple[Lifts, ...]
    limit: Kelvin

    @property
    def chosen(self) -> Lifts | None:
        """The fewest lifts under the limit; `None` if none of those tried is."""
        last = self.tried[-1]
        return last if last.peak <= self.limit else None


def solve_lift_study(inputs: Inputs, progress: Progress = SILENT) -> LiftStudy:
    """Equal lifts, one more at a time, until the peak is under the resin's limit or `MOST_LIFTS` is met.

    Raises `NotStated` naming what is missing.
    """
    resin = stated(inputs.pour.resin, f"{inputs.pour.path}.resin")
    limit = stated(resin.temperature_limit, f"{resin.path}.temperature_limit")
    mix = solve(inputs).known_mix()
    tried: list[Lifts] = []
    for count in range(1, MOST_LIFTS + 1):
        told = progress.step(count - 1, MOST_LIFTS, f"in {count} equal lifts" if count > 1 else "in one go")
        tried.append(solve_lifts(in_equal_lifts(inputs, count), mix, progress=told))
        if tried[-1].peak <= limit:
            break
    return LiftStudy(tuple(tried), limit)


@dataclass(frozen=True)
class _Stack:
    """Layers of one section, foot first: thickness, lift number and matrices."""

    cut: Section
    stuff: Stuff
    kinetics: Kinetics
    thick: Floats
    lift: NDArray[np.integer[Any]]
    film: WattPerSquareMetreKelvin

    @staticmethod
    def of(inputs: Inputs, cut: Section, stuff: Stuff, kinetics: Kinetics, layers: int) -> _Stack:
        depths = layer_depths(inputs)
        each = sum(depths) / layers
        thick, lift = [], []
        for number, depth in enumerate(depths):
            parts = max(3, round(depth / each))
            thick += [depth / parts] * parts
            lift += [number] * parts
        film = inputs.pour.film
        usual = WattPerSquareMetreKelvin(assumption("film outside").likely)
        return _Stack(cut, stuff, kinetics, np.array(thick), np.array(lift), usual if film is None else film)

    @property
    def nodes(self) -> int:
        """Mesh nodes of one layer."""
        return self.cut.count

    def body(self, filled: int) -> ThermalBody:
        """The thermal body with lifts 0 … filled in place."""
        n, layers = self.nodes, len(self.thick)
        total = n * layers + len(self.cut.voids)
        fill_area = self.cut.fill_area
        fill_only = self.cut.filled.along - self.cut.walls.along
        rows: list[Any] = []
        columns: list[Any] = []
        values: list[Any] = []
        capacity, film, heat = np.zeros(total), np.zeros(total), np.zeros(total)

        def couple(a: Any, b: Any, g: Any) -> None:
            rows.extend((a, b, a, b))
            columns.extend((a, b, b, a))
            values.extend((g, g, -g, -g))

        for k in range(layers):
            at = np.arange(n) + n * k
            full = self.lift[k] <= filled
            part = self.cut.filled if full else self.cut.walls
            capacity[at] = part.capacity * self.thick[k]
            film[at] = self.cut.film * self.thick[k]
            stiff = part.stiffness.tocoo()
            rows.append(stiff.coords[0] + n * k)
            columns.append(stiff.coords[1] + n * k)
            values.append(stiff.data * self.thick[k])
            if full:
                heat[at] = fill_area * self.thick[k] * self.stuff.resin_mass * self.kinetics.heat
                for v, (_, wall, g) in enumerate(self.cut.voids):
                    couple(wall + n * k, np.full(len(wall), n * layers + v), g * self.thick[k])
            if k + 1 < layers:
                joined = full and self.lift[k + 1] <= filled
                along = self.cut.walls.along + (fill_only if joined else 0.0)
                couple(at, at + n, along * 2.0 / (self.thick[k] + self.thick[k + 1]))
            if full and (k + 1 == layers or self.lift[k + 1] > filled):
                film[at] += fill_area / (1.0 / self.film + 0.5 * self.thick[k] / self.stuff.conductivity)
        for v, (held, _, _) in enumerate(self.cut.voids):
            capacity[n * layers + v] = held * float(self.thick.sum())
        idle = capacity <= 0.0
        capacity[idle] = 1.0
        rows.append(np.arange(total))
        columns.append(np.arange(total))
        values.append(film)
        matrix = coo_array(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(total, total)
        )
        return ThermalBody(capacity, csc_array(matrix.tocsc()), film, heat)

    def of_lift(self, number: int) -> NDArray[np.integer[Any]]:
        """Numbers of the fill nodes of one lift."""
        layers = np.flatnonzero(self.lift == number)
        return np.concatenate([self.cut.fill_nodes + self.nodes * k for k in layers])


def _poured(inputs: Inputs, stack: _Stack, room: Kelvin, placed: Kelvin, progress: Progress) -> Lifts:
    count = int(stack.lift.max()) + 1
    waits = _waits(inputs, count)
    tops = np.cumsum(layer_depths(inputs))
    body = stack.body(0)
    temperature = np.full(len(body.capacity), float(room))
    cured = np.zeros_like(temperature)
    poured, found, times, curve = 0.0, [], [np.zeros(0)], [np.zeros(0)]
    for number in range(count):
        before = stack.body(number - 1) if number else None
        body = stack.body(number)
        mine = stack.of_lift(number)
        temperature = _filled(temperature, body, before, mine, placed)
        below = float(cured[stack.of_lift(number - 1)].mean()) if number else None
        cured[mine] = 0.0
        last = number == count - 1
        wait = LAST if last else waits[number]
        history = march(
            body,
            stack.kinetics,
            temperature,
            room=room,
            until=LAST if wait is None else wait,
            conversion=cured,
            tolerance=LIFT_TOLERANCE,
            stop=_cooled(mine, placed) if wait is None or last else None,
            progress=progress.step(number, count, f"lift {number + 1} of {count}"),
        )
        series = history.temperatures[:, mine].max(axis=1)
        top = int(series.argmax())
        found.append(
            LiftPeak(number + 1, Metre(float(tops[number])), Second(poured), Kelvin(float(series[top])),
                     Second(poured + float(history.times[top])), None if below is None else Ratio(below))
        )  # fmt: skip
        so_far = np.concatenate([stack.of_lift(k) for k in range(number + 1)])
        times.append(history.times + poured)
        curve.append(history.temperatures[:, so_far].max(axis=1))
        poured += float(history.times[-1])
        temperature, cured = history.temperatures[-1].copy(), history.conversions[-1].copy()
    return Lifts(tuple(found), _frozen(np.concatenate(times)), _frozen(np.concatenate(curve)))


def _waits(inputs: Inputs, count: int) -> list[Second | None]:
    stated_waits = [lift.wait for lift in sorted(inputs.pour.lifts, key=lambda lift: lift.top)]
    return [*stated_waits, *([None] * count)][:count]


def _filled(
    temperature: Floats,
    body: ThermalBody,
    before: ThermalBody | None,
    mine: NDArray[np.integer[Any]],
    placed: Kelvin,
) -> Floats:
    """Temperatures after fresh mix has come in: shared nodes take the mean by heat held."""
    new = temperature.copy()
    old = (
        np.zeros(len(mine))
        if before is None
        else np.where(before.heat[mine] > 0.0, 0.0, before.capacity[mine])
    )
    old = np.where(old >= body.capacity[mine], 0.0, old)
    share = old / body.capacity[mine]
    new[mine] = share * temperature[mine] + (1.0 - share) * placed
    return new


def _cooled(mine: NDArray[np.integer[Any]], placed: Kelvin) -> Any:
    """True once this lift has peaked and most of its rise has gone."""
    highest = [float(placed)]

    def fallen(temperature: Floats, cured: Floats) -> bool:
        hottest = float(temperature[mine].max())
        highest[0] = max(highest[0], hottest)
        rise = highest[0] - placed
        return float(cured[mine].mean()) > 0.5 and hottest < placed + (1.0 - GONE) * max(rise, 1.0)

    return fallen


def _frozen(array: Floats) -> Floats:
    array.setflags(write=False)
    return array
