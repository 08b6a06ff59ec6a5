"""Findings of stiffness: each holds on a sound column and fails on one broken on purpose."""

from dataclasses import replace
from functools import cache
from xml.etree import ElementTree

import pytest

import columns
from orthostat.base.dimensions import (
    Hertz,
    KelvinDifference,
    Metre,
    NewtonMetrePerRadian,
    NewtonPerMetre,
    Pascal,
    Ratio,
)
from orthostat.base.findings import Finding, Verdict
from orthostat.base.showing import show
from orthostat.evaluation import Evaluation
from orthostat.model.bodies import Body
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from orthostat.model.machine import Machine
from orthostat.model.stations import Cut
from orthostat.presentation.blocks import Figure, Quantity, Table
from orthostat.presentation.chapters import chapters_of

LIMITS = Limits(
    deflection=Metre(20e-6), temperature_change=KelvinDifference(3.0), least_frequency=Hertz(200.0)
)


def with_cuts(column: Column, **changes: object) -> Column:
    """The column with fields of its milling cuts changed."""

    def changed(cut: Cut) -> Cut:
        return replace(cut, **changes) if cut.kind == "face" else cut  # type: ignore[arg-type]

    stations = tuple(replace(s, cuts=tuple(changed(cut) for cut in s.cuts)) for s in column.stations)
    return replace(column, stations=stations)


def with_table(column: Column) -> Column:
    assert isinstance(column.machine, Machine)
    machine = replace(
        column.machine,
        table_stiffness=NewtonPerMetre(3e9),
        table_tilt_stiffness=NewtonMetrePerRadian(6e8),
        table_turn_stiffness=NewtonMetrePerRadian(6e8),
    )
    return replace(column, machine=machine)


def with_loss(column: Column, loss: float) -> Column:
    """The column with one loss factor for all that states none."""

    def known(body: Body) -> Body:
        if body.material is None or body.material.loss_factor is not None:
            return body
        return replace(body, material=replace(body.material, loss_factor=Ratio(loss)))

    return replace(column, bodies=tuple(known(body) for body in column.bodies))


SQUARE = with_table(with_loss(columns.square_filled(), 0.01))


@cache
def evaluation(column: Column = SQUARE, limits: Limits = LIMITS) -> Evaluation:
    return Evaluation(column, limits)


@cache
def found(column: Column = SQUARE, limits: Limits = LIMITS) -> dict[str, Finding]:
    return {each.slug: each for each in evaluation(column, limits).findings(only="stiffness")}


def test_every_question_is_asked_of_a_filled_column() -> None:
    assert set(found()) == {
        "stiffness.movement", "stiffness.depth", "stiffness.resonance", "stiffness.first_mode",
        "stiffness.anchors", "stiffness.growth", "stiffness.lean", "stiffness.mesh", "stiffness.fill",
    }  # fmt: skip


def test_a_sound_column_holds_still_enough() -> None:
    assert found()["stiffness.movement"].verdict is Verdict.HOLDS
    assert found()["stiffness.first_mode"].verdict is Verdict.HOLDS
    assert found()["stiffness.mesh"].verdict is Verdict.HOLDS


def test_a_tolerance_of_a_tenth_of_a_micrometre_fails() -> None:
    row = found(with_cuts(SQUARE, tolerance=Metre(1e-7)))["stiffness.movement"]
    assert row.verdict is Verdict.FAILS
    assert "joint" in row.worst.why


def test_no_tolerance_anywhere_is_unknown_and_names_both_keys() -> None:
    row = found(with_cuts(SQUARE, tolerance=None), replace(LIMITS, deflection=None))["stiffness.movement"]
    assert row.verdict is Verdict.UNKNOWN
    assert "limits.deflection" in row.worst.depends_on


def test_a_cut_of_100_mm_chatters_and_one_of_a_tenth_does_not() -> None:
    deep, shallow = (
        found(with_cuts(SQUARE, pass_depth=Metre(depth)))["stiffness.depth"] for depth in (0.3, 1e-4)
    )
    assert deep.verdict is Verdict.FAILS
    assert shallow.verdict is Verdict.HOLDS


def test_a_depth_between_the_ends_of_the_damping_is_unknown() -> None:
    solved = evaluation().stiffness.governing
    lowest = min(limit.lowest for limit in solved.limits if limit is not None)
    row = found(with_cuts(SQUARE, pass_depth=Metre(lowest)))["stiffness.depth"]
    assert row.verdict is Verdict.UNKNOWN
    assert "damps little or much" in row.worst.why


def test_a_depth_in_doubt_names_the_damping_of_the_table_until_it_is_stated() -> None:
    solved = evaluation().stiffness.governing
    lowest = Metre(min(limit.lowest for limit in solved.limits if limit is not None))
    row = found(with_cuts(SQUARE, pass_depth=lowest))["stiffness.depth"]
    assert row.worst.depends_on == ("machines.alder.table_loss_factor",)
    assert isinstance(SQUARE.machine, Machine)
    damped = replace(SQUARE, machine=replace(SQUARE.machine, table_loss_factor=Ratio(0.2)))
    more = evaluation(damped).stiffness.governing
    assert more.first.frequency == pytest.approx(solved.first.frequency)
    assert more.first.loss is not None
    assert solved.first.loss is not None
    # by modal strain energy, the table's own share of it times what it loses above the joint's likely 3 %
    added = solved.first.table * (0.2 - 0.03)
    assert more.first.loss - solved.first.loss == pytest.approx(added)


def test_a_table_that_loses_all_it_takes_is_refused() -> None:
    assert isinstance(SQUARE.machine, Machine)
    wrong = replace(SQUARE, machine=replace(SQUARE.machine, table_loss_factor=Ratio(1.0)))
    row = found(wrong)["stiffness.first_mode"]
    assert row.verdict is Verdict.UNKNOWN
    assert "machines.alder.table_loss_factor" in row.worst.depends_on


def test_a_material_without_damping_leaves_the_depth_unknown_and_is_named() -> None:
    bodies = tuple(
        replace(b, material=replace(b.material, loss_factor=None)) if b.material and b.name == "fill" else b
        for b in SQUARE.bodies
    )
    row = found(replace(SQUARE, bodies=bodies))["stiffness.depth"]
    assert row.verdict is Verdict.UNKNOWN
    assert "materials.fill.loss_factor" in row.worst.depends_on


def test_teeth_that_meet_the_first_mode_are_found() -> None:
    first = evaluation().stiffness.governing.first.frequency
    speed = 2.0 * 3.141592653589793 * first / 6
    clear = found(with_cuts(SQUARE, spindle_speed=speed, cutting_speed=None))["stiffness.resonance"]
    assert clear.verdict is Verdict.FAILS
    assert clear.worst.value == pytest.approx(0.0, abs=1e-3)


def test_a_table_that_nobody_stated_is_said() -> None:
    rigid = found(replace(SQUARE, machine=columns.machine()))
    assert rigid["stiffness.table"].verdict is Verdict.UNKNOWN
    assert "machines.alder.table_stiffness" in rigid["stiffness.table"].worst.depends_on


def test_a_shop_that_warms_by_100_kelvin_moves_the_work_too_far() -> None:
    hot = found(SQUARE, replace(LIMITS, temperature_change=KelvinDifference(100.0)))
    assert hot["stiffness.growth"].verdict is Verdict.FAILS
    warm, cool = (each["stiffness.anchors"].worst.value for each in (hot, found()))
    assert warm is not None
    assert cool is not None
    assert warm > cool


def test_a_column_much_warmer_on_one_side_leans_too_far() -> None:
    cool, hot = (
        found(SQUARE, replace(LIMITS, temperature_across=KelvinDifference(across)))["stiffness.lean"]
        for across in (0.5, 50.0)
    )
    assert (cool.verdict, hot.verdict) == (Verdict.HOLDS, Verdict.FAILS)
    assert cool.worst.value is not None
    assert hot.worst.value == pytest.approx(100.0 * cool.worst.value)
    unsaid = found(SQUARE, replace(LIMITS, temperature_across=None))["stiffness.lean"]
    assert unsaid.verdict is Verdict.UNKNOWN


def test_the_chapter_pictures_every_mode_and_compares_the_envelope() -> None:
    (chapter,) = chapters_of(evaluation(), "metric", only="stiffness")
    tables = {block.caption: block for block in chapter.blocks if isinstance(block, Table)}
    modes = tables["Natural modes"]
    assert len(modes.rows) == 10
    frequency = modes.rows[0][2]
    assert isinstance(frequency, Quantity)
    assert frequency.value == pytest.approx(evaluation().stiffness.governing.first.frequency)
    other = modes.rows[0][4]
    assert isinstance(other, Quantity)
    assert other.value == pytest.approx(evaluation().stiffness.full_loose.first.frequency)
    assert (other.value or 0.0) < (frequency.value or 0.0)
    beside = tables["The same envelope made otherwise"]
    assert [row[0] for row in beside.rows][:3] == [
        "this design",
        "cored grey iron",
        "cored grey iron, open top",
    ]
    assert len(beside.rows) == 9
    figures = {block.name: block for block in chapter.blocks if isinstance(block, Figure)}
    assert "mode 10" in figures["modes"].text_equivalent
    for figure in figures.values():
        ElementTree.fromstring(figure.svg)
    assert any(name.startswith("lobes-") for name in figures)


def test_verdicts_go_by_the_softer_bound_unless_the_document_says_bonded() -> None:
    assert SQUARE.shape_of_body is not None
    unsaid = replace(SQUARE, shape_of_body=replace(SQUARE.shape_of_body, bonded=None))
    said = found()["stiffness.movement"].worst.value
    other = found(unsaid)["stiffness.movement"].worst.value
    assert said is not None
    assert other is not None
    assert other > said
    assert show(other, "length") != show(said, "length")


@pytest.mark.parametrize("bonded", [True, None])
def test_the_quick_model_alone_answers_like_the_full_one_and_makes_none(bonded: bool | None) -> None:
    assert SQUARE.shape_of_body is not None
    column = replace(SQUARE, shape_of_body=replace(SQUARE.shape_of_body, bonded=bonded))
    asked = Evaluation(column, LIMITS)
    screened = {each.slug: each for each in asked.findings(only="stiffness", screened=True)}
    assert not any(name.startswith("full") for name in vars(asked.stiffness))
    verified = found(column)
    assert set(screened) == set(verified) - {"stiffness.mesh", "stiffness.fill"}
    for slug, quick in screened.items():
        assert quick.verdict is verified[slug].verdict
        expected = verified[slug].worst.value
        if expected is not None:
            # how far teeth pass from a mode is itself a difference of two near frequencies
            away = 0.01 if slug == "stiffness.resonance" else 0.05 * abs(expected)
            assert quick.worst.value == pytest.approx(expected, abs=away)
        assert [row.subject for row in quick.rows] == [row.subject for row in verified[slug].rows]


def test_what_a_column_lacks_is_unknown_to_the_quick_model_too() -> None:
    still = Evaluation(with_cuts(SQUARE, tolerance=None), replace(LIMITS, deflection=None))
    screened = {each.slug: each for each in still.findings(only="stiffness", screened=True)}
    assert screened["stiffness.movement"].verdict is Verdict.UNKNOWN
    assert "limits.deflection" in screened["stiffness.movement"].worst.depends_on


def test_a_fill_stiffer_than_stone_is_found() -> None:
    assert SQUARE.fill_material is not None
    hard = replace(SQUARE, fill_material=replace(SQUARE.fill_material, youngs_modulus=Pascal(150e9)))
    assert found()["stiffness.fill"].verdict is Verdict.HOLDS
    assert found(hard)["stiffness.fill"].verdict is Verdict.FAILS
