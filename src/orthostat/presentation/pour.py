"""The chapter on the pour: volumes, mix, shopping list, batches, heat, form and gaps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from orthostat.analyses.pour import Result
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated
from orthostat.base.showing import System
from orthostat.catalogue.casting import assumption
from orthostat.model.bodies import Role
from orthostat.presentation.blocks import Block, Cell, Column, Figure, Heading, Paragraph, Quantity, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.pour_heat_pictures import (
    cure_chart,
    duration,
    lifts_chart,
    peak_picture,
    temperature_chart,
)
from orthostat.presentation.pour_mix import batch_table, bucket_table, mix_blocks, shopping
from orthostat.presentation.pour_pictures import form_picture, gap_picture, grading_picture


def _blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    if not has_fill(evaluation):
        return (Paragraph("This column has no fill to pour."),)
    result: Result = evaluation.pour
    blocks: list[Block] = [Heading("Volumes"), _volumes(result), _by_height(result)]
    blocks += _part("Mix", lambda: mix_blocks(evaluation))
    blocks += _part("Grading", lambda: [_figure("grading", grading_picture(result.known_mix().used, system))])
    blocks += _part("To buy", lambda: [shopping(result.known_items())])
    blocks += _part("Batches", lambda: [batch_table(evaluation), bucket_table(evaluation)])
    blocks += _part("Heat", lambda: _heat(evaluation, system))
    blocks += _part("Lifts", lambda: _lifts(evaluation, system))
    blocks += _part("Form", lambda: _form(evaluation, system))
    blocks += _part("Gaps", lambda: _gaps(evaluation, system))
    return tuple(blocks)


def has_fill(evaluation: Any) -> bool:
    """Whether there is anything to pour."""
    return any(body.role is Role.FILL for body in evaluation.column.bodies)


def _part(title: str, make: Callable[[], list[Block]]) -> list[Block]:
    """A heading and its blocks, or what they lack."""
    try:
        return [Heading(title), *make()]
    except NotStated as gap:
        return [Heading(title), Paragraph(f"Unknown: {gap}.")]


def _figure(name: str, made: tuple[str, str]) -> Figure:
    picture, words = made
    return Figure(f"pour-{name}", picture, words, words)


def _volumes(result: Result) -> Table:
    room = result.volumes
    rows: list[tuple[Cell, ...]] = [("cavity inside the plates", Quantity(room.cavity, "volume"))]
    rows += [(f"taken by {each.name}", Quantity(each.volume, "volume")) for each in room.displaced]
    rows.append(("left to fill", Quantity(room.net, "volume")))
    return Table("What has to be filled", (Column("what"), Column("volume", numeric=True)), tuple(rows))


def _by_height(result: Result) -> Table:
    room, inputs = result.volumes, result.inputs
    density = None if result.mix is None else result.mix.used.likely.density
    tall = inputs.top - inputs.bottom
    rows = []
    for tenth in (1, 2, 4, 6, 8, 10):
        height = Metre(inputs.bottom + tall * tenth / 10.0)
        below = room.below(height)
        mass = None if density is None else density * below
        cells = (
            Quantity(height - inputs.bottom, "length"),
            Quantity(below, "volume"),
            Quantity(mass, "mass"),
        )
        rows.append(cells)
    columns = (
        Column("filled to", numeric=True),
        Column("volume", numeric=True),
        Column("mass", numeric=True),
    )
    return Table("Fill by height above its underside", columns, tuple(rows))


def _heat(evaluation: Any, system: System) -> list[Block]:
    heat = evaluation.cure.known_heat()
    pour = evaluation.pour.inputs.pour
    limit = pour.resin.temperature_limit
    rows: list[tuple[Cell, ...]] = [
        (
            end.name,
            Quantity(end.peak, "temperature"),
            "; ".join(f"{share.assumed} {share.change:+.1f} K" for share in end.shares)
            or "every value likely",
        )
        for end in heat.ends
    ]
    ends = Table(
        "Peak in one go: likely, and at the cold and warm end of the assumptions",
        (Column("case"), Column("peak", numeric=True), Column("each assumption alone")),
        tuple(rows),
        "The ends take the root of the sum of squares of what each assumption does alone. The middle of the "
        "height, where nothing flows up or down; the upper bound with no heat lost is a rise of "
        f"{heat.adiabatic:.0f} K.",
    )
    effects = Table(
        "What changes the peak, one thing at a time",
        (Column("change"), Column("peak", numeric=True), Column("after", numeric=True)),
        tuple(
            (e.change, Quantity(e.peak, "temperature"), duration(e.peak_time))
            for e in evaluation.pour_effects
        ),
    )
    strip = pour.strip_conversion or assumption("conversion to strip").likely
    bolt = pour.bolt_conversion or assumption("conversion to bolt down").likely
    return [
        ends,
        effects,
        _setting(heat),
        _figure("temperature", temperature_chart(heat, limit, system)),
        _figure("cured", cure_chart(heat, strip, bolt)),
        _figure("peak", peak_picture(heat, limit, system)),
    ]


def _setting(heat: Any) -> Table:
    rows: list[tuple[Cell, ...]] = [
        ("first place gels", duration(heat.first_set)),
        ("half of the fill has gelled: the instant used for what locks in", duration(heat.set_time)),
        ("last place gels", duration(heat.last_set)),
        ("warmest less coolest face when it sets", Quantity(heat.face_difference, "temperature difference")),
        ("lean locked in over the height", Quantity(None if heat.lean is None else heat.lean.size, "length")),
        ("form may come off", duration(heat.strip)),
        ("may be bolted down", duration(heat.bolt)),
        ("least share cured after a week at this room", Quantity(heat.final_least, "share")),
        ("and after the stated post-cure", Quantity(heat.post_cured, "share")),
    ]
    note = heat.why_no_lean and f"Lean: {heat.why_no_lean}."
    return Table(
        "Setting and waiting, from filling",
        (Column("what"), Column("value", numeric=True)),
        tuple(rows),
        note,
    )


def _lifts(evaluation: Any, system: System) -> list[Block]:
    study = evaluation.lift_study
    rows: list[tuple[Cell, ...]] = []
    for tried in study.tried:
        depth = tried.lifts[0].top
        wait = tried.total / max(len(tried.lifts) - 1, 1)
        rows.append(
            (
                len(tried.lifts),
                Quantity(depth, "length"),
                Quantity(tried.peak, "temperature"),
                duration(wait) if len(tried.lifts) > 1 else "–",
                duration(tried.total),
            )
        )
    table = Table(
        "Can I pour it in one go? Equal lifts until the hottest place stays under the resin's limit",
        (
            Column("lifts", numeric=True),
            Column("depth of each", numeric=True),
            Column("peak", numeric=True),
            Column("wait between", numeric=True),
            Column("first to last", numeric=True),
        ),
        tuple(rows),
        "Each lift waits until the one below has peaked and four fifths of its rise have gone. The foot "
        "is taken as closed to heat; a lift poured on a warm one gets hotter than the first.",
    )
    blocks: list[Block] = [table, _verdict(study)]
    shown = evaluation.lifts if evaluation.pour.inputs.pour.lifts else (study.chosen or study.tried[-1])
    if len(shown.lifts) > 1:
        blocks.append(_figure("lifts", lifts_chart(shown, study.limit, system)))
    return blocks


def _verdict(study: Any) -> Paragraph:
    chosen = study.chosen
    if chosen is None:
        most = len(study.tried)
        return Paragraph(
            f"Not even {most} lifts stay under the limit: cool the room and stone, or take a slower resin."
        )
    if len(chosen.lifts) == 1:
        return Paragraph("Yes: with likely values it stays under the resin's limit in one go.")
    wait = duration(chosen.total / (len(chosen.lifts) - 1))
    return Paragraph(f"No: with likely values it takes {len(chosen.lifts)} lifts, about {wait} apart.")


def _form(evaluation: Any, system: System) -> list[Block]:
    form = evaluation.pour.known_form()
    tubes: list[tuple[Cell, ...]] = []
    for tube in form.tubes:
        softest = min((state.pressure.low for state in tube.collapse), default=None)
        state = min(tube.collapse, key=lambda each: each.pressure.low).state if tube.collapse else "–"
        tubes.append(
            (
                tube.former.name,
                Quantity(tube.pressure, "pressure"),
                Quantity(softest, "pressure"),
                state,
                Quantity(tube.uplift_if_sealed, "force"),
                Quantity(tube.uplift, "force"),
                Quantity(tube.weight, "force"),
            )
        )
    plates: list[tuple[Cell, ...]] = [
        (
            p.plate,
            Quantity(p.span, "length"),
            Quantity(p.bulge, "length"),
            Quantity(p.force, "force"),
            Quantity(max((c.force for c in p.clamps), default=None), "force"),
        )
        for p in form.plates
    ]
    joints: list[tuple[Cell, ...]] = [(name, Quantity(length, "length")) for name, length in form.joints]
    return [
        Table(
            "Tubes and sleeves in the liquid",
            (
                Column("what"),
                Column("pressure at its foot", numeric=True),
                Column("caves in at", numeric=True),
                Column("when"),
                Column("uplift, foot sealed", numeric=True),
                Column("uplift, mix under it", numeric=True),
                Column("weight", numeric=True),
            ),
            tuple(tubes),
            "Full liquid head over the deepest lift: a stiff, dry mix loads a form far less.",
        ),
        Table(
            "Plates in the liquid",
            (
                Column("plate"),
                Column("span", numeric=True),
                Column("bulge", numeric=True),
                Column("push on the plate", numeric=True),
                Column("most on one clamp", numeric=True),
            ),
            tuple(plates),
        ),
        Table("Joints to seal", (Column("joint"), Column("length", numeric=True)), tuple(joints)),
        _figure("form", form_picture(evaluation.pour, system)),
    ]


def _gaps(evaluation: Any, system: System) -> list[Block]:
    result: Result = evaluation.pour
    stone = result.known_mix().used.largest
    rows: list[tuple[Cell, ...]] = []
    for gap in result.gaps[:8]:
        change = gap.change_for(stone)
        mend: Cell = "–" if change == 0.0 else gap.opens
        rows.append(
            (
                " – ".join(gap.between),
                Quantity(gap.clear, "length"),
                Quantity(gap.largest_stone, "length"),
                mend,
                Quantity(change if change > 0.0 else None, "length"),
            )
        )
    table = Table(
        "The tightest passages",
        (
            Column("between"),
            Column("clear", numeric=True),
            Column("largest stone", numeric=True),
            Column("opened by"),
            Column("how much", numeric=True),
        ),
        tuple(rows),
        "A fifth of the gap between forms, three quarters of the gap beside anchors: rules for concrete, "
        "used by analogy.",
    )
    return [table, _figure("gap", gap_picture(result, stone, system))]


CHAPTER = ChapterMaker("pour", "The pour", 50, _blocks, short="Pour")
