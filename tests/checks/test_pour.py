"""Findings of the pour: each one held, failed and unknown, with the remedy tried."""

from dataclasses import replace
from typing import Any

import pytest

import columns
from orthostat.base.dimensions import (
    CubicMetre,
    Kelvin,
    Metre,
    Newton,
    Ratio,
    Second,
    WattPerSquareMetreKelvin,
)
from orthostat.base.findings import Finding, Verdict, apply
from orthostat.checks import all_rules
from orthostat.evaluation import Evaluation
from orthostat.model.column import Column
from orthostat.model.limits import DEFAULT_MARGIN, Limits
from orthostat.model.pouring import FormClamps, Lift, Pour, Recipe, RecipePart, TubeStock
from pours import gravel, mixer, pour, poured, resin, sand


def found(column: Column) -> dict[str, Finding]:
    return {finding.slug: finding for finding in Evaluation(column, Limits()).findings(only="pour")}


def asked(slug: str, column: Column) -> Finding | None:
    """One finding, without working out the others; `None` where it does not arise."""
    rule = next(rule for rule in all_rules() if rule.slug == slug)
    return apply(rule, Evaluation(column, Limits()), DEFAULT_MARGIN)


def ask(slug: str, column: Column) -> Finding:
    made = asked(slug, column)
    assert made is not None
    return made


def verdict(slug: str, **changes: Any) -> Verdict:
    return ask(slug, poured(**changes)).verdict


def recipe(share: float | None, **parts: float) -> Recipe:
    listed = tuple(RecipePart(name, Ratio(value)) for name, value in parts.items())
    return Recipe(listed, None if share is None else Ratio(share))


HELD: Pour = replace(pour(), tubes=(TubeStock("tube", "card", damp=False, hold_down=Newton(200.0)),))
FAST: dict[str, Any] = {"room_low": None, "room_high": None}


@pytest.fixture(scope="module")
def usual() -> dict[str, Finding]:
    return found(poured())


def test_a_column_without_fill_is_not_asked() -> None:
    assert found(columns.slab()) == {}


def test_a_fill_without_a_pour_is_unknown_and_names_the_key() -> None:
    findings = found(replace(poured(), pour=None))
    assert {finding.verdict for finding in findings.values()} == {Verdict.UNKNOWN}
    assert all("columns.square.pour" in finding.worst.why for finding in findings.values())


def test_what_the_test_pour_answers(usual: dict[str, Finding]) -> None:
    assert {slug for slug, f in usual.items() if f.verdict is Verdict.FAILS} == {"pour.peak"}
    assert {slug for slug, f in usual.items() if f.verdict is Verdict.UNKNOWN} == {"pour.uplift"}


def test_a_gap_too_tight_names_the_change_and_the_change_mends_it() -> None:
    coarse = recipe(None, gravel=0.6, sand=0.4)
    column = poured(recipe=coarse)
    tight = ask("pour.gap", column)
    assert tight.verdict is Verdict.FAILS
    assert "sleeve" in tight.worst.subject
    assert "smaller sleeve" in tight.worst.why
    wider = columns.square_filled(across=0.33)
    moved = tuple(
        replace(s, at=(s.at[0] * 0.9, s.at[1] * 0.9), sleeve_outside=Metre(0.020)) for s in wider.studs
    )
    mended = poured(replace(wider, studs=moved, anchors=()), recipe=coarse)
    assert ask("pour.gap", mended).verdict in (Verdict.HOLDS, Verdict.TIGHT)


def test_a_shallow_layer_fails() -> None:
    lifts = (Lift(Metre(0.004)), Lift(Metre(0.498)))
    assert (
        verdict("pour.layer_depth", lifts=lifts, recipe=recipe(None, gravel=0.6, sand=0.4)) is Verdict.FAILS
    )


def test_wet_stone_fails_and_unstated_moisture_is_named() -> None:
    used = recipe(None, gravel=0.6, sand=0.4)
    assert verdict("pour.dry_stone", recipe=used) is Verdict.FAILS
    dry = replace(gravel(), moisture=Ratio(0.001))
    assert verdict("pour.dry_stone", recipe=used, aggregates=(dry, sand())) is Verdict.HOLDS
    unknown = replace(gravel(), moisture=None)
    finding = ask("pour.dry_stone", poured(recipe=used, aggregates=(unknown, sand())))
    assert finding.verdict is Verdict.UNKNOWN
    assert "aggregates.gravel.moisture" in finding.worst.why


@pytest.mark.parametrize(("share", "wanted"), [(0.06, Verdict.FAILS), (0.20, Verdict.HOLDS)])
def test_a_recipe_holds_enough_resin_or_not(share: float, wanted: Verdict) -> None:
    assert verdict("pour.enough_resin", recipe=recipe(share, gravel=0.6, sand=0.4)) is wanted


def test_a_recipe_without_resin_is_not_asked(usual: dict[str, Finding]) -> None:
    assert "pour.enough_resin" not in usual


def test_a_spread_narrower_than_the_models_differ_fails() -> None:
    used = recipe(None, gravel=0.6, sand=0.4)
    assert verdict("pour.packing_models_agree", recipe=used, spread=Ratio(0.02)) is Verdict.FAILS
    assert verdict("pour.packing_models_agree", recipe=used, spread=Ratio(0.40)) is Verdict.HOLDS


def test_bulge_needs_the_truing_depth() -> None:
    assert ask("pour.plate_bulge", replace(poured(), truing_depth=Metre(1e-6))).verdict is Verdict.FAILS
    unknown = ask("pour.plate_bulge", replace(poured(), truing_depth=None))
    assert unknown.verdict is Verdict.UNKNOWN
    assert "truing.depth" in unknown.worst.why


def test_weak_clamps_fail_and_missing_ones_are_named() -> None:
    weak = FormClamps((Metre(0.25),), Newton(50.0), 1)
    assert verdict("pour.clamps", clamps=weak) is Verdict.FAILS
    assert "columns.square.pour.clamps" in ask("pour.clamps", poured(clamps=None)).worst.why


def _tube(**changes: Any) -> Column:
    column = poured()
    return replace(column, tubes=tuple(replace(tube, **changes) for tube in column.tubes))


def test_a_thin_tube_caves_in_and_stuffing_mends_it() -> None:
    finding = ask("pour.tube_collapse", _tube(wall=Metre(0.001)))
    assert finding.verdict is Verdict.FAILS
    assert "stuff it" in finding.worst.why
    assert asked("pour.tube_collapse", _tube(wall=Metre(0.001), stuffed=True)) is None


def test_a_damp_tube_is_weaker_than_a_dry_one() -> None:
    damp = poured(tubes=(TubeStock("tube", "card", damp=True),))
    dry, wet = (ask("pour.tube_collapse", column).margin for column in (poured(), damp))
    assert dry is not None
    assert wet is not None
    assert wet < dry


def test_a_tube_floats_until_it_is_held() -> None:
    light = (TubeStock("tube", "card", hold_down=Newton(50.0)),)
    assert verdict("pour.uplift", tubes=light) is Verdict.FAILS
    assert ask("pour.uplift", poured(tubes=HELD.tubes)).verdict is Verdict.HOLDS


def test_one_go_gets_too_hot_and_the_studied_lifts_mend_it() -> None:
    column = poured(**FAST)
    evaluation = Evaluation(column, Limits())
    hot = next(f for f in evaluation.findings(only="pour") if f.slug == "pour.peak")
    assert hot.verdict is Verdict.FAILS
    chosen = evaluation.lift_study.chosen
    assert chosen is not None
    lifts = tuple(Lift(lift.top) for lift in chosen.lifts)
    assert ask("pour.peak", poured(lifts=lifts, **FAST)).verdict is not Verdict.FAILS


def test_the_peak_needs_the_limit() -> None:
    finding = ask("pour.peak", poured(resin=replace(resin(), temperature_limit=None)))
    assert finding.verdict is Verdict.UNKNOWN
    assert "resins.casting.temperature_limit" in finding.worst.why


def test_a_pvc_tube_softens_in_a_hot_pour() -> None:
    rows = ask("pour.softens", poured(tubes=(TubeStock("tube", "PVC-U"),))).rows
    assert {row.subject: row.verdict for row in rows}["tube"] is Verdict.FAILS


def test_a_side_in_a_draught_locks_in_a_lean() -> None:
    films = tuple(WattPerSquareMetreKelvin(h) for h in (8.0, 8.0, 60.0, 8.0))
    assert verdict("pour.lean", film_sides=films, lean_limit=Metre(10e-6)) is Verdict.FAILS
    assert ask("pour.lean", poured(lean_limit=None)).verdict is Verdict.UNKNOWN


def test_a_cold_room_does_not_cure() -> None:
    cold: dict[str, Any] = {"room": Kelvin(281.15), "mix_temperature": Kelvin(281.15), **FAST}
    finding = ask("pour.cures", poured(**cold))
    assert finding.verdict is Verdict.FAILS
    assert "glassy" in finding.worst.why
    warmed = poured(**cold, post_cure=Kelvin(323.15), post_cure_time=Second(24 * 3600.0))
    assert ask("pour.cures", warmed).verdict is Verdict.HOLDS


def test_slow_mixing_sets_in_the_bucket() -> None:
    slow = replace(mixer(), mixing_time=Second(80 * 60.0))
    finding = ask("pour.bucket_stands", poured(mixer=slow))
    assert finding.verdict is Verdict.FAILS
    assert finding.worst.subject == "resin alone"


def test_many_small_batches_set_before_the_last_is_in() -> None:
    small = replace(mixer(), capacity=CubicMetre(0.0006), mixing_time=Second(600.0))
    assert verdict("pour.one_piece", mixer=small) is Verdict.FAILS


def test_margins_move_smoothly_with_the_room() -> None:
    for slug in ("pour.peak", "pour.cures"):
        rooms = (Kelvin(293.15), Kelvin(293.25))
        margins = [ask(slug, poured(room=room, mix_temperature=room, **FAST)).margin for room in rooms]
        assert margins[0] is not None
        assert margins[1] == pytest.approx(margins[0], abs=0.03)


def test_a_resin_of_no_stated_family_is_mixed_and_held_by_its_form_all_the_same() -> None:
    plain = replace(resin(), family=None)
    for slug in ("pour.gap", "pour.layer_depth", "pour.plate_bulge", "pour.tube_collapse"):
        one, other = ask(slug, poured(resin=plain)), ask(slug, poured())
        assert (one.verdict, one.worst.value) == (other.verdict, other.worst.value)
    assert ask("pour.peak", poured(resin=plain)).verdict is Verdict.UNKNOWN


def test_without_a_mix_the_form_bears_the_density_stated_of_the_fill() -> None:
    column = poured(resin=None)
    fill = next(body for body in column.bodies if body.role.value == "fill")
    assert fill.material is not None
    assert fill.material.density is not None
    known = Evaluation(column, Limits()).pour.known_form()
    assert known.pressure == pytest.approx(fill.material.density * 9.80665 * known.head)
    assert ask("pour.plate_bulge", column).worst.value is not None
    assert ask("pour.gap", column).verdict is Verdict.UNKNOWN


def test_prices_in_several_currencies_leave_the_mix_and_keep_the_cheapest_blend_open() -> None:
    price = gravel().price
    assert price is not None
    abroad = (replace(gravel(), price=replace(price, currency="SEK")), sand())
    assert ask("pour.gap", poured(aggregates=abroad)).worst.value is not None
    assert Evaluation(poured(aggregates=abroad), Limits()).pour.known_mix().used.cost is None
    cheapest = ask("pour.gap", poured(aggregates=abroad, objective="cost"))
    assert cheapest.verdict is Verdict.UNKNOWN
    assert "one currency" in cheapest.worst.why
