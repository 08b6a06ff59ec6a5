"""Drawings of every piece with its hole table, made from the model."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.pieces import Feature, FeatureKind, Part, Pieces, View
from orthostat.base.dimensions import Metre
from orthostat.base.showing import System, show
from orthostat.catalogue.tolerances import general
from orthostat.model.bodies import Role
from orthostat.presentation.blocks import Block, Column, Figure, Heading, Paragraph, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.lengths import UNIT, bare
from orthostat.presentation.sheets import FrameNote, drawing

GENERAL = "ISO 2768-mK unless stated"


def blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    """A drawing and a hole table for each view of each piece."""
    pieces: Pieces = evaluation.pieces
    found: list[Block] = [
        Paragraph(
            "Coordinates run from the datum corner that each drawing marks: x to the right, y up. "
            "Break edges 0.5 mm unless stated. "
            "Threads are drilled to the depth given; where the thread's own depth is not given, leave the "
            "run-out the tap needs."
        )
    ]
    for part in pieces.drawn:
        found += part_blocks(part, evaluation, system)
    return tuple(found)


def part_blocks(part: Part, evaluation: Any, system: System) -> list[Block]:
    """Heading, drawings and tables of one piece."""
    count = "" if part.count == 1 else f", {part.count} alike"
    found: list[Block] = [Heading(f"{part.number}. {part.name}{count}")]
    shown = [index for index, holes in enumerate(part.features) if holes] or [0]
    side = next(
        (
            v
            for v, holes in zip(part.views, part.features, strict=True)
            if not holes and v is not part.views[0]
        ),
        None,
    )
    for place, index in enumerate(shown):
        view, holes = part.views[index], part.features[index]
        found.append(_figure(part, view, holes, side if place == 0 else None, evaluation, system))
        if holes:
            found.append(hole_table(part, view, holes, system))
        if not view.is_rectangle:
            found.append(_corners(part, view, system))
        if place == 0 and (rims := _rims(part, view, system)) is not None:
            found.append(rims)
    return found


def _figure(
    part: Part, view: View, holes: tuple[Feature, ...], side: View | None, evaluation: Any, system: System
) -> Figure:
    material = part.material.name if part.material else "material not stated"
    count = f"{part.count} off" if part.count > 1 else "1 off"
    mass = _mass_text(part, evaluation, system)
    frames = _frames(part, view, evaluation, system)
    title = f"{part.number}. {part.name}"
    text = drawing(
        title, view, holes, system, side=side, frames=frames, foot=(count, material, mass, GENERAL)
    )
    size = " × ".join(bare(each, system) for each in (view.width, view.height, view.depth))
    name = f"piece-{part.number}-{_slug(view.name)}"
    words = f"{title} seen {view.name}: {size} {UNIT[system]}, {len(holes)} holes."
    return Figure(name, text, f"{part.name} {view.name}", words)


def _mass_text(part: Part, evaluation: Any, system: System) -> str:
    piece = evaluation.solids.piece(part.bodies[0].name)
    return "mass not known" if piece.moments is None else show(piece.mass, "mass", system)


def _slug(name: str) -> str:
    return "".join(c if c.isalnum() else "-" for c in name.lower()).strip("-").replace("--", "-")


def _frames(part: Part, view: View, evaluation: Any, system: System) -> tuple[FrameNote, ...]:
    """Where form matters: the underside, faces that carry work, holes that must meet others."""
    if view is not part.views[0]:
        return ()
    row = general(Metre(max(view.width, view.height)))
    column, limits = evaluation.column, evaluation.limits
    found = []
    stands = part.role is Role.BASE_PLATE or (part.is_cast or part.role is Role.SOLID)
    if stands and column.base_flatness is not None:
        found.append(
            FrameNote(
                "flatness",
                bare(column.base_flatness, system),
                "",
                "underside, datum A (stated as base flatness)",
            )
        )
    elif row is not None:
        words = "underside, datum A (ISO 2768-K)" if stands else "both faces (ISO 2768-K)"
        found.append(FrameNote("flatness", bare(row.flatness, system), "", words))
    short = general(Metre(min(view.width, view.height)))
    if part.role is Role.PLATE and not part.is_cast and short is not None:
        found.append(
            FrameNote(
                "perpendicularity",
                bare(short.perpendicularity, system),
                "A",
                "bottom edge to the long edges, A the edge at the datum (ISO 2768-K)",
            )
        )
    if limits.hole_tolerance is not None and any(
        f.kind in (FeatureKind.PIN_BORE, FeatureKind.CLEARANCE) and f.purpose.recess is None
        for view_holes in part.features
        for f in view_holes
    ):
        zone = bare(2.0 * limits.hole_tolerance, system)
        found.append(
            FrameNote(
                "position", f"Ø{zone}", "", "holes for studs and pins, to one another (limits.hole_tolerance)"
            )
        )
    return tuple(found)


def hole_table(part: Part, view: View, holes: tuple[Feature, ...], system: System) -> Table:
    """Every hole of a view with its place from the datum."""
    columns = (
        Column("hole"),
        Column(f"x [{UNIT[system]}]", numeric=True),
        Column(f"y [{UNIT[system]}]", numeric=True),
        Column("what"),
        Column(f"Ø [{UNIT[system]}]", numeric=True),
        Column(f"depth [{UNIT[system]}]", numeric=True),
    )
    rows = tuple(
        (
            hole.label,
            bare(hole.at[0], system),
            bare(hole.at[1], system),
            call(hole, system),
            "–" if hole.diameter is None else bare(hole.diameter, system),
            "far side"
            if hole.kind is FeatureKind.ANCHOR
            else "through"
            if hole.through
            else bare(hole.depth, system),
        )
        for hole in holes
    )
    note = ""
    if any(hole.kind is FeatureKind.ANCHOR for hole in holes):
        note = (
            "Anchors stand on the inner side. "
            "How they are joined to the plate (thread, press, weld) is not in the document."
        )
    return Table(f"Holes of {part.name}, {view.name}", columns, rows, note)


def call(hole: Feature, system: System) -> str:
    """What a hole is, in words: `M12 thread`, `bore H7`, `clearance for M16`."""
    purpose = hole.purpose
    if hole.kind is FeatureKind.TAPPED:
        if purpose.insert_diameter is not None:
            length = "" if purpose.insert_length is None else f", {bare(purpose.insert_length, system)} long"
            return f"{purpose.thread} insert{length}"
        full = "" if purpose.thread_depth is None else f", {bare(purpose.thread_depth, system)} deep"
        return f"{purpose.thread} thread{full} (Ø and depth of the tapping drill)"
    if hole.kind is FeatureKind.CLEARANCE:
        if purpose.recess is None:
            return f"clearance for {purpose.thread}"
        sunk = f"Ø{bare(purpose.recess, system)} × {bare(purpose.recess_depth or 0.0, system)} deep"
        return f"clearance for {purpose.thread}, counterbored {sunk}"
    if purpose.fit:
        return f"{hole.kind.value} {purpose.fit}"
    return str(hole.kind.value)


def _corners(part: Part, view: View, system: System) -> Table:
    columns = (
        Column("corner", numeric=True),
        Column(f"x [{UNIT[system]}]", numeric=True),
        Column(f"y [{UNIT[system]}]", numeric=True),
    )
    rows = tuple((i, bare(x, system), bare(y, system)) for i, (x, y) in enumerate(view.outline[0], 1))
    return Table(f"Corners of {part.name}, {view.name}", columns, rows)


def _rims(part: Part, view: View, system: System) -> Table | None:
    """Steps and recesses seen in a view: where each rim runs."""
    closed = [edge for edge in view.edges if len(edge.points) > 2]
    if not closed:
        return None
    columns = (
        Column("rim"),
        *(Column(f"{name} [{UNIT[system]}]", numeric=True) for name in ("x from", "x to", "y from", "y to")),
        Column("seen"),
    )
    rows = []
    for number, edge in enumerate(closed, 1):
        xs, ys = [p[0] for p in edge.points], [p[1] for p in edge.points]
        ends = (min(xs), max(xs), min(ys), max(ys))
        rows.append(
            (
                f"{number}",
                *(bare(each, system) for each in ends),
                "hidden" if edge.hidden else "from here",
            )
        )
    return Table(f"Steps of {part.name}, {view.name}", columns, tuple(rows))


CHAPTER = ChapterMaker("drawings", "Drawings of the pieces", 60, blocks, short="Drawings")
