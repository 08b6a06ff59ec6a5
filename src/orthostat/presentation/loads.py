"""The chapter on loads: what every cut needs and pushes with, and what the machine's motions do."""

from __future__ import annotations

from math import degrees
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.loads import CutLoads, OpenCut, Result, Revolution
from orthostat.base.showing import System, show
from orthostat.base.units import resolve
from orthostat.presentation import svg
from orthostat.presentation.blocks import Block, Column, Figure, Paragraph, Quantity, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.chart import Chart, Line
from orthostat.presentation.ranges import Bar, range_picture

Array = NDArray[np.float64]


def _blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    loads: Result = evaluation.loads
    blocks: list[Block] = [
        Paragraph(
            "Forces are for tools at the worn end of their range and are carried as ranges. Milling is "
            "summed tooth by tooth over a revolution; where no feed direction is stated, every direction "
            "in the face is tried. Wrenches are taken about the B axis at the pallet top."
        )
    ]
    if loads.cuts:
        blocks += [_cut_table(loads), _force_table(loads)]
        blocks += [_figure(alike, system) for alike in distinct(loads.cuts)]
    if loads.open_cuts:
        blocks.append(_open_table(loads.open_cuts))
    if loads.extremes:
        blocks.append(_extremes(loads))
    blocks.append(_handling(loads, system))
    return tuple(blocks)


def distinct(cuts: tuple[CutLoads, ...]) -> list[list[CutLoads]]:
    """Cuts with the same forces together, so that one chart stands for all of them."""
    found: dict[tuple[object, ...], list[CutLoads]] = {}
    for cut in cuts:
        forces = cut.forces
        key = (forces.kind, forces.speed, forces.torque_peak, forces.thrust, forces.radial_peak)
        found.setdefault(key, []).append(cut)
    return list(found.values())


def _names(cuts: list[CutLoads]) -> str:
    return cuts[0].label if len(cuts) == 1 else f"{cuts[0].label} and {len(cuts) - 1} alike"


def _cut_table(loads: Result) -> Table:
    rows = tuple(
        (
            _names(alike),
            alike[0].forces.kind,
            Quantity(alike[0].forces.speed, "rotation speed"),
            Quantity(alike[0].forces.feed_rate, "feed rate"),
            Quantity(alike[0].forces.thickness, "length"),
            Quantity(alike[0].forces.specific_force, "pressure"),
            Quantity(alike[0].forces.power, "power"),
            Quantity(_high(alike[0], alike[0].forces.power), "power"),
            Quantity(alike[0].forces.torque_mean, "moment"),
            Quantity(_high(alike[0], alike[0].forces.torque_mean), "moment"),
        )
        for alike in distinct(loads.cuts)
    )
    notes = list(dict.fromkeys(note for cut in loads.cuts for note in cut.forces.notes))
    return Table(
        "What each cut asks of the spindle",
        (
            Column("Cut"),
            Column("Kind"),
            Column("Speed", numeric=True),
            Column("Feed", numeric=True),
            Column("Thickest chip", numeric=True),
            Column("kc", numeric=True),
            Column("Power at the cutter", numeric=True),
            Column("at most", numeric=True),
            Column("Mean torque", numeric=True),
            Column("at most", numeric=True),
        ),
        rows,
        "; ".join(notes),
    )


def _force_table(loads: Result) -> Table:
    def row(cut: CutLoads) -> tuple[Quantity, ...]:
        forces = cut.forces
        return (
            Quantity(forces.thrust, "force"),
            Quantity(_high(cut, forces.thrust), "force"),
            Quantity(forces.radial_peak, "force"),
            Quantity(_high(cut, forces.radial_peak), "force"),
            Quantity(forces.pull, "force"),
            Quantity(float(np.abs(cut.wrenches[:, 4]).max()), "moment"),
            Quantity(float(np.hypot(cut.wrenches[:, 3], cut.wrenches[:, 5]).max()), "moment"),
        )

    return Table(
        "What each cut pushes with",
        (
            Column("Cut"),
            Column("Mean thrust into the work", numeric=True),
            Column("at most", numeric=True),
            Column("Peak across the spindle", numeric=True),
            Column("at most", numeric=True),
            Column("Pull at breakthrough", numeric=True),
            Column("Moment about B, at most", numeric=True),
            Column("Tilting the base, at most", numeric=True),
        ),
        tuple((cut.label, *row(cut)) for cut in loads.cuts),
        "A negative thrust pulls toward the spindle.",
    )


def _high(cut: CutLoads, value: float | None) -> float | None:
    return None if value is None else value * cut.forces.span.high


def _figure(alike: list[CutLoads], system: System) -> Figure:
    """Force over a revolution for the engagement that pushes hardest, or the range of a steady cut."""
    cut = alike[0]
    forces = cut.forces
    turn = max(forces.revolutions, key=lambda each: float(np.abs(each.force).max()))
    words = (
        f"{_names(alike)}, likely values ({turn.label}): peak across the spindle "
        f"{show(forces.radial_peak, 'force', system)}, mean thrust {show(forces.thrust, 'force', system)}, "
        f"mean torque {show(forces.torque_mean, 'moment', system)}; the range runs from "
        f"{forces.span.low:.2f} to {forces.span.high:.2f} of these."
    )
    stem = f"load-{_stem(cut.label)}"
    if len(turn.angle) <= 2:
        bars = [Bar("torque", *_span(forces.torque_mean, cut), "moment")]
        if forces.thrust:
            bars.insert(0, Bar("thrust into the work", *_span(forces.thrust, cut), "force"))
        if forces.pull:
            bars.append(Bar("pull at breakthrough", *_span(forces.pull, cut), "force"))
        caption = f"{_names(alike)}: low, likely and high"
        return Figure(stem, range_picture(caption, tuple(bars), system, words), caption, words)
    caption = f"{_names(alike)}: force on the work over one revolution ({turn.label}, likely values)"
    return Figure(stem, _chart(turn, f"{cut.label}, {turn.label}", words, system), caption, words)


def _span(value: float, cut: CutLoads) -> tuple[float, float, float]:
    span = cut.forces.span
    return value * span.low, value * span.likely, value * span.high


def _stem(name: str) -> str:
    return "".join(letter if letter.isalnum() else "-" for letter in name.lower()).strip("-") or "cut"


def _chart(turn: Revolution, caption: str, words: str, system: System) -> str:
    force, moment, times = ("N", "N*m", 10.0) if system == "metric" else ("lbf", "in*lbf", 1.0)
    in_force, in_moment = resolve(force).factor, resolve(moment).factor
    angle = [degrees(a) for a in turn.angle]
    step = max(1, len(angle) // 240)
    chosen = range(0, len(angle), step)
    lines = [
        Line(name, tuple((angle[k], float(turn.force[k, column]) / in_force) for k in chosen))
        for column, name in enumerate(("along feed", "across feed", "outward"))
    ]
    torque = tuple((angle[k], times * float(turn.torque[k]) / in_moment) for k in chosen)
    named = ("torque × 10, " if times > 1.0 else "torque, ") + moment.replace("*", "·")
    lines.append(Line(named, torque, colour=svg.QUIET))
    return Chart(
        caption,
        "turn of the cutter, °",
        f"force, {force}",
        tuple(lines),
        x_range=(0.0, 360.0),
        width=680.0,
        height=280.0,
        description=words,
    ).render()


def _open_table(cuts: tuple[OpenCut, ...]) -> Table:
    return Table(
        "Cuts whose loads are not known",
        (Column("Cut"), Column("Why")),
        tuple((cut.label, cut.reason or f"not stated: {', '.join(cut.missing)}") for cut in cuts),
        "No factor of the joint counts them, so no verdict rests on them.",
    )


def _extremes(loads: Result) -> Table:
    return Table(
        "The worst of every kind, at the high end of its range",
        (Column("Load"), Column("At most", numeric=True), Column("Made by"), Column("When")),
        tuple(
            (extreme.name, Quantity(extreme.value, extreme.kind), extreme.path, extreme.case)
            for extreme in loads.extremes
        ),
    )


def _clean(wrenches: Array, values: Array) -> float:
    """The greatest of values; rounding beside the wrench they come from is nothing."""
    greatest = float(values.max())
    return greatest if greatest > 1e-9 * float(np.abs(wrenches).max()) else 0.0


def _handling(loads: Result, system: System) -> Table:
    rows = [
        (
            motion.name,
            Quantity(
                _clean(motion.wrenches, np.hypot(motion.wrenches[:, 0], motion.wrenches[:, 2])), "force"
            ),
            Quantity(
                _clean(motion.wrenches, np.hypot(motion.wrenches[:, 3], motion.wrenches[:, 5])), "moment"
            ),
            Quantity(_clean(motion.wrenches, np.abs(motion.wrenches[:, 4])), "moment"),
            "",
        )
        for motion in loads.handling
    ]
    if loads.gravity is not None:
        tilt = _clean(loads.gravity, np.hypot(loads.gravity[3:4], loads.gravity[5:6]))
        rows.append(
            (
                "weight",
                Quantity(0.0, "force"),
                Quantity(tilt, "moment"),
                Quantity(0.0, "moment"),
                f"{show(-float(loads.gravity[1]), 'force', system)} down",
            )
        )
    rows += [
        (
            motion.name,
            Quantity(None, "force"),
            Quantity(None, "moment"),
            Quantity(None, "moment"),
            motion.reason or f"not stated: {', '.join(motion.missing)}",
        )
        for motion in loads.open_handling
    ]
    return Table(
        "What the machine's motions do to the loaded column",
        (
            Column("Motion"),
            Column("Sideways", numeric=True),
            Column("Tilting the base", numeric=True),
            Column("About B", numeric=True),
            Column("Note"),
        ),
        tuple(rows),
    )


CHAPTER = ChapterMaker("loads", "Loads", 25, _blocks)
