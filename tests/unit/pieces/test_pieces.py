"""Pieces, views and holes as a person would read them off the document."""

from __future__ import annotations

import importlib
import shutil
from dataclasses import replace
from math import cos, pi, sin
from pathlib import Path

import pytest

import orthostat
from orthostat.analyses import pieces
from orthostat.analyses.pieces import FeatureKind, Pieces
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Disc

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
COLUMNS = [
    ("saltmarsh", "harbour"),
    ("saltmarsh", "groyne"),
    ("saltmarsh", "undertow"),
    ("copperfield", "lintel"),
    ("copperfield", "tern"),
]


def of(shop: str, name: str) -> Pieces:
    column = orthostat.open_shop(EXAMPLES / shop).column(name).model
    return pieces.solve(pieces.inputs_from(column))


def test_the_four_plates_of_a_square_column_are_one_drawing() -> None:
    (plates,) = (part for part in of("saltmarsh", "harbour").parts if part.name == "plates 1 to 4")
    assert plates.count == 4
    # 360 mm across flats less one 25 mm plate at a butt corner; between base (24) and lid (20) of 620.
    assert plates.size == pytest.approx((0.576, 0.335, 0.025))


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_plates_drawn_once_are_those_that_look_alike_when_each_is_drawn(
    shop: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    quick = of(shop, name).parts
    monkeypatch.setattr(
        importlib.import_module("orthostat.analyses.pieces.solve"), "_turned", lambda body, _: body
    )
    slow = of(shop, name).parts
    assert [(part.name, part.size, part.features, part.bodies) for part in quick] == [
        (part.name, part.size, part.features, part.bodies) for part in slow
    ]
    for one, other in zip(quick, slow, strict=True):
        assert [(view.outline, view.edges) for view in one.views] == [
            (view.outline, view.edges) for view in other.views
        ]


def test_a_plate_with_inserts_is_a_drawing_of_its_own() -> None:
    column = orthostat.open_shop(EXAMPLES / "saltmarsh").column("harbour").model
    lined = tuple(
        replace(pattern, holes=tuple(replace(hole, insert_diameter=Metre(0.016)) for hole in pattern.holes))
        if pattern.face == 2 and pattern.holes[0].thread is not None
        else pattern
        for pattern in column.patterns
    )
    parts = pieces.solve(pieces.inputs_from(replace(column, patterns=lined))).parts
    assert [part.name for part in parts if "plate" in part.name] == [
        "base plate",
        "plates 1, 3, 4",
        "plate 2",
    ]


def test_holes_stand_where_the_pattern_puts_them() -> None:
    (plates,) = (part for part in of("saltmarsh", "harbour").parts if part.name == "plates 1 to 4")
    tapped = [hole for hole in plates.holes if hole.purpose.thread == "M12"]
    # The document: 2 across, 5 up, pitch 100, middle [0, 310] from the pallet; the plate starts at 24 up
    # and its datum corner is 155 left of the face's middle (the butt joint takes the other corner).
    wanted = {(0.155 + u, 0.310 + v - 0.024) for u in (-0.05, 0.05) for v in (-0.2, -0.1, 0.0, 0.1, 0.2)}
    assert {(round(x, 9), round(y, 9)) for x, y in (hole.at for hole in tapped)} == {
        (round(x, 9), round(y, 9)) for x, y in wanted
    }
    assert {hole.purpose.thread for hole in tapped} == {"M12"}
    assert {round(hole.depth, 9) for hole in tapped} == {0.020}


def test_screws_of_the_corners_are_holes_in_both_plates() -> None:
    (plates,) = (part for part in of("saltmarsh", "harbour").parts if part.name == "plates 1 to 4")
    views = {
        view.name: [hole for hole in holes if hole.purpose.thread == "M8"]
        for view, holes in zip(plates.views, plates.features, strict=True)
    }
    sunk, tapped = views["from outside"], views["left edge"]
    # Five along 576 mm, 48 mm from the ends; the row lies over the middle of the next plate's 25 mm edge.
    ups = [0.048 + k * 0.480 / 4 for k in range(5)]
    assert [hole.at for hole in sunk] == [pytest.approx((0.335 - 0.0125, up)) for up in ups]
    assert [hole.at for hole in tapped] == [pytest.approx((up, 0.0125)) for up in ups]
    assert {(hole.diameter, hole.purpose.recess, hole.through) for hole in sunk} == {(0.009, 0.015, True)}
    # Head 8 mm, 0.5 mm below the face after 0.3 mm of truing: 16.2 mm of the plate stay under it.
    assert [hole.purpose.recess_depth for hole in sunk] == pytest.approx([0.0088] * 5)
    # 40 mm less 16.2 mm reach 23.8 mm in; a pitch more is tapped and five are drilled beyond, by half mm.
    assert [hole.purpose.thread_depth for hole in tapped] == pytest.approx([0.0255] * 5)
    assert [hole.depth for hole in tapped] == pytest.approx([0.032] * 5)


def test_the_row_at_a_corner_that_is_not_square_moves_with_the_screw(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / "saltmarsh", tmp_path / "shop")
    harbour = tmp_path / "shop" / "columns" / "harbour.toml"
    text = harbour.read_text("utf-8").replace('shape = "square"', 'shape = "hexagon"')
    harbour.write_text(text, encoding="utf-8")
    column = orthostat.open_shop(tmp_path / "shop").column("harbour").model
    (joint,) = column.joints
    assert len(joint.joiners) == 30
    first = joint.joiners[0]
    # The screw leans 30 degrees toward the inner side: half way down its 32 mm it is in the plate's middle.
    bored = first.bored
    assert isinstance(bored.section, Disc)
    u, v = bored.section.centre
    point = bored.frame.point(u, v, 0.5 * (bored.low + bored.high))
    normal = (sin(pi / 3.0), cos(pi / 3.0))
    assert point[0] * normal[0] + point[2] * normal[1] == pytest.approx(0.180 - 0.0125)


def test_pin_bores_are_seen_from_below_and_clearance_holes_from_above() -> None:
    base = of("saltmarsh", "harbour").parts[0]
    names = {
        view.name: [f.kind for f in holes] for view, holes in zip(base.views, base.features, strict=True)
    }
    assert names["from above"] == [FeatureKind.CLEARANCE] * 4
    assert names["from below"] == [FeatureKind.PIN_BORE] * 2
    assert {hole.purpose.fit for hole in base.features[1]} == {"H7"}


def test_a_casting_has_a_view_of_each_face() -> None:
    (casting,) = of("saltmarsh", "groyne").parts
    faces = [
        view.name for view, holes in zip(casting.views, casting.features, strict=True) if len(holes) == 15
    ]
    assert faces == [f"face {k}" for k in range(1, 7)]


def test_mitred_plates_show_their_narrow_side_as_hidden_lines() -> None:
    plates = next(part for part in of("copperfield", "tern").parts if part.count == 3)
    front = plates.views[0]
    # Triangle: each corner is cut back by thickness / tan 30 degrees on the inside.
    back = 0.01905 * 3**0.5
    inner = sorted(edge.points[0][0] for edge in front.edges)
    assert inner == pytest.approx([back, front.width - back], abs=1e-8)
    assert all(edge.hidden for edge in front.edges)


def test_a_hole_on_a_seam_runs_out_of_both_pieces(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / "copperfield", tmp_path / "shop")
    lintel = tmp_path / "shop" / "columns" / "lintel.toml"
    # Two threads 3 in apart on an end: on the seams with the plates beside it.
    seams = "grid = { across = 2, up = 4, pitch = [3, 4],"
    text = lintel.read_text("utf-8").replace("grid = { up = 4, pitch = 4,", seams)
    lintel.write_text(text, encoding="utf-8")
    column = orthostat.open_shop(tmp_path / "shop").column("lintel").model
    parts = pieces.solve(pieces.inputs_from(column)).parts
    edges = [hole.edge for part in parts for hole in part.holes if part.name.startswith("plate")]
    assert min(edges) < 0.0


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_every_round_cut_of_a_drawn_piece_is_one_hole(shop: str, name: str) -> None:
    for part in of(shop, name).drawn:
        cuts = part.bodies[0].cuts
        holes = [hole for hole in part.holes if hole.kind is not FeatureKind.ANCHOR]
        # A counterbored hole is one hole, cut in two widths.
        recesses = [hole for hole in holes if hole.purpose.recess is not None]
        assert len(holes) + len(recesses) == len(cuts), part.name


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_labels_are_said_once_a_piece(shop: str, name: str) -> None:
    for part in of(shop, name).drawn:
        labels = [hole.label for holes in part.features for hole in holes]
        assert len(set(labels)) == len(labels), part.name


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_the_datum_is_a_corner_of_the_outline(shop: str, name: str) -> None:
    for part in of(shop, name).drawn:
        for view in part.views:
            assert min(abs(x) + abs(y) for x, y in view.outline[0]) < 1e-9, (part.name, view.name)


def cored(tmp_path: Path, closed: str) -> pieces.Part:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text('[units]\nlength = "mm"\n', encoding="utf-8")
    (tmp_path / "columns" / "c.toml").write_text(
        'height = 700\nplan = { shape = "square", across_flats = 400 }\n'
        f'body = {{ kind = "cored", material = "grey iron", plate = 40{closed} }}\n'
        'patterns = [{ faces = 1, thread = "M12", depth = 20, at = [0, 350] }]\n',
        encoding="utf-8",
    )
    column = orthostat.open_shop(tmp_path).column("c").model
    (part,) = pieces.solve(pieces.inputs_from(column)).parts
    return part


def test_the_walls_of_a_casting_have_no_seams_and_a_flush_floor_is_no_step(tmp_path: Path) -> None:
    casting = cored(tmp_path, ", floor = 45, roof = 30")
    front = next(view for view in casting.views if view.name == "face 1")
    assert {round(x, 6) for edge in front.edges for x, _ in edge.points} == {0.04, 0.36}
    assert all(edge.hidden for view in casting.views for edge in view.edges)


def test_the_core_of_a_casting_is_seen_through_its_open_foot(tmp_path: Path) -> None:
    casting = cored(tmp_path, "")
    below = next(view for view in casting.views if view.name in ("from below", "from above"))
    assert len(below.outline) == 2
    assert not [edge for edge in below.edges if not edge.hidden]
