"""Reach where little is there, much is lost, or an answer comes in parts."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from orthostat.analyses import reach
from orthostat.analyses.reach.inverse import _intervals
from orthostat.analyses.reach.nearness import counted, nearness
from orthostat.analyses.reach.stands import stands, tightest
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Disc, Role
from orthostat.model.machine import HeadCylinder
from orthostat.model.stations import Cut
from orthostat.presentation.painting_reach import paint_reach
from reach_columns import MACHINE, block, box, column, mill, solved


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
    skim = Cut(
        "skim", "cuts.skim", "face", "mill", Radian(0.0), (), box(-0.05, 0.05, 0.2, 0.3), Metre(0.02),
        Metre(0.015),
    )  # fmt: skip
    machine = replace(MACHINE, head_cylinders=(HeadCylinder(Metre(0.032), Metre(0.0), Metre(0.5)),))
    tool = mill(0.02, holder=0.03)
    found = solved(column(machine=machine, bodies=(wall, part), cuts=(skim,), tool=tool)).cut("s", "skim")
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
