"""Can the column be stood, moved and built without hurting anyone?"""

from __future__ import annotations

from typing import Any

from orthostat.base.findings import Answers, Measured, NotStated, Open, Sense, finding, opened, stated
from orthostat.catalogue.handling import HANDLING

_STATICS = "meriam-kraige-statics-2012, chapter 3: a body tips when its weight passes the edge"


def _tips(evaluation: Any, limit: float, source: str) -> Answers:
    rows: list[Measured | Open] = []
    for tip in evaluation.fit.tips:
        if tip.angle is None:
            rows.append(opened(NotStated(*tip.missing, reason=tip.reason), tip.case))
        else:
            rows.append(
                Measured(tip.angle, limit, f"tilt at which {tip.case} topples off its foot{source}", tip.case)
            )
    return rows or None


@finding(
    "handling.tip_over_bench",
    question="Does the column stand safely by itself on the bench, bare, dressed and half dressed?",
    wanted="tilt to topple at least the static stability test's",
    sense=Sense.AT_LEAST,
    kind="angle",
    source=f"{_STATICS}; limit {HANDLING.row('static stability').citation}, by analogy",
    hangs_on="base_plate",
    levers=("base_plate.overhang", "height", "plan.across_flats"),
)
def tip_over_bench(evaluation: Any) -> Answers:
    return _tips(evaluation, HANDLING.row("static stability").tilt, "")


@finding(
    "handling.tip_over_transport",
    question="Does the free-standing column bear the tilt of its way to the machine?",
    wanted="tilt to topple at least what the shop states",
    sense=Sense.AT_LEAST,
    kind="angle",
    source=f"{_STATICS}; limit the shop's own",
    hangs_on="base_plate",
    levers=("base_plate.overhang", "height", "plan.across_flats"),
)
def tip_over_transport(evaluation: Any) -> Answers:
    limit = stated(evaluation.limits.transport_tilt, "limits.transport_tilt")
    return _tips(evaluation, limit, "; braking and cornering at tan of this angle times g do the same")


@finding(
    "handling.piece_mass",
    question="Is every piece light enough to lift by hand?",
    wanted="mass of each piece at most the shop's limit for one person",
    sense=Sense.AT_MOST,
    kind="mass",
    source="the shop's stated limit",
    hangs_on="body",
    levers=("body.plate", "height"),
)
def piece_mass(evaluation: Any) -> Answers:
    lifts = evaluation.fit.lifts
    if not lifts:
        return None
    limit = stated(evaluation.limits.hand_lift, "limits.hand_lift")
    rows: list[Measured | Open] = []
    for lift in lifts:
        name = lift.name if lift.count == 1 else f"{lift.name} ({lift.count} alike)"
        if lift.mass is None:
            rows.append(Open(f"not stated: {lift.missing}", name, (lift.missing,)))
        else:
            why = "one person may lift it" if lift.mass <= limit else "lift it with tackle, or two people"
            rows.append(Measured(lift.mass, limit, why, name, (lift.path, "limits.hand_lift")))
    return rows
