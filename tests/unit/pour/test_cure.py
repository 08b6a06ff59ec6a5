"""The section, its lean, batches, lifts and effects: known limits, symmetry and trends."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from orthostat.analyses.pour import Cure, inputs_from, solve, solve_cure, solve_effects, solve_lift_study
from orthostat.analyses.pour.heat import Heat, solve_heat
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.lean import lean_locked_in
from orthostat.analyses.pour.lifts import in_equal_lifts, solve_lifts
from orthostat.analyses.pour.march import Tolerance
from orthostat.base.dimensions import (
    Kelvin,
    KelvinDifference,
    KilogramPerSecond,
    Metre,
    Pascal,
    PerKelvin,
    Ratio,
    Second,
    WattPerSquareMetreKelvin,
)
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Disc, Polygon
from orthostat.model.materials import Material
from orthostat.model.pouring import Lift
from pours import mixer, poured, resin

COARSE = Metre(0.025)


def _heat(size: Metre = COARSE, **changes: Any) -> Heat:
    inputs = inputs_from(poured(**changes))
    return solve_heat(inputs, solve(inputs).known_mix(), size=size)


@pytest.fixture(scope="module")
def cure() -> Cure:
    return solve_cure(inputs_from(poured()))


def test_the_peak_lies_under_the_adiabatic_rise(cure: Cure) -> None:
    heat = cure.known_heat()
    assert heat.room < heat.peak < 295.15 + heat.adiabatic


def test_energy_balances_over_the_section(cure: Cure) -> None:
    heat = cure.known_heat()
    body, history = heat.section.body, heat.history
    made = float(body.heat @ history.conversions[-1])
    held = float(body.capacity @ (history.temperatures[-1] - history.temperatures[0]))
    flow = (history.temperatures - heat.room) @ body.film
    lost = float(np.sum(0.5 * (flow[1:] + flow[:-1]) * np.diff(history.times)))
    assert float(history.lost[-1]) + held == pytest.approx(made, rel=1e-9)
    assert lost + held == pytest.approx(made, rel=2e-3)  # by the trapezoid over the steps taken


def test_a_square_column_sets_straight(cure: Cure) -> None:
    heat = cure.known_heat()
    assert heat.lean is not None
    assert heat.lean.size < 1e-6
    assert heat.face_difference < 0.2


def test_setting_comes_in_order(cure: Cure) -> None:
    heat = cure.known_heat()
    assert heat.last_set is not None
    assert heat.strip is not None
    assert heat.bolt is not None
    assert heat.first_set < heat.set_time < heat.last_set <= heat.strip < heat.bolt


def test_the_peak_is_settled_on_the_mesh_and_the_steps(cure: Cure) -> None:
    inputs = inputs_from(poured())
    fine = solve_heat(
        inputs,
        solve(inputs).known_mix(),
        size=Metre(0.007),
        tolerance=Tolerance(KelvinDifference(0.03), 6e-4),
    )
    heat = cure.known_heat()
    assert heat.peak - heat.room == pytest.approx(fine.peak - fine.room, rel=0.01)


def test_cold_likely_and_warm_are_in_order(cure: Cure) -> None:
    peaks = [end.peak for end in cure.known_heat().ends]
    assert peaks == sorted(peaks)


def test_a_fan_on_one_side_makes_it_lean_to_the_warmer_side() -> None:
    films = tuple(WattPerSquareMetreKelvin(h) for h in (8.0, 8.0, 40.0, 8.0))
    heat = _heat(film_sides=films)
    assert heat.lean is not None
    x, z = heat.lean.at_top
    assert abs(x) < 0.05 * abs(z)
    assert z > 5e-6  # face 3 looks along -z and is cooled: the top leans toward face 1
    assert heat.face_difference > 0.5


def test_an_even_section_leans_as_the_handbook_says() -> None:
    same = Material("one", youngs_modulus=Pascal(30e9), expansion=PerKelvin(12e-6), path="materials.one")
    base = inputs_from(poured())
    inputs = replace(
        base, plates=tuple(replace(plate, material=same) for plate in base.plates), fill=same, formers=()
    )
    heat = _heat()
    mesh = heat.section.mesh
    warm = 300.0 + 10.0 * mesh.points[:, 0] / 0.30
    solid = lean_locked_in(inputs, mesh, warm)
    assert solid.at_top[0] == pytest.approx(12e-6 * 10.0 * 0.55**2 / (2 * 0.30), rel=1e-3)
    assert solid.at_top[1] == pytest.approx(0.0, abs=1e-12)


def test_a_missing_conductivity_is_named() -> None:
    inputs = inputs_from(poured())
    bare = replace(
        inputs, plates=tuple(replace(p, material=Material("x", path="materials.x")) for p in inputs.plates)
    )
    found = solve_cure(bare)
    with pytest.raises(NotStated) as caught:
        found.known_heat()
    assert "materials.x.conductivity" in caught.value.missing
    assert found.known_batches().batches  # the others are still answered


def test_tubes_that_overlap_or_part_the_fill_still_have_a_section() -> None:
    inputs = inputs_from(poured())
    tube = inputs.formers[0]
    beside = replace(tube, name="second", section=Disc((0.05, 0.0), Metre(0.05)))
    mix = solve(inputs).known_mix()
    both = solve_heat(replace(inputs, formers=(tube, beside), bars=()), mix, size=COARSE)
    wall = Polygon(((-0.02, -0.125), (0.02, -0.125), (0.02, 0.125), (-0.02, 0.125)))
    parted = solve_heat(replace(inputs, formers=(replace(tube, section=wall),), bars=()), mix, size=COARSE)
    for heat in (both, parted):
        assert heat.room < heat.peak < 295.15 + heat.adiabatic
    assert parted.section.fill_area.sum() == pytest.approx(0.0625 - 0.04 * 0.25, rel=1e-5)


def test_batches_add_up_to_the_fill(cure: Cure) -> None:
    plan, quick = cure.known_batches(), cure.quick
    made = quick.known_mix().used.likely
    assert sum(batch.mass for batch in plan.batches) == pytest.approx(quick.volumes.net * made.density)
    assert plan.batches[-1].fills_to == pytest.approx(0.498)
    for batch in plan.batches:
        parts = sum(mass for _, mass in batch.aggregates) + batch.resin + batch.hardener
        assert parts == pytest.approx(batch.mass)
        assert batch.mass <= plan.largest * (1.0 + 1e-9)
        assert batch.resin / batch.hardener == pytest.approx(100 / 32)


def test_a_weak_crew_is_limited_by_time() -> None:
    slow = replace(mixer(), crew=replace(mixer().crew, people=1, placing_rate=KilogramPerSecond(0.5 / 60.0)))
    plan = solve_cure(inputs_from(poured(mixer=slow, mix_temperature=Kelvin(308.15)))).known_batches()
    assert plan.limited_by == "time"
    assert plan.placing <= plan.full.workable


def test_a_mixer_without_a_crew_is_named() -> None:
    bare = replace(mixer(), crew=replace(mixer().crew, people=None))
    with pytest.raises(NotStated) as caught:
        solve_cure(inputs_from(poured(mixer=bare))).known_batches()
    assert caught.value.missing == ("mixers.paddle.crew.people",)


def test_a_bucket_of_neat_resin_stands_less_long_and_gets_hotter(cure: Cure) -> None:
    plan = cure.known_batches()
    assert plan.neat.workable < plan.full.workable
    assert plan.neat.peak > plan.full.peak
    assert plan.neat.runs_away


def test_one_lift_is_the_section_and_more_lifts_are_cooler(cure: Cure) -> None:
    inputs = inputs_from(poured())
    mix = cure.quick.known_mix()
    one = solve_lifts(in_equal_lifts(inputs, 1), mix)
    assert one.peak - 293.15 == pytest.approx(cure.known_heat().peak - 293.15, rel=0.02)
    four = solve_lifts(in_equal_lifts(inputs, 4), mix)
    assert four.peak < one.peak - 5.0
    assert all(lift.below_cured is None or lift.below_cured > 0.5 for lift in four.lifts)


def test_a_lift_poured_at_once_on_a_warm_one_is_hotter(cure: Cure) -> None:
    inputs = inputs_from(poured())
    mix = cure.quick.known_mix()

    def two(hours: float) -> Inputs:
        lifts = (Lift(Metre(0.249), Second(3600.0 * hours)), Lift(Metre(0.498)))
        return replace(inputs, pour=replace(inputs.pour, lifts=lifts))

    early, late = (solve_lifts(two(hours), mix).lifts[1].peak for hours in (3.5, 24.0))
    assert early > late + 3.0


def test_the_study_stops_at_the_fewest_lifts_under_the_limit() -> None:
    study = solve_lift_study(inputs_from(poured()))
    assert study.chosen is not None
    assert [len(tried.lifts) for tried in study.tried] == list(range(1, len(study.tried) + 1))
    assert all(tried.peak > study.limit for tried in study.tried[:-1])


def test_effects_go_the_way_they_should() -> None:
    found = {effect.change: effect.peak for effect in solve_effects(inputs_from(poured()))}
    planned = found["as planned"]
    assert found["plates twice as thick"] < planned < found["plates half as thick"]
    cold, warm = "room, form and mix at 15.0 °C (59.0 °F)", "room, form and mix at 26.0 °C (78.8 °F)"
    assert found[cold] < planned < found[warm]


def test_a_quick_answer_does_not_need_the_cure() -> None:
    result = solve(inputs_from(poured(resin=replace(resin(), pot_life_mass=None))))
    assert result.known_items()
    slow = solve_cure(inputs_from(poured(resin=replace(resin(), pot_life_mass=None))))
    with pytest.raises(NotStated) as caught:
        slow.known_heat()
    assert caught.value.missing == ("resins.casting.pot_life_mass",)
    assert slow.known_modulus().low < slow.known_modulus().high


def test_a_fill_that_is_mostly_stone_is_stiffer_and_conducts_better() -> None:
    rich = solve_cure(inputs_from(poured(surplus=Ratio(0.20))))
    lean = solve_cure(inputs_from(poured(surplus=Ratio(0.02))))
    assert rich.known_modulus().likely < lean.known_modulus().likely
    assert rich.known_stuff().conductivity < lean.known_stuff().conductivity
