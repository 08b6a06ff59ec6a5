"""Mass properties and extents of single bodies and of whole columns."""

from dataclasses import replace
from math import cos, hypot, pi, sin, sqrt

import pytest

import columns
from orthostat.analyses import solids
from orthostat.analyses.solids.extents import prism_extents
from orthostat.base.dimensions import Kilogram, Metre, Radian
from orthostat.base.findings import NotStated
from orthostat.base.frames import PLAN, Frame, face_frame
from orthostat.formulas.polygons import clipped, polygon_moments
from orthostat.model.bodies import Body, Disc, Polygon, Prism, Role
from orthostat.model.column import Column

ALL = (columns.square_filled, columns.slab, columns.hexagon, columns.triangle)
SQUARE = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))


def test_polygon_moments_are_those_of_a_rectangle_in_either_turn() -> None:
    points = ((5.0, 7.0), (8.0, 7.0), (8.0, 9.0), (5.0, 9.0))
    for turned in (points, points[::-1]):
        assert polygon_moments(turned) == pytest.approx((6.0, 6.5, 8.0, 4.5, 2.0, 0.0))


def test_polygon_moments_keep_their_digits_far_from_the_origin() -> None:
    far = tuple((1e6 + a, -1e6 + b) for a, b in SQUARE)
    assert polygon_moments(far).aa == pytest.approx(1 / 12, rel=1e-12)


@pytest.mark.parametrize("points", [((0.0, 0.0), (1.0, 0.0)), ((0.0, 0.0), (1.0, 0.0), (2.0, 0.0))])
def test_polygon_without_area_is_refused(points: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(ValueError, match=r"area|three"):
        polygon_moments(points)


@pytest.mark.parametrize(("shift", "area"), [(0.5, 0.5), (1.0, 0.0), (1.5, 0.0), (0.0, 1.0)])
def test_clipping_keeps_what_both_share(shift: float, area: float) -> None:
    moved = tuple((a + shift, b) for a, b in SQUARE)
    shared = clipped(SQUARE, moved[::-1])
    assert (polygon_moments(shared).area if area else len(set(shared)) > 2) == area


def test_the_groups_are_sums_of_their_pieces() -> None:
    result = solids.solve(solids.inputs_from(columns.square_filled()))
    assert result.fastened.mass == pytest.approx(sum(piece.mass for piece in result.own))
    assert result.loaded.mass == pytest.approx(sum(piece.mass for piece in result.load_pieces))
    for face in result.faces:
        assert result.loaded.mass - face.without.mass == pytest.approx(face.hung.mass)
        assert face.alone.mass - result.bare.mass == pytest.approx(face.hung.mass)


def test_the_pieces_fill_the_outline() -> None:
    """A filled column's volumes add up to its outline's prism less its holes and hollows."""
    column = columns.square_filled()
    result = solids.solve(solids.inputs_from(column))
    hollow = sum(pi * r * r * h for r, h in ((0.062, 0.498), *[(0.009, 0.55)] * 4)) + 4 * 0.018 * pi * (
        4 * 0.0051**2 + 2 * 0.006**2
    )
    lip = 0.25**2 * 0.012
    assert isinstance(column.bodies[5].adds[1].section, Polygon)
    gap = lip - polygon_moments(column.bodies[5].adds[1].section.points).area * 0.012
    assert result.bare.volume == pytest.approx(0.3**2 * 0.55 - hollow - gap, rel=1e-12)


@pytest.mark.parametrize("build", ALL)
def test_turning_by_one_face_changes_no_mass_property(build: object) -> None:
    faces = {"square": 4, "hexagon": 6, "triangle": 3, "slab": 2}
    plain: Column = build()  # type: ignore[operator]
    turned: Column = build(turn=2 * pi / faces[plain.shape])  # type: ignore[operator]
    first, second = (solids.solve(solids.inputs_from(column)) for column in (plain, turned))
    if plain.shape != "triangle":  # its four studs do not repeat every third of a turn
        assert second.loaded.moments == pytest.approx(first.loaded.moments, abs=1e-12)
    assert second.loaded.about_b_axis == pytest.approx(first.loaded.about_b_axis, rel=1e-12)
    assert max(p.extents.radius for p in second.load_pieces) == pytest.approx(
        max(p.extents.radius for p in first.load_pieces), rel=1e-12
    )


def test_turning_by_any_angle_keeps_the_inertia_about_b() -> None:
    plain, turned = (
        solids.solve(solids.inputs_from(columns.square_filled(turn=turn))) for turn in (0.0, 0.37)
    )
    assert turned.loaded.about_b_axis == pytest.approx(plain.loaded.about_b_axis, rel=1e-12)


def test_a_missing_density_is_named_and_the_rest_survives() -> None:
    column = columns.square_filled()
    unknown = replace(columns.FILL, density=None)
    bodies = tuple(
        replace(body, material=unknown if body.role is Role.FILL else body.material) for body in column.bodies
    )
    result = solids.solve(solids.inputs_from(replace(column, bodies=bodies)))
    with pytest.raises(NotStated) as gap:
        _ = result.loaded.mass
    assert gap.value.missing == ("materials.fill.density",)
    assert result.piece("plate 1").mass > 5.0
    assert result.faces[0].hung.mass > 5.0
    assert result.bare.volume > 0.04
    nameless = replace(column, bodies=(replace(bodies[0], material=None),))
    assert solids.solve(solids.inputs_from(nameless)).bare.missing == ("columns.test.plates[0].material",)


def test_a_stated_mass_overrides_density_and_keeps_the_shape() -> None:
    body = Body("block", Role.SOLID, (Prism(Polygon(SQUARE), Metre(0.0), Metre(2.0)),), mass=Kilogram(12.0))
    group = solids.solve(solids.Inputs((body,))).bare
    assert group.mass == 12.0
    assert group.centre == pytest.approx((0.5, 1.0, 0.5))
    assert group.inertia[1][1] == pytest.approx(12.0 * 2.0 / 12.0)


def test_bodies_alike_but_for_their_material_are_told_apart() -> None:
    block = Body("block", Role.SOLID, (Prism(Polygon(SQUARE), Metre(0.0), Metre(2.0)),))
    cast, steel = (replace(block, material=material) for material in (columns.FILL, columns.STEEL))
    assert solids.solve(solids.Inputs((cast, steel))).bare.mass == pytest.approx(2.0 * (2300.0 + 7850.0))
    assert cast == replace(steel, material=columns.FILL)
    assert hash(cast) == hash(replace(steel, material=columns.FILL))


@pytest.mark.parametrize(
    "frame",
    [
        PLAN,
        face_frame(Radian(0.0), Metre(0.2)),
        face_frame(Radian(1.1), Metre(0.2)),
        Frame((0.1, 0.2, 0.3), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0)),
        Frame((0.1, 0.2, 0.3), (0.0, 1.0, 0.0), (0.6, 0.0, 0.8), (0.8, 0.0, -0.6)),
        Frame((0.1, 0.2, 0.3), (0.6, 0.8, 0.0), (-0.8, 0.6, 0.0), (0.0, 0.0, 1.0)),
    ],
)
def test_extents_of_a_cylinder_are_those_of_its_rims(frame: Frame) -> None:
    prism = Prism(Disc((-0.05, 0.02), Metre(0.1)), Metre(-0.3), Metre(0.2), frame)
    turns = [2 * pi * i / 20000 for i in range(20000)]
    rims = [frame.point(0.1 * cos(t) - 0.05, 0.1 * sin(t) + 0.02, end) for t in turns for end in (-0.3, 0.2)]
    xs, ys, zs = zip(*rims, strict=True)
    ends = (min(xs), max(xs), min(ys), max(ys), min(zs), max(zs), max(map(hypot, xs, zs)))
    assert prism_extents(prism) == pytest.approx(ends, abs=1e-8)


def test_radius_of_a_box_on_a_face() -> None:
    frame = face_frame(Radian(0.7), Metre(0.2))
    section = Polygon(((-0.1, 0.0), (0.15, 0.0), (0.15, 0.3), (-0.1, 0.3)))
    assert solids.prism_radius(Prism(section, Metre(0.0), Metre(0.05), frame)) == pytest.approx(
        hypot(0.15, 0.25)
    )


def test_radius_of_an_upright_and_of_a_level_cylinder() -> None:
    upright = Prism(Disc((0.3, 0.4), Metre(0.1)), Metre(0.0), Metre(1.0))
    level = replace(upright, section=Disc((0.3, 0.4), Metre(0.1)), frame=face_frame(Radian(1.1), Metre(0.2)))
    assert solids.prism_radius(upright) == pytest.approx(0.6)
    assert solids.prism_radius(level) == pytest.approx(hypot(0.4, 1.2))


def test_radius_of_a_skew_cylinder_is_the_farthest_of_its_rim() -> None:
    s = sqrt(0.5)
    frame = Frame(
        (0.1, 0.0, 0.2),
        (s, s, 0.0),
        (-0.6 * s, 0.6 * s, 0.529150262),
        (0.374165739, -0.374165739, 0.848528137),
    )
    prism = Prism(Disc((0.05, 0.02), Metre(0.1)), Metre(0.0), Metre(0.3), frame)
    rim = [
        frame.point(0.05 + 0.1 * cos(t), 0.02 + 0.1 * sin(t), end)
        for t in (2 * pi * i / 20000 for i in range(20000))
        for end in (0.0, 0.3)
    ]
    assert solids.prism_radius(prism) == pytest.approx(max(hypot(x, z) for x, _, z in rim), abs=1e-8)


def test_support_and_extents_agree() -> None:
    frame = face_frame(Radian(0.5), Metre(0.2))
    prism = Prism(Disc((0.05, 0.3), Metre(0.04)), Metre(-0.02), Metre(0.06), frame)
    extents = solids.body_extents(Body("boss", Role.PART, (prism,)))
    assert extents.y_low == pytest.approx(0.26)
    assert extents.y_high == pytest.approx(0.34)
    far = max(frame.point(0.05 + du, 0.3, w)[0] for du in (-0.04, 0.04) for w in (-0.02, 0.06))
    assert extents.x_high == pytest.approx(far) == solids.support(prism, (1.0, 0.0, 0.0))
