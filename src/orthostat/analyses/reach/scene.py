"""The scene as named convex solids in the column frame, and how it looks from the spindle at an angle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from math import acos, ceil, cos, pi, sin, sqrt

import numpy as np
import shapely
from numpy.typing import NDArray

from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import turned
from orthostat.model.bodies import STATION_ROLES, Body, Disc, Point2, Prism, Role, Section

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Mask = NDArray[np.bool_]
Objects = NDArray[np.object_]

EMPTY = shapely.Polygon()
_SAME = 1.0 - 1e-12
"""Cosine from which two directions are the same but for rounding."""
TOUCH = 1e-9
"""Overlap [m] below which two things touch and do not cross: rounding, not engineering."""


@dataclass(frozen=True, slots=True)
class Solid:
    """A convex prism with its owner's name; `holes` run right through it along its own axis."""

    name: str
    role: Role
    face: int | None
    station: str | None
    prism: Prism
    holes: tuple[Section, ...] = ()
    path: str = ""


@dataclass(frozen=True)
class Scene:
    """Everything a tool could hit, in the column frame. Hashed once: scenes are compared often."""

    solids: tuple[Solid, ...]
    chord: Metre
    """Largest distance from a circle to the polygon drawn around it [m]."""

    @cached_property
    def _digest(self) -> int:
        return hash((self.solids, self.chord))

    def __hash__(self) -> int:
        return self._digest


@dataclass(frozen=True)
class Nameless(Scene):
    """A scene as it is seen from one side, to the picometre: alike faces of a column have equal ones."""

    blocks: tuple[bytes, ...] = ()
    """Vertices of each solid in the view (n, 3), in an order that hangs on nothing but them."""
    along: tuple[bool, ...] = ()

    @cached_property
    def _digest(self) -> int:
        return hash((self.blocks, self.along, self.chord))

    def __hash__(self) -> int:
        return self._digest


@dataclass(frozen=True, eq=False)
class View:
    """The scene turned by an angle: vertices in machine X, Y, Z [m], Z from the B axis to the spindle.

    `points` has shape (p, 3); solid k owns rows `first[k]:first[k + 1]`, the lower ring then the
    upper ring of its prism. `low`, `high` have shape (k, 3).
    """

    scene: Scene
    across: tuple[float, float]
    """Parts of column x and z in machine X."""
    points: Array
    first: Indices
    low: Array
    high: Array
    along: Mask
    """Whether the prism's axis is parallel to the spindle, shape (k,): its holes are then seen."""
    holed: Mask
    """Whether there are any, shape (k,)."""
    outlines: Objects
    """Projection of each whole solid on XY, shape (k,)."""


def solids_of(bodies: Iterable[Body]) -> tuple[Solid, ...]:
    """The convex pieces of bodies. Cuts through fixtures, parts and clamps along a prism's own axis are
    kept (a drill may run out into them); all other cuts are taken as solid, which errs to the safe side.
    """
    return tuple(solid for body in bodies for prism in body.adds for solid in _pieces(body, prism))


def _pieces(body: Body, prism: Prism) -> list[Solid]:
    def solid(part: Prism, holes: tuple[Section, ...] = ()) -> Solid:
        return Solid(body.name, body.role, body.face, body.station, part, holes, body.path)

    cuts = [c for c in body.cuts if c.frame == prism.frame and c.high > prism.low and c.low < prism.high]
    if body.role not in STATION_ROLES or not cuts:
        return [solid(prism)]
    levels = sorted(
        {prism.low, prism.high, *(z for c in cuts for z in (c.low, c.high) if prism.low < z < prism.high)}
    )
    pieces = []
    for low, high in pairwise(levels):
        through = tuple(c.section for c in cuts if c.low <= low and c.high >= high)
        pieces.append(solid(Prism(prism.section, Metre(low), Metre(high), prism.frame), through))
    return pieces


def around(centre: Point2, radius: Metre, chord: Metre) -> list[Point2]:
    """A regular polygon around a circle, tangent to it on the axes, nowhere further out than `chord`."""
    count = segments(radius, chord)
    reach, step = radius / cos(pi / count), 2.0 * pi / count
    return [
        (centre[0] + reach * cos((k + 0.5) * step), centre[1] + reach * sin((k + 0.5) * step))
        for k in range(count)
    ]


def within(centre: Point2, radius: Metre, chord: Metre) -> list[Point2]:
    """A regular polygon inside a circle with vertices on the axes, nowhere further in than `chord`."""
    return [(centre[0] + radius * c, centre[1] + radius * s) for c, s in _circle(segments(radius, chord))]


@lru_cache(maxsize=256)
def _circle(count: int) -> tuple[Point2, ...]:
    step = 2.0 * pi / count
    return tuple((cos(k * step), sin(k * step)) for k in range(count))


def segments(radius: Metre, chord: Metre) -> int:
    """Sides of a polygon, a multiple of 8, that stays within `chord` of its circle, in or out."""
    if radius <= chord:
        return 8
    half = min(acos(radius / (radius + chord)), sqrt(2.0 * chord / radius))
    return max(8, 8 * ceil(pi / half / 8.0))


@lru_cache(maxsize=96)
def view(scene: Scene, angle: Radian) -> View:
    """The scene with the direction `angle` of the column turned to the spindle."""
    if isinstance(scene, Nameless):
        seen = [
            _outlined(np.frombuffer(block).reshape(-1, 3), along=along)
            for block, along in zip(scene.blocks, scene.along, strict=True)
        ]
    else:
        seen = [_seen(solid.prism, scene.chord, angle) for solid in scene.solids]
    holed = [each.along and bool(solid.holes) for each, solid in zip(seen, scene.solids, strict=False)]
    first = np.cumsum([0, *(len(each.points) for each in seen)])
    c, s = turned(1.0, 0.0, angle)
    return View(
        scene,
        (c, -s),
        np.concatenate([np.zeros((0, 3)), *(each.points for each in seen)]),
        np.asarray(first, dtype=np.int64),
        np.array([each.low for each in seen]).reshape(-1, 3),
        np.array([each.high for each in seen]).reshape(-1, 3),
        np.array([each.along for each in seen], dtype=bool),
        np.array(holed or [False] * len(seen), dtype=bool),
        np.array([each.outline for each in seen], dtype=object),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """One prism as a view has it."""

    points: Array
    low: Array
    high: Array
    along: bool
    outline: shapely.Polygon

    @property
    def block(self) -> bytes:
        """The vertices to the picometre, each ring from its first vertex on."""
        points = np.round(self.points, 12) + 0.0
        count = len(points) // 2
        start = int(np.lexsort(points[:count].T)[0])
        turned_to = (np.arange(count) + start) % count
        return points[np.concatenate((turned_to, turned_to + count))].tobytes()


@lru_cache(maxsize=4096)
def _seen(prism: Prism, chord: Metre, angle: Radian) -> _Seen:
    flat = vertices(prism, chord)
    c, s = turned(1.0, 0.0, angle)
    points = np.column_stack((flat[:, 0] * c - flat[:, 2] * s, flat[:, 1], flat[:, 0] * s + flat[:, 2] * c))
    along = abs(turned(prism.frame.third[0], prism.frame.third[2], angle)[1]) > _SAME
    return _outlined(points, along=along)


def _outlined(points: Array, *, along: bool) -> _Seen:
    outline = shapely.convex_hull(shapely.linestrings(points[:, :2]))
    return _Seen(points, points.min(axis=0), points.max(axis=0), along, outline)


@lru_cache(maxsize=4096)
def _block(prism: Prism, chord: Metre, angle: Radian) -> tuple[bytes, bool]:
    seen = _seen(prism, chord, angle)
    return seen.block, seen.along


@lru_cache(maxsize=64)
def nameless(scene: Scene, angle: Radian) -> tuple[Nameless, tuple[int, ...]] | None:
    """The scene as seen at an angle without names, and which solid of the scene each of its solids is;
    `None` where holes are seen, which are not kept.
    """
    if isinstance(scene, Nameless) or any(solid.holes for solid in scene.solids):
        return None
    blocks = [_block(solid.prism, scene.chord, angle) for solid in scene.solids]
    order = sorted(range(len(blocks)), key=blocks.__getitem__)
    chosen = [blocks[k] for k in order]
    made = Nameless((), scene.chord, tuple(b for b, _ in chosen), tuple(along for _, along in chosen))
    return made, tuple(order)


@lru_cache(maxsize=4096)
def vertices(prism: Prism, chord: Metre) -> Array:
    """Lower ring, then upper ring, in the column frame; shape (n, 3)."""
    section, frame = prism.section, prism.frame
    if isinstance(section, Disc):
        ring = np.array(section.centre) + _unit_ring(section.radius, chord)
    else:
        ring = np.array(section.points)
    origin, first, second, third = (
        np.array(v) for v in (frame.origin, frame.first, frame.second, frame.third)
    )
    flat = origin + ring[:, :1] * first + ring[:, 1:] * second
    made: Array = np.concatenate((flat + prism.low * third, flat + prism.high * third))
    made.setflags(write=False)
    return made


@lru_cache(maxsize=256)
def _unit_ring(radius: Metre, chord: Metre) -> Array:
    return np.array(around((0.0, 0.0), radius, chord))


def project(seen: View, low: Metre, high: Metre, wanted: Mask) -> Objects:
    """XY projections of the wanted solids' parts in low ≤ Z ≤ high, exact for polyhedra; shape (k,).

    Solids that only touch the slab give an empty polygon. Holes are not taken out here.
    """
    inside = wanted & (seen.high[:, 2] > low + TOUCH) & (seen.low[:, 2] < high - TOUCH)
    whole = inside & (seen.low[:, 2] >= low - TOUCH) & (seen.high[:, 2] <= high + TOUCH)
    made = np.full(len(seen.along), EMPTY, dtype=object)
    whole |= inside & seen.along
    made[whole] = seen.outlines[whole]
    partial = np.flatnonzero(inside & ~whole)
    if len(partial):
        pieces = [_clipped(seen.points[seen.first[k] : seen.first[k + 1]], low, high) for k in partial]
        owner = np.repeat(np.arange(len(pieces)), [len(piece) for piece in pieces])
        made[partial] = shapely.convex_hull(shapely.linestrings(np.concatenate(pieces), indices=owner))
    return made


def _clipped(points: Array, low: float, high: float) -> Array:
    """XY of what spans a prism's slab: its vertices inside and its edges' crossings; shape (n, 2)."""
    count = len(points) // 2
    after = np.roll(np.arange(count), -1)
    starts = np.concatenate((np.arange(count), np.arange(count) + count, np.arange(count)))
    ends = np.concatenate((after, after + count, np.arange(count) + count))
    a, b = points[starts], points[ends]
    kept = [points[(points[:, 2] >= low) & (points[:, 2] <= high), :2]]
    rise = b[:, 2] - a[:, 2]
    for level in (low, high):
        crossing = (a[:, 2] - level) * (b[:, 2] - level) < 0.0
        share = ((level - a[crossing, 2]) / rise[crossing])[:, None]
        kept.append(a[crossing, :2] + share * (b[crossing, :2] - a[crossing, :2]))
    return np.concatenate(kept)


def holes_seen(seen: View, index: int) -> list[shapely.Polygon]:
    """The holes of a solid seen along its axis, drawn inside their circles, in machine X, Y."""
    prism = seen.scene.solids[index].prism
    made = []
    for section in seen.scene.solids[index].holes:
        ring = (
            within(section.centre, section.radius, seen.scene.chord)
            if isinstance(section, Disc)
            else section.points
        )
        corners = [prism.frame.point(a, b, prism.low) for a, b in ring]
        made.append(shapely.Polygon([(x * seen.across[0] + z * seen.across[1], y) for x, y, z in corners]))
    return made
