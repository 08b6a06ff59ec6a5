"""Joints between plates: what is stated and what is not, each finding broken on purpose and mended."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

import orthostat
from orthostat.analyses.joining.base import shares
from orthostat.base.findings import Finding, Verdict
from orthostat.base.problems import DocumentError

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SCREWS = """
[[joints]]
between = "corners"
how = "screwed"
thread = "M8"
length = 40
grade = "8.8"
count = 5
end_distance = 48
torque = "20 N*m"
thread_friction = 0.12
head_friction = 0.12
"""


def column_with(folder: Path, joints: str, *changes: tuple[str, str]) -> Any:
    """The demo column with other joints and text replaced."""
    (folder / "columns").mkdir(parents=True)
    shop = (EXAMPLES / "saltmarsh" / "shop.toml").read_text("utf-8")
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    text = (EXAMPLES / "saltmarsh" / "columns" / "harbour.toml").read_text("utf-8")
    start = text.index("[[joints]]")
    text = text[:start] + text[text.index("[[studs]]", start) :]
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "columns" / "harbour.toml").write_text(text + joints, encoding="utf-8")
    return orthostat.open_shop(folder).column("harbour")


def finding(folder: Path, slug: str, joints: str, *changes: tuple[str, str]) -> Finding:
    evaluation = column_with(folder, joints, *changes).evaluate()
    found: list[Finding] = [f for f in evaluation.findings(only="joining") if f.slug == slug]
    assert len(found) == 1
    return found[0]


def faults(folder: Path, joints: str, *changes: tuple[str, str]) -> str:
    with pytest.raises(DocumentError) as caught:
        column_with(folder, joints, *changes)
    return "\n".join(problem.sentence() for problem in caught.value.problems)


def test_joints_not_stated_are_unknown_and_draw_no_hole(tmp_path: Path) -> None:
    found = finding(tmp_path / "a", "joining.seams", "")
    rows = {row.subject: row.verdict for row in found.rows}
    assert rows == {"corners": Verdict.UNKNOWN, "base plate": Verdict.HOLDS, "lid": Verdict.HOLDS}
    assert found.worst.depends_on == ("columns.harbour.joints",)
    column = column_with(tmp_path / "b", "").model
    assert not any(body.role.value == "screw" for body in column.bodies)


def test_a_screw_without_its_length_is_named(tmp_path: Path) -> None:
    found = finding(tmp_path, "joining.seams", SCREWS.replace("length = 40\n", ""))
    assert found.worst.verdict is Verdict.UNKNOWN
    assert found.worst.depends_on == ("columns.harbour.joints[0].length",)


def test_studs_that_bear_on_the_base_plate_leave_the_lid_open(tmp_path: Path) -> None:
    found = finding(tmp_path, "joining.seams", SCREWS, ('seat = "top"', 'seat = "base plate"'))
    assert {row.subject for row in found.rows if row.verdict is Verdict.UNKNOWN} == {"base plate", "lid"}


def test_some_faces_joined_are_not_all(tmp_path: Path) -> None:
    found = finding(tmp_path, "joining.seams", SCREWS.replace("how =", "faces = [1, 2]\nhow ="))
    assert found.verdict is Verdict.FAILS
    assert (found.worst.value, found.worst.limit) == (2, 4)
    assert "corner of plate 3 and plate 4" in found.worst.why


def test_a_screw_longer_than_its_thread_bottoms(tmp_path: Path) -> None:
    # 40 mm less 16.2 mm under the head go 23.8 mm in.
    short = finding(tmp_path / "a", "joining.length", f"{SCREWS}thread_depth = 20\n")
    assert short.verdict is Verdict.FAILS
    assert short.worst.value == pytest.approx(0.020 - 0.0238)
    assert finding(tmp_path / "b", "joining.length", f"{SCREWS}thread_depth = 24\n").verdict is Verdict.HOLDS


def test_a_short_screw_strips_before_it_yields(tmp_path: Path) -> None:
    # A 20 mm screw engages 3.8 mm. Stripping: 0.5 of 6082's strength on pi L d (1/2 + (d - d2)/(sqrt 3 P)).
    found = finding(tmp_path, "joining.engagement", SCREWS.replace("length = 40", "length = 20"))
    assert found.verdict is Verdict.FAILS
    assert found.worst.limit == pytest.approx(580e6 * 36.6e-6, rel=1e-3)
    assert "3.80 mm" in found.worst.why


def test_a_big_thread_in_a_thin_edge_leaves_too_little_beside_it(tmp_path: Path) -> None:
    big = SCREWS.replace("M8", "M12").replace("20 N*m", "40 N*m")
    found = finding(tmp_path, "joining.wall", big)
    assert found.verdict is Verdict.FAILS
    assert found.worst.value == pytest.approx(12.5 / 12.0)


def test_a_row_off_the_middle_leaves_less_on_one_side(tmp_path: Path) -> None:
    found = finding(tmp_path, "joining.wall", f"{SCREWS}inset = 10\n")
    assert found.worst.value == pytest.approx(10.0 / 8.0)


def test_a_screw_through_a_face_thread_is_told(tmp_path: Path) -> None:
    # Threads 155 mm beside the middle lie over the row of screws (167.5 mm); one stands 3 mm above a screw.
    near = (
        "pitch = 100, middle = [0, 310] }\n\n[[patterns]]",
        "pitch = [310, 100], middle = [0, 315] }\n\n[[patterns]]",
    )
    found = finding(tmp_path, "joining.clear", SCREWS, near)
    assert found.verdict is Verdict.FAILS
    assert "of face" in found.worst.why


def test_a_head_that_truing_would_meet(tmp_path: Path) -> None:
    shallow = f'{SCREWS}head_below = "0.2 mm"\n'
    found = finding(tmp_path / "a", "joining.head", shallow)
    assert found.verdict is Verdict.FAILS
    assert found.worst.value == pytest.approx(0.0002 - 0.0003)
    assert finding(tmp_path / "b", "joining.head", SCREWS).worst.value == pytest.approx(0.0005)


def test_too_much_torque_and_none(tmp_path: Path) -> None:
    assert finding(tmp_path / "a", "joining.torque", SCREWS).verdict is Verdict.HOLDS
    much = finding(tmp_path / "b", "joining.torque", SCREWS.replace("20 N*m", "40 N*m"))
    assert much.verdict is Verdict.FAILS
    none = finding(tmp_path / "c", "joining.torque", SCREWS.replace('torque = "20 N*m"\n', ""))
    assert none.worst.depends_on == ("columns.harbour.joints[0].torque",)


def test_the_fill_pulls_at_the_lowest_screw(tmp_path: Path) -> None:
    evaluation = column_with(tmp_path, SCREWS).evaluate()
    pull = evaluation.joining.pulls[0]
    form = evaluation.pour.known_form()
    # From the foot to half way between the first two screws (48 and 168 mm), half of the plate's push.
    low = min(0.108, form.head)
    force = 0.5 * form.density * 9.80665 * 0.310 * (form.head**2 - (form.head - low) ** 2) / 2.0
    assert pull.tension == pytest.approx(force)
    assert pull.shear == pytest.approx(force)
    one = SCREWS.replace("count = 5", "count = 1")
    more = column_with(tmp_path / "b", one).evaluate().joining.pulls[0]
    assert more.tension == pytest.approx(0.5 * form.density * 9.80665 * 0.310 * form.head**2 / 2.0)


def test_glue_needs_its_strength(tmp_path: Path) -> None:
    glue = '[[joints]]\nbetween = "corners"\nhow = "glued"\n'
    found = finding(tmp_path / "a", "joining.pour", glue)
    assert found.worst.depends_on == ("columns.harbour.joints[0].strength",)
    assert finding(tmp_path / "b", "joining.pour", f'{glue}strength = "10 MPa"\n').verdict is Verdict.HOLDS
    weak = finding(tmp_path / "c", "joining.pour", f'{glue}strength = "10 kPa"\n')
    assert weak.verdict is Verdict.FAILS


def test_what_does_not_go_together_is_told_at_once(tmp_path: Path) -> None:
    said = faults(
        tmp_path / "a",
        '[[joints]]\nbetween = "corners"\nhow = "glued"\nthread = "M8"\nthroat = 4\n',
    )
    assert "thread" in said
    assert "throat" in said
    assert "does not belong to a joint that is glued" in said
    mitred = faults(tmp_path / "b", SCREWS, ('corners = "butt"', 'corners = "mitred"'))
    assert "a mitre has no edge to screw into square; say welded or glued" in mitred
    twice = faults(tmp_path / "c", f"{SCREWS}spacing = 60\n")
    assert "gives places twice" in twice
    far = faults(tmp_path / "d", SCREWS.replace("end_distance = 48", "end_distance = 300"))
    assert "leaves nothing of corner of plate 1 and plate 2" in far
    nowhere = faults(
        tmp_path / "e",
        SCREWS.replace('"corners"', '"lid"').replace("count = 5\nend_distance = 48", "at = [0, 0]"),
    )
    assert "no wall stands at this place" in nowhere


def test_a_casting_has_no_corners(tmp_path: Path) -> None:
    said = faults(
        tmp_path, SCREWS, ('kind = "filled"', 'kind = "cored"'), ('fill = "mineral casting, shop mix"\n', "")
    )
    assert "this body has no seam of corners" in said


def test_dowels_are_bored_through_one_plate_into_the_other(tmp_path: Path) -> None:
    dowels = SCREWS + (
        '[[joints]]\nbetween = "corners"\nhow = "dowelled"\ndiameter = 8\nlength = 45\nfit = "H7/m6"\n'
        "count = 2\nend_distance = 20\n"
    )
    column = column_with(tmp_path, dowels).model
    first = column.joints[1].joiners[0]
    assert (first.what, first.thread, first.counterbore) == ("dowel", None, None)
    assert first.reach == pytest.approx(0.045 - 0.025)
    assert first.bored.high - first.bored.low == pytest.approx(0.020)


def test_plate_and_screw_fill_the_hole_they_share(tmp_path: Path) -> None:
    bare, joined = (
        column_with(tmp_path / name, text).evaluate() for name, text in (("a", ""), ("b", SCREWS))
    )
    gone = bare.solids.piece("plate 1").volume - joined.solids.piece("plate 1").volume
    # Five recesses 15 x 8.8, five holes 9 x 16.2, five tapping drills 6.8 x 32: a quarter of pi of each.
    wanted = 5 * 0.7853981634 * (0.015**2 * 0.0088 + 0.009**2 * 0.0162 + 0.0068**2 * 0.032)
    assert gone == pytest.approx(wanted)
    assert joined.consistency.clearances[0].gap > -1e-9


def test_screws_are_ordered_and_worked(tmp_path: Path) -> None:
    cost = column_with(tmp_path, SCREWS).evaluate().cost
    (line,) = (each for each in cost.lines if each.name.startswith("socket head screw"))
    assert (line.name, line.quantity, line.spare) == ("socket head screw M8 8.8, 40 mm long", 22, 2)
    works = {each.row.name: each.count for each in cost.works}
    assert works["drive a screw"] == 20
    assert works["counterbore a hole"] == 20
    assert works["tap a hole"] == 20 + 40  # four faces of ten M12 as well


def test_a_group_of_screws_shares_as_statics_says() -> None:
    # Four screws 0.1 m from both axes, 20 mm above the pallet.
    places = np.array([[-0.1, -0.1], [0.1, -0.1], [0.1, 0.1], [-0.1, 0.1]])
    push = np.array([[0.0, 0.0, 800.0, 800.0 * 0.5, 0.0, 0.0]])  # 800 N along z, 0.5 m up
    tension, shear = shares(places, push, 0.02)
    # 800 N at 0.48 m over the seam lift the two at the back: 384 N m / (4 x 0.1 m).
    assert tension[0] == pytest.approx([960.0, 960.0, -960.0, -960.0])
    assert shear[0] == pytest.approx([200.0] * 4)
    lift = np.array([[0.0, 400.0, 0.0, 0.0, 0.0, 0.0]])
    assert shares(places, lift, 0.02)[0][0] == pytest.approx([100.0] * 4)
    aside = places + np.array([0.3, 0.0])  # the same load through the middle of a group that stands elsewhere
    moved = np.array([[0.0, 400.0, 0.0, 0.0, 0.0, 0.3 * 400.0]])
    assert shares(aside, moved, 0.02)[0][0] == pytest.approx([100.0] * 4)
    twist = np.array([[0.0, 0.0, 0.0, 0.0, 40.0, 0.0]])
    assert shares(places, twist, 0.02)[1][0] == pytest.approx([40.0 / (4 * 0.1 * 2**0.5)] * 4)


def test_the_base_seam_is_asked_only_where_no_stud_presses_it(tmp_path: Path) -> None:
    base = SCREWS.replace('"corners"', '"base plate"').replace("count = 5", "count = 1")
    pressed = column_with(tmp_path / "a", SCREWS + base).evaluate()
    assert pressed.borne_at_base == ()
    low = ('seat = "top"', 'seat = "base plate"')
    few = finding(tmp_path / "b", "joining.base", SCREWS + base, low)
    more = finding(tmp_path / "c", "joining.base", SCREWS + base.replace("count = 1", "count = 3"), low)
    assert few.worst.value is not None
    assert more.worst.value is not None
    assert 0.0 < more.worst.value < few.worst.value
    weld = '[[joints]]\nbetween = "base plate"\nhow = "welded"\nthroat = 4\n'
    unknown = finding(tmp_path / "d", "joining.base", SCREWS + weld, low)
    assert unknown.worst.depends_on == ("columns.harbour.joints[1].strength",)
    known = finding(tmp_path / "e", "joining.base", f'{SCREWS}{weld}strength = "150 MPa"\n', low)
    assert known.verdict is Verdict.HOLDS


def test_a_head_over_the_end_of_a_hexagons_plate_is_told(tmp_path: Path) -> None:
    square = finding(tmp_path / "a", "joining.cover", SCREWS)
    # The row lies 12.5 mm from the plate's end, the recess is 15 mm wide.
    assert square.worst.value == pytest.approx(0.0125 - 0.0075)
    hexagon = finding(tmp_path / "b", "joining.cover", SCREWS, ('shape = "square"', 'shape = "hexagon"'))
    assert hexagon.verdict is Verdict.FAILS
    # Half way down its 32 mm hole the axis is 12.5 mm under the next face; 25 mm back out it is 12.5 less.
    assert hexagon.worst.value == pytest.approx((0.0125 - 0.5 * 0.016) - 0.5 * 0.025 - 0.0075)
