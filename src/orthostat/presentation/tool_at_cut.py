"""The tool at a cut: the stack in the machine's frame, and its room in the findings' own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from orthostat.analyses.reach import CAP, CutReach, Reach, Room
from orthostat.analyses.reach.stands import Standing, standing, stands, tightest
from orthostat.base.findings import Finding, NotStated, Row
from orthostat.base.showing import System, show
from orthostat.presentation.blocks import Block, Cell, Column, Paragraph, Table, VerdictMark
from orthostat.presentation.findings import WORST_FIRST, reason
from orthostat.presentation.painting import ToolPart, ToolShown, cut_key


def tool_at(evaluation: Any, key: str, place: int | None, system: System) -> ToolShown:
    """The tool of a cut (see `cut_key`) at one of its places (the tightest where none is chosen).

    Raises `NotStated` where the cut, its tool or its place is not known.
    """
    reach: Reach = evaluation.reach
    found = _cut(reach, key)
    every = stands(found)
    if not every:
        raise NotStated(found.cut.path, reason="the tool has no place to stand for this cut")
    chosen = tightest(found) if place is None or not 0 <= place < len(every) else place
    here = standing(found, every[chosen])
    rows = list(_rows(evaluation.findings(only="reach"), found))
    verdict = min((row.verdict for _, row in rows), key=WORST_FIRST.index, default=None)
    u, v = here.stand.at
    return ToolShown(
        title=f"{found.tool.name} at B {show(found.b_angle, 'angle', system)}",
        turn=-float(found.task.angle),
        tip=(u, v, float(found.task.tip)),
        parts=tuple(
            ToolPart(each.name, each.start, each.end, each.radius, each.low, each.high) for each in here.stack
        ),
        near=_near(found, here),
        verdict="unknown" if verdict is None else verdict.value,
        room=_least(found, system),
        places=tuple(each.name for each in every),
        place=chosen,
        blocks=_blocks(reach, found, here, rows, system),
    )


def _cut(reach: Reach, key: str) -> CutReach:
    for station in reach.inputs.stations:
        for cut in station.cuts:
            if cut_key(station.name, cut.name) == key:
                return reach.cut(station.name, cut.name)
    raise NotStated(reason="this cut is no longer there")


def _rows(findings: Iterable[Finding], found: CutReach) -> Iterable[tuple[Finding, Row]]:
    """What findings say of the cut itself."""
    for finding in findings:
        for row in finding.rows:
            if row.subject == found.cut.name:
                yield finding, row


def _near(found: CutReach, here: Standing) -> tuple[str, ...]:
    names = [room.nearest for room in (here.holder, here.head) if room is not None]
    if not here.stand.reached:
        names += [blocker.name for blocker in found.blockers if blocker.kind == "body"]
    return tuple(dict.fromkeys(names))


def _blocks(
    reach: Reach,
    found: CutReach,
    here: Standing,
    rows: Sequence[tuple[Finding, Row]],
    system: System,
) -> tuple[Block, ...]:
    u, v = here.stand.at
    b, x, y, tip = (
        show(value, kind, system)
        for value, kind in (
            (found.b_angle, "angle"), (u, "length"), (v, "length"), (found.task.tip, "length")
        )
    )  # fmt: skip
    where = f"B {b}, axis at X {x}, Y {y} above the pallet, tip {tip} from the B axis."
    said = [f"{found.tool.name} at {found.cut.name}, {here.stand.name}: {where}"]
    if not here.stand.reached:
        said.append("It can't get there.")
    said.append(_room("Shank and holder", here.holder, system))
    if found.tool.gauge_length is None:
        said.append(f"Nose and head are not drawn: {found.tool.path}.gauge_length is not stated.")
    elif not reach.inputs.limits.head_stated:
        said.append(f"Nose and head are not drawn: {reach.inputs.limits.head_key} is not stated.")
    else:
        said.append(_room("Nose and head", here.head, system))
    if len(stands(found)) > 1:
        said.append(f"Along the whole cut: {_least(found, system)}.")
    table_rows: list[tuple[Cell, ...]] = [
        (VerdictMark(row.verdict.value), finding.rule.question, reason(row, finding.rule, system, head=False))
        for finding, row in rows
    ]
    table = Table(
        "The findings on this cut",
        (Column("verdict"), Column("question"), Column("answer")),
        tuple(table_rows),
    )
    return (Paragraph(" ".join(said)), table)


def _least(found: CutReach, system: System) -> str:
    """The least room along the whole cut."""
    rooms = [
        f"{name} {_to(room, system)}"
        for name, room in (("shank and holder", found.holder), ("nose and head", found.head))
        if room is not None
    ]
    return "; ".join(rooms) or f"nothing within {show(CAP, 'length', system)} of the tool's sides"


def _room(part: str, room: Room | None, system: System) -> str:
    if room is None:
        return f"Nothing stands within {show(CAP, 'length', system)} of {part.lower()}."
    return f"{part} {_to(room, system)}."


def _to(room: Room, system: System) -> str:
    if room.clearance < 0.0:
        return f"would cut {show(-room.clearance, 'length', system)} into {room.nearest}"
    return f"clear {room.nearest} by {show(room.clearance, 'length', system)}"
