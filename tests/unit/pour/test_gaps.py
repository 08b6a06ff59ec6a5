"""Passages measured by hand, and the change that opens each really opens it."""

from dataclasses import replace
from math import hypot

import pytest

from orthostat.analyses.pour import inputs_from
from orthostat.analyses.pour.gaps import Gap, gaps, layer_depths
from orthostat.analyses.pour.inputs import Bar, Former, Inputs
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Disc, Polygon
from orthostat.model.pouring import Lift
from pours import poured

INPUTS = inputs_from(poured())


def _between(inputs: Inputs, *names: str) -> Gap:
    return next(gap for gap in gaps(inputs) if all(any(n in each for each in gap.between) for n in names))


def test_sleeve_to_plate_by_hand() -> None:
    gap = _between(INPUTS, "sleeve of stud 1", "plate")
    assert gap.clear == pytest.approx(0.125 - 0.10 - 0.014)
    assert gap.largest_stone == pytest.approx(0.2 * 0.011)


def test_sleeve_to_tube_by_hand() -> None:
    gap = _between(INPUTS, "tube", "sleeve of stud 1")
    assert gap.clear == pytest.approx(hypot(0.1, 0.1) - 0.065 - 0.014)


def test_anchor_to_tube_counts_as_a_bar() -> None:
    gap = _between(INPUTS, "anchor", "tube")
    assert gap.clear == pytest.approx(0.125 - 0.04 - 0.065)
    assert gap.share == 0.75
    assert gap.rule == "bars"


def test_anchors_of_one_face_are_their_spacing_less_their_heads() -> None:
    inside = [g for g in gaps(INPUTS) if all("on face 1" in name for name in g.between)]
    assert [gap.clear for gap in inside] == [pytest.approx(0.15 - 0.02)]


def test_a_longer_anchor_above_a_short_one_counts() -> None:
    first = INPUTS.bars[0]
    x, y, z = first.start
    above = replace(first, start=(x, y + 0.1, z), length=Metre(first.length + 0.01))
    gap = _between(replace(INPUTS, bars=(first, above)), "anchor", "tube")
    assert gap.clear == pytest.approx(0.125 - 0.05 - 0.065)


def test_the_tightest_comes_first() -> None:
    stones = [gap.largest_stone for gap in gaps(INPUTS)]
    assert stones == sorted(stones)


def _smaller(former: Former, by: float) -> Former:
    assert isinstance(former.section, Disc)
    return replace(former, section=Disc(former.section.centre, Metre(former.section.radius - 0.5 * by)))


def test_a_smaller_tube_by_the_named_amount_lets_the_stone_pass() -> None:
    stone = Metre(0.016)
    gap = _between(INPUTS, "tube", "plate 1")
    change = gap.change_for(stone)
    assert change > 0.0
    mended = replace(
        INPUTS, formers=tuple(_smaller(f, change) if f.name == "tube" else f for f in INPUTS.formers)
    )
    assert _between(mended, "tube", "plate 1").largest_stone == pytest.approx(stone)


def test_shorter_anchors_by_the_named_amount_let_the_stone_pass() -> None:
    stone = Metre(0.018)
    gap = _between(INPUTS, "anchor", "tube")
    change = gap.change_for(stone)

    def cut(bar: Bar) -> Bar:
        return replace(bar, length=Metre(bar.length - change))

    mended = replace(INPUTS, bars=tuple(cut(bar) for bar in INPUTS.bars))
    assert _between(mended, "anchor", "tube").largest_stone == pytest.approx(stone)


def test_what_runs_into_each_other_is_closed_and_still_has_a_change() -> None:
    long = replace(INPUTS, bars=tuple(replace(bar, length=Metre(0.08)) for bar in INPUTS.bars))
    gap = _between(long, "anchor", "tube")
    assert gap.clear <= 0.0
    assert gap.largest_stone == 0.0
    assert gap.change_for(Metre(0.005)) > 0.0


def test_an_empty_cavity_is_its_own_passage() -> None:
    found = gaps(replace(INPUTS, formers=(), bars=()))
    assert [gap.clear for gap in found] == [pytest.approx(0.25)]


def test_a_box_tube_is_measured_from_its_wall() -> None:
    box = Polygon(((-0.05, -0.05), (0.05, -0.05), (0.05, 0.05), (-0.05, 0.05)))
    tube = replace(INPUTS.formers[0], section=box)
    gap = _between(replace(INPUTS, formers=(tube,), bars=()), "tube", "plate 2")
    assert gap.clear == pytest.approx(0.075)


def test_layers_follow_the_lifts_and_reach_the_top() -> None:
    lifts = (Lift(Metre(0.3)), Lift(Metre(0.1)))
    inputs = replace(INPUTS, pour=replace(INPUTS.pour, lifts=lifts))
    assert layer_depths(inputs) == pytest.approx((0.1, 0.2, 0.198))
    assert layer_depths(INPUTS) == pytest.approx((0.498,))
