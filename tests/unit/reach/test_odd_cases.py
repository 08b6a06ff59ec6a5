"""Reach where little is there, much is lost, or an answer comes in parts."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest
import shapely

from orthostat.analyses import reach
from orthostat.analyses.reach.inverse import _intervals
from orthostat.analyses.reach.nearness import counted, nearness
from orthostat.analyses.reach.stands import stands, tightest
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Disc, Role
from orthostat.model.machine import HeadCylinder
from orthostat.presentation.painting_reach import paint_reach
from reach_columns import MACHINE, block, box, column, mill, skim, solved


def test_no_tool_at_all_reaches_nothing() -> None:
    none = solved(replace(column(), tools=()))
    assert [(band.count, band.share) for band in counted(none, 1, [])] == [(0, 1.0)]
    assert none.truing[0].best is None
    assert none.overview == ((),)
    assert none.turning == ()
    shown = paint_reach(none, "", "metric", loaded=False)
    assert [band.words for band in shown.bands] == ["no tool"]


def test_what_keeps_most_of_all_lost_ground_is_named_first() -> None:
    """A boss of 10 mm keeps a 20 mm cutter from less ground than the end of travel (60 mm) does."""
    face = column().faces[0]
    boss = replace(block("boss", Role.LID, face, Disc((0.0, 0.3), Metre(0.01)), 0.0, 0.005), station=None)
    found = nearness(solved(replace(column(tool=mill(0.02)), bodies=(boss,))), 1, "mill", [])
    assert [blocker.name for blocker in found.blockers] == ["Y travel, low end", "boss"]
    bottom, round_it = 0.3 * 0.04, pi * 0.01**2
    shares = [blocker.share for blocker in found.blockers]
    assert shares == pytest.approx([bottom / (bottom + round_it), round_it / (bottom + round_it)], rel=1e-3)


def test_the_part_of_the_stack_with_least_room_is_looked_at_first() -> None:
    face = column().faces[0]
    wall = block("wall", Role.FIXTURE, face, box(-0.3, -0.065, 0.1, 0.4), 0.0, 0.3)
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.15, 0.35), 0.0, 0.02)
    cut = skim(box(-0.05, 0.05, 0.2, 0.3))
    machine = replace(MACHINE, head_cylinders=(HeadCylinder(Metre(0.032), Metre(0.0), Metre(0.5)),))
    tool = mill(0.02, holder=0.03)
    found = solved(column(machine=machine, bodies=(wall, part), cuts=(cut,), tool=tool)).cut("s", "skim")
    assert found.reached
    assert found.holder is not None
    assert found.head is not None
    assert found.head.clearance < found.holder.clearance
    assert stands(found)[tightest(found)].at == found.head.at


def test_only_mills_that_may_true_are_named_as_the_shops_own() -> None:
    tools = (mill(0.04), replace(mill(0.07), name="wide"), replace(mill(0.08), name="wider"))
    made = replace(column(), tools=tools)
    face = made.faces[0]
    asked = (face, tools[0], reach.Lever.DIAMETER, Metre(0.0003))
    assert reach.inverse(solved(made).inputs, *asked).own_tools == ("wide", "wider")
    named = replace(made, truing_tools=("mill", "wider"))
    assert reach.inverse(solved(named).inputs, *asked).own_tools == ("wider",)


def test_an_interval_with_a_gap_in_its_middle_is_two() -> None:
    found = _intervals([0.0, 1.0], [True, True], lambda value: not 0.4 < value < 0.6)
    ends = [(each.low, each.high) for each in found]
    assert ends == [pytest.approx((0.0, 0.4), abs=2e-5), pytest.approx((0.6, 1.0), abs=2e-5)]
    assert [(each.low_open, each.high_open) for each in found] == [(True, False), (False, True)]


def test_an_interval_that_nobody_could_set_is_none() -> None:
    def within(half: float) -> list[tuple[float, float]]:
        found = _intervals([0.0, 1.0, 2.0], [False, True, False], lambda value: abs(value - 1.0) <= half)
        return [(each.low, each.high) for each in found]

    assert within(0.0) == within(2e-6) == []
    assert within(3e-5) == [pytest.approx((1.0 - 3e-5, 1.0 + 3e-5), abs=1.6e-5)]
    at_the_end = _intervals([0.0, 1.0], [True, False], lambda value: value == 0.0)
    assert [(each.low, each.high, each.low_open) for each in at_the_end] == [(0.0, 0.0, True)]


def test_the_middle_of_a_region_is_told_to_be_out_of_reach_where_it_is_lost() -> None:
    """A boss stands in the middle of what is to be milled, or beside it."""
    face = column().faces[0]
    part = block("part", Role.PART, face, box(-0.1, 0.1, 0.1, 0.3), 0.0, 0.02)
    cut = skim(box(-0.1, 0.1, 0.1, 0.3))
    told = []
    for at in (0.0, 0.09):
        boss = block("boss", Role.FIXTURE, face, Disc((at, 0.2), Metre(0.02)), 0.0, 0.05)
        found = solved(column(bodies=(part, boss), cuts=(cut,), tool=mill(0.02))).cut("s", "skim")
        assert found.ground is not None
        middle = stands(found)[-1]
        covered = found.ground.machinable.covers(found.ground.wanted.representative_point())
        assert middle.reached is covered
        told.append((middle.name, middle.reached))
    assert told == [
        ("as near as it gets to the middle of the region", False),
        ("at the middle of the region", True),
    ]


def test_of_a_cut_lost_in_parts_what_keeps_most_of_it_is_named_first() -> None:
    """A small boss below a large one."""
    face = column().faces[0]
    part = block("part", Role.PART, face, box(-0.1, 0.1, 0.1, 0.3), 0.0, 0.02)
    bosses = [
        block(name, Role.FIXTURE, face, Disc(at, Metre(radius)), 0.0, 0.05)
        for name, at, radius in (("small", (0.0, 0.14), 0.005), ("large", (0.0, 0.24), 0.02))
    ]
    cut = skim(box(-0.1, 0.1, 0.1, 0.3))
    found = solved(column(bodies=(part, *bosses), cuts=(cut,), tool=mill(0.01))).cut("s", "skim")
    assert found.ground is not None
    assert [found.ground.largest, len(found.ground.lost_parts)] == [1, 2]
    assert [blocker.name for blocker in found.blockers if blocker.member == "cutter"] == ["large", "small"]


def test_of_parts_lost_alike_the_lowest_then_the_one_furthest_left_is_named() -> None:
    """Two bosses of one size at one height, and one higher up, whatever the order in which they come."""
    face = column().faces[0]
    bosses = tuple(
        replace(block(name, Role.LID, face, Disc(at, Metre(0.01)), 0.0, 0.005), station=None)
        for name, at in (("right", (0.08, 0.2)), ("left", (-0.08, 0.2)), ("upper", (-0.1, 0.35)))
    )
    made = column(tool=mill(0.02), machine=replace(MACHINE, y_low=Metre(-0.1)))
    answers = solved(replace(made, bodies=(*made.bodies, *bosses)))
    found = answers.face_map(1, "mill")
    assert [part.blockers[0].name for part in answers.blamed(found)] == ["left", "right", "upper"]
    assert answers.blamed_most(found).blockers[0].name == "left"
    parts = found.ground.lost_parts
    turned = replace(found.ground, lost=shapely.multipolygons(parts[::-1]), shared=None)
    assert turned.lost_parts == parts
    assert turned.largest == 0
    flipped = replace(turned.mirrored, shared=turned)
    assert [row[0][0] for row in map(flipped.kept_by, range(3))] == [
        turned.kept_by(number)[0][0] for number in (1, 0, 2)
    ]
