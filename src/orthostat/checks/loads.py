"""Can the machine make the cuts: spindle power, torque, speed, the table's hold and the pallet's clamp?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from orthostat.base.findings import Answers, Gap, Measured, NotStated, Open, Sense, finding, opened, stated

if TYPE_CHECKING:
    from orthostat.analyses.hold import ClampUse, Worst
    from orthostat.analyses.loads import CutLoads, SpindleUse

_RATING = "the machine's stated rating"
_CURVE = "kienzle-victor-1957; the machine's stated curve"


def _each_cut(evaluation: Any, measure: Callable[[SpindleUse, CutLoads], Measured | Open | None]) -> Answers:
    """A row for each cut whose use of the spindle is known, an open one for every other."""
    from orthostat.analyses.loads import spindle_use

    column, loads = evaluation.column, evaluation.loads
    if not loads.cuts and not loads.open_cuts:
        return None
    machine = stated(column.machine, f"{column.path}.machine")
    spindle = loads.spindle
    rows: list[Measured | Open] = []
    for cut in loads.cuts:
        try:
            row = measure(spindle_use(cut, spindle), cut)
        except NotStated as gap:
            row = opened(gap, cut.label)
        if row is not None:
            rows.append(row)
    rows += [opened(NotStated(*cut.missing, reason=cut.reason), cut.label) for cut in loads.open_cuts]
    if not rows:
        raise NotStated(f"{machine.path}.spindle_curve")
    return rows


@finding(
    "loads.power",
    question="Has the spindle the power for every cut?",
    wanted="power at the motor at most what the spindle's curve gives at that speed",
    sense=Sense.AT_MOST,
    kind="power",
    source=_CURVE,
    hangs_on="stations",
    levers=("stations.cuts.pass_depth", "stations.cuts.width", "stations.cuts.feed"),
)
def power(evaluation: Any) -> Answers:
    def measure(use: SpindleUse, cut: CutLoads) -> Measured | None:
        if use.power_limit is None:
            return None
        span = cut.forces.span
        why = f"at the high end of a range from {span.low:.2f} to {span.high:.2f} of the likely power"
        return Measured(use.power, use.power_limit, why, cut.label, (cut.path,))

    return _each_cut(evaluation, measure)


@finding(
    "loads.torque",
    question="Has the spindle the torque for every cut?",
    wanted="mean torque of the cut at most what the spindle's curve gives at that speed",
    sense=Sense.AT_MOST,
    kind="moment",
    source=_CURVE,
    hangs_on="stations",
    levers=("stations.cuts.pass_depth", "stations.cuts.feed", "stations.cuts.speed"),
)
def torque(evaluation: Any) -> Answers:
    def measure(use: SpindleUse, cut: CutLoads) -> Measured | None:
        if use.torque_limit is None:
            return None
        why = "mean torque at the high end of the cut's range"
        return Measured(use.torque, use.torque_limit, why, cut.label, (cut.path,))

    return _each_cut(evaluation, measure)


@finding(
    "loads.speed",
    question="Can the spindle turn as fast as every cut wants?",
    wanted="speed of the cut at most the spindle's",
    sense=Sense.AT_MOST,
    kind="rotation speed",
    source=_RATING,
    hangs_on="stations",
    levers=("stations.cuts.speed",),
    tight=0.0,
)
def speed(evaluation: Any) -> Answers:
    loads, column = evaluation.loads, evaluation.column
    turning = [cut for cut in loads.cuts if cut.forces.speed is not None]
    if not turning:
        return None
    machine = stated(column.machine, f"{column.path}.machine")
    limit = stated(machine.spindle_speed_limit, f"{machine.path}.spindle_speed_limit")
    return [Measured(cut.forces.speed, limit, "speed of the cut", cut.label, (cut.path,)) for cut in turning]


def _clamped(evaluation: Any) -> ClampUse:
    column = evaluation.column
    use: ClampUse | None = evaluation.hold.clamp
    return stated(use, f"{column.path}.machine")


def _rated(evaluation: Any, worst: Worst | Gap | None, limit: float | None, key: str, why: str) -> Answers:
    if isinstance(worst, Gap):
        raise worst.ask()
    loads = evaluation.loads
    unknown = (
        *((cut.label, NotStated(*cut.missing, reason=cut.reason)) for cut in loads.open_cuts),
        *((each.name, NotStated(*each.missing, reason=each.reason)) for each in loads.open_handling),
    )
    rows: list[Measured | Open] = [
        Open(f"the load of {name} is not known: {lacks.sentence}", name, lacks.missing)
        for name, lacks in unknown
    ]
    if worst is None:
        return rows or None
    rows.append(Measured(worst.value, stated(limit, key), f"{why}: {worst.load}", "", (key,)))
    return rows


@finding(
    "loads.table_torque",
    question="Does the clamped table hold against the torque of every cut about B?",
    wanted="torque about the B axis while cutting at most the table's holding torque",
    sense=Sense.AT_MOST,
    kind="moment",
    source=_RATING,
    hangs_on="stations",
    levers=("stations", "stations.cuts.pass_depth"),
)
def table_torque(evaluation: Any) -> Answers:
    use = _clamped(evaluation)
    return _rated(
        evaluation, use.torque, use.clamp.holding_torque, f"{use.clamp.path}.b_torque", "the worst cut"
    )


@finding(
    "loads.clamp_force",
    question="Does the pallet clamp hold against what lifts the pallet?",
    wanted="lifting force at most the clamp's rated force",
    sense=Sense.AT_MOST,
    kind="force",
    source=_RATING,
    hangs_on="stations",
    levers=("stations.cuts.pass_depth", "stations.cuts.feed"),
)
def clamp_force(evaluation: Any) -> Answers:
    use = _clamped(evaluation)
    return _rated(evaluation, use.force, use.clamp.force, f"{use.clamp.path}.clamp_force", "the worst load")


@finding(
    "loads.clamp_moment",
    question="Does the pallet clamp hold against what tilts the pallet?",
    wanted="tilting moment on the pallet clamp at most its rating",
    sense=Sense.AT_MOST,
    kind="moment",
    source=_RATING,
    hangs_on="stations",
    levers=("height", "stations.cuts.pass_depth", "stations.cuts.feed"),
)
def clamp_moment(evaluation: Any) -> Answers:
    use = _clamped(evaluation)
    return _rated(
        evaluation, use.moment, use.clamp.moment, f"{use.clamp.path}.clamp_moment", "the worst load"
    )
