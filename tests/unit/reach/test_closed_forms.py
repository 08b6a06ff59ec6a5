"""Reach against what can be worked out by hand: travel ends, pallet edges, corners, tilted boxes, holders."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, radians, sin, sqrt, tan

import pytest
import shapely

from orthostat.analyses import reach
from orthostat.analyses.reach.nearness import counted, nearness
from orthostat.analyses.reach.stands import standing, stands, tightest
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Body, Disc, Face, Prism, Role
from orthostat.model.machine import HeadBox, Machine, Magazine
from orthostat.model.stations import Cut, Station
from orthostat.model.tools import CutterKind, Step, Tool
from reach_columns import AXIAL, CLEARANCES, MACHINE, block, box, column, mill, skim, solved


@pytest.mark.parametrize("radius", [0.01, 0.04, 0.05])
def test_lowest_line_is_the_end_of_travel_less_the_radius(radius: float) -> None:
    found = solved(column(tool=mill(radius))).face_map(1, "mill").ground
    assert found.lowest_line == pytest.approx(0.06 - radius, abs=1e-12)
    assert found.lost_band == pytest.approx(0.06 - radius, abs=1e-12)
    assert found.share == pytest.approx(1.0 - (0.06 - radius) / 0.5, abs=1e-9)


def test_a_larger_face_mill_reaches_lower_by_the_gain_in_radius() -> None:
    """Common practice with no source; true while nothing is in the way."""
    low = [solved(column(tool=mill(r))).face_map(1, "mill").ground.lowest_line for r in (0.025, 0.0317)]
    assert low[0] is not None
    assert low[1] is not None
    assert low[0] - low[1] == pytest.approx(0.0067, abs=1e-12)


def test_beyond_the_x_travel_the_edge_follows_the_cutter_s_arc() -> None:
    machine = replace(MACHINE, x_high=Metre(0.12))
    found = solved(column(machine=machine, tool=mill(0.04))).face_map(1, "mill").ground
    for u in (0.121, 0.13, 0.145):
        line = shapely.intersection(found.machinable, shapely.LineString([(u, 0.0), (u, 0.3)]))
        expected = 0.06 - sqrt(0.04**2 - (u - 0.12) ** 2)
        assert line.bounds[1] == pytest.approx(expected, abs=1e-5)
        assert line.bounds[1] >= expected - 1e-9, "chords must err to the safe side"


def test_a_flush_face_stops_the_cutter_at_the_pallet_top() -> None:
    machine = replace(MACHINE, y_low=Metre(-0.2))
    flush = column(pallet=0.15, machine=machine, v_low=-0.03)
    assert solved(flush).face_map(1, "mill").ground.lowest_line == pytest.approx(0.0, abs=1e-12)
    chamfered = column(pallet=0.15, machine=machine, tool=mill(0.04, chamfer=0.0065))
    found = solved(chamfered).face_map(1, "mill").ground
    assert found.lost_band == pytest.approx(0.0065, abs=1e-12)
    assert found.overrun == pytest.approx(-0.0065, abs=1e-9)


def test_a_stand_off_of_depth_and_axial_clearance_frees_it() -> None:
    machine = replace(MACHINE, y_low=Metre(-0.2))
    tool = mill(0.04, chamfer=0.0065)
    enough = 0.0003 + AXIAL
    freed = column(distance=0.15 + enough, pallet=0.15, machine=machine, tool=tool)
    short = column(distance=0.15 + enough - 1e-5, pallet=0.15, machine=machine, tool=tool)
    assert solved(freed).face_map(1, "mill").ground.whole
    assert not solved(short).face_map(1, "mill").ground.whole


def test_inverse_stand_off_is_depth_and_axial_clearance() -> None:
    machine = replace(MACHINE, y_low=Metre(-0.2))
    answers = solved(column(pallet=0.15, machine=machine, tool=mill(0.04, chamfer=0.0065)))
    found = reach.inverse(
        answers.inputs, answers.face(1), answers.tool("mill"), reach.Lever.STAND_OFF, Metre(0.0003)
    )
    assert len(found.intervals) == 1
    assert found.intervals[0].low == pytest.approx(0.0003 + AXIAL, abs=2e-5)
    assert found.intervals[0].high_open
    assert found.now == pytest.approx(0.0)


def test_inverse_diameter_starts_where_the_radius_makes_up_for_travel() -> None:
    answers = solved(column())
    found = reach.inverse(
        answers.inputs, answers.face(1), answers.tool("mill"), reach.Lever.DIAMETER, Metre(0.0003)
    )
    assert found.intervals[0].low == pytest.approx(2 * 0.06, abs=2e-5)


def test_inverse_diameter_can_be_a_band() -> None:
    """Under an overhang at 140 mm the nose (radius 60 + 2 mm room) keeps the axis below 78 mm, so the upper
    edge wants a radius of 62 mm; with the axis no lower than 60 mm a radius over 80 mm hits the overhang."""
    machine = replace(MACHINE, x_low=Metre(-0.3), x_high=Metre(0.3))
    ceiling = Body("ceiling", Role.CLEAT, (Prism(box(-0.3, 0.3, -0.3, 0.3), Metre(0.14), Metre(0.16)),))
    made = replace(column(machine=machine), bodies=(*column().bodies, ceiling))
    face = replace(made.faces[0], v_high=Metre(0.14))
    core = replace(made.bodies[0], adds=(replace(made.bodies[0].adds[0], high=Metre(0.14)),))
    answers = solved(replace(made, faces=(face,), bodies=(core, ceiling)))
    found = reach.inverse(answers.inputs, face, answers.tool("mill"), reach.Lever.DIAMETER, Metre(0.0003))
    (band,) = found.intervals
    assert (band.low, band.high) == pytest.approx((0.124, 0.16), abs=2e-5)
    assert not band.low_open
    assert not band.high_open


def test_inverse_riser_lifts_the_face_over_the_end_of_travel() -> None:
    answers = solved(column())
    found = reach.inverse(
        answers.inputs, answers.face(1), answers.tool("mill"), reach.Lever.RISER, Metre(0.0003)
    )
    assert found.intervals[0].low == pytest.approx(0.02, abs=2e-5)
    assert found.intervals[0].high == pytest.approx(0.2)


def test_shop_s_own_tools_that_do_it_are_named_and_the_changer_s_limits_kept() -> None:
    big, huge = replace(mill(0.065), name="big"), replace(mill(0.09), name="huge")
    machine = replace(MACHINE, magazine=Magazine(diameter=Metre(0.1), diameter_beside_empty=Metre(0.15)))
    answers = solved(replace(column(machine=machine), tools=(mill(0.04), big, huge)))
    found = reach.inverse(
        answers.inputs, answers.face(1), answers.tool("mill"), reach.Lever.DIAMETER, Metre(0.0003)
    )
    assert found.own_tools == ("big",)
    assert found.refused == (("huge", ("diameter",)),)
    assert found.intervals[-1].high == pytest.approx(0.15)


def test_cylinder_against_a_tilted_box_on_a_sixty_degree_face() -> None:
    """A box on the next face of a hexagon stands above the tip plane with one corner only. By hand, t
    being the tip plane: the edge at u = -a meets it at w = (t - a sin θ)/cos θ - d, where
    X = -a cos θ + (d + w) sin θ."""
    theta, d, a = radians(60.0), 0.13, 0.05
    made = column(half=0.14, distance=d)
    side = Face(2, "side", theta, Metre(d), Metre(-0.07), Metre(0.07), Metre(0.0), Metre(0.5))
    fixture = block("fixture", Role.FIXTURE, side, box(-a, a, 0.2, 0.3), 0.0, 0.06)
    station = Station("s", "stations.s", 2, (0.0, 0.0), (fixture,), None)
    made = replace(made, faces=(made.faces[0], side), stations=(station,), tools=(mill(0.02, holder=0.01),))
    no_room = reach.Clearances(Metre(0.0), Metre(0.0), Metre(0.0), Metre(0.0))
    found = solved(made, no_room).face_map(1, "mill", Metre(0.0), loaded=True).ground
    w = (d - a * sin(theta)) / cos(theta) - d
    edge = -a * cos(theta) + (d + w) * sin(theta)
    assert 0.0 < w < 0.06
    line = shapely.intersection(found.machinable, shapely.LineString([(0.0, 0.25), (0.14, 0.25)]))
    assert line.bounds[2] == pytest.approx(edge, abs=1e-5)
    assert line.bounds[2] <= edge + 1e-9


def test_ground_beside_a_wall_is_reached_by_the_cutter_but_not_past_the_holder() -> None:
    """Cutting clearance is zero: a slim tool mills right up to a wall. A holder wider than the cutter
    keeps it off by the difference and the collision clearance."""
    face = column().faces[0]
    wall = block("wall", Role.FIXTURE, face, box(-0.15, -0.05, 0.1, 0.4), 0.0, 0.08)
    region = box(-0.05, 0.05, 0.2, 0.3)
    cut = skim(region)
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.15, 0.35), 0.0, 0.02)
    slim = solved(column(bodies=(wall, part), cuts=(cut,), tool=mill(0.02, holder=0.015))).cut("s", "skim")
    assert slim.reached
    wide = solved(column(bodies=(wall, part), cuts=(cut,), tool=mill(0.02, holder=0.03))).cut("s", "skim")
    kept_off = 0.03 + CLEARANCES.radial - 0.02
    assert wide.share == pytest.approx(1.0 - kept_off / 0.1, abs=1e-6)
    assert [(b.name, b.member) for b in wide.blockers] == [("wall", "holder")]


def test_least_clearance_of_a_milled_region_uses_the_best_path() -> None:
    """The axis may stand a cutter radius from the region's edge: clearance = gap + r - holder radius."""
    face = column().faces[0]
    wall = block("wall", Role.FIXTURE, face, box(-0.15, -0.065, 0.0, 0.5), 0.0, 0.08)
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.15, 0.35), 0.0, 0.02)
    cut = skim(box(-0.05, 0.05, 0.2, 0.3))
    found = solved(column(bodies=(wall, part), cuts=(cut,), tool=mill(0.02, holder=0.03))).cut("s", "skim")
    assert found.holder is not None
    assert found.holder.clearance == pytest.approx(0.015 + 0.02 - 0.03, abs=3e-5)
    assert found.holder.nearest == "wall"
    # Looked at there, the axis stands a cutter radius inside the edge that it just mills.
    assert found.holder.at is not None
    assert found.holder.at[0] == pytest.approx(-0.05 + 0.02, abs=1e-4)
    (tight, middle) = stands(found)
    assert tight.at == found.holder.at
    there = standing(found, tight)
    assert there.holder is not None
    assert there.holder.clearance == pytest.approx(found.holder.clearance, abs=5e-5)
    assert middle.at == pytest.approx((0.0, 0.25), abs=1e-9)
    away = standing(found, middle).holder
    assert away is None or away.clearance == pytest.approx(0.065 - 0.03, abs=1e-6)


def test_least_clearance_at_holes_is_the_distance_less_the_holder_radius() -> None:
    face = column().faces[0]
    clamp = block("clamp", Role.CLAMP, face, Disc((0.03, 0.25), Metre(0.005)), 0.0, 0.09)
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.15, 0.35), 0.0, 0.02)
    drill = Tool(
        "drill", "tools.drill", CutterKind.DRILL,
        (Step(Metre(0.004), Metre(0.0), Metre(0.06), True), Step(Metre(0.016), Metre(0.06), Metre(0.12))),
        Metre(0.12), Metre(0.004), Metre(0.004), plunges=True, point_angle=Radian(radians(118)),
    )  # fmt: skip
    cut = Cut(
        "hole",
        "cuts.hole",
        "drill",
        "drill",
        Radian(0.0),
        ((0.0, 0.25), (-0.02, 0.25)),
        None,
        Metre(0.02),
        Metre(0.01),
    )
    found = solved(column(bodies=(clamp, part), cuts=(cut,), tool=drill)).cut("s", "hole")
    assert found.reached
    assert found.holder is not None
    assert found.holder.clearance == pytest.approx(0.03 - 0.005 - 0.016, abs=1e-5)
    assert found.holder.at == (0.0, 0.25)
    assert [stand.at for stand in stands(found)] == [(0.0, 0.25), (-0.02, 0.25)]
    assert tightest(found) == 0
    far = standing(found, stands(found)[1]).holder
    assert far is None or far.clearance == pytest.approx(0.05 - 0.005 - 0.016, abs=1e-5)
    assert found.task.tip == pytest.approx(0.15 + 0.01 - 0.004 / tan(radians(59)))


def test_a_drill_that_breaks_through_needs_relief_in_the_fixture() -> None:
    face = column().faces[0]
    base = block("block", Role.FIXTURE, face, box(-0.05, 0.05, 0.15, 0.35), 0.0, 0.03)
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.15, 0.35), 0.03, 0.05)
    drill = Tool(
        "drill", "tools.drill", CutterKind.DRILL, (Step(Metre(0.004), Metre(0.0), Metre(0.06), True),),
        Metre(0.12), Metre(0.004), Metre(0.004), plunges=True,
    )  # fmt: skip
    cut = Cut(
        "hole",
        "cuts.hole",
        "drill",
        "drill",
        Radian(0.0),
        ((0.0, 0.25),),
        None,
        Metre(0.05),
        Metre(0.025),
        through=True,
    )
    blind = solved(column(bodies=(base, part), cuts=(cut,), tool=drill)).cut("s", "hole")
    assert not blind.reached
    assert blind.blockers[0].name == "block"
    relief = Prism(Disc((0.0, 0.25), Metre(0.006)), Metre(0.02), Metre(0.03), base.adds[0].frame)
    relieved = replace(base, cuts=(relief,))
    assert solved(column(bodies=(relieved, part), cuts=(cut,), tool=drill)).cut("s", "hole").reached
    tight = replace(base, cuts=(replace(relief, section=Disc((0.0, 0.25), Metre(0.0039))),))
    assert not solved(column(bodies=(tight, part), cuts=(cut,), tool=drill)).cut("s", "hole").reached


@pytest.mark.parametrize(("plunges", "reached"), [(False, False), (True, True)])
def test_a_walled_in_pocket_needs_a_cutter_that_plunges(plunges: bool, reached: bool) -> None:
    face = column().faces[0]
    walls = tuple(
        block(f"wall {k}", Role.FIXTURE, face, ground, 0.0, 0.05)
        for k, ground in enumerate(
            (
                box(-0.1, -0.05, 0.2, 0.3),
                box(0.05, 0.1, 0.2, 0.3),
                box(-0.1, 0.1, 0.15, 0.2),
                box(-0.1, 0.1, 0.3, 0.35),
            )
        )
    )
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.2, 0.3), 0.0, 0.04)
    cut = Cut(
        "pocket",
        "cuts.pocket",
        "shoulder",
        "mill",
        Radian(0.0),
        (),
        box(-0.03, 0.03, 0.22, 0.28),
        Metre(0.04),
        Metre(0.03),
    )
    tool = mill(0.01, holder=0.008, plunges=plunges)
    found = solved(column(bodies=(*walls, part), cuts=(cut,), tool=tool)).cut("s", "pocket")
    assert found.reached is reached


def test_side_work_is_done_at_b_plus_ninety_degrees() -> None:
    """A part on the front face drilled from its right side: the view's w is measured from the B axis."""
    face = column().faces[0]
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.2, 0.3), 0.0, 0.06)
    drill = Tool(
        "drill", "tools.drill", CutterKind.DRILL, (Step(Metre(0.004), Metre(0.0), Metre(0.2), True),),
        Metre(0.25), Metre(0.004), Metre(0.004), plunges=True,
    )  # fmt: skip

    def cut(u: float, bottom: float, turn: float) -> Cut:
        return Cut(
            "side",
            "cuts.side",
            "drill",
            "drill",
            Radian(turn),
            ((u, 0.25),),
            None,
            Metre(0.05),
            Metre(bottom),
        )

    middle = 0.15 + 0.03
    from_right = solved(
        column(half=0.15, bodies=(part,), cuts=(cut(-middle, 0.03, pi / 2),), tool=drill)
    ).cut("s", "side")
    assert from_right.b_angle == pytest.approx(pi / 2)
    assert from_right.reached
    into_column = solved(column(half=0.15, bodies=(part,), cuts=(cut(-0.1, 0.03, pi / 2),), tool=drill)).cut(
        "s", "side"
    )
    assert into_column.blockers[0].name == "core"
    counter = column(
        machine=replace(MACHINE, b_positive_clockwise=False),
        bodies=(part,),
        cuts=(cut(-middle, 0.03, pi / 2),),
        tool=drill,
    )
    other_sense = solved(counter).cut("s", "side")
    assert other_sense.b_angle == pytest.approx(1.5 * pi)
    assert other_sense.reached


def test_head_box_is_dilated_as_a_box() -> None:
    """A square head passes beside a wall at its half-width, not at its half-diagonal."""
    box_head = (HeadBox(Metre(-0.1), Metre(0.1), Metre(-0.1), Metre(0.1), Metre(0.0), Metre(0.5)),)
    machine = replace(MACHINE, head_cylinders=(), head_boxes=box_head)
    face = column().faces[0]
    post = block("post", Role.CLAMP, face, box(-0.15, -0.103, 0.35, 0.4), 0.0, 0.3)
    part = block("part", Role.PART, face, box(-0.01, 0.01, 0.24, 0.26), 0.0, 0.02)
    drill = Tool(
        "drill", "tools.drill", CutterKind.DRILL, (Step(Metre(0.004), Metre(0.0), Metre(0.1), True),),
        Metre(0.1), Metre(0.004), Metre(0.004), plunges=True,
    )  # fmt: skip
    cut = Cut(
        "hole", "cuts.hole", "drill", "drill", Radian(0.0), ((0.0, 0.25),), None, Metre(0.02), Metre(0.01)
    )
    found = solved(column(machine=machine, bodies=(post, part), cuts=(cut,), tool=drill)).cut("s", "hole")
    assert found.reached
    assert found.head is not None
    assert found.head.clearance == pytest.approx(0.003, abs=1e-9)


def test_z_travel_is_named_when_the_nose_can_not_come_near_enough() -> None:
    machine = replace(MACHINE, nose_near=Metre(0.26))
    answers = solved(column(machine=machine))
    found = answers.face_map(1, "mill")
    assert found.ground.share == 0.0
    assert answers.blamed(found)[0].blockers[0].name == "Z travel, near end"


def test_unstated_head_and_travel_leave_the_answer_open() -> None:
    bare = Machine("m", "machines.m", x_low=Metre(-0.4), x_high=Metre(0.4), y_low=Metre(0.0))
    found = solved(column(machine=bare)).face_map(1, "mill")
    assert found.unknown == (
        "machines.m.spindle_height",
        "machines.m.nose_to_b",
        "machines.m.head_cylinders",
        "columns.c.pallet",
    )


def test_turning_needs_the_tip_outside_the_swing_circle() -> None:
    face = column().faces[0]
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.2, 0.3), 0.0, 0.06)
    cut = skim(box(-0.05, 0.05, 0.2, 0.3), top=0.06, depth=0.05)
    machine = replace(MACHINE, nose_far=Metre(0.5))
    (turning,) = solved(column(machine=machine, bodies=(part,), cuts=(cut,))).turning
    assert turning.swing == pytest.approx(sqrt(0.05**2 + 0.21**2))
    assert turning.widest == "part"
    assert turning.clearance == pytest.approx(0.5 - 0.1 - turning.swing)


def test_ground_beside_a_flange_is_reached_only_from_farther_off() -> None:
    """A flange stands 30 mm out up to v = 50 mm. Tip at the face, the holder (30 mm and 2 mm to keep) is kept
    off it and the 20 mm cutter reaches down to 62 mm; once the holder passes in front, the cutter itself to
    50 mm; once all pass in front, the end of travel (60 mm) less the cutter's radius, 40 mm.
    """
    face = column().faces[0]
    flange = replace(block("flange", Role.LID, face, box(-0.2, 0.2, 0.0, 0.05), 0.0, 0.03), station=None)
    made = replace(column(tool=mill(0.02, holder=0.03)), bodies=(flange,))
    found = nearness(solved(made), 1, "mill", [Metre(0.025), Metre(0.05)])
    assert [band.share for band in found.bands] == pytest.approx(
        [(0.5 - 0.062) / 0.5, 0.012 / 0.5, 0.010 / 0.5], abs=2e-5
    )
    assert found.lost_share == pytest.approx(0.040 / 0.5, abs=2e-5)
    assert [band.lowest_line for band in found.bands] == pytest.approx([0.062, 0.05, 0.04], abs=1e-5)
    assert {blocker.name for blocker in found.blockers} == {"flange", "Y travel, low end"}
    # The bands and what is left out cover the face once.
    grounds = [band.ground for band in found.bands] + [found.lost]
    assert sum(ground.area for ground in grounds) == pytest.approx(0.3 * 0.5, abs=1e-9)


def test_tools_are_counted_where_each_reaches() -> None:
    """Down to the end of travel less its radius: 40 mm for one cutter, 20 mm for the wider one."""
    tools = (replace(mill(0.02), name="small"), replace(mill(0.04), name="large"))
    counts = counted(solved(replace(column(), tools=tools)), 1, ["small", "large"])
    assert [band.count for band in counts] == [0, 1, 2]
    assert [band.share for band in counts] == pytest.approx([0.02 / 0.5, 0.02 / 0.5, 0.46 / 0.5], abs=1e-6)


def test_a_cut_out_of_reach_is_looked_at_where_it_is_missed() -> None:
    face = column().faces[0]
    wall = block("wall", Role.FIXTURE, face, box(-0.15, -0.05, 0.1, 0.4), 0.0, 0.08)
    part = block("part", Role.PART, face, box(-0.05, 0.05, 0.15, 0.35), 0.0, 0.02)
    region = box(-0.05, 0.05, 0.2, 0.3)
    cut = skim(region)
    found = solved(column(bodies=(wall, part), cuts=(cut,), tool=mill(0.02, holder=0.03))).cut("s", "skim")
    first = stands(found)[tightest(found)]
    assert not first.reached
    # As near as the holder and its clearance let the axis come to the wall.
    assert first.at[0] == pytest.approx(-0.05 + 0.03 + CLEARANCES.radial, abs=1e-5)
