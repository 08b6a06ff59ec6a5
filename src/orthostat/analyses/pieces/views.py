"""Views of a piece: the direction it is seen from, its outline from a datum corner, lines and holes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from math import atan2, cos, hypot, pi, sin

import shapely

from orthostat.base.dimensions import Metre
from orthostat.base.frames import Frame, Vector
from orthostat.model.bodies import Body, Disc, Point2, Polygon, Prism

Ring = tuple[Point2, ...]

CHORDS = 64
"""Sides of the polygon that stands for a disc where outlines are put together."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A line of a view that is not its outline; `hidden` ones lie behind."""

    points: Ring
    hidden: bool


@dataclass(frozen=True)
class View:
    """A piece seen along -third of `frame`: x to the right, y up, both from the datum corner [m]."""

    body: Body

    name: str
    """Where it is seen from: `from outside`, `from above`, `from below`, `face 2`."""
    frame: Frame
    """Origin at the datum corner, on the nearest surface; third points to the viewer."""
    outline: tuple[Ring, ...]
    """Closed rings: the silhouette first, then openings through it, without a repeated end."""
    depth: Metre
    """How thick the piece is along the view."""

    @cached_property
    def edges(self) -> tuple[Edge, ...]:
        """Rims of steps seen along their axis, and long edges seen across it, that are not the outline."""
        return _edges(self.body, self.frame, self.outline)

    @property
    def width(self) -> Metre:
        """Extent along x."""
        return Metre(max(p[0] for p in self.outline[0]) - min(p[0] for p in self.outline[0]))

    @property
    def height(self) -> Metre:
        """Extent along y."""
        return Metre(max(p[1] for p in self.outline[0]) - min(p[1] for p in self.outline[0]))

    @property
    def is_rectangle(self) -> bool:
        """Whether the silhouette is an upright rectangle."""
        ring = self.outline[0]
        area = abs(shapely.Polygon(ring).area)
        return len(ring) == 4 and abs(area - self.width * self.height) < 1e-9

    def plane(self, point: Vector) -> Point2:
        """A point of the column frame in the view's plane."""
        return (_along(self.frame, point, 0), _along(self.frame, point, 1))

    def distance(self, point: Vector) -> float:
        """How far a point lies in front of the view's nearest surface [m]."""
        return _along(self.frame, point, 2)


def _along(frame: Frame, point: Vector, axis: int) -> float:
    unit = (frame.first, frame.second, frame.third)[axis]
    return sum((point[i] - frame.origin[i]) * unit[i] for i in range(3))


def looking(direction: Vector) -> Frame:
    """A right-handed frame at the origin whose third axis points at the viewer, y upward on paper.

    Seen from above, the column's front (+z) is toward the bottom of the sheet.
    """
    if abs(direction[1]) > 0.5:
        sign = 1.0 if direction[1] > 0.0 else -1.0
        return Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, -sign), (0.0, sign, 0.0))
    x, _, z = direction
    return Frame((0.0, 0.0, 0.0), (z, 0.0, -x), (0.0, 1.0, 0.0), (x, 0.0, z))


def view_of(body: Body, direction: Vector, name: str, *, along: Vector | None = None) -> View:
    """The view of a body from `direction` (a unit vector toward the viewer).

    `along` is what points to the right on the sheet, where the usual way up will not do.
    """
    frame = looking(direction)
    if along is not None:
        frame = Frame(frame.origin, along, _cross(direction, along), direction)
    return _view(body, frame, name, turns=True)


def _cross(a: Vector, b: Vector) -> Vector:
    return (
        a[1] * b[2] - a[2] * b[1] + 0.0,
        a[2] * b[0] - a[0] * b[2] + 0.0,
        a[0] * b[1] - a[1] * b[0] + 0.0,
    )


def beside(body: Body, main: View, name: str, *, upright: bool) -> View:
    """The view that shows the thickness: an upright plate from above, a lying one from its datum edge."""
    first, second, third = main.frame.first, main.frame.second, main.frame.third
    frame = Frame(
        main.frame.origin,
        first,
        _minus(third) if upright else third,
        second if upright else _minus(second),
    )
    return _view(body, frame, name, turns=False)


def _minus(v: Vector) -> Vector:
    return (0.0 - v[0], 0.0 - v[1], 0.0 - v[2])


def _view(body: Body, flat: Frame, name: str, *, turns: bool) -> View:
    frame = flat
    rings = _rings(_together([_shadow(prism, frame) for prism in body.adds]))
    frame = _from_corner(
        frame, rings[0], turns=turns and any(isinstance(p.section, Polygon) for p in body.adds)
    )
    rings = _rings_in(rings, flat, frame)
    near, far = _depths(body, frame)
    frame = _moved(frame, (0.0, 0.0, near))
    return View(body, name, frame, rings, Metre(near - far))


def _shadow(prism: Prism, frame: Frame) -> shapely.Polygon:
    corners = [prism.frame.point(a, b, c) for a, b in _corners(prism) for c in (prism.low, prism.high)]
    flat = [(_along(frame, p, 0), _along(frame, p, 1)) for p in corners]
    return shapely.convex_hull(shapely.linestrings(flat))


def _together(shapes: Sequence[shapely.Geometry]) -> shapely.Geometry:
    """The shapes as one; rounding leaves no slit between those that touch."""
    if len(shapes) == 1:
        return shapes[0]
    whole = shapely.union_all(shapes)
    return whole.buffer(1e-7, join_style="mitre").buffer(-1e-7, join_style="mitre")


@cache
def _circle() -> tuple[Point2, ...]:
    return tuple((cos(2 * pi * i / CHORDS), sin(2 * pi * i / CHORDS)) for i in range(CHORDS))


def _corners(prism: Prism) -> Sequence[Point2]:
    section = prism.section
    if isinstance(section, Disc):
        (a, b), r = section.centre, section.radius
        return [(a + r * c, b + r * s) for c, s in _circle()]
    return section.points


def _rings(shape: shapely.Geometry) -> tuple[Ring, ...]:
    if isinstance(shape, shapely.MultiPolygon):
        shape = max(shape.geoms, key=lambda part: part.area)
    return tuple(_clean(ring) for ring in (shape.exterior, *shape.interiors))


def _clean(ring: shapely.LinearRing) -> Ring:
    """A ring, counter-clockwise, without points that lie on a line between their neighbours."""
    points = [(float(x), float(y)) for x, y in ring.coords[:-1]]
    if not shapely.LinearRing(points).is_ccw:
        points.reverse()
    kept = []
    for i, (x, y) in enumerate(points):
        (ax, ay), (bx, by) = points[i - 1], points[(i + 1) % len(points)]
        cross = (x - ax) * (by - y) - (y - ay) * (bx - x)
        if abs(cross) > 1e-9 * max(hypot(x - ax, y - ay), hypot(bx - x, by - y), 1e-6):
            kept.append((x, y))
    return tuple(kept)


def _from_corner(frame: Frame, ring: Ring, *, turns: bool) -> Frame:
    """The frame turned and moved so that an edge of the outline lies along x with its left end at 0.

    An outline with a level bottom edge keeps its turn; any other is turned onto its longest edge.
    """
    edges = [(ring[i], ring[(i + 1) % len(ring)]) for i in range(len(ring))]
    low = min(p[1] for p in ring)
    for start, end in edges:
        if abs(start[1] - low) < 1e-7 and abs(end[1] - low) < 1e-7 and end[0] > start[0]:
            return _moved(frame, (start[0], start[1], 0.0))
    if not turns:
        left = min(p[0] for p in ring)
        return _moved(frame, (left, low, 0.0))
    start, end = max(edges, key=lambda e: (round(hypot(e[1][0] - e[0][0], e[1][1] - e[0][1]), 9), -e[0][1]))
    turn = atan2(end[1] - start[1], end[0] - start[0])
    moved = _moved(frame, (start[0], start[1], 0.0))
    c, s = cos(turn), sin(turn)
    first = _sum(moved.first, moved.second, c, s)
    second = _sum(moved.first, moved.second, -s, c)
    return Frame(moved.origin, first, second, moved.third)


def _sum(a: Vector, b: Vector, p: float, q: float) -> Vector:
    return (a[0] * p + b[0] * q, a[1] * p + b[1] * q, a[2] * p + b[2] * q)


def _moved(frame: Frame, by: Vector) -> Frame:
    return Frame(frame.point(*by), frame.first, frame.second, frame.third)


def _rings_in(rings: Iterable[Ring], old: Frame, new: Frame) -> tuple[Ring, ...]:
    def place(p: Point2) -> Point2:
        point = old.point(p[0], p[1], 0.0)
        return (_tidy(_along(new, point, 0)), _tidy(_along(new, point, 1)))

    return tuple(tuple(place(p) for p in ring) for ring in rings)


def _tidy(value: float) -> float:
    rounded = round(value, 10)
    return rounded + 0.0


def _depths(body: Body, frame: Frame) -> tuple[float, float]:
    found = [
        _along(frame, prism.frame.point(a, b, c), 2)
        for prism in body.adds
        for a, b in _corners(prism)
        for c in (prism.low, prism.high)
    ]
    return max(found), min(found)


def _edges(body: Body, frame: Frame, rings: tuple[Ring, ...]) -> tuple[Edge, ...]:
    boundary = shapely.union_all([shapely.LinearRing(ring) for ring in rings]).buffer(1e-6)
    found: dict[tuple[Point2, ...], bool] = {}
    for ring, hidden in (*_rims(body, frame), *_ridges(body, frame)):
        line = shapely.LineString(ring)
        left = line.difference(boundary)
        for part in getattr(left, "geoms", [left]):
            if part.length > 1e-5:
                key = tuple((_tidy(x), _tidy(y)) for x, y in part.coords)
                found[key] = found.get(key, True) and hidden
    return tuple(Edge(points, hidden) for points, hidden in found.items())


def _rims(body: Body, frame: Frame) -> list[tuple[Ring, bool]]:
    """Outlines of prisms seen along their axis; ends that lie in one plane are one surface without a rim."""
    near: dict[float, list[shapely.Geometry]] = {}
    far: dict[float, list[shapely.Geometry]] = {}
    for prism in body.adds:
        if abs(abs(sum(p * q for p, q in zip(prism.frame.third, frame.third, strict=True))) - 1.0) > 1e-9:
            continue
        low, high = sorted(_along(frame, prism.frame.point(0.0, 0.0, c), 2) for c in (prism.low, prism.high))
        near.setdefault(round(high, 8), []).append(_shadow(prism, frame))
        far.setdefault(round(low, 8), []).append(_shadow(prism, frame))
    if len(near) < 2 and len(far) < 2:
        return []
    top, bottom = max(near), min(far)
    planes = [(shapes, high < top - 1e-7) for high, shapes in near.items()]
    planes += [(shapes, True) for low, shapes in far.items() if low > bottom + 1e-7]
    made = []
    for shapes, hidden in planes:
        whole = _together(shapes)
        for part in getattr(whole, "geoms", [whole]):
            for ring in (part.exterior, *part.interiors):
                points = _clean(ring)
                made.append(((*points, points[0]), hidden))
    return made


def _ridges(body: Body, frame: Frame) -> list[tuple[Ring, bool]]:
    """Long edges of polygonal prisms seen across their axis, such as the mitre of a plate.

    One is hidden where its own prism, or another in front of it, covers it.
    """
    across = [
        prism
        for prism in body.adds
        if abs(sum(p * q for p, q in zip(prism.frame.third, frame.third, strict=True))) < 1e-9
        and not isinstance(prism.section, Disc)
    ]
    fronts = [
        (
            max(_along(frame, prism.frame.point(a, b, 0.0), 2) for a, b in _corners(prism)),
            _shadow(prism, frame).buffer(1e-7),
        )
        for prism in across
    ]
    made = []
    for prism, (nearest, _) in zip(across, fronts, strict=True):
        for a, b in _corners(prism):
            ends = [prism.frame.point(a, b, c) for c in (prism.low, prism.high)]
            line = tuple((_along(frame, p, 0), _along(frame, p, 1)) for p in ends)
            depth = _along(frame, ends[0], 2)
            covered = any(
                front > depth + 1e-7 and shadow.covers(shapely.LineString(line)) for front, shadow in fronts
            )
            made.append((line, covered or depth < nearest - 1e-7))
    return made
