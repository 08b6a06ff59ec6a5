"""Will every fixture stay put on its face? A fixture can shift as well as a column."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from orthostat.base.findings import Answers, NotStated, Sense, finding, opened
from orthostat.checks import joint_rows as rows

if TYPE_CHECKING:
    from orthostat.analyses.hold import StackJoint

_VDI = "vdi-2230-1-2003"
_SCREWS = ("stations.screws.torque", "stations.screws", "stations.friction")


@finding(
    "fixture.location",
    question="Is every fixture's place on its face fixed by something other than friction?",
    wanted="dowels that take away all three freedoms of the plane",
    sense=Sense.AT_LEAST,
    kind="count",
    source="common practice, no source",
    hangs_on="stations",
    levers=("stations.dowels",),
    tight=0.0,
)
def location(evaluation: Any) -> Answers:
    return rows.each_joint(rows.fixtures(evaluation), rows.location_row)


@finding(
    "fixture.over_constraint",
    question="Can every fixture be lifted off its dowels again?",
    wanted="no direction located by two tight dowels",
    sense=Sense.AT_MOST,
    kind="count",
    source="common practice, no source",
    hangs_on="stations",
    levers=("stations.dowels.relieved",),
    tight=0.0,
)
def over_constraint(evaluation: Any) -> Answers:
    return rows.each_joint(rows.fixtures(evaluation), rows.constraint_row)


@finding(
    "fixture.slip",
    question="Does every fixture stay where it is under its cuts and the machine's motions?",
    wanted="load factor to slip at least what is wanted of the load",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source=f"{_VDI}, safety against slipping",
    hangs_on="stations",
    levers=_SCREWS,
)
def slip(evaluation: Any) -> Answers:
    return rows.each_joint(rows.fixtures(evaluation), lambda joint: rows.slip_rows(evaluation, joint))


@finding(
    "fixture.lift",
    question="Does every fixture keep touching its face over its whole foot?",
    wanted="load factor to first lift at least what is wanted",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source=f"{_VDI}, section 5.5.2, one-sided opening",
    hangs_on="stations",
    levers=_SCREWS,
)
def lift(evaluation: Any) -> Answers:
    return rows.each_joint(rows.fixtures(evaluation), lambda joint: rows.lift_rows(evaluation, joint))


@finding(
    "fixture.screw_stress",
    question="Does tightening leave every fixture screw short of its yield?",
    wanted="combined stress while tightening at most 90 % of yield",
    sense=Sense.AT_MOST,
    kind="pressure",
    source=f"{_VDI}, section 5.5.1",
    hangs_on="stations",
    levers=("stations.screws.torque", "stations.screws.grade"),
)
def screw_stress(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.fixtures(evaluation), rows.stress_row)


@finding(
    "fixture.thread_strip",
    question="Do the threads in the plates hold what the fixture screws pull?",
    wanted="stripping force over the greatest screw force at least the wanted safety",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source="fed-std-h28-2b",
    hangs_on="stations",
    levers=("stations.screws.engagement", "stations.screws.torque", "patterns.insert"),
)
def thread_strip(evaluation: Any) -> Answers:
    def of_joint(joint: StackJoint) -> list[rows.Row]:
        found: list[rows.Row] = []
        for preload in joint.result.preloads:
            try:
                found += rows.strip_rows(evaluation, joint, preload)
            except NotStated as gap:
                found.append(opened(gap, rows.subject(joint, preload)))
        return found

    return rows.each_joint(rows.fixtures(evaluation), of_joint)


@finding(
    "fixture.head_pressure",
    question="Does the fixture bear the pressure under the screw heads?",
    wanted="pressure under the head at most the limiting surface pressure",
    sense=Sense.AT_MOST,
    kind="pressure",
    source=f"{_VDI}, section 5.5.4",
    hangs_on="stations",
    levers=("stations.screws.torque",),
)
def head_pressure(evaluation: Any) -> Answers:
    return rows.each_fastener(rows.fixtures(evaluation), rows.washer_row)


@finding(
    "fixture.pin_shift",
    question="How far does a fixture move before its dowels take over?",
    wanted="movement at the farthest cut at most the shift or tolerance allowed",
    sense=Sense.AT_MOST,
    kind="length",
    source="iso-286-1",
    hangs_on="stations",
    levers=("stations.dowels.fit", "stations.dowels"),
)
def pin_shift(evaluation: Any) -> Answers:
    return rows.each_joint(rows.fixtures(evaluation), lambda joint: rows.shift_row(evaluation, joint))


@finding(
    "fixture.pin_shear",
    question="Do the dowels bear the whole load once friction is beaten?",
    wanted="shear stress of each dowel at most its strength over the wanted safety",
    sense=Sense.AT_MOST,
    kind="pressure",
    source="shigley, section 8-12",
    hangs_on="stations",
    levers=("stations.dowels.diameter",),
)
def pin_shear(evaluation: Any) -> Answers:
    return rows.each_joint(rows.fixtures(evaluation), lambda joint: rows.pin_rows(evaluation, joint, "shear"))


@finding(
    "fixture.pin_bearing",
    question="Do the plates bear the dowels once friction is beaten?",
    wanted="pressure of each dowel on its hole at most the material's strength over the wanted safety",
    sense=Sense.AT_MOST,
    kind="pressure",
    source="shigley, section 8-12",
    hangs_on="stations",
    levers=("stations.dowels.engagement", "stations.dowels.diameter"),
)
def pin_bearing(evaluation: Any) -> Answers:
    return rows.each_joint(
        rows.fixtures(evaluation), lambda joint: rows.pin_rows(evaluation, joint, "bearing")
    )


@finding(
    "fixture.loose_screw",
    question="Does every fixture still stay put with any one screw slack?",
    wanted="load factor to slip at least 1 with one screw loose",
    sense=Sense.AT_LEAST,
    kind="ratio",
    source="common practice, no source",
    hangs_on="stations",
    levers=_SCREWS,
)
def loose_screw(evaluation: Any) -> Answers:
    def of_joint(joint: StackJoint) -> list[rows.Row]:
        return rows.loose_rows(joint)

    return rows.each_joint(rows.fixtures(evaluation), of_joint)
