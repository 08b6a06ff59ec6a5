"""Findings of fit: each limit stated and broken, each limit missing, known numbers by hand."""

from dataclasses import replace
from math import atan, hypot, pi, radians
from typing import Any

import pytest

import columns
from evaluations import Limits, findings, rules
from orthostat.base.dimensions import Kilogram, KilogramSquareMetre, Metre, NewtonMetre, Radian
from orthostat.base.findings import Finding, Verdict
from orthostat.model.bodies import Polygon, Role
from orthostat.model.column import Column
from orthostat.model.machine import PalletHole

SQUARE = columns.square_filled()
MACHINE = columns.machine()
FOUND = findings(SQUARE)


def with_machine(column: Column = SQUARE, /, **changes: Any) -> Column:
    return replace(column, machine=replace(MACHINE, **changes))


def test_a_sound_column_fails_nothing() -> None:
    assert {slug for slug, found in FOUND.items() if found.verdict is not Verdict.HOLDS} == set()
    assert set(rules()) == set(FOUND)


@pytest.mark.parametrize(
    ("slug", "field", "key"),
    [
        ("fit.swing", "swing_diameter", "swing"),
        ("fit.height", "height_limit", "height"),
        ("fit.load", "load_limit", "load"),
        ("fit.inertia", "inertia_limit", "inertia"),
        ("fit.eccentric_moment", "eccentric_limit", "eccentric_moment"),
        ("fit.tool_clear_of_swing", "nose_far", "nose_to_b"),
        ("fit.changer", "changer_envelope", "changer"),
        ("fit.changer_height", "changer_height", "changer.height"),
        ("fit.door", "door_width", "door.width"),
        ("fit.door_height", "door_height", "door.height"),
        ("fit.index_step", "b_step", "b_step"),
        ("fit.travel", "x_low", "x"),
        ("fit.travel", "y_high", "spindle_height"),
        ("fit.travel", "nose_near", "nose_to_b"),
    ],
)
def test_a_limit_that_is_not_stated_is_named(slug: str, field: str, key: str) -> None:
    found = findings(with_machine(**{field: None}))[slug]
    assert found.verdict is Verdict.UNKNOWN
    assert found.worst.depends_on == (f"machines.alder.{key}",)


def test_no_machine_leaves_every_machine_question_open() -> None:
    found = findings(replace(SQUARE, machine=None))
    asked = {slug for slug in found if slug.startswith("fit.") and "pallet" not in slug}
    assert {found[slug].verdict for slug in asked} == {Verdict.UNKNOWN}
    assert found["fit.swing"].worst.depends_on == ("columns.square.machine",)


def test_swing_names_the_body_and_its_face() -> None:
    """A part 108 mm wide whose front stands 210 mm from B."""
    worst = FOUND["fit.swing"].worst
    assert worst.value == pytest.approx(2 * hypot(0.054, 0.21))
    assert worst.why.endswith("s0 part, face 1")
    found = findings(with_machine(swing_diameter=Metre(0.43)))["fit.swing"]
    assert found.verdict is Verdict.FAILS
    assert len(found.rows) == 4


def test_swing_margin_is_continuous_through_the_limit() -> None:
    value = FOUND["fit.swing"].worst.value
    assert value is not None
    margins = [
        findings(with_machine(swing_diameter=Metre(value + step)))["fit.swing"].margin
        for step in (-1e-6, 0.0, 1e-6)
    ]
    assert margins == pytest.approx([-1e-6 / value, 0.0, 1e-6 / value], rel=1e-4, abs=1e-12)


def test_load_counts_the_pallet_only_when_the_rating_does() -> None:
    without = FOUND["fit.load"].worst.value
    with_pallet = findings(with_machine(load_includes_pallet=True))["fit.load"].worst.value
    assert without is not None
    assert with_pallet == pytest.approx(without + 7200.0 * 0.4 * 0.4 * 0.08)


def unknown_fill(column: Column) -> Column:
    stone = replace(columns.FILL, density=None)
    bodies = (replace(b, material=stone) if b.role is Role.FILL else b for b in column.bodies)
    return replace(column, bodies=tuple(bodies))


def test_an_unknown_density_leaves_load_and_inertia_open_but_not_swing() -> None:
    found = findings(unknown_fill(SQUARE))
    for slug in ("fit.load", "fit.inertia", "fit.eccentric_moment", "handling.tip_over_bench"):
        assert found[slug].verdict is Verdict.UNKNOWN
        assert "materials.fill.density" in found[slug].worst.depends_on
    assert found["fit.swing"].verdict is Verdict.HOLDS
    assert found["handling.piece_mass"].verdict is Verdict.HOLDS


def test_a_load_too_heavy_without_its_unknown_part_fails() -> None:
    found = findings(with_machine(unknown_fill(SQUARE), load_limit=Kilogram(60.0)))["fit.load"]
    assert found.verdict is Verdict.FAILS
    assert "materials.fill.density" in found.worst.why


def test_inertia_has_a_row_for_every_half_loaded_case() -> None:
    found = findings(with_machine(inertia_limit=KilogramSquareMetre(3.3)))["fit.inertia"]
    assert [row.verdict for row in found.rows].count(Verdict.FAILS) == 1
    assert found.worst.subject == "loaded"
    assert {row.subject for row in found.rows} >= {f"face {k} empty" for k in (1, 2, 3, 4)}


def test_eccentric_moment_of_one_empty_face() -> None:
    """One station off: block 0.18 × 0.22 × 0.03 of steel, part 0.108 × 0.1 × 0.03 of aluminium."""
    block, part = 7850.0 * 0.18 * 0.22 * 0.03, 2700.0 * 0.108 * 0.1 * 0.03
    expected = 9.80665 * (block * 0.165 + part * 0.195)
    found = FOUND["fit.eccentric_moment"]
    half = [row.value for row in found.rows if "face" in row.subject]
    assert half == pytest.approx([expected] * 4)
    full = next(row for row in found.rows if row.subject == "loaded")
    assert full.value == pytest.approx(0.0, abs=1e-9)
    tight = findings(with_machine(eccentric_limit=NewtonMetre(0.9 * expected)))["fit.eccentric_moment"]
    assert tight.margin == pytest.approx(1.0 - 1.0 / 0.9)


def test_the_longest_tool_sets_the_clearance_while_indexing() -> None:
    assert FOUND["fit.tool_clear_of_swing"].worst.subject == "mill20"
    assert FOUND["fit.tool_clear_of_swing"].worst.value == pytest.approx(0.78 - 0.17)
    found = findings(with_machine(nose_far=Metre(0.38)))["fit.tool_clear_of_swing"]
    assert {row.subject for row in found.rows if row.verdict is Verdict.FAILS} == {"mill20"}
    unknown = replace(SQUARE.tools[0], gauge_length=None)
    half = findings(replace(SQUARE, tools=(unknown, *SQUARE.tools[1:])))["fit.tool_clear_of_swing"]
    assert half.verdict is Verdict.UNKNOWN
    assert half.worst.depends_on == ("tools.mill80.gauge_length",)
    none = findings(replace(SQUARE, tools=()))["fit.tool_clear_of_swing"]
    assert none.worst.depends_on == ("tools",)


def test_changer_envelope_says_the_side_and_the_body() -> None:
    narrow = Polygon(((-0.4, -0.35), (0.2, -0.35), (0.2, 0.35), (-0.4, 0.35)))
    found = findings(with_machine(changer_envelope=narrow))["fit.changer"]
    assert (found.verdict, found.worst.subject) == (Verdict.FAILS, "side 2")
    assert found.worst.value == pytest.approx(0.21)
    assert "s1 part" in found.worst.why


def test_the_changer_is_asked_where_b_stands() -> None:
    """A room 422 mm deep takes a load of 420 × 420 mm at B 0° and 90°, not its corners at 45°."""
    room = Polygon(((-0.45, -0.211), (0.45, -0.211), (0.45, 0.211), (-0.45, 0.211)))

    def asked(*degrees: float, **more: Any) -> Finding:
        stops = tuple(Radian(radians(b)) for b in degrees) or None
        return findings(with_machine(changer_envelope=room, changer_b=stops, **more))["fit.changer"]

    assert asked(0.0, 90.0, 180.0).verdict is Verdict.TIGHT
    beyond = asked(0.0, 45.0)
    assert beyond.verdict is Verdict.FAILS
    assert "at B 45" in beyond.worst.why
    assert (beyond.worst.value, beyond.worst.limit) == pytest.approx((0.15 * 2**0.5, 0.211))
    assert "at B -45" in asked(45.0, b_positive_clockwise=False).worst.why
    open_ = asked()
    assert (open_.verdict, open_.worst.depends_on) == (Verdict.UNKNOWN, ("machines.alder.changer.b",))
    wide = Polygon(((-0.45, -0.45), (0.45, -0.45), (0.45, 0.45), (-0.45, 0.45)))
    every = findings(with_machine(changer_envelope=wide, changer_b=None))["fit.changer"]
    assert every.verdict is Verdict.HOLDS
    assert every.worst.value == pytest.approx(hypot(0.054, 0.21))


def test_b_turns_the_load_clockwise_from_above() -> None:
    """What sticks out toward +Z at B 0° points toward -X at 90° (ISO 841: X = x cos B - z sin B)."""
    column = replace(SQUARE, stations=tuple(s for s in SQUARE.stations if s.face == 1))
    tight = Polygon(((-0.3, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.3, 0.2)))
    found = {
        b: findings(
            replace(column, machine=replace(MACHINE, changer_envelope=tight, changer_b=(Radian(radians(b)),)))
        )["fit.changer"].worst
        for b in (0.0, 90.0, 270.0)
    }
    assert (found[0.0].subject, found[0.0].verdict) == ("side 3", Verdict.FAILS)
    assert found[90.0].verdict is not Verdict.FAILS
    assert (found[270.0].subject, found[270.0].verdict) == ("side 2", Verdict.FAILS)


def test_door_takes_the_wider_side_twice() -> None:
    assert FOUND["fit.door"].worst.value == pytest.approx(0.42)


def test_travel_for_a_hole_and_for_a_mill() -> None:
    """The mill of flat radius 40 mm may stop short of a region's end by that; a drill may not."""
    found = findings(with_machine(x_low=Metre(-0.1), x_high=Metre(0.015)))["fit.travel"]
    by_name = {row.subject: row for row in found.rows}
    assert by_name["station s0, hole"].value == pytest.approx(0.015 - 0.020)
    assert by_name["station s0, hole"].verdict is Verdict.FAILS
    assert by_name["station s0, skim"].verdict is Verdict.HOLDS
    assert "high end of X" in by_name["station s0, hole"].why


def test_travel_in_z_counts_the_tool_and_the_depth() -> None:
    """Drill tip at 0.15 + 0.035 from B with a 160 mm tool: the nose comes to 345 mm."""
    found = findings(with_machine(nose_near=Metre(0.35)))["fit.travel"]
    worst = {row.subject: row for row in found.rows}["station s0, hole"]
    assert worst.value == pytest.approx(0.345 - 0.35)
    assert "low end of Z" in worst.why


def test_a_turned_cut_is_measured_from_the_b_axis() -> None:
    station = SQUARE.stations[0]
    side = replace(station.cuts[1], turn=Radian(pi / 2), top=Metre(0.09), bottom=Metre(0.05))
    turned = replace(SQUARE, stations=(replace(station, cuts=(side,)), *SQUARE.stations[1:]))
    found = findings(replace(turned, machine=replace(MACHINE, nose_near=Metre(0.25))))["fit.travel"]
    row = next(row for row in found.rows if row.subject == "station s0, hole")
    assert row.value == pytest.approx(0.05 + 0.16 - 0.25)
    assert "B 90°" in row.why


def test_the_sense_of_b_changes_only_what_is_reported() -> None:
    other = findings(with_machine(b_positive_clockwise=False))["fit.travel"]
    assert [row.value for row in other.rows] == [row.value for row in FOUND["fit.travel"].rows]
    assert any("B 270°" in row.why for row in other.rows)


def test_an_unknown_tool_is_named() -> None:
    station = SQUARE.stations[0]
    lost = replace(station.cuts[0], tool="mill99")
    found = findings(replace(SQUARE, stations=(replace(station, cuts=(lost,)),)))["fit.travel"]
    assert found.verdict is Verdict.UNKNOWN
    assert {path for row in found.rows for path in row.depends_on} >= {
        "tools.mill99",
        "tools.mill99.gauge_length",
    }


@pytest.mark.parametrize(
    ("step", "verdict"),
    [
        (radians(1.0), Verdict.HOLDS),
        (radians(5.0), Verdict.HOLDS),
        (0.0, Verdict.HOLDS),
        (radians(50), Verdict.FAILS),
    ],
)
def test_index_step(step: float, verdict: Verdict) -> None:
    assert findings(with_machine(b_step=Radian(step)))["fit.index_step"].verdict is verdict


def test_a_seven_sided_column_cannot_index_by_whole_degrees() -> None:
    faces = tuple(replace(face, angle=k * 2 * pi / 7) for k, face in enumerate(SQUARE.faces))
    found = findings(replace(SQUARE, faces=faces))["fit.index_step"]
    assert found.verdict is Verdict.FAILS
    assert len(found.rows) == 3


def moved_stud(dx: float) -> Column:
    stud = SQUARE.studs[0]
    moved = replace(stud, at=(stud.at[0] + dx, stud.at[1]))
    return replace(SQUARE, studs=(moved, *SQUARE.studs[1:]))


def test_a_stud_off_its_hole_by_more_than_the_tolerance_fails() -> None:
    assert findings(moved_stud(0.4e-3))["fit.pallet_holes"].verdict is Verdict.HOLDS
    found = findings(moved_stud(2e-3))["fit.pallet_holes"]
    assert found.verdict is Verdict.FAILS
    assert found.worst.value == pytest.approx(2e-3)
    assert found.worst.subject == "stud 1"


def test_the_margin_of_a_place_is_the_share_of_the_tolerance_left() -> None:
    """0.4 of 0.5 mm used up; beyond it, counted in the 9 mm radius of the stud's own hole in the plate."""
    margins = [findings(moved_stud(by))["fit.pallet_holes"].margin for by in (0.0, 0.4e-3, 5.0e-3)]
    assert margins == pytest.approx([1.0, 0.2, -0.5])
    close = [findings(moved_stud(0.5e-3 + step))["fit.pallet_holes"].margin for step in (-1e-9, 1e-9)]
    assert close == pytest.approx([0.0, 0.0], abs=1e-5)


def test_without_a_tolerance_only_exact_or_hopeless_places_are_known() -> None:
    none = Limits(hole_tolerance=None)
    exact = findings(SQUARE, none)["fit.pallet_holes"]
    assert exact.verdict is Verdict.HOLDS
    assert exact.margin == pytest.approx(1.0, abs=1e-6)
    near = findings(moved_stud(1e-3), none)["fit.pallet_holes"]
    assert (near.verdict, near.worst.depends_on) == (Verdict.UNKNOWN, ("limits.hole_tolerance",))
    assert findings(moved_stud(0.02), none)["fit.pallet_holes"].verdict is Verdict.FAILS


def test_a_thread_the_pallet_has_not_fails() -> None:
    studs = tuple(replace(stud, thread="M20") for stud in SQUARE.studs)
    found = findings(replace(SQUARE, studs=studs))["fit.pallet_holes"]
    assert found.verdict is Verdict.FAILS
    assert "M20" in found.worst.why


def test_a_thread_may_be_written_with_or_without_its_coarse_pitch() -> None:
    for text, verdict in (("M16x2", Verdict.HOLDS), ("m16 × 2", Verdict.HOLDS), ("M16x1.5", Verdict.FAILS)):
        studs = tuple(replace(stud, thread=text) for stud in SQUARE.studs)
        assert findings(replace(SQUARE, studs=studs))["fit.pallet_holes"].verdict is verdict


def test_a_pallet_whose_holes_are_not_described_is_unknown() -> None:
    assert SQUARE.pallet is not None
    bare = replace(SQUARE.pallet, holes=(), holes_stated=False)
    found = findings(replace(SQUARE, pallet=bare))["fit.pallet_holes"]
    assert found.worst.depends_on == ("pallets.square.holes",)
    empty = replace(bare, holes_stated=True)
    assert findings(replace(SQUARE, pallet=empty))["fit.pallet_holes"].verdict is Verdict.FAILS


def test_a_t_slot_takes_a_stud_anywhere_along_it() -> None:
    assert SQUARE.pallet is not None
    slots = tuple(
        PalletHole(
            (0.0, z), "slot", direction=(1.0, 0.0), width=Metre(0.018), length=Metre(0.36), depth=Metre(0.03)
        )
        for z in (-0.1, 0.1)
    )
    slotted = replace(SQUARE.pallet, holes=slots)
    assert findings(replace(SQUARE, pallet=slotted))["fit.pallet_holes"].verdict is Verdict.HOLDS
    short = replace(slotted, holes=tuple(replace(slot, length=Metre(0.18)) for slot in slots))
    found = findings(replace(SQUARE, pallet=short))["fit.pallet_holes"]
    assert found.worst.value == pytest.approx(0.01)
    thin = replace(slotted, holes=tuple(replace(slot, width=Metre(0.014)) for slot in slots))
    assert "no hole fits" in findings(replace(SQUARE, pallet=thin))["fit.pallet_holes"].worst.why


def test_pins_want_a_bore_of_their_size_and_fit() -> None:
    slab = columns.slab()
    assert findings(slab)["fit.pallet_holes"].verdict is Verdict.HOLDS
    for change in ({"diameter": Metre(0.010)}, {"fit_below": "G7/m6"}):
        pins = (replace(slab.pins[0], **change), *slab.pins[1:])
        assert findings(replace(slab, pins=pins))["fit.pallet_holes"].worst.subject == "pin 1"


def test_a_stud_longer_than_the_hole_is_deep_fails() -> None:
    stud = replace(SQUARE.studs[0], bottom=Metre(-0.035))
    found = findings(replace(SQUARE, studs=(stud,)))["fit.pallet_hole_depth"]
    assert found.margin == pytest.approx(1.0 - 0.035 / 0.030)


def test_tipping_angle_by_hand() -> None:
    """A slab's solid iron: 130 mm from the middle to the flange's edge."""
    slab = columns.slab()
    found = findings(slab)["handling.tip_over_bench"]
    bare = next(row for row in found.rows if row.subject == "the bare column")
    plate, flange = 0.3 * 0.1 * 0.47, 0.36 * 0.26 * 0.03
    height = (plate * 0.265 + flange * 0.015) / (plate + flange)
    assert bare.value == pytest.approx(atan(0.13 / height), rel=2e-3)  # the holes are left out by hand


def test_a_narrow_column_tips_and_the_shop_may_want_more() -> None:
    tall = columns.square_filled(height=1.2, across=0.22)
    bare = findings(tall)["handling.tip_over_bench"]
    assert bare.worst.value is not None
    assert bare.worst.value < radians(12)
    assert findings(tall)["handling.tip_over_transport"].verdict is Verdict.FAILS
    unknown = findings(tall, Limits(transport_tilt=None))["handling.tip_over_transport"]
    assert unknown.worst.depends_on == ("limits.transport_tilt",)


def test_pieces_to_lift_are_counted_together() -> None:
    rows = {row.subject: row.value for row in FOUND["handling.piece_mass"].rows}
    assert rows["base plate"] == pytest.approx(7850.0 * 0.02 * (0.09 - 4 * pi * 0.009**2))
    assert "s0 block (4 alike)" in rows
    assert "fill" not in rows
    assert findings(columns.slab())["handling.piece_mass"].worst.subject == "slab"
    assert findings(columns.hexagon())["handling.piece_mass"].worst.subject == "the casting"
    unknown = findings(SQUARE, Limits(hand_lift=None))["handling.piece_mass"]
    assert unknown.worst.depends_on == ("limits.hand_lift",)


def test_six_lines_answer_what_they_can() -> None:
    """Plan and height alone: swing and height are known, mass is not, and nothing passes by silence."""
    bare = replace(
        SQUARE, bodies=(), shape_of_body=None, studs=(), tubes=(), anchors=(), patterns=(), stations=(),
        platforms=(), base_contact=(),
    )  # fmt: skip
    found = findings(bare)
    assert found["fit.swing"].worst.value == pytest.approx(2 * hypot(0.15, 0.15))
    assert found["fit.height"].worst.value == pytest.approx(0.55)
    for slug in ("fit.load", "fit.inertia", "fit.eccentric_moment", "handling.tip_over_bench"):
        assert found[slug].verdict is Verdict.UNKNOWN
        assert "columns.square.body" in found[slug].worst.depends_on
