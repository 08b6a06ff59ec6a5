"""Can the shop saw, drill and tap what is drawn?"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from orthostat import catalogue
from orthostat.base.findings import Answers, Measured, Open, Sense, finding
from orthostat.base.showing import show_both
from orthostat.catalogue.labour import ALLOWANCES
from orthostat.model.tools import Bench, CutterKind

if TYPE_CHECKING:
    from orthostat.analyses.pieces import Feature, Part
    from orthostat.model.column import Column


@finding(
    "making.stock_size",
    question="Does the shop's stock hold every piece?",
    wanted="blank no larger than the stock it is sawn from",
    sense=Sense.AT_MOST,
    kind="ratio",
    source="common practice, no source",
    hangs_on="body",
    levers=("stock", "height", "plan.across_flats"),
    tight=0.0,
)
def stock_size(evaluation: Any) -> Answers:
    rows: list[Measured | Open] = []
    stocked = evaluation.buying.stock
    for blank in evaluation.cost.blanks:
        part = blank.part
        if part.is_cast:
            continue
        if blank.share is not None:
            held = blank.stock or blank.rival
            why = f"the blank's largest share of a side or thickness of {held.name}"
            rows.append(Measured(blank.share, 1.0, why, part.name, (part.path, held.path)))
        elif blank.stock is None:
            material = part.material.name if part.material else "its material (not stated)"
            said = f"the shop lists no stock of {material} that it could come from"
            rows.append(Open(said if stocked else "no stock is stated", part.name, ("stock",)))
    return rows or None


@finding(
    "making.edge_distance",
    question="Is every hole far enough from the edge of its piece?",
    wanted="hole's centre at least 1.2 diameters from the edge",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source=ALLOWANCES.row("edge distance").citation,
    hangs_on="patterns",
    levers=("patterns.grid", "studs.at", "body.corners"),
)
def edge_distance(evaluation: Any) -> Answers:
    limit = float(ALLOWANCES.row("edge distance").share or 0.0)
    rows: list[Measured | Open] = []
    for part in evaluation.pieces.drawn:
        ratios = [
            ((hole.edge + 0.5 * hole.diameter) / _size(hole), hole)
            for hole in part.holes
            if hole.diameter is not None
        ]
        if ratios:
            ratio, hole = min(ratios, key=lambda each: each[0])
            why = f"hole {hole.label} ({hole.kind.value}): centre to edge over its diameter"
            rows.append(Measured(ratio, limit, why, part.name, (hole.purpose.path or part.path,)))
    return rows or None


def _size(hole: Feature) -> float:
    """The larger of the hole's bore and its thread's nominal diameter [m]."""
    diameter = float(hole.diameter or 0.0)
    if hole.purpose.thread is None or not hole.is_tapped:
        return diameter
    return max(diameter, float(catalogue.thread(hole.purpose.thread).nominal))


@finding(
    "making.hole_tool",
    question="Has the shop a tool for every hole drawn?",
    wanted="a tool of the hole's diameter; a tap of its thread",
    sense=Sense.AT_MOST,
    kind="length",
    source=ALLOWANCES.row("drill beside its hole").citation,
    hangs_on="patterns",
    levers=("tools", "bench.drills", "bench.taps", "bench.counterbores"),
    tight=0.0,
)
def hole_tool(evaluation: Any) -> Answers:
    tools = _tools(evaluation.column)
    wanted = _wanted(evaluation.pieces.drawn)
    if not wanted:
        return None
    if not tools:
        return Open("the shop lists no tools", missing=("tools",))
    limit = float(ALLOWANCES.row("drill beside its hole").length or 0.0)
    rows: list[Measured | Open] = []
    for words, kinds, thread, diameter, path in wanted:
        able = [tool for tool in tools if tool[0] in kinds and (thread is None or _same_thread(tool, thread))]
        if not able:
            gap, why = diameter, f"no {' or '.join(kind.value for kind in kinds)} in the shop makes it"
        else:
            gap, nearest = min((_gap(tool, diameter), tool[3]) for tool in able)
            why = f"{nearest} comes nearest" if gap > limit else f"{nearest} makes it"
        rows.append(Measured(gap, limit, why, words, (path, "tools")))
    return rows


Held = tuple[CutterKind, float, str | None, str]
"""A tool of the shop: kind, diameter [m], thread, name."""


def _tools(column: Column) -> list[Held]:
    """Tools of the machine and of the bench; a counterbore cuts a flat recess as a mill of its size."""
    found: list[Held] = [(tool.kind, tool.diameter, tool.thread, tool.name) for tool in column.tools]
    bench = column.bench or Bench()
    for kind, sizes, name in (
        (CutterKind.DRILL, bench.drills, "drill"),
        (CutterKind.REAMER, bench.reamers, "reamer"),
        (CutterKind.CORE_DRILL, bench.counterbores, "counterbore"),
    ):
        found += [(kind, size, None, f"bench {name} {show_both(size, 'length')}") for size in sizes]
    for tap in bench.taps:
        found.append((CutterKind.TAP, float(catalogue.thread(tap).nominal), tap, f"bench tap {tap}"))
    return found


Wanted = tuple[str, tuple[CutterKind, ...], str | None, float, str]
_DRILLS = (CutterKind.DRILL, CutterKind.CORE_DRILL, CutterKind.BORING_BAR, CutterKind.END_MILL)
_FITS = (CutterKind.REAMER, CutterKind.BORING_BAR)
_TAPS = (CutterKind.TAP, CutterKind.THREAD_MILL)
_RECESSES = (CutterKind.CORE_DRILL, CutterKind.END_MILL)


def _wanted(parts: Iterable[Part]) -> list[Wanted]:
    """Every kind of hole once: words, kinds of tool, thread, diameter, path."""
    found: dict[tuple[object, ...], Wanted] = {}
    for part in parts:
        for hole in part.holes:
            if hole.diameter is None or hole.is_anchor:
                continue
            size = f"Ø{show_both(hole.diameter, 'length', figures=4)}"
            thread, path = hole.purpose.thread, hole.purpose.path or part.path
            recess = hole.purpose.recess
            if recess is not None:
                words = f"counterbore Ø{show_both(recess, 'length', figures=4)}"
                found.setdefault(("recess", round(recess, 6)), (words, _RECESSES, None, float(recess), path))
            if hole.is_tapped and thread:
                nominal = float(catalogue.thread(thread).nominal)
                found.setdefault(("tap", thread), (f"thread {thread}", _TAPS, thread, nominal, path))
                size = f"{size} under {thread}"
            kinds = _FITS if hole.purpose.fit else _DRILLS
            words = f"bore {size} {hole.purpose.fit}" if hole.purpose.fit else f"hole {size}"
            found.setdefault(
                (kinds, round(hole.diameter, 6)), (words, kinds, None, float(hole.diameter), path)
            )
    return list(found.values())


def _same_thread(tool: Held, thread: str) -> bool:
    own = tool[2]
    if own is None:
        return False
    try:
        return catalogue.thread(own).name == catalogue.thread(thread).name
    except catalogue.UnknownRow:
        return own == thread


def _gap(tool: Held, diameter: float) -> float:
    """How far a tool is from making a bore of a diameter [m]; a mill bores anything wider than itself."""
    kind, size = tool[:2]
    if kind in (CutterKind.END_MILL, CutterKind.THREAD_MILL):
        return max(0.0, size - diameter)
    return abs(size - diameter)
