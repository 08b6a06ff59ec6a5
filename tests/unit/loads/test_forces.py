"""Cutting forces beside their closed forms, and the sense of every push on the work."""

from dataclasses import replace
from math import acos, pi, radians, sin

import numpy as np
import pytest

import columns
from orthostat.analyses.loads import CutInput, cut_loads
from orthostat.analyses.loads.milling import Engagement, Milled, engagements, over_a_pitch
from orthostat.analyses.loads.reading import practice
from orthostat.base.dimensions import Metre, MetrePerSecond, Pascal, Radian, Ratio
from orthostat.base.findings import NotStated
from orthostat.base.frames import face_frame
from orthostat.formulas import cutting
from orthostat.model.bodies import Polygon
from orthostat.model.stations import Cut, CutMaterial
from orthostat.model.tools import CutterKind, Tool

STEEL = CutMaterial("steel", Pascal(1800e6), Ratio(0.0), "shop")
FRONT = face_frame(Radian(0.0), Metre(0.15))


def mill(**changes: object) -> Tool:
    made = Tool(
        "mill", "tools.mill", CutterKind.FACE_MILL, (), None, Metre(0.125), Metre(0.125), teeth=12,
        entering_angle=Radian(pi / 2), wear_factor=Ratio(1.0),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def face_cut(**changes: object) -> Cut:
    corners = ((0.0, 0.3), (0.1, 0.3), (0.1, 0.4), (0.0, 0.4))
    made = Cut(
        "face", "cut", "face", "mill", Radian(0.0), (), Polygon(corners), Metre(0.03), Metre(0.02),
        cutting_speed=MetrePerSecond(80 / 60), feed_rate=MetrePerSecond(0.28 / 60), width=Metre(0.08),
        pass_depth=Metre(0.002), material=STEEL,
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def drill(**changes: object) -> Tool:
    made = Tool(
        "drill", "tools.drill", CutterKind.DRILL, (), None, Metre(0.005), Metre(0.005), teeth=2,
        point_angle=Radian(radians(118)), helix_angle=Radian(radians(30)),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def hole(**changes: object) -> Cut:
    made = Cut(
        "hole", "cut", "drill", "drill", Radian(0.0), ((0.05, 0.4),), None, Metre(0.03), Metre(0.0),
        cutting_speed=MetrePerSecond(1.0), feed_per_turn=Metre(0.2e-3),
        material=CutMaterial("steel", Pascal(2000e6), Ratio(0.25), "shop"),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def test_mean_power_of_milling_is_kc_times_removal_rate() -> None:
    forces = cut_loads(CutInput("s", face_cut(), FRONT, mill()), practice()).forces
    assert forces.power == pytest.approx(1344.0, rel=0.01)
    assert forces.removal_rate == pytest.approx(44.8e-6 / 60, rel=1e-9)


@pytest.mark.parametrize("mc", [0.0, 0.25])
@pytest.mark.parametrize("kappa", [45.0, 90.0])
def test_tooth_sum_is_the_formulas_tooth_by_tooth(mc: float, kappa: float) -> None:
    entering = Radian(radians(kappa))
    milled = Milled(
        Metre(0.003),
        Metre(0.2e-3),
        entering,
        Pascal(1500e6),
        Ratio(mc),
        Ratio(0.4),
        Ratio(0.0),
        1,
        Metre(0.04),
    )
    turn, force, moment = over_a_pitch(milled, Engagement("full", Radian(0.0), Radian(pi)), steps=80)
    for k in range(0, 40, 7):
        h = cutting.milling_chip_thickness(
            feed_per_tooth=Metre(0.2e-3), engagement_angle=Radian(turn[k]), entering_angle=entering
        )
        kc = cutting.specific_cutting_force(Pascal(1500e6), Ratio(mc), thickness=h)
        tangential = kc * 0.003 * h
        assert -moment[k, 2] == pytest.approx(tangential * 0.04)
        outward = 0.4 * tangential * sin(entering)
        assert np.hypot(force[k, 0], force[k, 1]) == pytest.approx(np.hypot(tangential, outward))


def test_a_single_tooth_pushes_the_work_along_its_own_motion() -> None:
    """At 90° the tooth moves against the feed's right-hand side; the work is pushed there and ahead."""
    milled = Milled(
        Metre(0.003),
        Metre(0.2e-3),
        Radian(pi / 4),
        Pascal(1500e6),
        Ratio(0.0),
        Ratio(0.4),
        Ratio(0.0),
        1,
        Metre(0.04),
    )
    turn, force, _ = over_a_pitch(milled, Engagement("full", Radian(0.0), Radian(pi)), steps=80)
    k = int(np.argmin(np.abs(turn - pi / 2)))
    ahead, across, outward = force[k]
    assert ahead > 0.0  # away from the cutter's axis, which follows
    assert across < 0.0  # a right-hand cutter turns clockwise: at the front it moves to the right
    assert outward < 0.0  # a 45° edge presses into the face


def test_engagement_angles() -> None:
    ways = {way.name: way for way in engagements("face", width=Metre(0.04), diameter=Metre(0.08))}
    assert ways["conventional"].leave == pytest.approx(pi / 2)
    assert ways["climb"].entry == pytest.approx(pi / 2)
    assert ways["centred"].leave - ways["centred"].entry == pytest.approx(2 * pi / 6)
    (full,) = engagements("slot", width=Metre(0.08), diameter=Metre(0.08))
    assert full.leave == pytest.approx(pi)
    narrow = engagements("shoulder", width=Metre(0.002), diameter=Metre(0.02))
    assert [way.name for way in narrow] == ["conventional", "climb"]
    assert narrow[0].leave == pytest.approx(acos(0.8))


def test_drilling_pushes_in_and_turns_clockwise() -> None:
    loads = cut_loads(CutInput("s", hole(), FRONT, drill()), practice())
    kc = cutting.specific_cutting_force(
        Pascal(2000e6), Ratio(0.25), thickness=Metre(0.1e-3 * sin(radians(59)))
    )
    assert loads.forces.torque_mean == pytest.approx(kc * 0.2e-3 * 0.01**2 / 8)
    assert loads.forces.thrust == pytest.approx(0.5 * kc * 0.005 * 0.2e-3 * sin(radians(59)))
    row = loads.wrenches[0]
    thrust = 1.4 * loads.forces.thrust
    assert row[:3] == pytest.approx([0.0, 0.0, -thrust])
    assert row[3] == pytest.approx(-0.4 * thrust)  # r × F about the base: y F_z
    assert row[4] == pytest.approx(0.05 * thrust)
    assert row[5] == pytest.approx(-1.4 * loads.forces.torque_mean)


def test_a_through_hole_pulls_at_breakthrough() -> None:
    through = cut_loads(CutInput("s", hole(through=True), FRONT, drill()), practice())
    assert through.wrenches[-1][2] > 0.0
    assert through.forces.pull == pytest.approx(
        2 * through.forces.torque_mean / 0.01 * np.tan(radians(30)), rel=1e-9
    )
    silent = cut_loads(CutInput("s", hole(through=True), FRONT, drill(helix_angle=None)), practice())
    assert silent.forces.pull is None
    assert "tools.drill.helix_angle" in silent.forces.notes[0]


def test_opening_out_needs_less_torque_than_drilling_from_solid() -> None:
    solid = cut_loads(CutInput("s", hole(), FRONT, drill()), practice()).forces
    opened = cut_loads(CutInput("s", hole(start_diameter=Metre(0.006)), FRONT, drill()), practice()).forces
    assert opened.torque_mean == pytest.approx(solid.torque_mean * (1 - 0.36))


def test_tapping_turns_both_ways() -> None:
    tap = replace(drill(), kind=CutterKind.TAP, thread="M10", teeth=3)
    loads = cut_loads(CutInput("s", hole(kind="tap"), FRONT, tap, Metre(1.5e-3)), practice())
    assert 5.0 < loads.forces.torque_mean < 15.0
    assert loads.wrenches[0][5] == pytest.approx(-loads.wrenches[1][5])


def test_boring_sweeps_round() -> None:
    bar = replace(
        drill(), kind=CutterKind.BORING_BAR, teeth=1, entering_angle=Radian(pi / 2), wear_factor=Ratio(1.0)
    )
    loads = cut_loads(CutInput("s", hole(kind="bore", start_diameter=Metre(0.009)), FRONT, bar), practice())
    kc = cutting.specific_cutting_force(Pascal(2000e6), Ratio(0.25), thickness=Metre(0.2e-3))
    assert loads.forces.torque_mean == pytest.approx(kc * 0.5e-3 * 0.2e-3 * 0.00475)
    assert np.hypot(loads.wrenches[:, 0], loads.wrenches[:, 1]) == pytest.approx(
        np.full(8, np.hypot(1.0, 0.6) * kc * 0.5e-3 * 0.2e-3)
    )


def test_an_unstated_feed_direction_is_an_envelope() -> None:
    free = cut_loads(CutInput("s", face_cut(), FRONT, mill()), practice())
    fixed = cut_loads(CutInput("s", face_cut(feed_direction=Radian(0.3)), FRONT, mill()), practice())
    assert np.hypot(*free.wrenches[:, :2].T).max() >= np.hypot(*fixed.wrenches[:, :2].T).max() * (1 - 1e-9)
    assert free.wrenches[:, 1].max() == pytest.approx(-free.wrenches[:, 1].min(), rel=1e-6)


def test_turning_the_view_turns_the_wrench() -> None:
    front = cut_loads(CutInput("s", hole(), FRONT, drill()), practice()).wrenches[0]
    side = cut_loads(
        CutInput("s", hole(), face_frame(Radian(pi / 2), Metre(0.15)), drill()), practice()
    ).wrenches[0]
    assert (side[0], side[1], side[2]) == pytest.approx((front[2], front[1], -front[0]))
    assert (side[3], side[4], side[5]) == pytest.approx((front[5], front[4], -front[3]))


@pytest.mark.parametrize(
    ("cut", "tool", "path"),
    [
        (hole(feed_per_turn=None), drill(), "cut.feed"),
        (hole(material=None), drill(), "cut.material"),
        (hole(), drill(point_angle=None), "tools.drill.point_angle"),
        (hole(), drill(kind=CutterKind.CORE_DRILL), "cut.start_diameter"),
        (hole(), mill(), "cut.tool"),
        (hole(), None, "cut.tool"),
        (hole(kind="tap"), drill(), "cut.tool"),
        (hole(places=()), drill(), "cut.region"),
        (face_cut(feed_rate=None), mill(), "cut.feed"),
        (face_cut(width=None), mill(), "cut.width"),
        (face_cut(width=Metre(0.3)), mill(), "cut.width"),
        (face_cut(), mill(teeth=None), "tools.mill.teeth"),
        (face_cut(), mill(entering_angle=None), "tools.mill.entering_angle"),
        (face_cut(cutting_speed=None), mill(), "cut.speed"),
    ],
)
def test_what_is_missing_is_named(cut: Cut, tool: Tool | None, path: str) -> None:
    with pytest.raises(NotStated) as gap:
        cut_loads(CutInput("s", cut, FRONT, tool), practice())
    assert gap.value.missing[0] == path


def test_speed_is_not_needed_for_force() -> None:
    forces = cut_loads(CutInput("s", hole(cutting_speed=None), FRONT, drill()), practice()).forces
    assert forces.speed is None
    assert forces.speed_missing == "cut.speed"
    assert forces.power is None
    assert columns.square_filled().stations
