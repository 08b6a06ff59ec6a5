"""Will the fill cure without boiling, leaning or setting in the bucket?"""

from __future__ import annotations

from typing import Any

from orthostat.base.findings import Answers, Measured, Open, Sense, finding, stated
from orthostat.base.showing import show_both
from orthostat.catalogue.casting import assumption
from orthostat.checks.pour import has_fill

SMOKES = 473.0
"""About where a curing epoxy smokes and chars [K]; beyond it the model says no more than that."""
_MODEL = "kamal-sourour-1973 kinetics calibrated on the cup test; conduction by finite elements"


@finding(
    "pour.peak",
    long=True,
    question="Can I pour it as planned, in one go or in lifts, without passing the resin's limit?",
    wanted="hottest place of the fill at most the resin's stated temperature",
    sense=Sense.AT_MOST,
    kind="temperature",
    source=_MODEL,
    hangs_on="pour",
    levers=("pour.lifts", "pour.room", "pour.mix_temperature", "pour.resin", "body.plate"),
)
def peak(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    pour = evaluation.pour.inputs.pour
    resin = stated(pour.resin, f"{pour.path}.resin")
    limit = stated(resin.temperature_limit, f"{resin.path}.temperature_limit")
    room = stated(pour.room, f"{pour.path}.room")
    scale = max(limit - room, 1.0)
    if pour.lifts:
        return [
            Measured(
                lift.peak, limit, f"after {lift.peak_time / 3600.0:.1f} h", f"lift {lift.number}", scale=scale
            )
            for lift in evaluation.lifts.lifts
        ]
    heat = evaluation.cure.known_heat()
    ends = sorted(heat.ends, key=lambda end: end.peak)
    low, high = show_both(ends[0].peak, "temperature"), show_both(ends[-1].peak, "temperature")
    likely = f"after {heat.peak_time / 3600.0:.1f} h; between {low} and {high} over the assumptions"
    shares = sorted(heat.warm_end.shares, key=lambda share: -share.change)
    most = ", ".join(f"{s.assumed} {s.change:+.0f} K" for s in shares[:3])
    return [
        Measured(heat.peak, limit, likely, "likely", scale=scale),
        Measured(heat.warm_end.peak, limit, f"each assumption alone: {most}", "warm end", scale=scale),
    ]


@finding(
    "pour.softens",
    long=True,
    question="Does the cure get hot enough to soften a tube or the resin itself?",
    wanted="hottest place at most the softening temperature",
    sense=Sense.AT_MOST,
    kind="temperature",
    source=f"{_MODEL}; glass transition by di-benedetto-1987",
    hangs_on="pour",
    levers=("pour.lifts", "tubes.material", "tubes.stuffed", "pour.resin"),
)
def softens(evaluation: Any) -> Answers:
    from orthostat.analyses.pour.form import wall_row

    if not has_fill(evaluation):
        return None
    heat = evaluation.cure.known_heat()
    hottest = evaluation.lifts.peak if evaluation.pour.inputs.pour.lifts else heat.peak
    scale = max(hottest - heat.room, 1.0)
    glass = heat.calibration.kinetics.glass_cured
    rows: list[Measured | Open] = [
        Measured(hottest, glass, "glass transition of the fully cured resin", "resin", scale=scale)
    ]
    for former in evaluation.pour.inputs.formers:
        row = wall_row(former)
        if row is not None and row.warm_at is not None and not former.stuffed:
            why = f"its wall has lost half its stiffness at {show_both(row.warm_at, 'temperature')}"
            rows.append(Measured(hottest, row.warm_at, why, former.name, (former.path,), scale=scale))
    return rows


@finding(
    "pour.lean",
    long=True,
    question="Does one side set warmer and lock in a lean?",
    wanted="lean locked in over the height at most the shop's limit",
    sense=Sense.AT_MOST,
    kind="length",
    source="beam theory of thermal curvature (boley-weiner-1960, chapter 10)",
    hangs_on="pour.lean_limit",
    levers=("pour.film_sides", "pour.room", "truing.depth"),
)
def lean(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    heat = evaluation.cure.known_heat()
    pour = evaluation.pour.inputs.pour
    limit = stated(pour.lean_limit, f"{pour.path}.lean_limit")
    if heat.lean is None:
        return Open(heat.why_no_lean)
    apart = show_both(heat.face_difference, "temperature difference")
    why = (
        f"faces differ by {apart} when half of the fill has set, {heat.set_time / 3600.0:.1f} h after filling"
    )
    return Measured(heat.lean.size, limit, why, scale=limit if limit > 0.0 else 1e-5)


@finding(
    "pour.cures",
    long=True,
    question="Does it cure far enough to be bolted down?",
    wanted="least share cured after a week, or after the post-cure, at least what bolting down wants",
    sense=Sense.AT_LEAST,
    kind="share",
    source=f"{_MODEL}; late cure by chern-poehlein-1987",
    hangs_on="pour.room",
    levers=("pour.room", "pour.post_cure", "pour.resin"),
)
def cures(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    heat = evaluation.cure.known_heat()
    pour = evaluation.pour.inputs.pour
    wanted = pour.bolt_conversion or assumption("conversion to bolt down").likely
    least = heat.final_least
    if heat.post_cured is not None:
        least, why = heat.post_cured, "after the stated post-cure"
    elif heat.bolt is not None:
        why = f"cured and cool after {heat.bolt / 3600.0:.0f} h"
    else:
        why = "the resin turns glassy before it is cured: post-cure it, or keep it warmer"
    return Measured(least, wanted, why, depends_on=("pour.room", "pour.post_cure"))


@finding(
    "pour.bucket_stands",
    long=True,
    question="Can a batch be mixed and placed before it stiffens in the bucket?",
    wanted="mixing and placing one batch within the time a full bucket stays workable",
    sense=Sense.AT_MOST,
    kind="time",
    source=_MODEL,
    hangs_on="pour.mixer",
    levers=("mixers.capacity", "mixers.people", "mixers.mixing_time", "pour.resin", "pour.mix_temperature"),
    tight=0.0,
)
def bucket_stands(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    plan = evaluation.cure.known_batches()
    mixing = evaluation.pour.inputs.pour.mixer.mixing_time
    rows: list[Measured | Open] = []
    for bucket, time, doing in (
        (plan.full, mixing + plan.placing, "mixing and placing"),
        (plan.neat, mixing, "mixing, before it meets the stone"),
    ):
        why = f"{doing}; left standing it gets to {_hot(bucket.peak)} after {bucket.peak_time / 60.0:.0f} min"
        rows.append(Measured(time, bucket.workable, why, bucket.name))
    return rows


def _hot(kelvin: float) -> str:
    return "where it smokes and chars" if kelvin > SMOKES else show_both(kelvin, "temperature")


@finding(
    "pour.one_piece",
    long=True,
    question="Is each lift filled before its first batch sets?",
    wanted="time to place all batches of a lift within the time to first gel",
    sense=Sense.AT_MOST,
    kind="time",
    source=f"{_MODEL}; gel by flory-1953",
    hangs_on="pour.mixer",
    levers=("mixers.capacity", "mixers.people", "pour.lifts", "pour.resin"),
)
def one_piece(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    plan = evaluation.cure.known_batches()
    lifts: dict[int, list[Any]] = {}
    for batch in plan.batches:
        lifts.setdefault(batch.lift, []).append(batch)
    rows = []
    for lift, listed in lifts.items():
        each = show_both(listed[0].mass, "mass")
        why = f"{len(listed)} batches of {each}, one every {plan.each / 60.0:.0f} min"
        rows.append(Measured(listed[-1].starts + plan.each, plan.gels, why, f"lift {lift}"))
    return rows
