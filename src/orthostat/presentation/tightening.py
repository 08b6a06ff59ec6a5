"""The tightening sheet: in what order, in which steps, to what torque or stretch, and what to beware of."""

from __future__ import annotations

from math import hypot
from typing import Any

from orthostat.analyses.hold import JointResult, Preload, StackJoint
from orthostat.base.findings import Gap
from orthostat.base.showing import System, show, show_both
from orthostat.presentation.blocks import (
    Block,
    Caution,
    Cell,
    Column,
    Heading,
    Paragraph,
    Quantity,
    Steps,
    Table,
)
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.hold import alike, grouped, size_of
from orthostat.presentation.joining import torques

STEPS = (0.3, 0.6, 1.0)
"""Shares of the full torque in which a joint is brought up."""
LONG = 10.0
"""A stud longer than this many diameters stretches enough to be measured."""


def _blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    joints: tuple[StackJoint, ...] = evaluation.hold.joints
    blocks: list[Block] = []
    for alike_joints in grouped(joints, by_factors=False):
        if alike_joints[0].result.preloads:
            blocks += _sheet(alike_joints[0].result, len(alike_joints), system)
    blocks += torques(evaluation, system)
    if not blocks:
        blocks.append(Paragraph("Nothing is stated that is tightened."))
    return tuple(blocks)


def _sheet(result: JointResult, count: int, system: System) -> list[Block]:
    title = result.joint.name[:1].upper() + result.joint.name[1:]
    blocks: list[Block] = [Heading(title if count == 1 else f"{title}, and {count - 1} alike")]
    blocks.append(_torques(result))
    blocks.append(Steps(_steps(result, system)))
    blocks += _long(result, system)
    blocks += [Caution(words) for words in _cautions(result, system)]
    return blocks


def _torques(result: JointResult) -> Table:
    """Torque in use and torque to use, with the reason."""
    rows: list[tuple[Cell, ...]] = []
    for group in alike(result.preloads):
        first = group[0]
        advice = first.advice
        most = None if isinstance(advice, Gap) else advice.torque
        why = f"unknown: {advice.ask()}" if isinstance(advice, Gap) else advice.governed_by
        torque = first.fastener.torque if first.fastener.torque is not None else most
        rows.append(
            (
                ", ".join(each.fastener.name for each in group),
                size_of(first),
                *(Quantity(None if torque is None else share * torque, "moment") for share in STEPS),
                Quantity(most, "moment"),
                why,
            )
        )
    return Table(
        "Torque in steps",
        (
            Column("Stud"),
            Column("Size"),
            *(Column(f"{share:.0%}", numeric=True) for share in STEPS),
            Column("Most allowed", numeric=True),
            Column("Set by"),
        ),
        tuple(rows),
        "The full torque is the one stated; where none is, the most allowed.",
    )


def sequence(result: JointResult) -> tuple[str, ...]:
    """Studs in the order they are tightened: each as far as may be from the one before."""
    left = [(each.name, each.at) for each in result.joint.fasteners]
    if not left:
        return ()
    order = [left.pop(0)]
    while left:
        x, z = order[-1][1]
        best = max(range(len(left)), key=lambda k: hypot(left[k][1][0] - x, left[k][1][1] - z))
        order.append(left.pop(best))
    return tuple(name for name, _ in order)


def _steps(result: JointResult, system: System) -> tuple[str, ...]:
    order = ", ".join(sequence(result))
    first = result.preloads[0].fastener
    friction = (
        f"friction {first.thread_friction:g} in the thread and {first.head_friction:g} under the nut"
        if first.thread_friction is not None and first.head_friction is not None
        else f"nut factor {first.nut_factor:g}"
        if first.nut_factor is not None
        else "a lubrication that is not stated"
    )
    shares = ", ".join(f"{share:.0%}" for share in STEPS)
    lubricate = (
        f"Lubricate threads and bearing faces: the torques are worked out for {friction}. Another lubricant "
        "needs another torque."
    )
    return (
        "Clean both faces, stone off burrs and high spots, and wipe them dry of oil.",
        lubricate,
        "Run every nut down by hand until the washers seat, with pins or keys in place.",
        f"Tighten in this order: {order}. Go round once at each of {shares} of the torque.",
        "Go round once more at the full torque in the same order, since each stud slackens its neighbours.",
        f"Mark nut and face with a line. {_again(result, system)}",
    )


def _again(result: JointResult, system: System) -> str:
    loss = [
        each.embedding_loss + (0.0 if isinstance(each.creep_loss, Gap) else each.creep_loss[1])
        for each in result.preloads
        if not isinstance(each.embedding_loss, Gap)
    ]
    if not loss:
        return "Tighten again after the first day and the first heat cycle."
    creeps = any(
        not isinstance(each.creep_loss, Gap) and each.creep_loss[1] > 0.0 for each in result.preloads
    )
    why = "surfaces bed in and resin-bound fill creeps" if creeps else "surfaces bed in"
    return (
        f"Tighten again after the first day and the first heat cycle: {why}, "
        f"which may take {show(max(loss), 'force', system)} of each stud."
    )


def _long(result: JointResult, system: System) -> list[Block]:
    """Stretch and turn of nut for long studs, and why."""
    rows: list[tuple[Cell, ...]] = []
    twist: list[float] = []
    for group in alike(result.preloads):
        first = group[0]
        if not is_long(first) or isinstance(first.stretch, Gap):
            continue
        turn = None if isinstance(first.turn, Gap) else first.turn
        rows.append(
            (
                ", ".join(each.fastener.name for each in group),
                Quantity(None if isinstance(first.assembled, Gap) else first.assembled.mean, "force"),
                Quantity(first.stretch, "length"),
                Quantity(turn, "angle"),
            )
        )
        if not isinstance(first.wind_up, Gap):
            twist.append(first.wind_up)
    if not rows:
        return []
    stretched = show_both(_stretched(rows), "length", system)
    wound = f" and winds up by {show(max(twist), 'angle', system)} under the wrench" if twist else ""
    return [
        Paragraph(
            f"These studs are long: each stretches by {stretched}{wound}, "
            "so that torque is a poor measure. Better is to measure the stretch with an indicator on the "
            "stud's end, to turn the nut by an angle from snug, or to pull the stud with a tensioner. After "
            "torquing, back the wrench off gently so that the stud unwinds without the nut."
        ),
        Table(
            "Stretch or turn of nut for the mean preload",
            (
                Column("Stud"),
                Column("Preload", numeric=True),
                Column("Stretch", numeric=True),
                Column("Turn from snug", numeric=True),
            ),
            tuple(rows),
        ),
    ]


def is_long(preload: Preload) -> bool:
    """Whether a stud is long enough that its stretch says more than the torque."""
    fastener = preload.fastener
    return (
        fastener.thread is not None
        and fastener.free_length is not None
        and fastener.free_length > LONG * fastener.thread.nominal
    )


def _stretched(rows: list[tuple[Cell, ...]]) -> float:
    return max(cell.value or 0.0 for row in rows if isinstance(cell := row[2], Quantity))


def _cautions(result: JointResult, system: System) -> list[str]:
    found: list[str] = []
    for preload in result.preloads:
        name, advice = preload.fastener.name, preload.advice
        torque = preload.fastener.torque
        if not isinstance(advice, Gap) and torque is not None and torque > advice.torque * (1.0 + 1e-9):
            found.append(
                f"{name}: {show_both(torque, 'moment', system)} is more than the "
                f"{show_both(advice.torque, 'moment', system)} that {advice.governed_by} allows."
            )
        engaged = preload.fastener.engaged
        if engaged is not None and engaged <= 0.0:
            found.append(f"{name} does not reach what it should screw into: it clamps nothing.")
        found += _seat_caution(preload, system)
    found.append("Never tighten or slacken with the spindle able to start or the table able to index.")
    return list(dict.fromkeys(found))


def _seat_caution(preload: Preload, system: System) -> list[str]:
    limit = preload.fastener.seat_limit
    if isinstance(preload.washer, Gap) or limit is None or preload.washer <= limit:
        return []
    pressed, bears = show(preload.washer, "pressure", system), show(limit, "pressure", system)
    name = preload.fastener.name
    return [f"{name} presses its seat with {pressed}, over the {bears} it bears: use a thick hard washer."]


CHAPTER = ChapterMaker("tightening", "Tightening sheet", 32, _blocks, short="Tightening")
