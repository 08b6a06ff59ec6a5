"""The chapter on hold: preloads, pressure, how many times each load is borne, what the pins see."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.hold import Hold, JointResult, Preload, Pressure, StackJoint
from orthostat.base.findings import Gap, NotStated
from orthostat.base.showing import System, show
from orthostat.presentation.blocks import Block, Cell, Column, Figure, Heading, Paragraph, Quantity, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.joint_picture import joint_picture

MOST = 1000.0
"""Factors above this are shown as a dash: no load of this kind makes it happen."""


def _blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    hold: Hold = evaluation.hold
    blocks: list[Block] = [
        Paragraph(
            "A base is taken as a rigid plate on a bed that can push and cannot pull, with the studs as "
            "springs under preload. Slip is checked at the least preload and the least friction, first lift "
            "and tipping likewise. Pins do not add to friction: they carry only once friction is beaten."
        )
    ]
    for alike_joints in grouped(hold.joints):
        blocks += _joint(alike_joints, system)
    return tuple(blocks)


def grouped(joints: tuple[StackJoint, ...], *, by_factors: bool = True) -> list[list[StackJoint]]:
    """Joints with the same studs, and the same factors too, together: one station on many faces."""
    found: dict[tuple[object, ...], list[StackJoint]] = {}
    for joint in joints:
        result = joint.result
        factors = (
            (result.factors.missing, result.factors.reason)
            if isinstance(result.factors, Gap)
            else tuple(sorted((f"{f.slip:.4g}", f"{f.lift:.4g}", f"{f.tip:.4g}") for f in result.factors))
        )
        spreads = tuple((each.fastener.name, each.assembled, each.working) for each in result.preloads)
        key = (joint.station is None, spreads, factors if by_factors else ())
        found.setdefault(key, []).append(joint)
    return list(found.values())


def _joint(joints: list[StackJoint], system: System) -> list[Block]:
    joint = joints[0]
    result = joint.result
    title = joint.joint.name[:1].upper() + joint.joint.name[1:]
    blocks: list[Block] = [Heading(title if len(joints) == 1 else f"{title}, and {len(joints) - 1} alike")]
    if result.preloads:
        blocks += [preload_table(result), _why_table(result)]
    blocks += _factors(result)
    blocks += _figure(result, system)
    blocks += _loose(result)
    blocks += _pins(result, system)
    if result.notes:
        blocks.append(Paragraph("Taken for this joint: " + "; ".join(_grouped_notes(result.notes)) + "."))
    return blocks


def _grouped_notes(notes: tuple[str, ...]) -> list[str]:
    """Notes that differ only in the stud's name said once."""
    found: dict[str, list[str]] = {}
    for note in notes:
        name, separator, rest = note.partition(": ")
        if separator and name.split(" ")[0] in {"stud", "screw"}:
            found.setdefault(rest, []).append(name)
        else:
            found.setdefault(note, [])
    return [f"{_several(names)}: {rest}" if names else rest for rest, names in found.items()]


def _several(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more"


def value_of(value: object) -> float | None:
    """A number, or `None` for a gap."""
    return None if isinstance(value, Gap) else float(value)  # type: ignore[arg-type]  # a unit type or a gap


def alike(preloads: tuple[Preload, ...]) -> list[list[Preload]]:
    """Studs with the same preload and the same size together."""
    found: dict[tuple[object, ...], list[Preload]] = {}
    for each in preloads:
        fastener = each.fastener
        key = (
            fastener.thread,
            fastener.grade,
            each.assembled,
            each.working,
            each.stress,
            each.stud_resilience,
        )
        found.setdefault(key, []).append(each)
    return list(found.values())


def size_of(preload: Preload) -> str:
    """Thread and class, such as `M16 8.8`."""
    fastener = preload.fastener
    thread = "–" if fastener.thread is None else fastener.thread.name
    return f"{thread} {fastener.grade or ''}".strip()


def preload_table(result: JointResult) -> Table:
    """Preload of each kind of stud, as tightened and as it works."""
    rows: list[tuple[Cell, ...]] = []
    for group in alike(result.preloads):
        first = group[0]
        assembled = None if isinstance(first.assembled, Gap) else first.assembled
        working = None if isinstance(first.working, Gap) else first.working
        stress = None if isinstance(first.stress, Gap) else first.stress
        rows.append(
            (
                _several([each.fastener.name for each in group]),
                size_of(first),
                Quantity(first.fastener.torque, "moment"),
                *(
                    Quantity(None if assembled is None else force, "force")
                    for force in (
                        (assembled.least, assembled.mean, assembled.greatest)
                        if assembled
                        else (None, None, None)
                    )
                ),
                Quantity(None if working is None else working.least, "force"),
                Quantity(None if stress is None else stress.equivalent, "pressure"),
                Quantity(None if stress is None else stress.allowed, "pressure"),
            )
        )
    return Table(
        "Preload: as tightened, and the least that is left to work with",
        (
            Column("Stud"),
            Column("Size"),
            Column("Torque", numeric=True),
            Column("Least", numeric=True),
            Column("Mean", numeric=True),
            Column("Greatest", numeric=True),
            Column("Least working", numeric=True),
            Column("Stress, tightening", numeric=True),
            Column("allowed", numeric=True),
        ),
        tuple(rows),
        _gap_note([each.assembled for each in result.preloads] + [each.stress for each in result.preloads]),
    )


def _gap_note(values: list[object]) -> str:
    missing = [path for value in values if isinstance(value, Gap) for path in value.missing]
    reasons = [value.reason for value in values if isinstance(value, Gap) and value.reason]
    said = list(dict.fromkeys(reasons))
    if missing:
        said.append("not stated: " + ", ".join(dict.fromkeys(missing)))
    return "; ".join(said)


def _why_table(result: JointResult) -> Table:
    """What makes the spread and what is lost."""
    rows: list[tuple[Cell, ...]] = []
    for group in alike(result.preloads):
        first = group[0]
        thermal = (None, None) if isinstance(first.thermal, Gap) else first.thermal
        creep = None if isinstance(first.creep_loss, Gap) else first.creep_loss[1]
        scatter = first.fastener.scatter
        rows.append(
            (
                _several([each.fastener.name for each in group]),
                Quantity(scatter, "ratio"),
                Quantity(value_of(first.stud_resilience), "compliance"),
                Quantity(value_of(first.clamped_resilience), "compliance"),
                Quantity(value_of(first.embedding_loss), "force"),
                Quantity(creep, "force"),
                Quantity(thermal[0], "force"),
                Quantity(thermal[1], "force"),
                Quantity(value_of(first.strip_pallet), "force"),
                Quantity(value_of(first.washer), "pressure"),
            )
        )
    return Table(
        "What makes the spread, and what is lost",
        (
            Column("Stud"),
            Column("Scatter α", numeric=True),
            Column("Stud gives", numeric=True),
            Column("Stack gives", numeric=True),
            Column("Embedding", numeric=True),
            Column("Creep, at most", numeric=True),
            Column("Cold", numeric=True),
            Column("Warm", numeric=True),
            Column("Thread strips at", numeric=True),
            Column("Under the washer", numeric=True),
        ),
        tuple(rows),
        _gap_note(
            [
                value
                for each in result.preloads
                for value in (
                    each.stud_resilience,
                    each.clamped_resilience,
                    each.thermal,
                    each.strip_pallet,
                    each.washer,
                )
            ]
        ),
    )


def _factors(result: JointResult) -> list[Block]:
    if isinstance(result.factors, Gap):
        return [Paragraph(f"Slip, lift and tipping are unknown: {_gap_note([result.factors])}.")]
    governing = result.governing
    rows = tuple(
        (
            each.name,
            Quantity(each.wanted, "ratio"),
            _factor(each.slip),
            _factor(each.lift),
            _factor(each.tip),
            each.first,
            each.slip_load,
        )
        for each in sorted(result.factors, key=lambda each: each.slip / each.wanted)
    )
    table = Table(
        "How many times each load is borne",
        (
            Column("Load"),
            Column("Wanted against slip", numeric=True),
            Column("Slips at", numeric=True),
            Column("First lift at", numeric=True),
            Column("Tips at", numeric=True),
            Column("Comes first"),
            Column("Governing case"),
        ),
        rows,
        f"{governing.name} governs: {governing.slip_load}. A dash means that no load of this kind does it.",
    )
    return [table]


def _factor(value: float) -> Quantity:
    return Quantity(None if value >= MOST else value, "ratio")


def _figure(result: JointResult, system: System) -> list[Block]:
    known = [each for each in (result.at_rest, result.loaded) if isinstance(each, Pressure)]
    if not known:
        return [Paragraph(f"The pressure is unknown: {_gap_note([result.at_rest])}.")]
    title = f"Pressure under {result.joint.name}"
    picture, words = joint_picture(result, known, system, title=title)
    stem = "".join(letter if letter.isalnum() else "-" for letter in result.joint.name.lower())
    return [
        Figure(f"pressure-{stem}", picture, f"{title}, tightened and under the load that lifts first", words)
    ]


def _loose(result: JointResult) -> list[Block]:
    if isinstance(result.loose, Gap) or not result.loose:
        return []
    rows: list[tuple[Cell, ...]] = [
        (f"{each.name} slack", _factor(each.slip), _factor(each.lift), each.load) for each in result.loose
    ]
    if not isinstance(result.uneven, Gap):
        rows += [(each.kind, _factor(each.slip), "–", each.load) for each in result.uneven]
    return [
        Table(
            "What if",
            (
                Column("Case"),
                Column("Slips at", numeric=True),
                Column("First lift at", numeric=True),
                Column("Load"),
            ),
            tuple(rows),
        )
    ]


def _pins(result: JointResult, system: System) -> list[Block]:
    if result.location.fixed == 0:
        return [
            Paragraph(
                "Nothing but friction locates this joint. Common practice is that this is not enough: pins "
                "or keys give the place, and the studs only hold down."
            )
        ]
    blocks: list[Block] = []
    try:
        shift = result.shift
        if isinstance(shift, Gap):
            raise shift.ask()
        blocks.append(
            Paragraph(
                f"Once friction is beaten it moves {show(shift.centred, 'length', system)} from the middle "
                f"of the play, {show(shift.whole, 'length', system)} from wall to wall, and turns by at most "
                f"{show(shift.turn, 'angle', system)}: {show(shift.at_place, 'length', system)} at the "
                "farthest cut."
            )
        )
    except NotStated as gap:
        blocks.append(Paragraph(f"How far it moves before the pins carry is unknown: {gap}."))
    if not isinstance(result.pin_loads, Gap) and result.pin_loads:
        blocks.append(
            Table(
                "What the pins carry once friction is beaten",
                (
                    Column("Pin"),
                    Column("Force", numeric=True),
                    Column("Shear", numeric=True),
                    Column("Bearing above", numeric=True),
                    Column("Bearing below", numeric=True),
                    Column("Load"),
                ),
                tuple(
                    (
                        pin.dowel.name,
                        Quantity(pin.force, "force"),
                        Quantity(pin.shear, "pressure"),
                        Quantity(pin.bearing_above, "pressure"),
                        Quantity(pin.bearing_below, "pressure"),
                        pin.load,
                    )
                    for pin in result.pin_loads
                ),
            )
        )
    return blocks


CHAPTER = ChapterMaker("hold", "Hold", 30, _blocks)
