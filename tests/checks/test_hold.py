"""The story of a column that slips, and every finding of hold and loads stated, broken and left open."""

from dataclasses import replace
from math import pi, radians
from typing import Any

import pytest

import columns
from orthostat.analyses.hold import Spread
from orthostat.base.dimensions import (
    KelvinDifference,
    Kilogram,
    Metre,
    MetrePerSecond,
    Newton,
    NewtonMetre,
    Pascal,
    Radian,
    RadianPerSecond,
    Ratio,
    Watt,
)
from orthostat.base.findings import Finding, Verdict, known
from orthostat.evaluation import Evaluation
from orthostat.model.bodies import Polygon
from orthostat.model.column import Column, Fastening, Pin, Stud
from orthostat.model.limits import Limits
from orthostat.model.machine import SpindlePoint
from orthostat.model.stations import CutMaterial
from orthostat.model.tools import CutterKind, Tool

LIMITS = Limits(temperature_change=KelvinDifference(8.0), pin_shift=Metre(0.2e-3), strength=Ratio(1.25))
DRILL = Tool(
    "drill20", "tools.drill20", CutterKind.DRILL, (), Metre(0.2), Metre(0.010), Metre(0.010), Metre(0.08), 2,
    point_angle=Radian(radians(140)), helix_angle=Radian(radians(30)), plunges=True,
)  # fmt: skip
STEEL = CutMaterial("steel", Pascal(1700e6), Ratio(0.25), "shop")


def found(column: Column, limits: Limits = LIMITS) -> dict[str, Finding]:
    return {each.slug: each for each in Evaluation(column, limits).findings(quick=True)}


def only(column: Column, subject: str, limits: Limits = LIMITS) -> dict[str, Finding]:
    return {each.slug: each for each in Evaluation(column, limits).findings(only=subject)}


def assembled_of(column: Column) -> Spread:
    return known(Evaluation(column, LIMITS).hold.joints[0].result.preloads[0].assembled)


def drilled(**studs: Any) -> Column:
    """A filled column with a 20 mm hole drilled in steel, 60 mm off the middle of its front face."""
    made = columns.square_filled()
    station = made.stations[0]
    hole = replace(
        station.cuts[1], tool="drill20", places=((0.06, 0.4),), material=STEEL, feed_per_turn=Metre(0.3e-3),
        cutting_speed=MetrePerSecond(1.2), through=True,
    )  # fmt: skip
    fixed = replace(
        station,
        cuts=(hole,),
        screws=tuple(replace(screw, tightening="torque wrench") for screw in station.screws),
    )
    return replace(
        made, tools=(*made.tools, DRILL), stations=(fixed,),
        studs=tuple(replace(stud, **studs) for stud in made.studs),
    )  # fmt: skip


HAND = {"torque": NewtonMetre(25.0), "tightening": "by hand", "scatter": None}
PROPER = {"torque": NewtonMetre(190.0), "tightening": "torque wrench", "scatter": None}


def pin(name: str, x: float, kind: str = "round", **changes: Any) -> Pin:
    made = Pin(
        name, f"pins.{name}", (x, 0.0), Metre(0.012), kind, Radian(pi / 2) if kind == "relieved" else None,
        "H7/m6", "H7/g6", Metre(0.015), Metre(0.015), shear_strength=Pascal(500e6),
    )  # fmt: skip
    return replace(made, **changes)


TWO_PINS = (pin("one", -0.1), pin("two", 0.1, "relieved"))


def test_the_story_of_a_column_that_moved_at_its_first_hole() -> None:
    by_hand = only(drilled(**HAND), "hold")
    assert by_hand["hold.location"].verdict is Verdict.FAILS
    assert by_hand["hold.location"].worst.why == "nothing but friction locates it"
    assert by_hand["hold.slip"].verdict is Verdict.FAILS
    assert "slip" in by_hand["hold.slip"].worst.why

    proper = only(drilled(**PROPER), "hold")
    assert proper["hold.slip"].verdict is Verdict.HOLDS
    assert proper["hold.stud_stress"].verdict in {Verdict.HOLDS, Verdict.TIGHT}
    assert proper["hold.location"].verdict is Verdict.FAILS

    pinned = only(replace(drilled(**PROPER), pins=TWO_PINS), "hold")
    assert pinned["hold.slip"].verdict is Verdict.HOLDS
    assert pinned["hold.location"].verdict is Verdict.HOLDS
    assert {slug: each.worst.why for slug, each in pinned.items() if each.verdict is Verdict.FAILS} == {}


def test_pins_do_not_add_to_friction() -> None:
    bare, pinned = drilled(**HAND), replace(drilled(**HAND), pins=TWO_PINS)
    assert only(bare, "hold")["hold.slip"].worst.value == only(pinned, "hold")["hold.slip"].worst.value


def test_pins_that_are_thin_or_loose_or_double_are_named() -> None:
    thin = tuple(replace(each, diameter=Metre(0.003), length_above=Metre(0.002)) for each in TWO_PINS)
    weak = only(replace(drilled(**PROPER), pins=thin), "hold")
    assert weak["hold.pin_shear"].verdict is Verdict.FAILS
    assert weak["hold.pin_bearing"].verdict is Verdict.FAILS
    loose = tuple(replace(each, fit_above=None, hole_above=Metre(0.0125)) for each in TWO_PINS)
    assert only(replace(drilled(**PROPER), pins=loose), "hold")["hold.pin_shift"].verdict is Verdict.FAILS
    double = only(replace(drilled(**PROPER), pins=(pin("one", -0.1), pin("two", 0.1))), "hold")
    assert double["hold.over_constraint"].verdict is Verdict.FAILS
    assert double["hold.location"].verdict is Verdict.HOLDS
    lone = only(replace(drilled(**PROPER), pins=(pin("one", 0.0),)), "hold")
    assert lone["hold.location"].verdict is Verdict.FAILS
    assert lone["hold.location"].worst.value == 2.0
    unsaid = tuple(replace(each, fit_above=None) for each in TWO_PINS)
    open_ = only(replace(drilled(**PROPER), pins=unsaid), "hold")["hold.pin_shift"]
    assert open_.verdict is Verdict.UNKNOWN
    assert open_.worst.depends_on == ("pins.one.fit_above",)


def test_torque_beyond_the_studs_strength_fails_and_does_not_clamp_more_than_yield() -> None:
    over = only(drilled(**{**PROPER, "torque": NewtonMetre(900.0)}), "hold")
    assert over["hold.stud_stress"].verdict is Verdict.FAILS
    assembled = assembled_of(drilled(**{**PROPER, "torque": NewtonMetre(900.0)}))
    assert assembled.greatest == pytest.approx(640e6 * 156.7e-6, rel=1e-3)


def test_studs_that_do_not_reach_the_pallet_fail_and_clamp_nothing() -> None:
    short = only(drilled(**PROPER, bottom=Metre(0.004)), "hold")
    assert short["hold.engagement"].verdict is Verdict.FAILS
    assert "does not reach" in short["hold.engagement"].worst.why
    assert short["hold.slip"].verdict is Verdict.FAILS


def test_a_stud_whose_engagement_is_not_stated_is_unknown_and_clamps() -> None:
    unsaid = only(drilled(**PROPER, engagement=None, bottom=Metre(0.0)), "hold")
    assert unsaid["hold.engagement"].verdict is Verdict.UNKNOWN
    assert ".engagement" in unsaid["hold.engagement"].worst.why
    assert unsaid["hold.thread_strip"].verdict is Verdict.UNKNOWN
    assert unsaid["hold.slip"].verdict is Verdict.HOLDS


def test_a_stated_preload_got_by_turning_the_nut_twists_the_stud() -> None:
    stated = {**PROPER, "torque": None, "preload": Newton(55e3), "thread_friction": None}
    turned = only(drilled(**stated), "hold")["hold.stud_stress"]
    assert turned.verdict is Verdict.UNKNOWN
    assert "thread_friction" in turned.worst.why
    pulled = only(drilled(**{**stated, "tightening": "hydraulic tensioner"}), "hold")["hold.stud_stress"]
    greatest = 55e3 * 2 * 1.4 / 2.4
    assert pulled.worst.value == pytest.approx(greatest / 156.7e-6, rel=1e-3)


def test_what_is_not_said_of_the_tightening_is_named_at_once() -> None:
    bare = only(drilled(torque=None, preload=None, tightening=None, scatter=None), "hold")["hold.stud_stress"]
    assert {key.rpartition(".")[2] for key in bare.worst.depends_on} == {"torque", "preload", "tightening"}


def test_a_joint_without_a_load_names_what_its_cuts_and_motions_lack() -> None:
    made = drilled(**PROPER)
    assert made.machine is not None
    cuts = tuple(replace(cut, material=None) for cut in made.stations[0].cuts)
    still = replace(made.machine, b_acceleration=None, pallet_moves=None)
    silent = replace(made, machine=still, stations=(replace(made.stations[0], cuts=cuts),))
    for slug in ("hold.slip", "hold.stud_change", "hold.loose_stud"):
        row = only(silent, "hold")[slug].worst
        assert row.why.startswith("no load on this joint is known")
        assert {f"{cuts[0].path}.material", f"{made.machine.path}.b_acceleration"} <= set(row.depends_on)
        assert all(key in row.why for key in row.depends_on)


def test_screws_all_at_one_edge_tip_the_fixture_and_are_not_pulled_without_bound() -> None:
    made = drilled(**PROPER)
    station = made.stations[0]
    assert station.footprint is not None
    edge = min(v for _, v in station.footprint.points) + 0.001
    screws = tuple(replace(screw, at=(screw.at[0], edge)) for screw in station.screws[::2])
    tips = only(replace(made, stations=(replace(station, screws=screws),)), "fixture")
    assert tips["fixture.lift"].verdict is Verdict.FAILS
    assert tips["fixture.thread_strip"].verdict is Verdict.UNKNOWN
    assert "the joint tips" in tips["fixture.thread_strip"].worst.why


def test_a_class_that_does_not_exist_is_named_with_the_nearest() -> None:
    odd = only(drilled(**PROPER, grade="8.9"), "hold")
    assert odd["hold.stud_stress"].verdict is Verdict.UNKNOWN
    assert "8.9" in odd["hold.stud_stress"].worst.why
    assert "8.8" in odd["hold.stud_stress"].worst.why
    assert odd["hold.slip"].verdict is Verdict.HOLDS  # friction and torque do not need the class


def test_a_thread_that_does_not_exist_leaves_the_joint_open() -> None:
    odd = only(drilled(**PROPER, thread="M17"), "hold")
    assert odd["hold.slip"].verdict is Verdict.UNKNOWN
    assert "M17" in odd["hold.slip"].worst.why


def test_three_studs_on_one_line_are_named() -> None:
    made = drilled(**PROPER)
    line = tuple(replace(made.studs[0], name=f"s{k}", at=(0.09 * k, 0.0)) for k in (-1, 0, 1))
    collinear = only(replace(made, studs=line), "hold")
    assert collinear["hold.stud_spread"].verdict is Verdict.FAILS
    assert collinear["hold.stud_spread"].worst.why == "the studs stand on one line"


def test_a_base_of_no_area_leaves_the_joint_open() -> None:
    flat = only(
        replace(drilled(**PROPER), base_contact=(Polygon(((0.0, 0.0), (0.1, 0.0), (0.2, 0.0))),)), "hold"
    )
    assert flat["hold.slip"].verdict is Verdict.UNKNOWN
    assert "no area" in flat["hold.slip"].worst.why
    none = only(replace(drilled(**PROPER), base_contact=()), "hold")
    assert none["hold.slip"].verdict is Verdict.UNKNOWN


def test_a_cut_without_feed_keeps_slip_from_holding() -> None:
    made = drilled(**PROPER)
    cut = replace(made.stations[0].cuts[0], feed_per_turn=None)
    blind = found(replace(made, stations=(replace(made.stations[0], cuts=(cut,)),)))
    assert blind["hold.slip"].verdict is Verdict.UNKNOWN
    assert blind["hold.slip"].worst.depends_on == (f"{cut.path}.feed",)
    assert blind["loads.power"].verdict is Verdict.UNKNOWN
    assert blind["loads.table_torque"].verdict is Verdict.UNKNOWN
    assert blind["hold.stud_stress"].verdict is not Verdict.UNKNOWN


@pytest.mark.parametrize(
    ("field", "key", "slug"),
    [
        ("torque", "torque", "hold.slip"),
        ("tightening", "tightening", "hold.slip"),
        ("thread_friction", "thread_friction", "hold.slip"),
        ("grade", "grade", "hold.stud_stress"),
    ],
)
def test_what_a_stud_does_not_state_is_named(field: str, key: str, slug: str) -> None:
    blind = only(drilled(**{**PROPER, field: None}), "hold")
    assert blind[slug].verdict is Verdict.UNKNOWN
    assert any(path.endswith(f".{key}") for path in blind[slug].worst.depends_on)


def test_temperature_that_is_not_stated_leaves_its_finding_open() -> None:
    blind = only(drilled(**PROPER), "hold", replace(LIMITS, temperature_change=None))
    assert blind["hold.preload_temperature"].verdict is Verdict.UNKNOWN
    assert blind["hold.preload_temperature"].worst.depends_on == ("limits.temperature_change",)
    assert blind["hold.slip"].verdict is Verdict.HOLDS


def test_the_least_friction_governs_and_coolant_counts_unless_it_is_kept_out() -> None:
    made = drilled(**PROPER)
    wet = only(made, "hold")["hold.slip"].worst.value
    dry = only(made, "hold", replace(LIMITS, coolant=False))["hold.slip"].worst.value
    low = only(replace(made, joint_friction=Ratio(0.05)), "hold")["hold.slip"].worst.value
    assert wet is not None
    assert dry is not None
    assert low is not None
    assert dry > 1.5 * wet
    assert low == pytest.approx(0.5 * wet, rel=0.02)


def test_soft_seats_and_short_threads_fail() -> None:
    made = drilled(**PROPER, washer_outside=None, washer_thickness=None)
    assert only(made, "hold")["hold.washer"].verdict is Verdict.FAILS
    short = only(drilled(**PROPER, engagement=Metre(0.004)), "hold")
    assert short["hold.thread_strip"].verdict is Verdict.FAILS


def test_nut_factor_and_stated_preload_are_means() -> None:
    factor = drilled(
        **{
            **PROPER,
            "thread_friction": None,
            "head_friction": None,
            "nut_factor": Ratio(0.2),
            "scatter": Ratio(1.6),
        }
    )
    assembled = assembled_of(factor)
    assert assembled.mean == pytest.approx(190.0 / (0.2 * 0.016))
    assert assembled.greatest / assembled.least == pytest.approx(1.6)
    stated = drilled(**{**PROPER, "torque": None, "preload": Newton(50e3), "scatter": Ratio(1.2)})
    assert assembled_of(stated).mean == pytest.approx(50e3)


def test_the_machine_and_its_clamp() -> None:
    made = drilled(**PROPER)
    assert made.machine is not None
    held = only(made, "loads")
    assert {each.verdict for each in held.values()} == {Verdict.HOLDS}
    weak = replace(
        made,
        machine=replace(
            made.machine,
            b_torque=NewtonMetre(50.0),
            clamp_moment=NewtonMetre(100.0),
            spindle_speed_limit=RadianPerSecond(100.0),
            spindle_curve=(
                SpindlePoint(RadianPerSecond(0.0), NewtonMetre(10.0), Watt(0.0)),
                SpindlePoint(RadianPerSecond(200.0), NewtonMetre(10.0), Watt(1500.0)),
            ),
        ),
    )
    failing = only(weak, "loads")
    assert failing["loads.table_torque"].verdict is Verdict.FAILS
    assert failing["loads.clamp_moment"].verdict is Verdict.FAILS
    assert failing["loads.speed"].verdict is Verdict.FAILS
    slow = replace(weak, machine=replace(weak.machine, spindle_speed_limit=RadianPerSecond(200.0)))  # type: ignore[type-var]
    assert only(slow, "loads")["loads.torque"].verdict is Verdict.FAILS
    assert only(slow, "loads")["loads.power"].verdict is Verdict.FAILS


@pytest.mark.parametrize(
    ("slug", "field", "key"),
    [
        ("loads.table_torque", "b_torque", "b_torque"),
        ("loads.clamp_force", "clamp_force", "clamp_force"),
        ("loads.clamp_moment", "clamp_moment", "clamp_moment"),
        ("loads.speed", "spindle_speed_limit", "spindle_speed_limit"),
        ("loads.power", "spindle_efficiency", "spindle_efficiency"),
    ],
)
def test_a_rating_that_is_not_stated_is_named(slug: str, field: str, key: str) -> None:
    made = drilled(**PROPER)
    blind = only(replace(made, machine=replace(made.machine, **{field: None})), "loads")  # type: ignore[type-var]
    assert blind[slug].verdict is Verdict.UNKNOWN
    assert blind[slug].worst.depends_on == (f"machines.alder.{key}",)


def test_no_machine_leaves_the_loads_open() -> None:
    blind = found(replace(drilled(**PROPER), machine=None))
    assert blind["loads.power"].verdict is Verdict.UNKNOWN
    assert blind["loads.table_torque"].verdict is Verdict.UNKNOWN


def test_a_fixture_can_shift_as_well_as_a_column() -> None:
    made = drilled(**PROPER)
    station = made.stations[0]
    holds = only(made, "fixture")
    assert holds["fixture.slip"].verdict is Verdict.HOLDS
    assert holds["fixture.location"].verdict is Verdict.HOLDS
    loose = tuple(replace(screw, torque=NewtonMetre(2.0)) for screw in station.screws)
    slips = only(replace(made, stations=(replace(station, screws=loose, dowels=()),)), "fixture")
    assert slips["fixture.slip"].verdict is Verdict.FAILS
    assert slips["fixture.location"].verdict is Verdict.FAILS
    over = tuple(replace(screw, torque=NewtonMetre(200.0)) for screw in station.screws)
    assert (
        only(replace(made, stations=(replace(station, screws=over),)), "fixture")[
            "fixture.screw_stress"
        ].verdict
        is Verdict.FAILS
    )
    none = only(replace(made, stations=(replace(station, screws=()),)), "fixture")
    assert none["fixture.slip"].verdict is Verdict.UNKNOWN


def test_weight_uses_up_the_friction_of_a_fixture() -> None:
    """A fixture hangs on its face, so that its weight shears the joint before any cut does."""
    made = drilled(**PROPER)
    joint = next(each for each in Evaluation(made, LIMITS).hold.fixtures)
    steady = joint.result
    assert steady.joint.plane.y == pytest.approx((0.0, 0.0, 1.0))
    station = made.stations[0]
    heavy = tuple(replace(body, mass=Kilogram(900.0)) for body in station.bodies)
    slips = only(replace(made, stations=(replace(station, bodies=heavy),)), "fixture")["fixture.slip"]
    light = only(made, "fixture")["fixture.slip"]
    assert slips.worst.value is not None
    assert light.worst.value is not None
    assert slips.worst.value < 0.5 * light.worst.value


def test_every_joint_of_the_stack_is_asked() -> None:
    """A riser stands on the pallet: the column on the riser and the riser on the pallet are two joints."""
    made = drilled(**PROPER)
    assert made.pallet is not None
    riser = replace(made.pallet, name="riser", path="columns.square.riser", thickness=Metre(0.05), holes=())
    raised = replace(
        made, riser=riser, base_height=Metre(0.05), height=Metre(made.height + 0.05),
        studs=tuple(replace(s, seat=Metre(s.seat + 0.05)) for s in made.studs),
    )  # fmt: skip
    names = {row.subject.split(",")[0] for row in only(raised, "hold")["hold.slip"].rows}
    assert names == {"column on riser", "riser on pallet"}
    own = Fastening("columns.square.riser", studs=(_short(made.studs[0], 0.12), _short(made.studs[1], -0.12)))
    bolted = replace(raised, riser_fastening=own)
    riser_joint = Evaluation(bolted, LIMITS).hold.stack[1]
    assert len(riser_joint.joint.fasteners) == len(made.studs) + 2


def _short(stud: Stud, x: float) -> Stud:
    return replace(stud, name=f"short {x}", at=(x, 0.0), seat=Metre(0.05), seat_on="base plate")


def test_one_stud_set_off_centre_may_lift_sooner() -> None:
    """More clamp in one corner raises the pressure there and leaves the far corner to lift first."""
    made = drilled(**PROPER)
    lifted = only(made, "hold")["hold.lift"].worst.value
    one = replace(made.studs[0], name="extra", at=(-0.13, -0.13))
    added = only(replace(made, studs=(*made.studs, one)), "hold")["hold.lift"].worst.value
    assert lifted is not None
    assert added is not None
    assert added < lifted


def test_studs_take_their_share_of_what_is_brought_in_at_the_nut() -> None:
    """A moment M shared by four corners pulls each with M/(4 a), of which a stud takes Φ."""
    evaluation = Evaluation(drilled(**PROPER), LIMITS)
    result = evaluation.hold.joints[0].result
    stud, clamped = (known(result.preloads[0].stud_resilience), known(result.preloads[0].clamped_resilience))
    cut = evaluation.loads.cuts[0].wrenches
    (x, z), count = result.joint.fasteners[0].at, len(result.joint.fasteners)
    pulled = max(
        abs(row[1]) / count + abs(row[3]) / (count * abs(z)) + abs(row[5]) / (count * abs(x)) for row in cut
    )
    stops = next(each for each in evaluation.loads.handling if each.name == "emergency stop").wrenches
    tilted = max(abs(row[3]) / (count * abs(z)) + abs(row[5]) / (count * abs(x)) for row in stops)
    expected = clamped / (stud + clamped) * max(pulled, tilted)
    assert max(each.greatest for each in known(result.changes)) == pytest.approx(expected, rel=1e-6)


def test_a_fixture_whose_weight_is_not_known_is_open() -> None:
    made = drilled(**PROPER)
    station = made.stations[0]
    vague = tuple(replace(body, material=None, mass=None) for body in station.bodies)
    blind = only(replace(made, stations=(replace(station, bodies=vague, friction=Ratio(0.15)),)), "fixture")
    assert blind["fixture.slip"].verdict is Verdict.UNKNOWN
    assert "weight" in blind["fixture.slip"].worst.why
