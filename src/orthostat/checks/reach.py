"""Can the shop's own tools reach what must be machined?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from orthostat.base.findings import Answers, Measured, Open, Sense, finding
from orthostat.base.showing import show, show_both

if TYPE_CHECKING:
    from orthostat.analyses.reach import Blocker, CutReach, FaceMap, Reach, Room
    from orthostat.analyses.reach.changer import Limit

_GEOMETRY = "geometry; the clearances are the shop's or common practice, no source"


def named(blockers: Iterable[Blocker], most: int = 3) -> str:
    """Blockers in words: `pallet at the cutter, Y travel at its low end`."""
    listed = [b.name if not b.member else f"{b.name} at the {b.member}" for b in blockers]
    words = ", ".join(listed[:most])
    return words + (f" and {len(listed) - most} more" if len(listed) > most else "")


@finding(
    "reach.truing",
    question="Can some tool of the shop true the whole face in its own machine?",
    wanted="one tool's reach past every edge of the face, not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="truing.depth",
    levers=("tools", "plan.stand_off", "riser.thickness", "bases.*.thickness"),
    tight=0.0,
)
def truing(evaluation: Any) -> Answers:
    from orthostat.analyses.reach import CAP
    from orthostat.analyses.reach.changer import refused

    reach: Reach = evaluation.reach
    answers: list[Measured | Open] = []
    able = [
        [each for each in trued.maps if not refused(each.tool, reach.inputs.magazine)]
        for trued in reach.truing
    ]
    bests = [takes[0] if takes else trued.best for takes, trued in zip(able, reach.truing, strict=True)]
    reach.share_out(best for best in bests if best is not None)
    for trued, takes, best in zip(reach.truing, able, bests, strict=True):
        if best is None:
            answers.append(_no_mill(reach, trued.face.name))
        elif best.ground.whole and best.unknown:
            words = f"{best.tool.name} reaches all of it as far as is stated"
            answers.append(Open(words, trued.face.name, best.unknown))
        else:
            answers.append(
                Measured(
                    best.ground.overrun,
                    0.0,
                    _truing_words(reach, best, takes),
                    trued.face.name,
                    (reach.tool(best.tool.name).path,),
                    CAP,
                )
            )
    return answers


def _no_mill(reach: Reach, face: str) -> Open:
    if reach.inputs.truing_tools is None:
        return Open("the shop has no face mill or end mill", face, ("tools",))
    key = reach.inputs.truing_path.removesuffix("depth") + "tools"
    return Open("no tool that may true it is a face mill or end mill", face, (key,))


def _truing_words(reach: Reach, best: FaceMap, takes: Sequence[FaceMap]) -> str:
    from orthostat.analyses.reach import CAP
    from orthostat.analyses.reach.scene import TOUCH

    if best.ground.whole:
        more = sum(1 for each in takes if each.ground.whole) - 1
        spare = "at least " if best.ground.overrun >= CAP else ""
        others = f"; {more} more can too" if more else ""
        past = show_both(best.ground.overrun, "length")
        return f"{best.tool.name} reaches {spare}{past} past every edge{others}"
    part = reach.blamed_most(best)
    where = "its lower edge" if part.ground.bounds[1] <= best.face.v_low + TOUCH else "part of it"
    words = (
        f"{best.tool.name} comes nearest and misses {where} by {show_both(-best.ground.overrun, 'length')}"
    )
    barred = "" if takes else "; the tool changer takes none of the shop's mills"
    return f"{words}: {named(part.blockers)}{barred}"


@finding(
    "reach.cuts",
    question="Does the tool reach the whole of the cut?",
    wanted="all of the region or all of the places",
    sense=Sense.AT_LEAST,
    kind="share",
    source=_GEOMETRY,
    hangs_on="stations",
    levers=("stations", "tools", "plan.face_distance"),
    tight=0.0,
)
def cuts(evaluation: Any) -> Answers:
    answers: list[Measured | Open] = []
    for each in evaluation.reach.cuts:
        if each.reached and each.unknown:
            answers.append(Open("reached as far as is stated", each.cut.name, each.unknown))
            continue
        words = f"{each.tool.name} at B {show(each.b_angle, 'angle')}"
        if each.blockers:
            words += f": {named(each.blockers)}"
        answers.append(Measured(each.share, 1.0, words, each.cut.name, (each.cut.path,)))
    return answers or None


@finding(
    "reach.holder",
    question="Is there room beside shank and holder along the cut?",
    wanted="least room at least the radial clearance wanted",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="stations",
    levers=("stations", "tools"),
    tight=0.0,
)
def holder(evaluation: Any) -> Answers:
    return _rooms(evaluation, lambda each: each.holder, "shank or holder", lambda _: ())


@finding(
    "reach.head",
    question="Is there room beside the spindle nose and head along the cut?",
    wanted="least room at least the radial clearance wanted",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="stations",
    levers=("stations", "tools", "plan.face_distance"),
    tight=0.0,
)
def head(evaluation: Any) -> Answers:
    reach: Reach = evaluation.reach

    def gaps(each: CutReach) -> tuple[str, ...]:
        own = () if each.tool.gauge_length is not None else (f"{each.tool.path}.gauge_length",)
        return own if reach.inputs.limits.head_stated else (*own, reach.inputs.limits.head_key)

    return _rooms(evaluation, lambda each: each.head, "nose or head", gaps)


def _rooms(
    evaluation: Any,
    room: Callable[[CutReach], Room | None],
    part: str,
    gaps: Callable[[CutReach], tuple[str, ...]],
) -> Answers:
    """A row for each cut; nothing within the distance looked at counts as that distance."""
    from orthostat.analyses.reach import CAP

    wanted = evaluation.reach.inputs.clearances.radial
    answers: list[Measured | Open] = []
    for each in evaluation.reach.cuts:
        missing = gaps(each)
        if missing:
            answers.append(Open(f"{part} of {each.tool.name}", each.cut.name, missing))
            continue
        found = room(each)
        if found is None:
            words = f"nothing within {show_both(CAP, 'length')} of {part} of {each.tool.name}"
            answers.append(Measured(CAP, wanted, words, each.cut.name, (each.cut.path,), CAP))
        else:
            words = f"{part} of {each.tool.name} comes nearest to {found.nearest}"
            answers.append(Measured(found.clearance, wanted, words, each.cut.name, (each.cut.path,), CAP))
    return answers or None


@finding(
    "reach.turn_clear",
    question="Can the table turn with the tool in the spindle, all the way back?",
    wanted="room between tool and swing circle at least the axial clearance",
    sense=Sense.AT_LEAST,
    kind="length",
    source="geometry; every solid sweeps a ring about B, the spindle at X = 0 and any Y",
    hangs_on="stations",
    levers=("tools", "stations", "plan.across_flats"),
    tight=0.0,
)
def turn_clear(evaluation: Any) -> Answers:
    from orthostat.analyses.reach import CAP

    reach: Reach = evaluation.reach
    limits = reach.inputs.limits
    answers: list[Measured | Open] = []
    for each in reach.turning:
        missing = [] if limits.head_stated else [limits.head_key]
        if limits.nose_far is None:
            missing.append(f"{limits.path}.nose_to_b")
        if each.tool.gauge_length is None:
            missing.append(f"{each.tool.path}.gauge_length")
        if each.clearance is None or missing:
            answers.append(Open("how far back the tool gets", each.tool.name, tuple(missing)))
            continue
        words = (
            f"{each.widest} swings {show_both(each.swing, 'length')} from B; before turning, "
            f"the tip must be {show_both(each.tip_needed, 'length')} from B or more"
        )
        answers.append(
            Measured(
                each.clearance, reach.inputs.clearances.axial, words, each.tool.name, (each.tool.path,), CAP
            )
        )
    return answers


@finding(
    "reach.changer",
    question="Does the tool changer take every tool that a cut uses?",
    wanted="diameter, length, mass and tilting moment within the changer's limits",
    sense=Sense.AT_MOST,
    kind="share",
    source="the tool changer's stated limits",
    hangs_on="stations",
    levers=("tools",),
    tight=0.0,
)
def changer(evaluation: Any) -> Answers:
    reach: Reach = evaluation.reach
    answers: list[Measured | Open] = []
    for name in dict.fromkeys(each.cut.tool for each in reach.cuts):
        answers += [_changer_row(reach, name, limit) for limit in reach.changer(name)]
    return answers or None


_CHANGER_KEYS = {"diameter": "diameter", "length": "length", "mass": "mass", "tilting moment": "moment"}
_TOOL_KEYS = {"length": "gauge_length", "mass": "mass", "tilting moment": "mass"}


def _changer_row(reach: Reach, tool: str, limit: Limit) -> Measured | Open:
    subject = f"{limit.name} of {tool}"
    if limit.limit is None:
        key = f"{reach.inputs.limits.path}.magazine.{_CHANGER_KEYS[limit.name]}"
        return Open("the changer's limit", subject, (key,))
    if limit.value is None:
        return Open("the tool's own value", subject, (f"{reach.tool(tool).path}.{_TOOL_KEYS[limit.name]}",))
    note = f"; {limit.note}" if limit.note else ""
    words = f"{show_both(limit.value, limit.kind)} of {show_both(limit.limit, limit.kind)}{note}"
    return Measured(limit.value / limit.limit, 1.0, words, subject, (reach.tool(tool).path,))
