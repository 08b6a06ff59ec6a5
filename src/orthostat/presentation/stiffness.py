"""The chapter on stiffness: movement, modes, limit depths, growth, anchors and the comparison."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from orthostat.analyses.stiffness import CutForce, Milling, Solved, Stiffness, limit_at
from orthostat.analyses.stiffness.matching import counterparts
from orthostat.analyses.stiffness.thermal import Growth
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated
from orthostat.base.showing import System, show
from orthostat.model.bodies import Role
from orthostat.model.column import Column as Design
from orthostat.model.joining import CORNERS
from orthostat.presentation.blocks import Block, Cell, Column, Paragraph, Quantity, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.lobes_chart import lobes_figure
from orthostat.presentation.mode_pictures import modes_figure
from orthostat.presentation.versions import envelope_table

Floats = npt.NDArray[np.float64]

MOST_LOBES = 4
"""Charts shown: the tools nearest to chatter."""
DEEPEST = 1.0
"""A limit depth beyond this [m] is no limit."""


def _blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    stiffness: Stiffness = evaluation.stiffness
    governing = stiffness.governing
    blocks: list[Block] = [Paragraph(f"{_how(stiffness)} {_as_one_piece(evaluation.column)}".rstrip())]
    if governing.movements:
        blocks.append(_movements(evaluation, stiffness))
    if governing.inputs.places:
        blocks.append(_compliances(governing))
    blocks += [_modes(stiffness), modes_figure(governing, stiffness.governing_quick)]
    if governing.inputs.millings:
        blocks.append(_limits(governing))
        blocks += [lobes_figure(governing, number, system) for number in _nearest(governing)]
    if governing.seams:
        blocks.append(_seams(governing))
    blocks.append(_growths(governing, system))
    if stiffness.inputs.variants:
        blocks.append(envelope_table(evaluation, system))
    return tuple(blocks)


def _how(stiffness: Stiffness) -> str:
    full, quick = stiffness.governing, stiffness.governing_quick
    away = quick.first.frequency / full.first.frequency - 1.0
    size, side = f"{100.0 * abs(away):.1f} %", "higher" if away >= 0.0 else "lower"
    unknowns = f"Verified with {full.unknowns} unknowns; the quick model of {quick.unknowns}"
    says = [f"{unknowns} puts the first frequency {size} {side}."]
    if full.counted:
        says.append("A count proves that no mode is missing.")
    if stiffness.has_seams:
        says.append(
            "Plates are taken as bonded to the fill, as the document says."
            if stiffness.inputs.bonded
            else "Verdicts are for plates that may slide on the fill, as the document does not say they are "
            "bonded; the bonded bound stands beside."
        )
        says.append("Both bounds are verified.")
    body = stiffness.inputs.body
    if body.joint is None:
        says.append("No joint is known: the base is taken as clamped.")
    if body.table.unstated:
        says.append(f"The machine's table is taken as rigid; not stated: {', '.join(body.table.unstated)}.")
    if body.table.yields and body.table.loss_factor is None:
        says.append(f"The table is taken to damp as the joint does; not stated: {body.table.loss_path}.")
    try:
        beams = [beam for beam in stiffness.beam if beam.holds]
    except NotStated:
        beams = []
    if beams:
        lowest = min(beam.frequency for beam in beams)
        says.append(f"A plain beam on the same joint would ring at {lowest:.4g} Hz.")
    else:
        says.append("A plain beam does not hold for a section this hollow and is not used.")
    return " ".join(says)


def _as_one_piece(column: Design) -> str:
    """What is taken of the seams between plates; nothing where there are none, or only welds and glue."""
    if not any(body.role is Role.PLATE for body in column.bodies):
        return ""
    how = {joint.kind: joint.how for joint in column.joints}
    if CORNERS not in how and column.fill_material is None:
        return "How the plates are joined is not stated; they are taken as one piece."
    held = sorted({ways for ways in how.values() if ways in ("screwed", "dowelled")})
    if not held:
        return ""
    return (
        f"Plates that are {' or '.join(held)} together are taken as one piece. Real seams yield, which "
        "lowers frequencies, most those at which the section distorts."
    )


def _movements(evaluation: Any, stiffness: Stiffness) -> Table:
    solved, other = stiffness.governing, stiffness.other
    rows: dict[str, tuple[float, tuple[Cell, ...]]] = {}
    for moved, beside in zip(solved.movements, other.movements, strict=True):
        cut = solved.inputs.cuts[moved.cut]
        limit = cut.tolerance if cut.tolerance is not None else evaluation.limits.deflection
        name = _cut_name(solved, cut)
        row: tuple[Cell, ...] = (
            name,
            Quantity(moved.total, "length"),
            Quantity(moved.outward, "length"),
            Quantity(moved.joint / moved.total if moved.total else 0.0, "share"),
            Quantity(beside.total, "length"),
            Quantity(limit, "length"),
        )
        if name not in rows or moved.total > rows[name][0]:
            rows[name] = (moved.total, row)
    ordered = sorted(rows.values(), key=lambda item: -item[0])
    return Table(
        "How far the work moves under each cut's largest load",
        (
            Column("Cut"),
            Column("Movement", numeric=True),
            Column("of it along the spindle", numeric=True),
            Column("Share of the joint", numeric=True),
            Column("Other bound of the bond", numeric=True),
            Column("Allowed", numeric=True),
        ),
        tuple(row for _, row in ordered),
        "Fixture and part are taken as rigid. The force across the spindle points its worst way.",
    )


def _cut_name(solved: Solved, cut: CutForce) -> str:
    place = solved.inputs.places[cut.place].name
    return cut.name if place in cut.name else f"{place}: {cut.name}"


def _compliances(solved: Solved) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for number, place in enumerate(solved.inputs.places):
        at = solved.ports.centre(number)
        axes = np.stack([np.asarray(place.across), np.array([0.0, 1.0, 0.0]), np.asarray(place.out)])
        still = axes @ solved.ports.static(number, at) @ axes.T
        joint = axes @ solved.ports.static_parts(number, at).sum(axis=0) @ axes.T
        rows.append(
            (
                place.name,
                *(Quantity(float(still[k, k]), "compliance") for k in range(3)),
                Quantity(float(joint[2, 2] / still[2, 2]), "share"),
                Quantity(_greatest(solved, number, np.asarray(place.out)), "compliance"),
            )
        )
    return Table(
        "Compliance at the stations",
        (
            Column("Station"),
            Column("Across", numeric=True),
            Column("Up", numeric=True),
            Column("Outward", numeric=True),
            Column("Share of the joint, outward", numeric=True),
            Column("Greatest when shaken outward", numeric=True),
        ),
        tuple(rows),
        "Movement of the middle of the fixture's footprint for each unit of force there.",
    )


def _greatest(solved: Solved, number: int, out: Floats) -> float | None:
    """Largest dynamic compliance along a direction; `None` where damping is not known."""
    if any(mode.loss is None for mode in solved.modes[:3]):
        return None
    circular = 2.0 * np.pi * np.array([mode.frequency for mode in solved.modes])
    response = solved.ports.harmonic(number, solved.ports.centre(number), circular)
    return float(np.abs(np.einsum("i,nij,j->n", out, response, out)).max())


def _modes(stiffness: Stiffness) -> Table:
    solved, quick, other = stiffness.governing, stiffness.governing_quick, stiffness.other
    rows = [
        (
            number,
            mode.kind,
            Quantity(mode.frequency, "frequency"),
            _frequency_of(quick, of_quick),
            _frequency_of(other, of_other),
            Quantity(None if mode.loss is None else 0.5 * mode.loss, "share"),
            Quantity(0.5 * mode.loss_of_joint, "share"),
            Quantity(mode.joint, "share"),
        )
        for number, (mode, of_quick, of_other) in enumerate(
            zip(solved.modes, counterparts(solved, quick), counterparts(solved, other), strict=True), 1
        )
    ]
    return Table(
        "Natural modes",
        (
            Column("Mode", numeric=True),
            Column("What it does"),
            Column("Frequency, verified", numeric=True),
            Column("quick", numeric=True),
            Column("other bound of the bond", numeric=True),
            Column("Damping ratio", numeric=True),
            Column("of it from the joint", numeric=True),
            Column("Energy in the joint", numeric=True),
        ),
        tuple(rows),
        "Stations carry their fixtures and parts. Damping is half the loss factor, by strain energy. Beside "
        "each mode stands the one of the same shape, which may have another number there.",
    )


def _frequency_of(solved: Solved, number: int | None) -> Quantity:
    return Quantity(None if number is None else solved.modes[number].frequency, "frequency")


def _limits(solved: Solved) -> Table:
    rows = [_limit_row(solved, number) for number in _worst_ways(solved)]
    return Table(
        "Limit depth of milling cuts",
        (
            Column("Cut"),
            Column("Tool"),
            Column("Engaging"),
            Column("Planned", numeric=True),
            Column("Lowest limit", numeric=True),
            Column("if the joint damps little", numeric=True),
            Column("if much", numeric=True),
            Column("At the planned speed", numeric=True),
        ),
        tuple(rows),
        "On the column's own response, the worst feed where none is stated. A dash is no limit. Between "
        "lobes the method flatters cutters of two or three teeth.",
    )


def _limit_row(solved: Solved, number: int) -> tuple[Cell, ...]:
    from orthostat.analyses.stiffness import lowest_limit

    milling = solved.inputs.millings[number]
    cut = solved.inputs.cuts[milling.cut]
    limit = solved.limits[number]
    ends = (
        [None, None]
        if limit is None
        else [lowest_limit(solved.ports_at(end), cut, milling).lowest for end in (0, 1)]
    )
    at = None
    if limit is not None and milling.speed is not None:
        at = limit_at(solved.ports, cut, milling, milling.speed)
    return (
        _cut_name(solved, cut),
        milling.tool,
        milling.way,
        Quantity(milling.depth, "length"),
        _depth(None if limit is None else limit.lowest),
        _depth(ends[0]),
        _depth(ends[1]),
        _depth(at),
    )


def _depth(value: Metre | None) -> Quantity:
    return Quantity(None if value is None or value > DEEPEST else value, "length")


def _worst_ways(solved: Solved) -> list[int]:
    """For each cut of each station, the milling with the lowest limit."""
    worst: dict[tuple[int, str], int] = {}
    for number, milling in enumerate(solved.inputs.millings):
        cut = solved.inputs.cuts[milling.cut]
        key = (cut.place, cut.name)
        if key not in worst or _low(solved, number) < _low(solved, worst[key]):
            worst[key] = number
    return list(worst.values())


def _low(solved: Solved, number: int) -> float:
    limit = solved.limits[number]
    return 0.0 if limit is None else limit.lowest


def _nearest(solved: Solved) -> list[int]:
    """The milling nearest to chatter of each tool, worst first."""
    nearest: dict[str, int] = {}
    for number in _worst_ways(solved):
        milling = solved.inputs.millings[number]
        if solved.limits[number] is None or _low(solved, number) > DEEPEST:
            continue
        before = nearest.get(milling.tool)
        if before is None or _use(solved, number, milling) > _use(
            solved, before, solved.inputs.millings[before]
        ):
            nearest[milling.tool] = number
    order = sorted(nearest.values(), key=lambda k: -_use(solved, k, solved.inputs.millings[k]))
    return order[:MOST_LOBES]


def _use(solved: Solved, number: int, milling: Milling) -> float:
    return (milling.depth or 0.0) / max(_low(solved, number), 1e-12)


def _seams(solved: Solved) -> Table:
    rows = []
    for seam in solved.seams:
        try:
            bears: float | None = min(seam.anchor_shear, seam.anchor_bearing)
        except NotStated:
            bears = None
        rows.append(
            (
                f"face {seam.bond.face}",
                seam.bond.count,
                Quantity(seam.bond.diameter, "length"),
                Quantity(seam.bond.spacing, "length"),
                Quantity(seam.from_cut, "force"),
                Quantity(seam.from_warmth, "force"),
                Quantity(bears, "force"),
            )
        )
    return Table(
        "What each anchor carries so that plates and fill bend as one",
        (
            Column("Plate"),
            Column("Anchors", numeric=True),
            Column("Diameter", numeric=True),
            Column("Widest spacing", numeric=True),
            Column("From the hardest cut", numeric=True),
            Column("From unequal expansion", numeric=True),
            Column("An anchor bears", numeric=True),
        ),
        tuple(rows),
        "Glue between plate and fill is not counted on.",
    )


def _growths(solved: Solved, system: System) -> Block:
    if solved.growth_missing:
        return Paragraph(
            f"Growth with temperature is unknown; not stated: {', '.join(solved.growth_missing)}."
        )
    climate = solved.inputs.climate
    swing = 1.0 if climate.swing is None else climate.swing
    across = 1.0 if climate.across is None else climate.across
    note = (
        "For one kelvin; the shop's change is not stated. "
        if climate.swing is None
        else f"For the shop's change of {show(swing, 'temperature difference', system)}. "
    )
    note += (
        f"Leaning is for this side {show(across, 'temperature difference', system)} warmer than the opposite "
        "one. Movements are absolute."
    )
    return Table(
        "Growth and lean with temperature",
        (
            Column("Place"),
            Column("Outward", numeric=True),
            Column("Up", numeric=True),
            Column("Leans outward when this side is warmer", numeric=True),
        ),
        tuple(_growth_row(grown, swing, across) for grown in solved.growths),
        note,
    )


def _growth_row(grown: Growth, swing: float, across: float) -> tuple[Cell, ...]:
    return (
        grown.name,
        Quantity(swing * float(grown.even[2]), "length"),
        Quantity(swing * float(grown.even[1]), "length"),
        Quantity(across * float(grown.sided[2]), "length"),
    )


CHAPTER = ChapterMaker("stiffness", "Stiffness, vibration and chatter", 40, _blocks, short="Stiffness")
