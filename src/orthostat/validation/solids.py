"""Mass properties against closed forms, a general-purpose mesh library and a shop's rule of thumb."""

from __future__ import annotations

from math import cos, pi, sin, sqrt, tan
from typing import Any

from orthostat.analyses.solids import Inputs, Moments, body_moments, prism_moments, solve
from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, Radian
from orthostat.base.frames import PLAN, Frame, face_frame
from orthostat.formulas.polygons import polygon_moments
from orthostat.model.bodies import Body, Disc, Polygon, Prism, Role
from orthostat.model.materials import Material
from orthostat.validation.cases import case

_EXACT = "a closed form: only rounding differs"


def _regular(sides: int, circumradius: float) -> Polygon:
    step = 2.0 * pi / sides
    return Polygon(tuple((circumradius * sin(k * step), circumradius * cos(k * step)) for k in range(sides)))


def _prism(section: Disc | Polygon, height: float, frame: Frame = PLAN) -> Prism:
    return Prism(section, Metre(0.0), Metre(height), frame)


@case(
    "solid cylinder, axis upright: I about its axis = m r²/2",
    expected=0.5 * 2.0 * 0.3**2,
    unit="kg*m^2",
    source="meriam-kraige-2012, table D/4, circular cylinder",
    reason=_EXACT,
    relative=1e-12,
)
def _solid_cylinder() -> float:
    moments = prism_moments(_prism(Disc((0.0, 0.0), Metre(0.3)), 0.7))
    return moments.times(2.0 / moments.total).about_b_axis


@case(
    "solid cylinder lying across a face: I about a diameter = m (3r² + h²)/12, by the parallel axis",
    expected=2.0 * (3.0 * 0.3**2 + 0.7**2) / 12.0 + 2.0 * 0.75**2,
    unit="kg*m^2",
    source="meriam-kraige-2012, table D/4, circular cylinder",
    reason=_EXACT,
    relative=1e-12,
)
def _lying_cylinder() -> float:
    frame = face_frame(Radian(0.6), Metre(0.4))
    moments = prism_moments(_prism(Disc((0.0, 0.2), Metre(0.3)), 0.7, frame))
    return moments.times(2.0 / moments.total).about_b_axis


@case(
    "hollow cylinder: I about its axis = m (R² + r²)/2",
    expected=0.5 * 2.0 * (0.3**2 + 0.2**2),
    unit="kg*m^2",
    source="meriam-kraige-2012, table D/4, hollow cylinder",
    reason=_EXACT,
    relative=1e-12,
)
def _hollow_cylinder() -> float:
    def tube(radius: float) -> Prism:
        return _prism(Disc((0.0, 0.0), Metre(radius)), 0.7)

    moments = body_moments(Body("tube", Role.SLEEVE, (tube(0.3),), (tube(0.2),)))
    return moments.times(2.0 / moments.total).about_b_axis


@case(
    "rectangular prism: I about the upright through its centre = m (a² + b²)/12",
    expected=2.0 * (0.4**2 + 0.3**2) / 12.0,
    unit="kg*m^2",
    source="meriam-kraige-2012, table D/4, rectangular parallelepiped",
    reason=_EXACT,
    relative=1e-12,
)
def _rectangular_prism() -> float:
    moments = _off_axis_box()
    return moments.times(2.0 / moments.total).inertia[1][1]


@case(
    "rectangular prism: I about a level axis through its centre = m (b² + h²)/12",
    expected=2.0 * (0.3**2 + 0.7**2) / 12.0,
    unit="kg*m^2",
    source="meriam-kraige-2012, table D/4, rectangular parallelepiped",
    reason=_EXACT,
    relative=1e-12,
)
def _rectangular_prism_level() -> float:
    moments = _off_axis_box()
    return moments.times(2.0 / moments.total).inertia[0][0]


def _off_axis_box() -> Moments:
    corners = ((1.0, 2.0), (1.4, 2.0), (1.4, 2.3), (1.0, 2.3))
    return prism_moments(_prism(Polygon(corners), 0.7))


@case(
    "triangle: second moment about the centroid, base parallel = b h³/36",
    expected=0.3 * 0.2**3 / 36.0,
    unit="m^4",
    source="roark-2012, table A.1, triangle; from memory",
    reason=_EXACT,
    relative=1e-12,
)
def _triangle() -> float:
    return polygon_moments(((1.0, 1.0), (1.3, 1.0), (1.1, 1.2))).bb


@case(
    "square with its corners cut off at 45°: second moment = a⁴/12 less four triangles",
    expected=0.3**4 / 12.0 - 4.0 * (0.05**4 / 36.0 + 0.5 * 0.05**2 * (0.15 - 0.05 / 3.0) ** 2),
    unit="m^4",
    source="roark-2012, table A.1, rectangle and triangle with the parallel-axis theorem; from memory",
    reason=_EXACT,
    relative=1e-12,
)
def _corner_cut_square() -> float:
    half, cut = 0.15, 0.05
    quarter = ((half, half - cut), (half - cut, half))
    points: list[tuple[float, float]] = []
    for _ in range(4):
        points.extend(quarter)
        quarter = tuple((-q, p) for p, q in quarter)  # type: ignore[assignment]
    return polygon_moments(points).aa


def _regular_second_moment(sides: int, circumradius: float) -> float:
    """A (6R² - s²)/24 with side s and area A."""
    side = 2.0 * circumradius * sin(pi / sides)
    area = 0.25 * sides * side**2 / tan(pi / sides)
    return area * (6.0 * circumradius**2 - side**2) / 24.0


@case(
    "regular hexagon: second moment about any axis in its plane = A (6R² - s²)/24",
    expected=_regular_second_moment(6, 0.2),
    unit="m^4",
    source="roark-2012, table A.1, regular polygon; from memory",
    reason=_EXACT,
    relative=1e-12,
)
def _hexagon() -> float:
    return polygon_moments(_regular(6, 0.2).points).aa


@case(
    "regular octagon: second moment about any axis in its plane = A (6R² - s²)/24",
    expected=_regular_second_moment(8, 0.2),
    unit="m^4",
    source="roark-2012, table A.1, regular polygon; from memory",
    reason=_EXACT,
    relative=1e-12,
)
def _octagon() -> float:
    return polygon_moments(_regular(8, 0.2).points).bb


_SHAPES = {
    "slab": Polygon(((-0.2, -0.06), (0.2, -0.06), (0.2, 0.06), (-0.2, 0.06))),
    "triangle": _regular(3, 0.2),
    "square": _regular(4, 0.2),
    "hexagon": _regular(6, 0.2),
}


def _mesh(prism: Prism) -> Any:
    import numpy as np
    import trimesh

    assert isinstance(prism.section, Polygon)
    corners = [prism.frame.point(a, b, c) for a, b in prism.section.points for c in (prism.low, prism.high)]
    return trimesh.convex.convex_hull(np.array(corners))


def _hollow(name: str) -> tuple[Prism, Prism]:
    """A prism of the shape leaning out of every axis, and its core at 0.7 of the size."""
    frame = face_frame(Radian(0.4), Metre(0.25))
    outer = _SHAPES[name].points
    inner = Polygon(tuple((0.7 * a, 0.7 * b) for a, b in outer))
    return _prism(Polygon(outer), 0.5, frame), _prism(inner, 0.5, frame)


def _declare(name: str) -> None:
    @case(
        f"{name} ring against a mesh library: volume, ratio",
        expected=1.0,
        unit="1",
        source="trimesh, convex hulls, outer less inner",
        reason="a plane-faced solid: only rounding differs",
        relative=1e-9,
        needs="trimesh",
    )
    def _volume() -> float:
        outer, inner = _hollow(name)
        ours = body_moments(Body(name, Role.PLATE, (outer,), (inner,))).total
        return ours / float(_mesh(outer).volume - _mesh(inner).volume)

    @case(
        f"{name} ring against a mesh library: largest error of the inertia tensor, share of its trace",
        expected=0.0,
        unit="1",
        source="trimesh, convex hulls, outer less inner",
        reason="a plane-faced solid: only rounding differs",
        tolerance=1e-9,
        needs="trimesh",
    )
    def _inertia() -> float:
        outer, inner = _hollow(name)
        ours = body_moments(Body(name, Role.PLATE, (outer,), (inner,))).inertia
        theirs = _mesh(outer).moment_inertia - _mesh(inner).moment_inertia
        error = max(abs(ours[i][j] - theirs[i][j]) for i in range(3) for j in range(3))
        return float(error / sum(ours[i][i] for i in range(3)))


for _name in _SHAPES:
    _declare(_name)


@case(
    "square column, 350 mm across, 660 mm tall, 25 mm aluminium plates, mineral fill, wide void tube: mass",
    expected=170.0,
    unit="kg",
    source="common practice, no source",
    reason="shops that build them say 160 to 180 kg",
    tolerance=10.0,
)
def _common_practice() -> float:
    plate = Material("aluminium", KilogramPerCubicMetre(2700.0))
    stone = Material("mineral casting", KilogramPerCubicMetre(2300.0))
    outer, inner = _regular(4, 0.175 * sqrt(2.0)), _regular(4, 0.150 * sqrt(2.0))

    def between(section: Disc | Polygon, low: float, high: float) -> Prism:
        return Prism(section, Metre(low), Metre(high))

    walls = Body("walls", Role.PLATE, (between(outer, 0.025, 0.635),), (between(inner, 0.025, 0.635),), plate)
    ends = Body(
        "base and lid", Role.LID, (between(outer, 0.0, 0.025), between(outer, 0.635, 0.66)), (), plate
    )
    tube = between(Disc((0.0, 0.0), Metre(0.08)), 0.025, 0.635)
    fill = Body("fill", Role.FILL, (between(inner, 0.025, 0.635),), (tube,), stone)
    return solve(Inputs((walls, ends, fill))).bare.mass
