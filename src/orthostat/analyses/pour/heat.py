"""The cure of the section over time: peak, setting, lean, stripping, and the range about them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.pour.cup import Calibration, calibrated
from orthostat.analyses.pour.filling import fill_stuff
from orthostat.analyses.pour.inputs import Inputs, Plate
from orthostat.analyses.pour.lean import Lean, lean_locked_in
from orthostat.analyses.pour.march import USUAL, History, Tolerance, march
from orthostat.analyses.pour.mix import Mix, Proportions
from orthostat.analyses.pour.section import Section, films, section
from orthostat.base.dimensions import (
    Kelvin,
    KelvinDifference,
    Metre,
    Ratio,
    Second,
)
from orthostat.base.findings import NotStated, stated
from orthostat.base.progress import SILENT, Progress
from orthostat.base.showing import show_both
from orthostat.catalogue.casting import assumption
from orthostat.formulas.cure import adiabatic_rise
from orthostat.model.bodies import Point2

Floats = NDArray[np.float64]

COARSE = Tolerance(KelvinDifference(0.5), 0.01)
HORIZON = Second(7.0 * 86400.0)
_ASSUMPTIONS = 5
"""Of which the ends are made, at most."""


@dataclass(frozen=True, slots=True)
class Share:
    """One assumption at its end alone, and what that does to the peak."""

    assumed: str
    change: KelvinDifference


@dataclass(frozen=True, slots=True)
class End:
    """The peak at the cold end of the assumptions, likely, or at the warm end.

    An end moves the likely peak by the root of the sum of the squares of what each assumption does
    alone: they are independent, and hardly all at their ends together.
    """

    name: str
    peak: Kelvin
    peak_time: Second
    shares: tuple[Share, ...] = ()


@dataclass(frozen=True)
class Heat:
    """One go, at the middle of the height. Times count from filling; curves are (k,) over `times`."""

    section: Section = field(repr=False)
    history: History = field(repr=False)
    calibration: Calibration
    room: Kelvin
    hottest: Floats = field(repr=False)
    mean: Floats = field(repr=False)
    least_cured: Floats = field(repr=False)
    mean_cured: Floats = field(repr=False)
    face_temperatures: tuple[tuple[str, Floats], ...] = field(repr=False)
    peak: Kelvin
    peak_time: Second
    peak_place: Point2
    """(x, z) [m]."""
    adiabatic: KelvinDifference
    """Rise with no heat lost: the upper bound."""
    first_set: Second
    set_time: Second
    """When half of the fill has gelled: the instant used for what locks in."""
    last_set: Second | None
    """When the slowest place gels; `None` if it does not in a week."""
    face_difference: KelvinDifference
    """Warmest less coolest face when it sets."""
    lean: Lean | None
    why_no_lean: str
    strip: Second | None
    """When the least cured place may lose its form; `None` if it never gets there at this room."""
    bolt: Second | None
    """When it is cured and cool enough to be bolted down."""
    final_least: Ratio
    """Least share cured after a week at the room."""
    post_cured: Ratio | None
    """Least share cured after the stated post-cure; `None` where none is stated."""
    ends: tuple[End, ...]

    @property
    def warm_end(self) -> End:
        """The hottest of the ends."""
        return max(self.ends, key=lambda end: end.peak)

    def field_at(self, time: Second) -> Floats:
        """Temperatures of the mesh nodes (n,) at a time [K]."""
        return self.history.at(time)[0][: self.section.count]


def element_size(inputs: Inputs, *, across: int = 18) -> Metre:
    """Edge length that puts `across` elements over the square root of the section's area."""
    points = inputs.cavity.points
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
    return Metre((abs(twice) / 2.0) ** 0.5 / across)


def solve_heat(
    inputs: Inputs,
    mix: Mix,
    *,
    size: Metre | None = None,
    tolerance: Tolerance = USUAL,
    progress: Progress = SILENT,
) -> Heat:
    """The cure in one go, with its cold and warm ends. Raises `NotStated` naming what is missing."""
    pour = inputs.pour
    resin = stated(pour.resin, f"{pour.path}.resin")
    room = stated(pour.room, f"{pour.path}.room")
    calibration = calibrated(resin)
    edge = element_size(inputs) if size is None else size
    planned = progress.step(0, 4, "as planned")
    run = _run(inputs, mix, calibration, room=room, size=edge, tolerance=tolerance, progress=planned)
    likely = End("likely", Kelvin(float(run.hottest.max())), run.peak_time)
    rough = Metre(2.0 * edge)
    base, _ = quick_peak(
        inputs, mix, calibration, room=room, size=rough, progress=progress.step(1, 4, "on a coarse mesh")
    )
    ends = tuple(
        likely
        if name == "likely"
        else _end(inputs, mix, likely, base, name, rough, progress.step(done, 4, f"{name} end"))
        for name, done in (("cold", 2), ("likely", 3), ("warm", 3))
    )
    return _read(inputs, mix, calibration, room, run, ends)


@dataclass(frozen=True)
class Run:
    """One simulated cure."""

    section: Section
    history: History
    hottest: Floats
    """(k,) of the fill."""

    @property
    def peak_time(self) -> Second:
        return Second(float(self.history.times[int(self.hottest.argmax())]))


def _run(
    inputs: Inputs,
    mix: Mix,
    calibration: Calibration,
    *,
    room: Kelvin,
    size: Metre,
    tolerance: Tolerance = USUAL,
    plates: tuple[Plate, ...] | None = None,
    made: Proportions | None = None,
    conduction: str = "likely",
    air: str = "likely",
    progress: Progress = SILENT,
) -> Run:
    """`conduction` and `air` pick low, likely or high conductivity of the fill and films."""
    stuff = fill_stuff(inputs, mix, mix.used.likely if made is None else made, end=conduction)
    kinetics = calibration.kinetics
    heat = stuff.resin_mass * kinetics.heat
    cut = section(inputs, stuff, heat, films(inputs, end=air), size=size, plates=plates)
    start = np.full(len(cut.body.capacity), float(room))
    placed = inputs.pour.mix_temperature
    if placed is not None:
        start[cut.fill_nodes] = placed
    history = march(
        cut.body, kinetics, start, room=room, until=HORIZON, tolerance=tolerance, progress=progress
    )
    return Run(cut, history, history.temperatures[:, cut.fill_nodes].max(axis=1))


def quick_peak(
    inputs: Inputs, mix: Mix, calibration: Calibration, *, room: Kelvin, size: Metre, **changed: Any
) -> tuple[Kelvin, Second]:
    """Peak and its time on a coarse mesh with long steps; `changed` as for a run."""
    run = _run(inputs, mix, calibration, room=room, size=size, tolerance=COARSE, **changed)
    return Kelvin(float(run.hottest.max())), run.peak_time


def _end(
    inputs: Inputs, mix: Mix, likely: End, base: Kelvin, name: str, size: Metre, progress: Progress
) -> End:
    """The peak with each assumption moved alone to its cold or warm end, combined."""
    pour = inputs.pour
    resin = stated(pour.resin, f"{pour.path}.resin")
    room = stated(pour.room, f"{pour.path}.room")
    more, less = ("low", "high") if name == "cold" else ("high", "low")
    words = ("least", "most") if name == "cold" else ("most", "least")
    calibration = calibrated(resin)
    made = mix.used.low if name == "cold" else mix.used.high
    shares: list[Share] = []

    def alone(
        assumed: str, *, of: Calibration = calibration, at: Kelvin = room, moved: Inputs = inputs, **to: Any
    ) -> None:
        told = progress.step(len(shares), _ASSUMPTIONS, assumed)
        peak, _ = quick_peak(moved, mix, of, room=at, size=size, progress=told, **to)
        shares.append(Share(assumed, KelvinDifference(peak - base)))

    alone(f"{words[0]} heat of reaction", of=calibrated(resin, more))
    alone(f"{words[0]} resin in the mix", made=made)
    alone(f"{words[1]} conduction in the fill", conduction=less)
    if pour.film is None:
        alone(f"{words[1]} heat passed to the air", air=less)
    other = pour.room_low if name == "cold" else pour.room_high
    if other is not None:
        placed = pour.mix_temperature
        shifted = None if placed is None else Kelvin(placed + other - room)
        moved = replace(inputs, pour=replace(pour, mix_temperature=shifted))
        alone(f"room at {show_both(other, 'temperature')}", at=other, moved=moved)
    sign = -1.0 if name == "cold" else 1.0
    total = sum(max(0.0, sign * share.change) ** 2 for share in shares) ** 0.5
    return End(name, Kelvin(likely.peak + sign * total), likely.peak_time, tuple(shares))


def _read(
    inputs: Inputs, mix: Mix, calibration: Calibration, room: Kelvin, run: Run, ends: tuple[End, ...]
) -> Heat:
    cut, history = run.section, run.history
    fill = cut.fill_nodes
    weights = cut.fill_area[fill] / cut.fill_area[fill].sum()
    cured = history.conversions[:, fill]
    first = history.when(cured.max(axis=1), calibration.kinetics.gel)
    half = _smooth_when(history, cured, weights, calibration.kinetics.gel)
    if first is None or half is None:
        raise NotStated(
            f"{inputs.pour.path}.room", reason="half of the fill does not set within a week at this room"
        )
    last = history.when(cured.min(axis=1), calibration.kinetics.gel)
    temperatures = history.temperatures[:, : cut.count]
    step = int(run.hottest.argmax())
    place = cut.mesh.points[fill[int(temperatures[step, fill].argmax())]]
    at_set = history.at(half)[0][: cut.count]
    faces = tuple((name, temperatures @ w) for name, w in cut.faces)
    face_set = [float(at_set @ w) for _, w in cut.faces]
    lean, why = _lean(inputs, cut, at_set)
    made = mix.used.likely
    stuff = fill_stuff(inputs, mix, made)
    strip, bolt = _ready(inputs, history, cured.min(axis=1), run.hottest, room)
    return Heat(
        section=cut,
        history=history,
        calibration=calibration,
        room=room,
        hottest=run.hottest,
        mean=history.temperatures[:, fill] @ weights,
        least_cured=cured.min(axis=1),
        mean_cured=cured @ weights,
        face_temperatures=faces,
        peak=Kelvin(float(run.hottest[step])),
        peak_time=run.peak_time,
        peak_place=(float(place[0]), float(place[1])),
        adiabatic=adiabatic_rise(
            resin_share=made.resin,
            resin_density=mix.resin.density,
            heat_of_reaction=calibration.kinetics.heat,
            mix_density=made.density,
            specific_heat=stuff.specific_heat,
        ),
        first_set=first,
        set_time=half,
        last_set=last,
        face_difference=KelvinDifference(max(face_set) - min(face_set) if face_set else 0.0),
        lean=lean,
        why_no_lean=why,
        strip=strip,
        bolt=bolt,
        final_least=Ratio(float(cured[-1].min())),
        post_cured=_post_cured(inputs, run, calibration),
        ends=ends,
    )


def _post_cured(inputs: Inputs, run: Run, calibration: Calibration) -> Ratio | None:
    """Least share cured once the air around has been at the post-cure's temperature for its time."""
    warm, long = inputs.pour.post_cure, inputs.pour.post_cure_time
    if warm is None or long is None:
        return None
    after = march(
        run.section.body,
        calibration.kinetics,
        run.history.temperatures[-1],
        room=warm,
        until=long,
        conversion=run.history.conversions[-1],
        tolerance=COARSE,
    )
    return Ratio(float(after.conversions[-1][run.section.fill_nodes].min()))


def _smooth_when(history: History, cured: Floats, weights: Floats, gel: float) -> Second | None:
    """When half of the fill's area is past the gel: the weighted median node crosses it."""
    order = np.argsort(cured, axis=1)
    ranked = np.cumsum(weights[order], axis=1)
    middle = np.argmax(ranked >= 0.5, axis=1)
    rows = np.arange(len(cured))
    return history.when(cured[rows, order[rows, middle]], gel)


def _lean(inputs: Inputs, cut: Section, at_set: Floats) -> tuple[Lean | None, str]:
    try:
        return lean_locked_in(inputs, cut.mesh, at_set), ""
    except NotStated as gap:
        return None, str(gap)


def _ready(
    inputs: Inputs, history: History, least: Floats, hottest: Floats, room: Kelvin
) -> tuple[Second | None, Second | None]:
    """When the form may come off, and when the column may be bolted down."""
    pour = inputs.pour
    strip = pour.strip_conversion or assumption("conversion to strip").likely
    bolt = pour.bolt_conversion or assumption("conversion to bolt down").likely
    cool = assumption("cool enough to bolt").likely
    stripped = history.when(least, strip)
    cured = history.when(least, bolt)
    if cured is None:
        return stripped, None
    warm = np.flatnonzero(hottest > room + cool)
    cooled = float(history.times[min(int(warm[-1]) + 1, len(history.times) - 1)]) if len(warm) else 0.0
    return stripped, Second(max(cured, cooled))
