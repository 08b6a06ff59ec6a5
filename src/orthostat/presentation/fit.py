"""The chapter on mass and fit: what it weighs, how far it reaches, what each cut asks of the machine."""

from __future__ import annotations

from math import hypot
from typing import Any

from orthostat.analyses.fit.travel import CutTravel
from orthostat.analyses.solids import Group
from orthostat.base.findings import NotStated
from orthostat.base.showing import System
from orthostat.model.column import Column as Design
from orthostat.presentation.blocks import Block, Cell, Column, Figure, Quantity, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.plan import plan_picture
from orthostat.presentation.standing import side_figure


def _blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    blocks: list[Block] = [_picture(evaluation, system), side_figure(evaluation.column, system)]
    blocks += [_masses(evaluation), _lifts(evaluation)]
    if evaluation.fit.travels:
        blocks.append(_travels(evaluation))
    return tuple(blocks)


def _masses(evaluation: Any) -> Table:
    """Mass, centre of gravity and inertia of the groups that get lifted or turned."""
    solids = evaluation.solids
    groups = [solids.bare, solids.fastened, *solids.platforms, solids.loaded]
    groups += [face.without for face in solids.faces]
    rows, missing = [], []
    for group in groups:
        rows.append(_mass_row(group))
        missing += group.missing
    note = "Heights are above the pallet top. Inertia is about the B axis."
    if missing:
        note += " Not stated: " + ", ".join(dict.fromkeys(missing)) + "."
    return Table(
        "What it weighs, and how hard it is to turn",
        (
            Column("What"),
            Column("Volume", numeric=True),
            Column("Mass", numeric=True),
            Column("Centre of gravity, height", numeric=True),
            Column("and off the B axis", numeric=True),
            Column("Inertia", numeric=True),
        ),
        tuple(rows),
        note,
    )


def _mass_row(group: Group) -> tuple[Cell, ...]:
    volume = Quantity(group.volume, "volume")
    try:
        x, y, z = group.centre
    except NotStated:
        unknown = [Quantity(None, kind) for kind in ("mass", "length", "length", "moment of inertia")]
        return (group.name, volume, *unknown)
    return (
        group.name,
        volume,
        Quantity(group.mass, "mass"),
        Quantity(y, "length"),
        Quantity(hypot(x, z), "length"),
        Quantity(group.about_b_axis, "moment of inertia"),
    )


def _lifts(evaluation: Any) -> Table:
    return Table(
        "Pieces to lift",
        (Column("Piece"), Column("Alike", numeric=True), Column("Mass of each", numeric=True)),
        tuple((lift.name, lift.count, Quantity(lift.mass, "mass")) for lift in evaluation.fit.lifts),
        "The fill is poured in place. Fastenings and form tubes are left out.",
    )


def _picture(evaluation: Any, system: System) -> Figure:
    svg, words = plan_picture(evaluation.column, evaluation.solids, evaluation.fit, system)
    return Figure("plan", svg, "Plan from above at B = 0, with the circle that the load sweeps", words)


def _travels(evaluation: Any) -> Table:
    return Table(
        "What each cut asks of the machine",
        (
            Column("Cut"),
            Column("Tool"),
            Column("B", numeric=True),
            Column("X from", numeric=True),
            Column("X to", numeric=True),
            Column("Y from", numeric=True),
            Column("Y to", numeric=True),
            Column("Nose to B, nearest", numeric=True),
        ),
        tuple(_travel_row(cut, evaluation.column) for cut in evaluation.fit.travels),
        "Where the spindle axis must come to. A mill may stop its flat radius short of a region's end, "
        "so that its first end may lie past its last.",
    )


def _travel_row(cut: CutTravel, column: Design) -> tuple[Cell, ...]:
    nose = None if cut.gauge_length is None else cut.tip_near + cut.gauge_length
    return (
        f"{cut.station}: {cut.name}",
        cut.tool,
        Quantity(column.b_of(cut.angle), "angle"),
        *(Quantity(end, "length") for end in (cut.x_low, cut.x_high, cut.y_low, cut.y_high, nose)),
    )


CHAPTER = ChapterMaker("fit", "Mass and fit", 10, _blocks, short="Fit")
