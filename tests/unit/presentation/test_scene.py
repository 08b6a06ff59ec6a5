"""The scene stands where the bodies stand, and says once what is alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import cos, hypot, pi

import pytest

from columns import hexagon, slab, square_filled
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Body, Disc, Prism, Role
from orthostat.model.column import Column
from orthostat.presentation.scene import Piece, chords, scene_of

Point = tuple[float, float, float]
MADE = pytest.mark.parametrize("made", [square_filled, slab, hexagon])


def drawn(piece: Piece) -> set[Point]:
    """Every corner of a piece in the column's frame, to a hundredth of a millimetre."""
    a = piece.axes
    return {
        rounded(*(a[9 + k] + x * a[k] + y * a[3 + k] + level * a[6 + k] for k in range(3)))
        for layer in piece.layers
        for level in (layer.low, layer.high)
        for ring in layer.rings
        for x, y in ring
    }


def rounded(x: float, y: float, z: float) -> Point:
    return (round(x, 5) + 0.0, round(y, 5) + 0.0, round(z, 5) + 0.0)


def near(point: Point, points: set[Point]) -> bool:
    return any(max(abs(a - b) for a, b in zip(point, each, strict=True)) < 2.1e-5 for each in points)


def corners(prism: Prism) -> list[Point]:
    """Corners of a prism where its own frame puts them."""
    section = prism.section
    if isinstance(section, Disc):  # a corner of the drawn circle lies on its first axis
        flat = [(section.centre[0] + section.radius, section.centre[1])]
    else:
        flat = [(float(x), float(y)) for x, y in section.points]
    return [rounded(*prism.frame.point(x, y, level)) for x, y in flat for level in (prism.low, prism.high)]


def bodies_of(column: Column) -> list[Body]:
    return [
        *column.platforms,
        *column.bodies,
        *(body for station in column.stations for body in station.bodies),
    ]


@MADE
@pytest.mark.parametrize("turned", [0.0, 0.7])
def test_every_body_of_one_prism_is_drawn_where_it_stands(made: Callable[..., Column], turned: float) -> None:
    column = made(turn=turned)
    pieces = scene_of(column).pieces
    simple = [body for body in bodies_of(column) if len(body.adds) == 1 and not body.cuts]
    assert simple
    for body in simple:
        found: set[Point] = set()
        for piece in pieces:
            if piece.name == body.name and piece.path == body.path:
                found |= drawn(piece)
        assert all(near(corner, found) for corner in corners(body.adds[0])), body.name


@MADE
def test_alike_pieces_hold_one_shape(made: Callable[[], Column]) -> None:
    pieces = scene_of(made()).pieces
    by_value: dict[object, set[int]] = {}
    for piece in pieces:
        by_value.setdefault(piece.layers, set()).add(id(piece.layers))
    assert len(by_value) < len(pieces)
    assert all(len(found) == 1 for found in by_value.values())


@MADE
def test_all_of_it_lies_in_its_sphere(made: Callable[[], Column]) -> None:
    scene = scene_of(made())
    away = [
        sum((a - b) ** 2 for a, b in zip(point, scene.centre, strict=True)) ** 0.5
        for piece in scene.pieces
        for point in drawn(piece)
    ]
    assert max(away) <= scene.radius + 2e-5
    assert max(away) > 0.5 * scene.radius


def test_a_round_hole_along_a_prism_is_taken_out_of_its_outline() -> None:
    column = square_filled()
    plate = next(body for body in column.bodies if body.role is Role.BASE_PLATE)
    first = plate.adds[0]
    hole = Prism(Disc((0.01, 0.02), Metre(0.015)), first.low, first.high, first.frame)
    cut = replace(column, bodies=(replace(plate, adds=(first,), cuts=(hole,)),), stations=(), pallet=None)
    piece = next(each for each in scene_of(cut).pieces if each.path == plate.path)
    (layer,) = piece.layers
    outer, inner = layer.rings
    assert len(inner) == chords(0.015)
    middle = [sum(point[k] for point in inner) / len(inner) for k in range(2)]
    assert all(hypot(x - middle[0], y - middle[1]) == pytest.approx(0.015, abs=2e-6) for x, y in inner)
    a = piece.axes
    world = tuple(a[9 + k] + middle[0] * a[k] + middle[1] * a[3 + k] + layer.low * a[6 + k] for k in range(3))
    assert world == pytest.approx(first.frame.point(0.01, 0.02, first.low), abs=2e-6)
    assert len(outer) >= 3


@pytest.mark.parametrize("radius", [1e-5, 0.003, 0.006, 0.02, 0.05])
def test_circles_are_drawn_round_enough(radius: float) -> None:
    sides = chords(radius)
    assert sides % 4 == 0
    assert 12 <= sides <= 32
    assert sides == 32 or radius * (1.0 - cos(pi / sides)) <= 0.0002


def test_only_what_ends_behind_its_face_is_inside() -> None:
    column = square_filled()
    pieces = scene_of(column).pieces
    inside = [piece for piece in pieces if piece.inside]
    assert {piece.role for piece in inside} == {"anchor"}
    anchor = next(body for body in column.bodies if body.role is Role.ANCHOR)
    bar = anchor.adds[0]
    out = replace(anchor, adds=(replace(bar, high=Metre(0.01)),))
    (piece,) = (each for each in scene_of(replace(column, bodies=(out,))).pieces if each.role == "anchor")
    assert not piece.inside
