"""Passages measured by hand, and the change that opens each really opens it."""

import random
from dataclasses import replace
from itertools import combinations
from math import cos, hypot, inf, pi, sin

import pytest
import shapely

from orthostat.analyses.pour import inputs_from
from orthostat.analyses.pour.gaps import Gap, bar_plan, gaps, layer_depths
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


def test_passages_at_random_against_a_geometry_library() -> None:
    """Anchors at any angle, with and without heads, some into tubes, some through a wall: shape by shape."""
    draw = random.Random(3)
    walls = shapely.Polygon(INPUTS.cavity.points)
    for _ in range(20):
        discs = {
            f"tube {k}": Disc(
                (draw.uniform(-0.1, 0.1), draw.uniform(-0.1, 0.1)), Metre(draw.uniform(0.005, 0.03))
            )
            for k in range(4)
        }
        formers = tuple(replace(INPUTS.formers[0], name=name, section=disc) for name, disc in discs.items())
        bars = tuple(_anchor(draw, f"anchor {k}", 1 + k % 3) for k in range(8))
        clear = {gap.between: gap.clear for gap in gaps(replace(INPUTS, formers=formers, bars=bars))}
        for face in (1, 2, 3):
            mine = {bar.name: bar for bar in bars if bar.face == face}
            for tube, disc in discs.items():
                far = {name: bar_plan(bar).distance(shapely.Point(disc.centre)) for name, bar in mine.items()}
                first = min(far, key=lambda name: far[name])
                assert clear[first, tube] == pytest.approx(far[first] - disc.radius, abs=1e-12)
            far = {name: _ahead(bar, walls) for name, bar in mine.items()}
            first = min(far, key=lambda name: far[name])
            assert clear[first, "the wall opposite"] == pytest.approx(far[first], abs=1e-12)
        apart: dict[tuple[int, int], float] = {}
        for one, other in combinations(bars, 2):
            level = _shank(one).distance(_shank(other))
            thick = sum(0.5 * max(bar.diameter, bar.head_diameter or 0.0) for bar in (one, other))
            room = hypot(level, one.start[1] - other.start[1]) - thick
            apart[one.face, other.face] = min(room, apart.get((one.face, other.face), inf))
        names = {bar.name: bar.face for bar in bars}
        ours = {(names[a], names[b]): width for (a, b), width in clear.items() if a in names and b in names}
        assert ours == pytest.approx(apart, abs=1e-12)


def _anchor(draw: random.Random, name: str, face: int) -> Bar:
    turn = draw.uniform(0.0, 2.0 * pi)
    return replace(
        INPUTS.bars[0],
        name=name,
        face=face,
        start=(draw.uniform(-0.12, 0.12), draw.choice((0.1, 0.15, 0.4)), draw.uniform(-0.12, 0.12)),
        direction=(sin(turn), 0.0, cos(turn)),
        length=Metre(draw.uniform(0.03, 0.15)),
        head_diameter=draw.choice((None, Metre(0.005), Metre(0.03))),
    )


def _shank(bar: Bar) -> shapely.LineString:
    return shapely.LineString([bar.start[::2], bar.end[::2]])


def _ahead(bar: Bar, walls: shapely.Polygon) -> float:
    """From the tip to the wall in front of it; closed where there is none."""
    x, _, z = bar.end
    ray = shapely.LineString([(x, z), (x + 2.0 * bar.direction[0], z + 2.0 * bar.direction[2])])
    hit = ray.intersection(walls.exterior)
    return -1e-9 if hit.is_empty else float(shapely.Point(x, z).distance(hit))


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
