"""Will the column stay put when it is drilled, milled and indexed?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from orthostat.base.findings import Answers, NotStated, Sense, finding, opened
from orthostat.checks import joint_rows as rows

if TYPE_CHECKING:
    from orthostat.analyses.hold import Preload, StackJoint

_VDI = "vdi-2230-1-2003"
_STUDS = ("studs.torque", "studs", "studs.grade")


@finding(
    "hold.engagement",
    question="Does every stud reach what it screws into?",
    wanted="some thread engaged at every stud",
    sense=Sense.AT_LEAST,
    kind="length",
    source="definition",
    hangs_on="studs",
    levers=("studs.engagement",),
    tight=0.5,
)
def engagement(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.stack(evaluation), rows.engagement_row)


@finding(
    "hold.location",
    question="Is the column's place fixed by something other than friction?",
    wanted="pins or keys that take away all three freedoms of the plane",
    sense=Sense.AT_LEAST,
    kind="count",
    source="common practice, no source",
    hangs_on="pins",
    levers=("pins",),
    tight=0.0,
)
def location(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), rows.location_row)


@finding(
    "hold.over_constraint",
    question="Can the column be lifted off its pins again?",
    wanted="no direction located by two tight pins",
    sense=Sense.AT_MOST,
    kind="count",
    source="common practice, no source",
    hangs_on="pins",
    levers=("pins.kind",),
    tight=0.0,
)
def over_constraint(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), rows.constraint_row)


@finding(
    "hold.slip",
    beside=True,
    question="Does the column stay where it is under every cut and motion?",
    wanted="load factor to slip at least what is wanted of the load",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source=f"{_VDI}, safety against slipping",
    hangs_on="studs",
    levers=(*_STUDS, "joint_friction", "stations.cuts.pass_depth", "stations.cuts.feed"),
)
def slip(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), lambda joint: rows.slip_rows(evaluation, joint))


@finding(
    "hold.lift",
    beside=True,
    question="Does the whole base keep touching under every cut and motion?",
    wanted="load factor to first lift at least what is wanted",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source=f"{_VDI}, section 5.5.2, one-sided opening",
    hangs_on="studs",
    levers=(*_STUDS, "base_plate.overhang"),
)
def lift(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), lambda joint: rows.lift_rows(evaluation, joint))


@finding(
    "hold.tipping",
    beside=True,
    question="Does the clamp keep the column from tipping about an edge?",
    wanted="load factor to tipping at least what is wanted of the load",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source="statics",
    hangs_on="studs",
    levers=(*_STUDS, "base_plate.overhang"),
)
def tipping(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), lambda joint: rows.tip_rows(evaluation, joint))


@finding(
    "hold.stud_stress",
    question="Does tightening leave every stud short of its yield?",
    wanted="combined stress while tightening at most 90 % of yield",
    sense=Sense.AT_MOST,
    kind="pressure",
    source=f"{_VDI}, section 5.5.1",
    hangs_on="studs",
    levers=("studs.torque", "studs.grade", "studs.thread"),
)
def stud_stress(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.stack(evaluation), rows.stress_row)


@finding(
    "hold.stud_working",
    question="Does the worst load on top of the greatest preload leave every stud short of its yield?",
    wanted="tension under load at most the yield strength",
    sense=Sense.AT_MOST,
    kind="pressure",
    source=f"{_VDI}, section 5.5.2",
    hangs_on="studs",
    levers=("studs.torque", "studs.grade", "studs"),
)
def stud_working(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.stack(evaluation), rows.working_row)


@finding(
    "hold.stud_change",
    question="Do the studs bear the loads as often as they come?",
    wanted="stress amplitude at most the endurance of a rolled thread",
    sense=Sense.AT_MOST,
    kind="pressure",
    source=f"{_VDI}, section 5.5.3",
    hangs_on="studs",
    levers=_STUDS,
)
def stud_change(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.stack(evaluation), rows.change_row)


@finding(
    "hold.thread_strip",
    question="Do the threads in the pallet and on the studs hold what the studs pull?",
    wanted="stripping force over the greatest stud force at least the wanted safety",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source="fed-std-h28-2b",
    hangs_on="studs",
    levers=("studs.engagement", "studs.torque", "studs.thread"),
)
def thread_strip(evaluation: Any) -> Answers:
    def of_joint(joint: StackJoint) -> list[rows.Row]:
        found: list[rows.Row] = []
        for preload in joint.result.preloads:
            found += _strip(evaluation, joint, preload)
        return found

    return rows.each_joint(rows.stack(evaluation), of_joint)


def _strip(evaluation: Any, joint: StackJoint, preload: Preload) -> list[rows.Row]:
    try:
        return rows.strip_rows(evaluation, joint, preload)
    except NotStated as gap:
        return [opened(gap, rows.subject(joint, preload))]


@finding(
    "hold.washer",
    question="Does what is under the washers bear their pressure?",
    wanted="pressure under the washer at most the limiting surface pressure",
    sense=Sense.AT_MOST,
    kind="pressure",
    source=f"{_VDI}, section 5.5.4",
    hangs_on="studs",
    levers=("studs.washer", "studs.torque"),
)
def washer(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.stack(evaluation), rows.washer_row)


@finding(
    "hold.preload_loss",
    question="Does the preload last once surfaces have bedded in and the fill has crept?",
    wanted="share of the least preload lost at most what is usual before tightening again",
    sense=Sense.AT_MOST,
    kind="share",
    source=f"{_VDI}, section 5.4.2",
    hangs_on="studs",
    levers=("studs.torque", "studs.seat", "studs.washer"),
)
def preload_loss(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.stack(evaluation), rows.loss_row)


@finding(
    "hold.preload_temperature",
    question="Does the preload last as the shop warms and cools?",
    wanted="share of the least preload that temperature changes at most what is usual",
    sense=Sense.AT_MOST,
    kind="share",
    source=f"{_VDI}, section 5.4.2.2",
    hangs_on="studs",
    levers=("studs.seat", "studs.torque"),
)
def preload_temperature(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.stack(evaluation), rows.temperature_row)


@finding(
    "hold.pin_shift",
    question="How far does the column move before its pins take over?",
    wanted="movement at the farthest cut at most the shift or tolerance allowed",
    sense=Sense.AT_MOST,
    kind="length",
    source="iso-286-1",
    hangs_on="pins",
    levers=("pins.fit_above", "pins.fit_below", "pins"),
)
def pin_shift(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), lambda joint: rows.shift_row(evaluation, joint))


@finding(
    "hold.pin_shear",
    question="Do the pins bear the whole load once friction is beaten?",
    wanted="shear stress of each pin at most its strength over the wanted safety",
    sense=Sense.AT_MOST,
    kind="pressure",
    source="shigley, section 8-12",
    hangs_on="pins",
    levers=("pins.diameter", "pins"),
)
def pin_shear(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), lambda joint: rows.pin_rows(evaluation, joint, "shear"))


@finding(
    "hold.pin_bearing",
    question="Do the holes bear the pins once friction is beaten?",
    wanted="pressure of each pin on its hole at most the material's strength over the wanted safety",
    sense=Sense.AT_MOST,
    kind="pressure",
    source="shigley, section 8-12",
    hangs_on="pins",
    levers=("pins.length_above", "pins.length_below", "pins.diameter"),
)
def pin_bearing(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), lambda joint: rows.pin_rows(evaluation, joint, "bearing"))


@finding(
    "hold.loose_stud",
    question="Does the column still stay put with any one stud slack?",
    wanted="load factor to slip at least 1 with one stud loose",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source="common practice, no source",
    hangs_on="studs",
    levers=_STUDS,
)
def loose_stud(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), rows.loose_rows)


@finding(
    "hold.out_of_flat",
    question="Does the column still stay put on a base that is hollow or crowned?",
    wanted="load factor to slip at least 1 out of flat by what is stated",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source="common practice, no source",
    hangs_on="base_flatness",
    levers=("base_flatness", "studs.torque"),
)
def out_of_flat(evaluation: Any) -> Answers:
    def of_joint(joint: StackJoint) -> list[rows.Row] | None:
        return rows.uneven_rows(joint) if joint.joint.path == evaluation.column.path else None

    return rows.each_joint(rows.stack(evaluation), of_joint)


@finding(
    "hold.stud_spread",
    question="Do the studs hold the column both ways, not along one line?",
    wanted="spread of the studs across their best line over that of the base",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source="common practice, no source",
    hangs_on="studs",
    levers=("studs",),
)
def stud_spread(evaluation: Any) -> Answers:
    return rows.each_joint(rows.stack(evaluation), rows.spread_row)
