"""The chapter on reach: truing in place, what would free a face, every cut, the pictures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from orthostat.analyses.reach import CAP, FaceMap, Inverse, Lever, Reach, TruedFace, inverse
from orthostat.analyses.reach.changer import refused
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated
from orthostat.base.showing import System, show
from orthostat.presentation import reach_figures as figures
from orthostat.presentation import reach_overview as overview
from orthostat.presentation.blocks import (
    Block,
    Cell,
    Column,
    Figure,
    Heading,
    Paragraph,
    Quantity,
    Table,
    VerdictMark,
)
from orthostat.presentation.chapters import ChapterMaker

CUT_FIGURES = 6
"""Cuts that get a picture in the chapter: those out of reach, one of each kind."""


def blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    """The chapter's blocks for one design."""
    reach: Reach = evaluation.reach
    return (
        _basis(reach, system),
        *_overview(reach, system),
        *_truing(reach, system),
        *_cuts(reach, system),
    )


CHAPTER = ChapterMaker("reach", "Reach", 20, blocks)


def all_maps(
    evaluation: Any, system: System, *, tip: Metre | None = None, loaded: bool = False
) -> Iterator[tuple[str, str]]:
    """Every picture of reach as (file stem, SVG): overview, maps and side views, cuts from above.

    A map and a side view for each face and tool, the tip at `tip` over the face [m] (by default mills
    at the truing depth, others at the face), on the bare column or with the other faces `loaded`.
    """
    reach: Reach = evaluation.reach
    if reach.inputs.tools and reach.inputs.faces:
        yield "overview", overview.overview_figure(reach, system)
    for face in reach.inputs.faces:
        for tool in reach.inputs.tools:
            found = reach.face_map(face.number, tool.name, tip, loaded=loaded)
            stem = f"face-{face.number}-{_stem(tool.name)}"
            yield stem, figures.face_figure(reach, found, system)
            yield f"{stem}-side", figures.side_figure(reach, found, system)
    for number, cut in enumerate(reach.cuts, 1):
        yield f"cut-{number}-{_stem(cut.cut.name)}", figures.cut_figure(cut, system)


def _stem(words: str) -> str:
    kept = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in words.lower())
    return "-".join(part for part in kept.split("-") if part)


def _basis(reach: Reach, system: System) -> Paragraph:
    kept = reach.inputs.clearances
    words = (
        f"Shank, holder and head keep {show(kept.radial, 'length', system)} beside everything and "
        f"{show(kept.axial, 'length', system)} in front; a cutting edge may run along an obstacle, and its "
        f"tip plane keeps {show(kept.cutting_axial, 'length', system)}. Arcs are within "
        f"{show(2.0 * reach.inputs.chord, 'length', system)}, to the safe side. "
        "Faces are as drawn, before truing."
    )
    gaps = [*reach.inputs.limits.travel_gaps]
    if not reach.inputs.limits.head_stated:
        gaps.append(reach.inputs.limits.head_key)
    gaps += reach.inputs.limits.unseen
    if gaps:
        words += f" Not stated: {', '.join(gaps)}; what depends on it is unknown."
    return Paragraph(words)


def _overview(reach: Reach, system: System) -> list[Block]:
    if not reach.inputs.tools or not reach.inputs.faces:
        return [Paragraph("No map: the shop states no tools." if reach.inputs.faces else "No map: no faces.")]
    return [
        Figure(
            "overview",
            overview.overview_figure(reach, system),
            "Every tool on every face of the bare column: what it reaches, and the share of the face.",
            overview.overview_facts(reach, system),
        )
    ]


def _truing(reach: Reach, system: System) -> list[Block]:
    made: list[Block] = [Heading("Truing in place")]
    try:
        trued = reach.truing
    except NotStated as gap:
        return [*made, Paragraph(f"Unknown: {gap}.")]
    made.append(_truing_table(trued, reach))
    for alike in _alike(trued):
        first = alike[0]
        best = first.best
        if best is None:
            continue
        faces = _faces(alike)
        caption = f"{faces.capitalize()}: {best.tool.name}, the nearest of the shop's mills."
        facts = figures.map_facts(reach, best, system)
        stem = f"truing-face-{first.face.number}"
        made.append(Figure(stem, figures.face_figure(reach, best, system), caption, facts))
        side = figures.side_figure(reach, best, system)
        lowest = f"{faces.capitalize()}: the lowest position from the side."
        made.append(Figure(f"{stem}-side", side, lowest, facts))
        if not first.able:
            made.append(_what_would(reach, first, faces, system))
    return made


def _truing_table(trued: tuple[TruedFace, ...], reach: Reach) -> Table:
    columns = (
        Column("verdict"),
        Column("face"),
        Column("nearest tool"),
        Column("share", numeric=True),
        Column("full width from", numeric=True),
        Column("lost band", numeric=True),
        Column("past the edges", numeric=True),
        Column("blocked by"),
    )
    rows = tuple(_truing_row(each, reach) for each in trued)
    note = "Past the edges: how far the reach goes beyond the face, or minus how far it falls short."
    return Table("Which of the shop's mills can machine the whole face?", columns, rows, note)


def _truing_row(trued: TruedFace, reach: Reach) -> tuple[Cell, ...]:
    best = trued.best
    if best is None:
        return (VerdictMark("unknown"), trued.face.name, "no mill", "–", "–", "–", "–", "")
    ground = best.ground
    verdict = ("unknown" if best.unknown else "holds") if ground.whole else "fails"
    names = [b.name for part in reach.blamed(best) for b in part.blockers]
    barred = refused(best.tool, reach.inputs.magazine)
    tool = best.tool.name + (f" (the changer refuses its {', '.join(barred)})" if barred else "")
    return (
        VerdictMark(verdict),
        trued.face.name,
        tool,
        Quantity(ground.share, "share"),
        Quantity(ground.lowest_line, "length"),
        Quantity(0.0 if ground.whole else ground.lost_band, "length"),
        Quantity(ground.overrun, "length"),
        ", ".join(dict.fromkeys(names)),
    )


def _faces(alike: list[TruedFace]) -> str:
    if len(alike) == 1:
        return alike[0].face.name
    return "faces " + ", ".join(str(each.face.number) for each in alike)


def _alike(trued: tuple[TruedFace, ...]) -> list[list[TruedFace]]:
    """Faces on which the nearest tool does the same."""
    groups: dict[tuple[str, float, float, float], list[TruedFace]] = {}
    for each in trued:
        best = each.best
        if best is None:
            continue
        ground = best.ground
        key = (best.tool.name, round(ground.share, 5), round(ground.overrun, 6), round(ground.wanted.area, 8))
        groups.setdefault(key, []).append(each)
    return list(groups.values())


def _what_would(reach: Reach, trued: TruedFace, faces: str, system: System) -> Table:
    """Each lever alone, with the mill for which it is the smallest change."""
    rows: list[tuple[Cell, ...]] = []
    for lever in Lever:
        answers = [_asked(reach, trued, found, lever) for found in trued.maps]
        found = [each for each in answers if each is not None and each.intervals]
        if not found:
            rows.append((lever.value, "–", "–", "nothing in the range looked at", ""))
            continue
        best = min(found, key=_change)
        rows.append(
            (lever.value, best.tool, Quantity(best.now, "length"), interval_words(best, system), _own(best))
        )
    columns = (
        Column("change one thing"),
        Column("tool"),
        Column("now", numeric=True),
        Column("reaches all of it"),
        Column("shop's own"),
    )
    note = (
        "Cutter diameter: the cutting part grows; shank, holder and gauge length stay. Gauge length: "
        "the step behind the cutting part grows. Stand-off: the face's distance beyond the pallet's "
        "edge. Riser: a block as wide as the column. Every end was run again in full."
    )
    return Table(f"What would reach all of {faces}?", columns, tuple(rows), note)


def _asked(reach: Reach, trued: TruedFace, found: FaceMap, lever: Lever) -> Inverse | None:
    try:
        return inverse(reach.inputs, trued.face, found.tool, lever, trued.depth)
    except NotStated:
        return None


def _change(found: Inverse) -> float:
    """How far the lever must move to the nearest interval, over the range looked at."""
    span = found.looked[1] - found.looked[0] or 1.0
    return min(max(i.low - found.now, found.now - i.high, 0.0) for i in found.intervals) / span


def _own(found: Inverse) -> str:
    words = ", ".join(found.own_tools)
    for name, limits in found.refused:
        words += f"{'; ' if words else ''}{name}, but the changer refuses its {', '.join(limits)}"
    return words or "none"


def interval_words(found: Inverse, system: System) -> str:
    """Intervals as a person reads them: `138 mm to 157 mm`, `1.30 mm or more (looked up to 100 mm)`."""
    words = []
    for interval in found.intervals:
        low, high = (_figures(Metre(end), system) for end in (interval.low, interval.high))
        if interval.low_open and interval.high_open:
            words.append(f"all looked at, {low} to {high}")
        elif interval.high_open:
            words.append(f"{low} or more (looked up to {high})")
        elif interval.low_open:
            words.append(f"{high} or less (looked down to {low})")
        else:
            words.append(f"{low} to {high}")
    return "; ".join(words)


def _figures(value: Metre, system: System) -> str:
    return show(value, "length", system, 4)


def _cuts(reach: Reach, system: System) -> list[Block]:
    if not reach.cuts:
        return []
    turning = {each.tool.name: each.tip_needed for each in reach.turning}
    columns = (
        Column("verdict"),
        Column("cut"),
        Column("tool"),
        Column("B", numeric=True),
        Column("reached", numeric=True),
        Column("beside holder", numeric=True),
        Column("beside head", numeric=True),
        Column("tip back to turn", numeric=True),
        Column("blocked by"),
    )
    rows = []
    for each in reach.cuts:
        verdict = ("unknown" if each.unknown else "holds") if each.reached else "fails"
        names = [b.name if not b.member else f"{b.name} ({b.member})" for b in each.blockers]
        back = max(turning.get(each.tool.name, 0.0) - each.task.tip, 0.0)
        rows.append(
            (
                VerdictMark(verdict),
                each.cut.name,
                each.tool.name,
                Quantity(each.b_angle, "angle"),
                Quantity(each.share, "share"),
                Quantity(None if each.holder is None else each.holder.clearance, "length"),
                Quantity(None if each.head is None else each.head.clearance, "length"),
                Quantity(back, "length"),
                ", ".join(names[:3]),
            )
        )
    note = (
        f"A dash: nothing within {show(CAP, 'length', system)}. Tip back to turn: how far the tool must go "
        "back from the cut's depth before the table may turn, without clearance."
    )
    table = Table("Does each tool reach its cut, with everything on the column?", columns, tuple(rows), note)
    return [Heading("Cuts"), table, *_cut_pictures(reach, system)]


def _cut_pictures(reach: Reach, system: System) -> list[Block]:
    made: list[Block] = []
    shown: set[tuple[object, ...]] = set()
    for number, each in enumerate(reach.cuts, 1):
        key = (each.tool.name, each.cut.kind, tuple(b.member for b in each.blockers), round(each.share, 3))
        if each.reached or key in shown or len(made) >= CUT_FIGURES:
            continue
        shown.add(key)
        words = " ".join(figures.cut_words(each, system))
        made.append(
            Figure(f"cut-{number}", figures.cut_figure(each, system), f"{each.cut.name}: {words}", words)
        )
    return made
