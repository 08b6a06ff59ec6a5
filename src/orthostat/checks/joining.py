"""Are the plates joined, and does what joins them hold?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, TypeVar

from orthostat.analyses.fit.clashes import CONTACT
from orthostat.base.findings import Answers, Measured, NotStated, Open, Sense, finding, known, opened, stated
from orthostat.base.showing import show_both
from orthostat.catalogue.labour import ALLOWANCES

if TYPE_CHECKING:
    from orthostat.analyses.joining import Borne, Group, Pull

_GEOMETRY = "geometry"
_STRENGTH = "en-1993-1-8, table 3.4; aci-347-14, full liquid head"
Joined = TypeVar("Joined", "Group", "Pull", "Borne")


def _each(joined: Iterable[Joined], measure: Callable[[Joined], Measured]) -> Answers:
    """A row of each; one that lacks an input is open and leaves the others."""
    rows: list[Measured | Open] = []
    for each in joined:
        try:
            rows.append(measure(each))
        except NotStated as gap:
            rows.append(opened(gap, each.subject))
    return rows or None


def _screws(evaluation: Any) -> list[Group]:
    return [each for each in evaluation.joining.groups if each.joiner.what == "screw"]


@finding(
    "joining.seams",
    question="Is it said how the pieces of the body are joined?",
    wanted="every seam joined, or pressed together by studs from the top",
    sense=Sense.AT_LEAST,
    kind="count",
    source=_GEOMETRY,
    hangs_on="joints",
    levers=("joints",),
    tight=0.0,
)
def seams(evaluation: Any) -> Answers:
    rows: list[Measured | Open] = []
    for each in evaluation.joining.coverage:
        count = len(each.joined) + len(each.left)
        if not each.joined:
            unfinished = [j for j in evaluation.column.joints if j.kind == each.kind and j.missing]
            missing = tuple(path for joint in unfinished for path in joint.missing) or (
                f"{evaluation.column.path}.joints",
            )
            rows.append(Open("how they are joined is not stated", each.kind, missing))
            continue
        named = ", ".join(seam.name for seam in each.left)
        why = "held by the studs from the top" if each.clamped else "all are joined"
        said = f"nothing joins {named}" if named else why
        rows.append(Measured(len(each.joined), count, said, each.kind, (f"{evaluation.column.path}.joints",)))
    return rows or None


@finding(
    "joining.length",
    question="Is every screw short enough for its tapped hole?",
    wanted="full thread left beyond the screw's end not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="joints",
    levers=("joints.length", "joints.thread_depth"),
    tight=0.0,
)
def length(evaluation: Any) -> Answers:
    def measure(each: Group) -> Measured:
        screw = each.joiner
        why = (
            f"{show_both(screw.reach, 'length')} go in, {show_both(screw.thread_depth, 'length')} are tapped"
        )
        room, where = screw.thread_depth - screw.reach, (f"{each.joint.path}.length",)
        return Measured(room, 0.0, why, each.subject, where, float(screw.diameter))

    return _each(_screws(evaluation), measure)


@finding(
    "joining.engagement",
    question="Does every screw yield before it strips its thread?",
    wanted="what strips the tapped thread at least the screw's proof load",
    sense=Sense.AT_LEAST,
    kind="force",
    source="fed-std-h28-2b, appendix; iso-898-1, table on proof loads",
    hangs_on="joints",
    levers=("joints.length", "joints.grade", "joints.thread"),
)
def engagement(evaluation: Any) -> Answers:
    def measure(each: Group) -> Measured:
        proof, strip = known(each.proof), known(each.strip)
        why = f"{show_both(each.joiner.engaged, 'length')} of {each.joint.thread} thread hold"
        return Measured(strip, proof, why, each.subject, (f"{each.joint.path}.length",))

    return _each(_screws(evaluation), measure)


@finding(
    "joining.wall",
    question="Is enough plate left beside every hole in an edge?",
    wanted="hole's axis at least 1.2 diameters from the sides of its plate",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source=ALLOWANCES.row("edge distance").citation,
    hangs_on="joints",
    levers=("joints.inset", "joints.thread", "joints.end_distance", "body.plate"),
)
def wall(evaluation: Any) -> Answers:
    limit = float(ALLOWANCES.row("edge distance").share or 0.0)

    def measure(each: Group) -> Measured:
        why = f"{show_both(each.wall, 'length')} from the axis to the nearest side, over its diameter"
        return Measured(each.wall / each.joiner.diameter, limit, why, each.subject, (each.joint.path,))

    return _each(evaluation.joining.groups, measure)


@finding(
    "joining.cover",
    question="Are hole and recess of every screw wholly in the plate that it goes through?",
    wanted="room from their rims to the plate's sides not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="joints",
    levers=("joints.inset", "joints.thread", "joints.counterbore", "joints.how"),
    tight=0.0,
)
def cover(evaluation: Any) -> Answers:
    def measure(each: Group) -> Measured:
        why, size = (
            f"from the rim to the nearest side of {each.joiner.seam.outer}",
            float(each.joiner.diameter),
        )
        return Measured(each.cover, 0.0, why, each.subject, (each.joint.path,), size)

    return _each(evaluation.joining.groups, measure)


@finding(
    "joining.clear",
    question="Do the holes between plates stay clear of all others?",
    wanted="gap beside each hole not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="joints",
    levers=("joints.count", "joints.end_distance", "joints.length", "patterns"),
    tight=0.0,
)
def clear(evaluation: Any) -> Answers:
    return [
        Measured(
            0.0 if abs(room.gap) < CONTACT else room.gap,
            0.0,
            f"to {room.beside}",
            room.subject,
            (room.path,),
            room.size,
        )
        for room in evaluation.consistency.joiners
    ] or None


@finding(
    "joining.head",
    question="Do the screw heads stay below the faces, truing included?",
    wanted="depth of the head below the trued surface not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="joints",
    levers=("joints.head_below", "truing.depth", "body.plate"),
    tight=0.0,
)
def head(evaluation: Any) -> Answers:
    def measure(each: Group) -> Measured:
        below = each.joiner.head_below
        why = f"head {show_both(below, 'length')} below the surface as made"
        trued = evaluation.joining.inputs.trued if each.joint.kind == "corners" else 0.0
        size = float(each.joiner.head_height)
        return Measured(below - trued, 0.0, why, each.subject, (each.joint.path,), size)

    return _each(_screws(evaluation), measure)


@finding(
    "joining.torque",
    question="Do the screws between plates bear their torque?",
    wanted="torque at most what screw, thread and seat allow",
    sense=Sense.AT_MOST,
    kind="moment",
    source="vdi-2230-1-2003, sections 5.4 and 5.5",
    hangs_on="joints",
    levers=("joints.torque", "joints.grade", "joints.length"),
    tight=0.0,
)
def torque(evaluation: Any) -> Answers:
    def measure(each: Group) -> Measured:
        where = f"{each.joint.path}.torque"
        stated_torque, advice = stated(each.joint.torque, where), known(each.advice)
        return Measured(stated_torque, advice.torque, f"set by {advice.governed_by}", each.subject, (where,))

    return _each(_screws(evaluation), measure)


@finding(
    "joining.pour",
    question="Do the corners hold against the liquid fill without the clamps?",
    wanted="share of what the joint bears at most 1",
    sense=Sense.AT_MOST,
    kind="ratio",
    source=_STRENGTH,
    hangs_on="joints",
    levers=("joints.count", "joints.thread", "pour.lifts"),
)
def pour(evaluation: Any) -> Answers:
    joining = evaluation.joining
    gap = joining.inputs.no_pushes
    if gap is not None and any(joint.kind == "corners" for joint in evaluation.column.joints):
        raise gap.ask()

    def measure(each: Pull) -> Measured:
        apart, across = show_both(each.tension, "force"), show_both(each.shear, "force")
        per = "" if each.joint.how == "screwed" else " on a metre"
        why = f"{each.place}: {apart} apart and {across} across{per}"
        return Measured(known(each.use), 1.0, why, each.subject, (each.joint.path,))

    return _each(joining.pulls, measure)


@finding(
    "joining.base",
    question="Does what joins walls and base plate bear every cut and motion?",
    wanted="share of what it bears at most 1",
    sense=Sense.AT_MOST,
    kind="ratio",
    source="en-1993-1-8, table 3.4; meriam-kraige-statics-2012, equilibrium",
    hangs_on="joints",
    levers=("joints.count", "joints.thread", "joints.throat", "studs.seat"),
)
def base(evaluation: Any) -> Answers:
    def measure(each: Borne) -> Measured:
        what = "a screw" if each.joint.how == "screwed" else "a stretch of weld"
        up, across = show_both(each.tension, "force"), show_both(each.shear, "force")
        why = f"{what} carries {up} up and {across} across"
        return Measured(known(each.use), 1.0, why, each.subject, (each.joint.path,))

    return _each(evaluation.borne_at_base, measure)
