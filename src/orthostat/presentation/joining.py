"""How the pieces of the body are joined: a table for the bench, a sheet of torques, words for the steps."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.joining import Group
from orthostat.base.findings import Gap
from orthostat.base.showing import System, show
from orthostat.model.joining import Joint
from orthostat.presentation.blocks import Block, Cell, Column, Heading, Paragraph, Quantity, Table
from orthostat.presentation.lengths import UNIT, bare, length_text

NAMES = {"corners": "corners of the side plates", "base plate": "walls on the base plate", "lid": "lid"}


def table(evaluation: Any, system: System) -> list[Block]:
    """Every kind of seam with what joins it; nothing for a body in one piece."""
    if not evaluation.column.seams:
        return []
    columns = (
        Column("seam"),
        Column("how"),
        Column("with"),
        Column("on each"),
        Column(f"first and last from the ends [{UNIT[system]}]", numeric=True),
    )
    rows: list[tuple[Cell, ...]] = []
    for cover in evaluation.joining.coverage:
        stated = [joint for joint in evaluation.column.joints if joint.kind == cover.kind]
        rows += [_row(joint, system) for joint in stated]
        if not stated:
            words = "pressed together by the studs" if cover.clamped else "not stated"
            rows.append((NAMES[cover.kind], words, "", "", "–"))
    held = any(joint.joiners for joint in evaluation.column.joints)
    note = (
        "Holes are in the hole tables of the pieces; screws are in the order for fasteners." if held else ""
    )
    return [Table("Joints between the pieces", columns, tuple(rows), note)]


def _row(joint: Joint, system: System) -> tuple[Cell, ...]:
    seams = len(joint.seams)
    joiners = joint.joiners
    if not joiners:
        lacking = f"not stated: {', '.join(joint.missing)}" if joint.missing else _plain(joint, system)
        return (NAMES[joint.kind], joint.how, lacking, f"{seams} seams", "–")
    counts = sorted({sum(1 for each in joiners if each.seam == seam) for seam in joint.seams})
    each = f"{counts[0]}" if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
    firsts = [[j.along for j in joiners if j.seam == seam and j.along is not None] for seam in _used(joint)]
    ends = sorted({round(min(row), 6) for row in firsts if row})
    first = joiners[0]
    rows = f"{each} on each of {seams} seams, {len(joiners)}" if seams > 1 else f"{len(joiners)}"
    return (
        NAMES[joint.kind],
        joint.how,
        what(joint, system),
        f"{rows} {first.what}s in all",
        bare(ends[0], system) if len(ends) == 1 else "see the hole tables",
    )


def _used(joint: Joint) -> list[Any]:
    return [seam for seam in joint.seams if any(each.seam == seam for each in joint.joiners)]


def what(joint: Joint, system: System) -> str:
    """The screw or dowel of a joint in words."""
    first = joint.joiners[0]
    long = length_text(first.length, system)
    if first.what == "dowel":
        return f"dowel Ø{bare(first.diameter, system)} × {long} {first.fit or ''}".strip()
    grade = f", {joint.grade}" if joint.grade else ""
    return f"socket head screw {first.thread} × {long}{grade}"


def _plain(joint: Joint, system: System) -> str:
    if joint.throat is not None:
        return f"throat {length_text(joint.throat, system)}, along the whole seam"
    return joint.note or "along the whole seam"


def steps(evaluation: Any, system: System) -> dict[str, str]:
    """For each kind of seam, a sentence for the order of work; kinds that nothing is said of are left out."""
    said: dict[str, str] = {}
    for joint in evaluation.column.joints:
        if joint.joiners:
            verb = "Drive" if joint.joiners[0].what == "screw" else "Ream through both and drive"
            if joint.kind == "base plate" and joint.seams[0].outer == "base plate":
                verb = (
                    f"Clamp the walls to the base plate, turn the column over and {verb[0].lower()}{verb[1:]}"
                )
            words = f"{verb} the {len(joint.joiners)} {joint.joiners[0].what}s ({what(joint, system)})"
            if joint.torque is not None:
                words += f" to {show(joint.torque, 'moment', system)}"
            words += f" of the {NAMES[joint.kind]}."
        elif joint.missing:
            words = f"Join the {NAMES[joint.kind]}: {joint.how}; what with is not stated."
        else:
            verb = "Glue" if joint.how == "glued" else "Weld"
            words = f"{verb} the {NAMES[joint.kind]}, {_plain(joint, system)}."
        said[joint.kind] = f"{said[joint.kind]} {words}" if joint.kind in said else words
    return said


def torques(evaluation: Any, system: System) -> list[Block]:
    """Torque of the screws between plates, for the tightening sheet."""
    screws: list[Group] = [g for g in evaluation.joining.groups if g.joiner.what == "screw"]
    if not screws:
        return []
    columns = (
        Column("screws"),
        Column("of"),
        Column("count", numeric=True),
        Column("torque", numeric=True),
        Column("most allowed", numeric=True),
        Column("set by"),
    )
    rows = []
    for each in screws:
        advice = each.advice
        most = None if isinstance(advice, Gap) else advice.torque
        why = f"unknown: {advice.ask()}" if isinstance(advice, Gap) else advice.governed_by
        rows.append(
            (
                what(each.joint, system),
                NAMES[each.joint.kind],
                each.count,
                Quantity(each.joint.torque, "moment"),
                Quantity(most, "moment"),
                why,
            )
        )
    return [
        Heading("Screws between the plates"),
        Table("Torque of the screws between plates", columns, tuple(rows)),
        Paragraph(
            "Snug all screws of a corner first, square the plates, then tighten from the middle of each row "
            "outward."
        ),
    ]
