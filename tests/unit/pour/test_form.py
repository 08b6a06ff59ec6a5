"""Pressure, bulge, collapse, uplift and clamps by hand, and how they follow the design."""

from dataclasses import replace
from math import pi

import pytest

from orthostat.analyses.pour import inputs_from, solve
from orthostat.analyses.pour.form import FormLoads, TubeLoad, form_loads, safe_pressure
from orthostat.analyses.pour.inputs import Former, Inputs
from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import Kelvin, KilogramPerCubicMetre, Metre, Newton
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Polygon
from orthostat.model.pouring import FormClamps, Lift
from pours import poured

INPUTS = inputs_from(poured())
DENSITY = KilogramPerCubicMetre(2300.0)
HEAD = 0.498


def _loads(inputs: Inputs = INPUTS, warmest: Kelvin | None = None) -> FormLoads:
    return form_loads(inputs, DENSITY, warmest=warmest)


def _tube(loads: FormLoads) -> TubeLoad:
    return next(tube for tube in loads.tubes if tube.former.name == "tube")


def _with_tube(**changes: object) -> Inputs:
    def change(former: Former) -> Former:
        return replace(former, **changes) if former.name == "tube" else former  # type: ignore[arg-type]  # named fields

    return replace(INPUTS, formers=tuple(change(former) for former in INPUTS.formers))


def test_pressure_is_the_full_head() -> None:
    assert _loads().pressure == pytest.approx(2300.0 * 9.80665 * HEAD)


def test_the_force_on_a_plate_is_the_triangle_of_pressure() -> None:
    force = 0.5 * 2300.0 * STANDARD_GRAVITY * HEAD**2 * 0.25
    assert [plate.force for plate in _loads().plates] == pytest.approx([force] * 4)


def test_clamps_share_all_of_it() -> None:
    for plate in _loads().plates:
        assert 2 * sum(clamp.force for clamp in plate.clamps) == pytest.approx(plate.force)


def test_a_clamp_level_carries_half_way_to_its_neighbours() -> None:
    clamps = FormClamps((Metre(0.1), Metre(0.3)), Newton(1.0), 1)
    loads = _loads(replace(INPUTS, pour=replace(INPUTS.pour, clamps=clamps)))
    low, high = loads.plates[0].clamps
    weight = 2300.0 * STANDARD_GRAVITY * 0.25
    assert low.force == pytest.approx(weight * (HEAD**2 - (HEAD - 0.2) ** 2) / 2)
    assert high.force == pytest.approx(weight * (HEAD - 0.2) ** 2 / 2)


def test_lifts_lower_the_head_and_the_uplift() -> None:
    halves = (Lift(Metre(0.249)), Lift(Metre(0.498)))
    loads = _loads(replace(INPUTS, pour=replace(INPUTS.pour, lifts=halves)))
    assert loads.head == pytest.approx(0.249)
    assert _tube(loads).uplift == pytest.approx(0.5 * _tube(_loads()).uplift)


def test_collapse_dry_by_hand() -> None:
    radius = 0.065 - 0.0015
    dry = _tube(_loads()).collapse[0]
    assert dry.state == "dry"
    assert dry.pressure.likely == pytest.approx(2e9 * 0.003**3 / (4 * 0.91 * radius**3))
    assert safe_pressure(dry) == pytest.approx(0.5 * dry.pressure.low)


def test_damp_is_asked_unless_the_shop_says_dry() -> None:
    assert [s.state for s in _tube(_loads()).collapse] == ["dry"]
    unknown = _tube(_loads(_with_tube(damp=None))).collapse
    assert [state.state for state in unknown] == ["dry", "damp"]
    assert unknown[1].pressure.high < unknown[0].pressure.low
    assert [s.state for s in _tube(_loads(_with_tube(damp=True))).collapse] == ["damp"]


def test_a_plastic_tube_is_asked_when_warm() -> None:
    plastic = _with_tube(wall_row="PVC-U")
    assert [s.state for s in _tube(_loads(plastic)).collapse] == ["dry", "warm"]
    assert [s.state for s in _tube(_loads(plastic, Kelvin(295.0))).collapse] == ["dry"]


def test_an_unknown_wall_is_named() -> None:
    with pytest.raises(NotStated, match="no row of tube walls"):
        _loads(_with_tube(wall_row="cheese"))


def test_uplift_is_the_displaced_weight_once_mix_creeps_under() -> None:
    tube = _tube(_loads())
    weight = 2300.0 * STANDARD_GRAVITY * pi * 0.065**2 * HEAD
    assert tube.uplift_if_sealed == 0.0
    assert tube.uplift == pytest.approx(weight)
    closed = _tube(_loads(_with_tube(closed_bottom=True)))
    assert closed.uplift_if_sealed == pytest.approx(weight)


def test_a_wall_that_is_not_stated_is_named() -> None:
    assert _tube(_loads(_with_tube(wall=None))).missing == ("columns.square.tubes[0].wall",)


def test_a_box_tube_bulges_as_a_clamped_strip() -> None:
    box = Polygon(((-0.05, -0.05), (0.05, -0.05), (0.05, 0.05), (-0.05, 0.05)))
    tube = _tube(_loads(_with_tube(section=box)))
    rigidity = 2e9 * 0.003**3 / (12 * 0.91)
    assert tube.bulge == pytest.approx(tube.pressure * 0.1**4 / (384 * rigidity))
    assert tube.collapse == ()


def test_every_joint_is_listed() -> None:
    names = [name for name, _ in _loads().joints]
    assert names[:2] == ["4 upright corner joints", "foot of the plates on the base"]
    assert len(names) == 2 + len(INPUTS.formers)


def test_the_quick_result_uses_the_mix_that_is_poured() -> None:
    result = solve(INPUTS)
    density = result.known_mix().used.likely.density
    assert result.known_form().pressure == pytest.approx(density * STANDARD_GRAVITY * HEAD)
