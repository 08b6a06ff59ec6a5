"""Findings of body consistency: each rule broken on purpose in a sound column."""

from dataclasses import replace
from math import sqrt

import pytest

import columns
from evaluations import findings
from orthostat.base.dimensions import Metre
from orthostat.base.findings import Verdict
from orthostat.model.bodies import Body, Disc, Hole, Polygon, Prism, Role
from orthostat.model.column import Column

SQUARE = columns.square_filled()


def with_body(name: str, **changes: object) -> Column:
    bodies = tuple(replace(b, **changes) if b.name == name else b for b in SQUARE.bodies)  # type: ignore[arg-type]
    return replace(SQUARE, bodies=bodies)


@pytest.mark.parametrize("build", [columns.square_filled, columns.slab, columns.hexagon, columns.triangle])
@pytest.mark.parametrize("turn", [0.0, 0.3, 1.0])
def test_sound_columns_have_no_clash_at_any_turn(build: object, turn: float) -> None:
    found = findings(build(turn=turn))  # type: ignore[operator]
    body = [one for slug, one in found.items() if slug.startswith("body.")]
    assert len(body) >= 5
    assert {one.verdict for one in body} == {Verdict.HOLDS}


def test_a_tube_wider_than_the_cavity() -> None:
    wide = replace(SQUARE.tubes[0], outside=Metre(0.26))
    found = findings(replace(SQUARE, tubes=(wide,)))["body.void_in_cavity"]
    assert found.worst.value == pytest.approx(-0.005)
    square = replace(
        wide, outside=None, outline=Polygon(((-0.1, -0.1), (0.1, -0.1), (0.1, 0.1), (-0.1, 0.1)))
    )
    assert findings(replace(SQUARE, tubes=(square,)))["body.void_in_cavity"].worst.value == pytest.approx(
        0.025
    )


def test_a_tube_through_a_plate_clashes_by_its_depth() -> None:
    tube = Prism(Disc((0.09, 0.0), Metre(0.065)), Metre(0.02), Metre(0.5))
    found = findings(with_body("tube", adds=(tube,)))["body.clash"]
    assert found.verdict is Verdict.FAILS
    clashing = {row.subject: row.value for row in found.rows}
    assert clashing["plate 2 and tube"] == pytest.approx(-(0.09 + 0.065 - 0.125))


def test_a_stud_off_the_middle_of_its_sleeve_fails_by_what_it_lacks() -> None:
    """Sleeve bore 18 mm, stud 16 mm: 1 mm of room; 1.5 mm off leaves -0.5 mm."""
    at = (SQUARE.studs[0].at[0] + 1.5e-3, SQUARE.studs[0].at[1])
    stud = next(b for b in SQUARE.bodies if b.name == "stud 1")
    moved = replace(stud.adds[0], section=Disc(at, Metre(0.008)))
    found = findings(with_body("stud 1", adds=(moved,)))["body.clash"]
    rows = {row.subject: row.value for row in found.rows}
    assert rows["sleeve of stud 1 and stud 1"] == pytest.approx(-0.5e-3)
    near = replace(stud.adds[0], section=Disc((at[0] - 1e-3, at[1]), Metre(0.008)))
    still = {row.subject for row in findings(with_body("stud 1", adds=(near,)))["body.clash"].rows}
    assert still == {"stud 1 and nut of stud 1"}


def test_a_stud_outside_its_plate() -> None:
    stud = replace(SQUARE.studs[0], at=(0.14, 0.0))
    found = findings(replace(SQUARE, studs=(stud,)))["body.stud_in_plate"]
    assert found.worst.value == pytest.approx(0.15 - 0.14 - 0.017)
    assert found.worst.subject == "washer of stud 1"
    floating = replace(stud, seat=Metre(0.3))
    assert "none at its seat" in findings(replace(SQUARE, studs=(floating,)))["body.stud_in_plate"].worst.why


def test_a_stud_on_a_cleat_drawn_on_its_face() -> None:
    """The cleat is a block swept outward from a face; its top is where the stud bears."""
    face = next(b for b in SQUARE.stations[0].bodies).adds[0].frame
    block = Polygon(((-0.03, 0.0), (0.03, 0.0), (0.03, 0.02), (-0.03, 0.02)))
    cleat = Body("cleat", Role.CLEAT, (Prism(block, Metre(0.0), Metre(0.04), face),), (), columns.STEEL)
    stud = replace(SQUARE.studs[0], at=(0.0, 0.17), seat=Metre(0.02))
    column = replace(SQUARE, bodies=(*SQUARE.bodies, cleat), studs=(stud,))
    found = findings(column)["body.stud_in_plate"]
    assert found.worst.value == pytest.approx(0.020 - 0.017)


def test_a_sleeve_through_an_anchor() -> None:
    anchor = replace(SQUARE.anchors[0], at=(0.09, 0.2))
    found = findings(replace(SQUARE, anchors=(anchor,)))["body.sleeve_clear"]
    assert found.verdict is Verdict.FAILS
    assert "anchor of face 1" in found.worst.why
    assert found.worst.value == pytest.approx(-(0.014 + 0.010 - 0.010), abs=1e-6)


def test_a_sleeve_against_the_wall() -> None:
    stud = replace(SQUARE.studs[0], at=(-0.115, -0.1))
    found = findings(replace(SQUARE, studs=(stud,)))["body.sleeve_clear"]
    assert found.worst.value == pytest.approx(0.125 - 0.115 - 0.014)


def test_a_stud_beside_the_walls_is_not_judged_by_the_cavity() -> None:
    """Its nut bears on a cleat; half a stud inside the wall still is judged."""
    at = SQUARE.studs[0].at[0], -(0.5 * 0.3 + 0.02)
    assert SQUARE.faces[2].distance == pytest.approx(0.15)
    beside = replace(SQUARE, studs=(replace(SQUARE.studs[0], at=at),))
    assert "body.sleeve_clear" not in findings(beside)
    half = replace(SQUARE, studs=(replace(SQUARE.studs[0], at=(at[0], -0.15)),))
    assert findings(half)["body.sleeve_clear"].worst.value == pytest.approx(0.125 - 0.15 - 0.014)


def test_a_thread_that_breaks_into_the_fill() -> None:
    pattern = SQUARE.patterns[0]
    deep = replace(pattern.holes[0], depth=Metre(0.027))
    found = findings(replace(SQUARE, patterns=(replace(pattern, holes=(deep,)),)))["body.thread_depth"]
    assert (found.verdict, found.worst.subject) == (Verdict.FAILS, "face 1")
    assert found.margin == pytest.approx(-0.002 / 0.025)
    insert = replace(deep, depth=Metre(0.02), insert_length=Metre(0.026))
    assert (
        findings(replace(SQUARE, patterns=(replace(pattern, holes=(insert,)),)))["body.thread_depth"].verdict
        is Verdict.FAILS
    )


def test_a_thread_that_meets_a_sleeve_or_its_neighbour() -> None:
    pattern = SQUARE.patterns[0]
    deep = Hole((0.1, 0.2), "M12", Metre(0.0102), Metre(0.045))
    found = findings(replace(SQUARE, patterns=(replace(pattern, holes=(deep,)),)))["body.hole_clear"]
    assert "sleeve of stud" in found.worst.why
    assert found.worst.value == pytest.approx(-(0.045 - (0.15 - 0.1 - 0.014)), abs=1e-6)
    close = Hole((0.009, 0.2), "M12", Metre(0.0102), Metre(0.018))
    pair = (replace(close, at=(0.0, 0.2)), close)
    touching = findings(replace(SQUARE, patterns=(replace(pattern, holes=pair),)))["body.hole_clear"]
    assert touching.worst.value == pytest.approx(0.009 - 0.0102)


def test_holes_of_two_faces_that_meet_in_the_corner() -> None:
    first, second = SQUARE.patterns[:2]
    corner = Hole((0.14, 0.2), "M12", Metre(0.0102), Metre(0.018))
    other = replace(corner, at=(-0.14, 0.2))
    patterns = (replace(first, holes=(corner,)), replace(second, holes=(other,)))
    found = findings(replace(SQUARE, patterns=patterns))["body.hole_clear"]
    assert found.verdict is Verdict.FAILS
    assert "of face 2" in found.worst.why


def test_a_station_beyond_the_top_of_the_column_hangs_in_the_air() -> None:
    station, top = SQUARE.stations[0], SQUARE.faces[0].v_high
    assert station.footprint is not None
    assert findings(SQUARE)["body.station_on_face"].verdict is Verdict.HOLDS
    v_middle = sum(v for _, v in station.footprint.points) / 4

    def risen(by: float) -> Column:
        foot = Polygon(tuple((u, v + by) for u, v in station.footprint.points))  # type: ignore[union-attr]
        bare = replace(station, footprint=foot, screws=(), dowels=())
        return replace(SQUARE, stations=(bare,))

    reaching = findings(risen(top - v_middle - 0.01))["body.station_on_face"]
    assert reaching.verdict is Verdict.HOLDS
    assert reaching.worst.value == pytest.approx(0.01)
    above = findings(risen(top - v_middle + 0.01))["body.station_on_face"]
    assert above.verdict is Verdict.FAILS
    assert above.worst.value == pytest.approx(-0.01)
    screw = replace(station.screws[0], at=(SQUARE.faces[0].u_high + 0.002, v_middle))
    found = findings(replace(SQUARE, stations=(replace(station, screws=(screw,)),)))["body.station_on_face"]
    assert (found.verdict, found.worst.subject) == (Verdict.FAILS, "screw 1 of s0")


def test_screws_and_dowels_that_miss_the_pattern() -> None:
    station = SQUARE.stations[0]
    screw = replace(station.screws[0], at=(station.screws[0].at[0] + 2e-3, station.screws[0].at[1]))
    found = findings(replace(SQUARE, stations=(replace(station, screws=(screw,)),)))["body.fixture_holes"]
    assert (found.verdict, found.worst.subject) == (Verdict.FAILS, "station s0, screw 1")
    wrong = replace(station.screws[0], thread="M10")
    other = findings(replace(SQUARE, stations=(replace(station, screws=(wrong,)),)))["body.fixture_holes"]
    assert "M10" in other.worst.why
    dowel = replace(station.dowels[0], diameter=Metre(0.010))
    third = findings(replace(SQUARE, stations=(replace(station, dowels=(dowel,)),)))["body.fixture_holes"]
    assert third.worst.subject == "station s0, dowel 1"
    bare = findings(replace(SQUARE, patterns=()))["body.fixture_holes"]
    assert (bare.verdict, bare.worst.depends_on) == (Verdict.UNKNOWN, ("columns.square.patterns",))


def test_a_screw_longer_than_its_hole() -> None:
    station = SQUARE.stations[0]
    long = replace(station.screws[0], engagement=Metre(0.02))
    found = findings(replace(SQUARE, stations=(replace(station, screws=(long,)),)))["body.fixture_hole_depth"]
    assert found.margin == pytest.approx(1.0 - 0.020 / 0.018)


def test_two_stations_in_the_same_place() -> None:
    copy = replace(SQUARE.stations[0], name="again")
    found = findings(replace(SQUARE, stations=(*SQUARE.stations, copy)))["body.station_overlap"]
    assert found.verdict is Verdict.FAILS
    assert found.worst.value == pytest.approx(-0.03)
    assert len(found.rows) == 2


def test_a_fixture_sunk_into_its_face() -> None:
    station = SQUARE.stations[0]
    block = station.bodies[0]
    sunk = replace(block, adds=(replace(block.adds[0], low=Metre(-0.002)),))
    found = findings(replace(SQUARE, stations=(replace(station, bodies=(sunk,)),)))["body.station_clash"]
    assert {row.subject: row.value for row in found.rows} == {"plate 1 and s0 block": pytest.approx(-0.002)}


def test_a_lip_too_large_for_the_cavity() -> None:
    lid = next(b for b in SQUARE.bodies if b.role is Role.LID)
    half = 0.126
    lip = replace(lid.adds[1], section=Polygon(((-half, -half), (half, -half), (half, half), (-half, half))))
    found = findings(with_body("lid", adds=(lid.adds[0], lip)))["body.lip"]
    assert found.worst.value == pytest.approx(-0.001)


def test_a_foot_beyond_the_pallet() -> None:
    wide = Polygon(((-0.21, -0.1), (0.21, -0.1), (0.21, 0.1), (-0.21, 0.1)))
    found = findings(replace(SQUARE, base_contact=(wide,)))["body.foot_on_pallet"]
    assert found.worst.value == pytest.approx(-0.01)
    assert SQUARE.pallet is not None
    disc = replace(SQUARE.pallet, outline=None, radius=Metre(0.2))
    found = findings(replace(SQUARE, pallet=disc))["body.foot_on_pallet"]
    assert found.worst.value == pytest.approx(0.2 - 0.15 * sqrt(2.0))
    unknown = findings(replace(SQUARE, pallet=replace(disc, radius=None)))["body.foot_on_pallet"]
    assert unknown.verdict is Verdict.UNKNOWN


def test_a_stud_without_a_sleeve_is_asked_of_by_its_hole() -> None:
    bare = tuple(replace(stud, sleeve_outside=None, sleeve_inside=None) for stud in SQUARE.studs)
    assert findings(replace(SQUARE, studs=bare))["body.sleeve_clear"].worst.subject.startswith("hole of")
    assert findings(SQUARE)["body.sleeve_clear"].worst.subject.startswith("sleeve of")
