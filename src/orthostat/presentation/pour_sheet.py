"""The pour sheet: what a careful person follows on the day, from blasting to bolting down."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.pour import Cure, Result
from orthostat.base.findings import NotStated
from orthostat.base.showing import System, show, show_both
from orthostat.presentation.blocks import Block, Caution, Column, Heading, Paragraph, Steps, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.pour import has_fill
from orthostat.presentation.pour_heat_pictures import duration
from orthostat.presentation.pour_mix import batch_table, bucket_table, shopping

CAUTIONS = (
    (
        "Resin and hardener sensitise skin for life. Wear nitrile gloves, eye protection and long sleeves; "
        "change gloves when they are wet; never wash skin with solvent."
    ),
    (
        "A bucket of mixed resin left standing heats itself until it smokes, burns and gives off harmful "
        "fumes. Mix only "
        "what can be placed at once; pour what is left over out flat on sand, outdoors."
    ),
    (
        "Dry sand and flour give off respirable silica. Pour bags slowly, wear a fitted half mask "
        "with P3 (N100) filters, wet or vacuum the floor, never blow or sweep it dry."
    ),
    (
        "Mix, form and finished column are heavy. Lift with tackle, keep feet from under it, and stand "
        "it where it "
        "will cure: it can't be moved while liquid."
    ),
    (
        "Blasting, grinding and solvents need their own protection. Follow the safety data sheets of "
        "every product "
        "and the local rules; they come before this sheet."
    ),
)


def _blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    if not has_fill(evaluation):
        return (Paragraph("This column has no fill to pour."),)
    result: Result = evaluation.pour
    result.known_mix()
    blocks: list[Block] = [Caution(text) for text in CAUTIONS]
    blocks += [Heading("What must be open before the day"), *_open_questions(evaluation)]
    blocks += [Heading("Materials"), _or_gap(lambda: shopping(result.known_items())), *_tools()]
    blocks += [
        Heading("Weights"),
        _or_gap(lambda: batch_table(evaluation)),
        _or_gap(lambda: bucket_table(evaluation)),
    ]
    blocks += [Heading("The day before"), Steps(_before(result, system))]
    blocks += [Heading("The form"), Steps(_form(result, system))]
    blocks += [Heading("Pouring"), Steps(_pouring(evaluation, system))]
    blocks += [Heading("Afterwards"), Steps(_after(evaluation, system))]
    blocks += [Heading("Record"), _record(evaluation)]
    return tuple(blocks)


def _or_gap(make: Any) -> Block:
    try:
        made: Block = make()
    except NotStated as gap:
        return Paragraph(f"Unknown: {gap}.")
    return made


def _open_questions(evaluation: Any) -> list[Block]:
    """Findings of the pour that fail or are unknown: nothing is poured before they are answered."""
    waiting = [f for f in evaluation.findings(only="pour") if f.verdict.value in ("fails", "unknown")]
    if not waiting:
        return [Paragraph("Nothing: every question about this pour is answered, and none fails.")]
    rows = tuple((f.verdict.value, f.rule.question, f.worst.subject or "–", f.worst.why) for f in waiting)
    columns = (Column("verdict"), Column("question"), Column("where"), Column("why"))
    return [Table("Answer these first: do not pour before", columns, rows)]


def _tools() -> list[Block]:
    kit = (
        "Scale to 1 g for the resin and to 50 g for the stone; mixer and clean buckets; a spare "
        "bucket for a batch "
        "that heats; tamping rod and a flat tamper that reaches the foot past the tubes; funnel or "
        "chute; spatulas; "
        "clamps; straps for tubes; release wax or film, sealing mastic and tape; thermometer with a "
        "wire probe; "
        "clock; cube mould for each batch; solvent and rags for tools; gloves, eye protection, mask, sleeves."
    )
    return [Paragraph("Tools and protection. " + kit)]


def _before(result: Result, system: System) -> tuple[str, ...]:
    mix = result.known_mix()
    wet = [
        f"{part.aggregate.name} (delivered with {show(part.aggregate.moisture, 'share')} of water)"
        for part in mix.used.parts
        if part.mass_share > 0.0 and part.aggregate.moisture
    ]
    placed = result.inputs.pour.mix_temperature or result.inputs.pour.room
    warm = (
        "the temperature the mix is meant to have" if placed is None else show(placed, "temperature", system)
    )
    dry = "Spread the stone in trays and dry it above 100 °C (212 °F) until its weight stops falling"
    return (
        f"{dry}: {', '.join(wet)}." if wet else f"{dry}, however dry it looks.",
        f"Let stone, resin, hardener and form stand overnight at {warm}; cold stone makes a stiff mix.",
        "Weigh the stone of each batch into its own closed bucket and number it.",
        (
            "Mix a trial cube by the recipe: weigh the cube for its density, look for voids, and write "
            "down how long it "
            "can be worked."
        ),
    )


def _form(result: Result, system: System) -> tuple[str, ...]:
    form = result.known_form()
    loose = [t for t in form.tubes if t.uplift > (t.weight or 0.0)]
    held = "; ".join(
        f"{t.former.name} with {show(t.uplift - (t.weight or 0.0), 'force', system)}" for t in loose
    )
    steps = [
        (
            "Blast the inner faces of the plates to bare, rough metal (about Sa 2½), remove dust and "
            "oil, and prime or coat "
            "them with neat resin within hours, before they rust or oxidise."
        ),
        (
            "Put release wax or film only where nothing may stick: outer faces, threads, studs, the "
            "lid's register and "
            "whatever is taken out again. None on plates, anchors or sleeves."
        ),
        "Screw the anchors in and lock them; grease and plug every thread that opens into the cavity.",
        (
            "Stand the form level and plumb where it will cure, on film. Check the plates for square and "
            "write it down."
        ),
        "Clamp the plates; the fill pushes with up to "
        f"{show(max(p.force for p in form.plates), 'force', system)} on one plate."
        if form.plates
        else "Clamp the plates.",
    ]
    if result.inputs.pour.clamps is not None and result.inputs.pour.clamps.heights:
        levels = ", ".join(show(h, "length", system) for h in sorted(result.inputs.pour.clamps.heights))
        steps.append(f"Set a ring of clamps at {levels} above the underside of the fill.")
    joints = ", ".join(f"{name} ({show(length, 'length', system)})" for name, length in form.joints)
    steps.append(
        f"Seal with mastic and tape from outside: {joints}. Try it with water only if it can be dried again."
    )
    if held:
        steps.append(f"Hold down against floating, even if the foot is sealed: {held}.")
    for tube in form.tubes:
        if tube.former.stuffed:
            steps.append(f"Stuff {tube.former.name} with dry sand to the top, before filling around it.")
        elif tube.former.kind == "tube":
            steps.append(
                f"Keep {tube.former.name} dry and out of round by no more than its wall; seal a card "
                "tube with varnish."
            )
    return tuple(steps)


def _pouring(evaluation: Any, system: System) -> tuple[str, ...]:
    result: Result = evaluation.pour
    cure: Cure = evaluation.cure
    mix = result.known_mix()
    mixer = result.inputs.pour.mixer
    steps = [
        (
            "Two people at least: one mixes and keeps the clock, one places. Start the clock when "
            "hardener meets resin."
        ),
        (
            "Weigh resin, then hardener, to 1 %; stir slowly for the time the maker says, scrape the "
            "wall, pour into a second "
            "bucket and stir again: what sticks to the wall is never mixed."
        ),
        "Wet the flour and sand first, then add stone from fine to coarse; mix until no dry grain is left"
        + (f", {duration(mixer.mixing_time)} in all." if mixer is not None and mixer.mixing_time else "."),
    ]
    plan = cure.batches
    if plan is not None:
        steps.append(
            f"A bucket may stand {duration(plan.full.workable)} from mixing (resin alone "
            f"{duration(plan.neat.workable)}). "
            "Throw away what has grown stiff or warm; never thin it."
        )
        steps += [
            f"Batch {b.number} (lift {b.lift}): {show(b.mass, 'mass', system)} fills to "
            f"{show(b.fills_to, 'length', system)}; start it {duration(b.starts)} after the lift was begun."
            for b in plan.batches
        ]
    placing = {"vibrated": "vibrate until no more air comes up", "compressed": "vibrate under weight"}
    doing = placing.get(mix.compaction, "tamp each layer with the rod, corners and around tubes first")
    deepest = show(max(3.0 * mix.used.largest, 0.03), "length", system)
    steps.append(
        f"Place in layers of {deepest} to twice that on all sides evenly, so that tubes are not "
        f"pushed over; {doing}. "
        "Stop at once if a joint leaks: tamp a rag and mastic into it."
    )
    vents = len(result.inputs.pour.vent_holes)
    steps.append(
        "Leave the top open so that air can get out; "
        + (f"keep the {vents} vents in the top free and fill until mix stands in each. " if vents else "")
        + "strike off level and put the lid on while the mix is wet, if it has to bond."
    )
    steps.append("Cast one cube from every batch and number it like the batch.")
    if len(result.layers) > 1:
        steps.append(_waiting(evaluation))
    return tuple(steps)


def _waiting(evaluation: Any) -> str:
    lifts = evaluation.lifts.lifts
    times = ", ".join(f"lift {lift.number} after {duration(lift.poured)}" for lift in lifts[1:])
    return f"Between lifts roughen the surface and wipe it clean; pour {times}, counted from the first."


def _after(evaluation: Any, system: System) -> tuple[str, ...]:
    result: Result = evaluation.pour
    heat = evaluation.cure.heat
    pour = result.inputs.pour
    steps = [_topping(evaluation, system)]
    if heat is not None:
        steps += [
            (
                f"Leave it alone until it has set, about {duration(heat.set_time)} after filling; keep "
                "draughts, sun and heaters "
                "off one side: what is warmer when it sets is shorter afterwards."
            ),
            (
                f"{_expected(evaluation, system)} If it nears {_limit(evaluation, system)}, or smokes, cool "
                "the plates with fans on all sides alike."
            ),
            f"Take clamps and form off after {duration(heat.strip)}."
            if heat.strip is not None
            else (
                "At this room it does not cure far enough to be stripped: warm the room before "
                "taking clamps off."
            ),
            f"Bolt it down after {duration(heat.bolt)}, when it is cured and within a few degrees of "
            "the room."
            if heat.bolt is not None
            else "At this room it does not cure far enough to be bolted down: post-cure it first.",
        ]
    if pour.post_cure is not None:
        long = "" if pour.post_cure_time is None else f" for {duration(pour.post_cure_time)}"
        steps.append(
            f"Post-cure at {show(pour.post_cure, 'temperature', system)}{long}: warm it by no more "
            "than 10 K (18 °F) an "
            "hour, all sides alike, and let it cool as slowly."
        )
    else:
        steps.append(
            "A post-cure some 20 to 30 K (36 to 54 °F) above the room for a day cures it further; "
            "warm and cool it slowly."
        )
    steps.append("Re-tighten the studs after a day, a week and a month: resin creeps. True the faces last.")
    return tuple(steps)


def _expected(evaluation: Any, system: System) -> str:
    """What the thermometer should show, in one go or lift by lift."""
    if len(evaluation.pour.layers) < 2:
        heat = evaluation.cure.known_heat()
        peak = show(heat.peak, "temperature", system)
        return f"The middle should peak near {peak} after {duration(heat.peak_time)}."
    peaks = ", ".join(
        f"lift {lift.number} near {show(lift.peak, 'temperature', system)}" for lift in evaluation.lifts.lifts
    )
    return f"The middle of each lift should peak: {peaks}. Count the times below from the last lift."


def _limit(evaluation: Any, system: System) -> str:
    limit = evaluation.pour.inputs.pour.resin.temperature_limit
    return (
        "the resin's limit" if limit is None else f"the resin's limit of {show(limit, 'temperature', system)}"
    )


def _topping(evaluation: Any, system: System) -> str:
    result: Result = evaluation.pour
    mix = result.known_mix()
    shrink = evaluation.cure.shrinkage
    volume = result.volumes.net * mix.used.likely.resin
    low, high = (show(volume * each, "volume", system) for each in (shrink.low, shrink.high))
    drop = volume * shrink.likely / result.volumes.layers[-1].area
    return (
        f"Top up while it is still wet: the resin shrinks by {show(shrink.low, 'share')} to "
        f"{show(shrink.high, 'share')}, "
        f"{low} to {high} in all, up to {show(drop, 'length', system)} at the top if it all came from "
        "there. Keep some mix by."
    )


def _peak(heat: Any) -> str:
    return (
        "–" if heat is None else f"peak {show_both(heat.peak, 'temperature')} at {duration(heat.peak_time)}"
    )


def _record(evaluation: Any) -> Table:
    heat = evaluation.cure.heat
    rows = (
        ("room, stone, resin, form: temperature before", "", ""),
        ("each batch: number, weights, start, empty", "", ""),
        ("temperature in the middle every 15 min until it falls",
         _peak(heat), ""),
        ("temperature of each face when it sets",
         "–" if heat is None else f"within {heat.face_difference:.1f} K", ""),
        ("cube of each batch: density",
         f"{evaluation.pour.known_mix().used.likely.density:.0f} kg/m³", ""),
        ("mass of the finished column", "", ""),
        ("square of the plates before and after", "", ""),
    )  # fmt: skip
    columns = (Column("what"), Column("predicted"), Column("measured"))
    return Table("What to write down", columns, rows)


CHAPTER = ChapterMaker("pour-sheet", "Pour sheet", 51, _blocks)
