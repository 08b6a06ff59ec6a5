"""The scene as named convex solids in the column frame, and how it looks from the spindle at an angle."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
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
OUT = np.array((-1.0, -1.0, 1.0, 1.0))
"""Signs with which the ends of a box, low ones first, move as it grows."""
_SAME = 1.0 - 1e-12
"""Cosine from which two directions are the same but for rounding."""
_CORNER = 1e-12
"""Corners this near to those of a rectangle are its own: rounding [m]."""
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

    def __hash__(self) -> int:
        return hash((self.name, self.prism))


@dataclass(frozen=True)
class Scene:
    """Everything a tool could hit, in the column frame. Hashed once: scenes are compared often."""

    solids: tuple[Solid, ...]
    chord: Metre
    """Largest distance from a circle to the polygon drawn around it [m]."""
    whole: Scene | None = field(default=None, init=False, repr=False, compare=False)
    """The larger scene that these are the first solids of: views of it are views of this one too."""

    def first(self, count: int) -> Scene:
        """The first so many solids alone."""
        made = Scene(self.solids[:count], self.chord)
        object.__setattr__(made, "whole", self)
        return made

    @cached_property
    def _digest(self) -> int:
        return hash((self.solids, self.chord))

    def __hash__(self) -> int:
        return self._digest

    def shapes(self) -> tuple[Array, Indices, Array]:
        """Vertices of all solids in the column frame, the lower ring of a prism, then its upper, (n, 3); how
        many each has; and the axis of each prism, (k, 3).
        """
        axes = [solid.prism.frame.third for solid in self.solids]
        return *vertices_of([solid.prism for solid in self.solids], self.chord), np.array(axes).reshape(-1, 3)


@dataclass(frozen=True)
class Nameless(Scene):
    """A scene as it is seen from one side, to the picometre: alike faces of a column have equal ones."""

    blocks: tuple[tuple[bytes, bool], ...] = ()
    """Vertices of each solid in the view (n, 3), in an order that hangs on nothing but them, and whether
    its axis is parallel to the spindle.
    """

    @cached_property
    def _digest(self) -> int:
        return hash((self.blocks, self.chord))

    def __hash__(self) -> int:
        return self._digest

    def shapes(self) -> tuple[Array, Indices, Array]:
        """As seen."""
        points = np.frombuffer(b"".join(block for block, _ in self.blocks)).reshape(-1, 3)
        count = np.array([len(block) // (3 * points.itemsize) for block, _ in self.blocks], dtype=np.int64)
        axes = [(0.0, 0.0, float(along)) for _, along in self.blocks]
        return points, count, np.array(axes).reshape(-1, 3)


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

    @cached_property
    def outlines(self) -> Objects:
        """Projection of each whole solid on XY, shape (k,)."""
        owner = np.repeat(np.arange(len(self.along)), np.diff(self.first))
        return _hulls(self.points[:, :2], owner)

    @cached_property
    def next_corner(self) -> Indices:
        """The vertex after each one in its ring, shape (p,)."""
        after = np.arange(1, len(self.points) + 1)
        count = np.diff(self.first) >> 1
        for ring in (self.first[:-1], self.first[:-1] + count):
            after[ring + count - 1] = ring
        return after


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
    if scene.whole is not None:
        return _first(view(scene.whole, angle), scene)
    corners, first, axes, holes = _laid_out(scene)
    c, s = turned(1.0, 0.0, angle)
    points = np.column_stack(
        (corners[:, 0] * c - corners[:, 2] * s, corners[:, 1], corners[:, 0] * s + corners[:, 2] * c)
    )
    along = np.abs(axes[:, 0] * s + axes[:, 2] * c) > _SAME
    ends = first[:-1]
    return View(
        scene,
        (c, -s),
        points,
        first,
        np.minimum.reduceat(points, ends) if len(ends) else np.zeros((0, 3)),
        np.maximum.reduceat(points, ends) if len(ends) else np.zeros((0, 3)),
        along,
        along & holes,
    )


def _first(seen: View, scene: Scene) -> View:
    """Of a view that of the scene made of its first solids."""
    count = len(scene.solids)
    first = seen.first[: count + 1]
    return View(
        scene,
        seen.across,
        seen.points[: first[-1]],
        first,
        seen.low[:count],
        seen.high[:count],
        seen.along[:count],
        seen.holed[:count],
    )


@lru_cache(maxsize=16)
def side_by_side(views: tuple[View, ...]) -> View:
    """All solids of several views together, one view after the other; to be looked at, not named."""
    if len(views) == 1:
        return views[0]
    begins = np.cumsum([0, *(len(each.points) for each in views)])
    first = [each.first[:-1] + begin for each, begin in zip(views, begins, strict=False)]
    return View(
        views[0].scene,
        views[0].across,
        np.concatenate([each.points for each in views]),
        np.concatenate([*first, begins[-1:]]),
        np.concatenate([each.low for each in views]),
        np.concatenate([each.high for each in views]),
        np.concatenate([each.along for each in views]),
        np.concatenate([each.holed for each in views]),
    )


@lru_cache(maxsize=8)
def _laid_out(scene: Scene) -> tuple[Array, Indices, Array, Mask]:
    """Vertices of all solids, where each one's begin, the axis of each and whether there are holes in it."""
    points, count, axes = scene.shapes()
    holes = np.zeros(len(count), dtype=bool)
    holes[[k for k, solid in enumerate(scene.solids) if solid.holes]] = True
    return points, np.append(0, np.cumsum(count)), axes, holes


def _hulls(points: Array, owner: Indices) -> Objects:
    """Convex hull of the points of each owner, which come in the order of their owners: where there is a
    point in every corner of the box around them, as of prisms that stand upright, it is that box.
    """
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    low, high = np.minimum.reduceat(points, first), np.maximum.reduceat(points, first)
    place = np.repeat(np.arange(len(first)), np.diff(first, append=len(points)))
    (left, down), (right, up) = (points == low[place]).T, (points == high[place]).T
    corners = np.array((left & down, right & down, right & up, left & up))
    upright = np.array(np.logical_or.reduceat(corners, first, axis=1).all(axis=0), dtype=bool)
    made = np.empty(len(first), dtype=object)
    made[upright] = shapely.box(*low[upright].T, *high[upright].T)
    rest = np.flatnonzero(~upright[place])
    if len(rest):
        lines = shapely.linestrings(points[rest], indices=np.unique(place[rest], return_inverse=True)[1])
        made[~upright] = shapely.convex_hull(lines)
    return made


def upright_boxes(outlines: Objects) -> tuple[Mask, Array]:
    """Which outlines are upright rectangles but for rounding, as all that stands upright is from the side;
    and the box around each, (n, 4).
    """
    bounds: Array = shapely.bounds(outlines)
    points, row = shapely.get_coordinates(outlines, return_index=True)
    low, high = bounds[row, :2], bounds[row, 2:]
    away = np.minimum(points - low, high - points).max(axis=1)
    far = np.zeros(len(outlines))
    np.maximum.at(far, row, away)
    x_low, y_low, x_high, y_high = bounds.T
    return (far < _CORNER) & (shapely.area(outlines) > 0.75 * (x_high - x_low) * (y_high - y_low)), bounds


@dataclass(frozen=True, slots=True)
class Look:
    """A direction of the column, and which solids are looked at."""

    angle: Radian
    solids: tuple[int, ...]
    level: Metre
    """The Z that is called 0 [m]."""
    mirrored: bool
    """Whether left and right are changed."""


@lru_cache(maxsize=16)
def nameless(scene: Scene, looks: tuple[Look, ...]) -> tuple[tuple[Nameless, tuple[int, ...]] | None, ...]:
    """What is looked at, without names, and which solid of the scene each is, look by look; `None` where
    there are holes in it, which are not kept.
    """
    blocks = _blocks(scene, looks)
    made: list[tuple[Nameless, tuple[int, ...]] | None] = []
    for look in looks:
        mine = sorted(zip(blocks[: len(look.solids)], look.solids, strict=True))
        del blocks[: len(look.solids)]
        kept = not isinstance(scene, Nameless) and not any(scene.solids[k].holes for _, k in mine)
        found = Nameless((), scene.chord, blocks=tuple(block for block, _ in mine)) if kept else None
        made.append(None if found is None else (found, tuple(k for _, k in mine)))
    return tuple(made)


_ASLANT = (0.5671432904, 0.7390851332, 0.3517337112)
"""A direction in which hardly two corners of a solid are equally far: it tells which comes first."""


def _blocks(scene: Scene, looks: Sequence[Look]) -> list[tuple[bytes, bool]]:
    """The solids of each look, one look after the other, as a `Nameless` scene keeps them: the ring with the
    first vertex first, from that vertex on, toward the one of its neighbours that comes first.
    """
    angles = list(dict.fromkeys(look.angle for look in looks))
    seen = side_by_side(tuple(view(scene, angle) for angle in angles))
    begin = {angle: number * (len(seen.along) // len(angles)) for number, angle in enumerate(angles)}
    some = np.array([begin[look.angle] + solid for look in looks for solid in look.solids], dtype=np.int64)
    if not len(some):
        return []
    count = np.diff(seen.first)[some] >> 1
    lower, owner = ranges(seen.first[some], count)
    points = seen.points[np.stack((lower, lower + count[owner]))]
    look_of = np.repeat(np.arange(len(looks)), [len(look.solids) for look in looks])[owner]
    points[:, :, 0] *= np.array([-1.0 if look.mirrored else 1.0 for look in looks])[look_of]
    points[:, :, 2] -= np.array([look.level for look in looks])[look_of]
    rings = np.round(points, 12) + 0.0
    rank = rings[:, :, 0] * _ASLANT[0] + rings[:, :, 1] * _ASLANT[1] + rings[:, :, 2] * _ASLANT[2]
    ends = np.cumsum(count)
    begins = ends - count
    least = np.minimum.reduceat(rank, begins, axis=1)
    ring = (least[1] < least[0]).astype(np.int64)
    first_of = np.flatnonzero(rank[ring[owner], np.arange(len(owner))] == least.min(axis=0)[owner])[::-1]
    start = np.zeros(len(count), dtype=np.int64)
    start[owner[first_of]] = first_of - begins[owner[first_of]]
    after, before = begins + (start + 1) % count, begins + (start - 1) % count
    step = np.where(rank[ring, after] < rank[ring, before], 1, -1)
    along = np.arange(len(owner)) - begins[owner]
    place = begins[owner] + (start[owner] + step[owner] * along) % count[owner]
    first, second = rings[ring[owner], place], rings[1 - ring[owner], place]
    return [
        (first[low:high].tobytes() + second[low:high].tobytes(), along_z)
        for low, high, along_z in zip(begins.tolist(), ends.tolist(), seen.along[some].tolist(), strict=True)
    ]


def vertices(prism: Prism, chord: Metre) -> Array:
    """Lower ring, then upper ring, in the column frame; shape (n, 3)."""
    return vertices_of([prism], chord)[0]


def vertices_of(prisms: Sequence[Prism], chord: Metre) -> tuple[Array, Indices]:
    """The `vertices` of several prisms, one after the other, and how many each has."""
    flat = [_ring(prism.section, chord) for prism in prisms]
    count = np.array(list(map(len, flat)), dtype=np.int64)
    of = np.repeat(np.arange(len(count)), count)
    ring = np.concatenate([np.zeros((0, 2)), *flat])
    frames = [(f.origin, f.first, f.second, f.third) for f in (prism.frame for prism in prisms)]
    origin, first, second, third = np.array(frames).reshape(-1, 4, 3).swapaxes(0, 1)
    low, high = np.array([(prism.low, prism.high) for prism in prisms]).reshape(-1, 2).T[:, :, None]
    middle = origin[of] + ring[:, :1] * first[of] + ring[:, 1:] * second[of]
    place = np.arange(len(of)) + (np.cumsum(count) - count)[of]
    made = np.zeros((2 * len(of), 3))
    made[place] = middle + (low * third)[of]
    made[place + count[of]] = middle + (high * third)[of]
    return made, 2 * count


@lru_cache(maxsize=1024)
def _ring(section: Section, chord: Metre) -> Array:
    if isinstance(section, Disc):
        return np.array(section.centre) + _unit_ring(section.radius, chord)
    return np.array(section.points)


@lru_cache(maxsize=256)
def _unit_ring(radius: Metre, chord: Metre) -> Array:
    return np.array(around((0.0, 0.0), radius, chord))


def project(seen: View, solids: Indices, low: Array, high: Array) -> Objects:
    """XY projection of each of some solids' part in low ≤ Z ≤ high, exact for polyhedra; shape as `solids`.

    Each must reach into its slab. Holes are not taken out here.
    """
    whole = (seen.low[solids, 2] >= low - TOUCH) & (seen.high[solids, 2] <= high + TOUCH)
    whole |= seen.along[solids]
    made = np.empty(len(solids), dtype=object)
    if whole.any():
        made[whole] = seen.outlines[solids[whole]]
    partial = np.flatnonzero(~whole)
    if len(partial):
        made[partial] = _hulls(*_clipped(seen, solids[partial], low[partial], high[partial]))
    return made


def _clipped(seen: View, solids: Indices, low: Array, high: Array) -> tuple[Array, Indices]:
    """XY of what spans each prism's slab, vertices inside and edges' crossings, and which slab's each is."""
    first, count = seen.first[solids], seen.first[solids + 1] - seen.first[solids]
    corner, owner = ranges(first, count)
    lower, lower_owner = ranges(first, count >> 1)
    height = seen.points[corner, 2]
    inside = (height >= low[owner]) & (height <= high[owner])
    points, owners = [seen.points[corner[inside], :2]], [owner[inside]]
    starts = seen.points[np.concatenate((corner, lower))]
    ends = seen.points[np.concatenate((seen.next_corner[corner], lower + (count[lower_owner] >> 1)))]
    of = np.concatenate((owner, lower_owner))
    for level in (low[of], high[of]):
        crossing = (starts[:, 2] - level) * (ends[:, 2] - level) < 0.0
        a, b = starts[crossing], ends[crossing]
        share = ((level[crossing] - a[:, 2]) / (b[:, 2] - a[:, 2]))[:, None]
        points.append(a[:, :2] + share * (b[:, :2] - a[:, :2]))
        owners.append(of[crossing])
    every = np.concatenate(owners)
    order = np.argsort(every, kind="stable")
    return np.concatenate(points)[order], every[order]


def ranges(starts: Indices, counts: Indices) -> tuple[Indices, Indices]:
    """The numbers `start, start + 1, …` of several ranges, one after the other, and whose each is."""
    owner = np.repeat(np.arange(len(starts)), counts)
    before = np.cumsum(counts) - counts
    return np.arange(len(owner)) + (starts - before)[owner], owner


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
