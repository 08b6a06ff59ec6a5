"""Minkowski sums of convex polygons with circles and boxes, and the ground a round cutter covers.

A general buffer is not used: the one in GEOS fills shallow concave corners, by up to 1 % of its
distance, a hundred times the bound kept here. Sums with a circle are drawn around it, so that what
is forbidden is never drawn too small; what a cutter covers is drawn inside, so that it is never
drawn too large. Straight edges are exact in both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np
import shapely

from orthostat.analyses.reach.scene import (
    EMPTY,
    OUT,
    Array,
    Indices,
    Mask,
    Objects,
    segments,
    upright_boxes,
)
from orthostat.base.dimensions import Metre

_BULGE = 1.09
"""Past 1 / cos(π / 8), which is how far two tangent lines in a quarter stand out beyond the radius."""
_POINT = 1e-9
"""Points nearer to one another than this are one: rounding [m]."""


def sums(outlines: Objects, low: tuple[float, float], high: tuple[float, float]) -> Objects:
    """Minkowski sum of each convex polygon with a box about the axis, from `low` to `high`, reflected in it:
    an obstacle at q meets the box of an axis at p when q - p lies in the box; shape as `outlines`.
    """
    made = np.empty(len(outlines), dtype=object)
    upright, bounds = upright_boxes(outlines)
    made[upright] = shapely.box(*(bounds[upright] - (*high, *low)).T)
    if not upright.all():
        made[~upright] = _summed(outlines[~upright], low, high)
    return made


def _summed(outlines: Objects, low: tuple[float, float], high: tuple[float, float]) -> Objects:
    normals = np.asarray(0.5 * pi * np.arange(4), dtype=np.float64)
    vertices = -np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    ways = _merged(outlines, [normals] * len(outlines))
    return _polygons(ways, ways.corners + vertices[(ways.passed - 1) % len(normals)], len(outlines))


def rounded(
    outlines: Objects,
    radius: float | Array,
    chord: Metre,
    drawn: float | Array | None = None,
    looked_at: Array | None = None,
) -> Objects:
    """Minkowski sum of each convex polygon with a circle, or each with its own; shape as `outlines`.

    Straight edges are exact; arcs are tangent lines at the edges' own normals and on the axes, nowhere
    further out than `chord`: as many as a circle of radius `drawn` needs, where that is given. Outside the
    boxes `looked_at`, of shape (n, 4), quarters of a circle are drawn with two tangent lines alone.
    """
    if not len(outlines):
        return outlines
    radii = np.broadcast_to(radius, len(outlines))
    sides = np.broadcast_to(radius if drawn is None else drawn, len(outlines))
    upright, bounds = upright_boxes(outlines)
    made = np.empty(len(outlines), dtype=object)
    for chosen, work in ((upright, _rounded_upright), (~upright, _rounded)):
        if chosen.any():
            count = [segments(Metre(side), chord) for side in sides[chosen].tolist()]
            boxes = None if looked_at is None else looked_at[chosen]
            made[chosen] = work(outlines[chosen], bounds[chosen], radii[chosen], count, boxes)
    return made


def _rounded_upright(
    _: Objects, bounds: Array, radii: Array, count: list[int], looked_at: Array | None
) -> Objects:
    """As `rounded`, of upright rectangles: four quarters of a circle, each at its corner."""
    x_low, y_low, x_high, y_high = bounds.T
    corners = np.array([(x_high, y_high), (x_low, y_high), (x_low, y_low), (x_high, y_low)])
    fine = [_EVERY] * len(count)
    if looked_at is not None:
        ends = corners + _BULGE * radii * _OUTWARD[:, :, None]
        low, high = np.minimum(corners, ends), np.maximum(corners, ends)
        meets = (low <= looked_at[:, 2:].T + _POINT) & (high >= looked_at[:, :2].T - _POINT)
        fine = list(map(tuple, meets.all(axis=1).T.tolist()))
    arcs = [_arcs(number, some) for number, some in zip(count, fine, strict=True)]
    row = np.repeat(np.arange(len(arcs)), [len(arc) for arc, _ in arcs])
    quarter = np.concatenate([of for _, of in arcs])
    points = corners[quarter, :, row] + radii[row, None] * np.concatenate([arc for arc, _ in arcs])
    return np.asarray(shapely.polygons(shapely.linearrings(points, indices=row)), dtype=object)


_OUTWARD = np.array([(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)])
"""Of the corners of a rectangle, the first up to the right."""


@lru_cache(maxsize=512)
def _arcs(count: int, fine: tuple[bool, ...]) -> tuple[Array, Indices]:
    """Where so many tangent lines of a circle of radius 1 meet, and in which quarter each point is."""
    angles = _directions(count, fine)
    half = 0.5 * np.diff(angles, append=2.0 * pi)
    middle = angles + half
    made = np.column_stack((np.cos(middle), np.sin(middle))) / np.cos(half)[:, None]
    quarter = (middle // (0.5 * pi)).astype(np.int64)
    for each in (made, quarter):
        each.setflags(write=False)
    return made, quarter


def _rounded(
    outlines: Objects, bounds: Array, radii: Array, count: list[int], looked_at: Array | None
) -> Objects:
    fine = [_EVERY] * len(count) if looked_at is None else _quarters_in(outlines, bounds, radii, looked_at)
    ways = _merged(outlines, list(map(_directions, count, fine)))
    half = 0.5 * (ways.after - ways.angles)
    middle, reach = ways.angles + half, radii[ways.rows] / np.cos(half)
    arcs = np.column_stack((reach * np.cos(middle), reach * np.sin(middle)))
    return _polygons(ways, ways.corners + arcs, len(outlines))


_EVERY = (True, True, True, True)


@lru_cache(maxsize=512)
def _directions(count: int, fine: tuple[bool, ...] = _EVERY) -> Array:
    """So many directions all round, but for quarters that are not drawn finely."""
    number = np.arange(count)
    kept = np.repeat(fine, count // 4) | (number % (count // 8) == 0)
    made = np.asarray(2.0 * pi / count * number[kept], dtype=np.float64)
    made.setflags(write=False)
    return made


def _quarters_in(outlines: Objects, bounds: Array, radii: Array, boxes: Array) -> list[tuple[bool, ...]]:
    """Whether the arcs of each quarter, the first up to the right, can be in a box of their outline."""
    points, row = shapely.get_coordinates(outlines, return_index=True)
    ends = np.zeros((4, len(outlines)))  # y of the right and left end, x of the upper and lower one
    for number, (axis, side) in enumerate(((0, 2), (0, 0), (1, 3), (1, 1))):
        there = points[:, axis] == bounds[row, side]
        ends[number, row[there]] = points[there, 1 - axis]
    right, left, top, bottom = ends
    x_low, y_low, x_high, y_high = (bounds + _BULGE * radii[:, None] * OUT).T
    quarters = np.array(
        [
            (top, right, x_high, y_high),
            (x_low, left, top, y_high),
            (x_low, y_low, bottom, left),
            (bottom, y_low, x_high, right),
        ]
    )
    low, high = boxes[:, :2].T - _POINT, boxes[:, 2:].T + _POINT
    meets = (quarters[:, :2] <= high).all(axis=1) & (quarters[:, 2:] >= low).all(axis=1)
    return list(map(tuple, np.asarray(meets.T).tolist()))


@dataclass(frozen=True, slots=True, eq=False)
class _Ways:
    """The edge normals of outlines merged with those of a kernel each, outline by outline."""

    rows: Indices
    """Which outline."""
    angles: Array
    """Of each normal [rad]."""
    after: Array
    """Of the next one [rad]."""
    corners: Array
    """The outline's corner once the normal is passed [m], shape (n, 2)."""
    passed: Indices
    """How many of the kernel's normals are passed then."""


def _merged(outlines: Objects, kernels: Sequence[Array]) -> _Ways:
    rings = shapely.get_exterior_ring(shapely.orient_polygons(outlines))
    points, row = shapely.get_coordinates(rings, return_index=True)
    on = row[1:] == row[:-1]
    edges, ends, row = (points[1:] - points[:-1])[on], points[1:][on], row[1:][on]
    own = np.mod(np.arctan2(-edges[:, 0], edges[:, 1]), 2.0 * pi)
    order = np.lexsort((own, row))
    own, ends = own[order], ends[order]
    count = np.bincount(row, minlength=len(outlines))
    size = np.array([len(kernel) for kernel in kernels], dtype=np.int64) * (count > 0)
    first, kernel_first = np.cumsum(count) - count, np.cumsum(size) - size
    solid = np.flatnonzero(count).tolist()
    place = [
        kernel_first[k] + np.searchsorted(kernels[k], own[first[k] : first[k] + count[k]]) for k in solid
    ]
    at = np.concatenate(place) if place else np.zeros(0, dtype=np.int64)
    flat = np.concatenate([np.zeros(0), *(kernels[k] for k in solid)])
    angles = np.insert(flat, at, own)
    is_own = np.insert(np.zeros(len(flat), dtype=bool), at, True)
    rows = np.repeat(np.arange(len(outlines)), size + count)
    starts = first + kernel_first
    passed = np.cumsum(is_own) - first[rows]
    after = np.roll(angles, -1)
    after[(starts + size + count)[solid] - 1] = angles[starts[solid]] + 2.0 * pi
    corners = ends[first[rows] + (passed - 1) % count[rows]]
    return _Ways(rows, angles, after, corners, np.arange(len(angles)) - starts[rows] + 1 - passed)


def _polygons(ways: _Ways, points: Array, count: int) -> Objects:
    """The polygon of each outline's points; empty where it has none."""
    made = np.full(count, EMPTY, dtype=object)
    solid, ring = np.unique(ways.rows, return_inverse=True)
    if len(solid):
        made[solid] = shapely.polygons(shapely.linearrings(points, indices=ring))
    return made


def shrunk(convex: shapely.Polygon, distance: Metre) -> shapely.Polygon:
    """What is left of a convex polygon `distance` inside all its edges: exact, perhaps empty."""
    x_low, y_low, x_high, y_high = convex.bounds
    if min(x_high - x_low, y_high - y_low) <= 2.0 * distance:
        return EMPTY
    ring = shapely.get_coordinates(shapely.orient_polygons(convex).exterior)
    edges = np.diff(ring, axis=0)
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    kept = lengths > 0.0
    ring, edges = ring[:-1][kept], edges[kept] / lengths[kept, None]
    inward = np.column_stack((-edges[:, 1], edges[:, 0]))
    before = np.roll(inward, 1, axis=0)
    slide = (inward + before) / (1.0 + np.sum(inward * before, axis=1))[:, None]
    left = ring + distance * slide
    if (np.sum((np.roll(left, -1, axis=0) - left) * edges, axis=1) > 0.0).all():
        return shapely.Polygon(left)
    left = ring
    for normal, offset in zip(-inward, -np.sum(inward * ring, axis=1) - distance, strict=True):
        left = _half_plane(left, normal, offset)
        if len(left) < 3:
            return EMPTY
    return shapely.Polygon(left)


def _half_plane(ring: Array, normal: Array, offset: float) -> Array:
    beyond = ring @ normal - offset
    after = np.roll(beyond, -1)
    crosses = beyond * after < 0.0
    if not crosses.any():
        return ring if np.all(beyond <= 0.0) else ring[beyond <= 0.0]
    step = np.roll(ring, -1, axis=0) - ring
    share = np.where(crosses, beyond / np.where(crosses, beyond - after, 1.0), 0.0)
    both = np.stack((ring, ring + step * share[:, None]), axis=1).reshape(-1, 2)
    kept: Array = both[np.column_stack((beyond <= 0.0, crosses)).ravel()]
    return kept


def less(grounds: Objects, shapes: Objects, of: Indices) -> Objects:
    """Each ground without some shapes of its own, `of` telling whose each is."""
    if not len(shapes):
        return grounds
    order = np.argsort(of, kind="stable")
    of = of[order]
    count = np.bincount(of, minlength=len(grounds))
    table = np.full((len(grounds), int(count.max())), None, dtype=object)
    table[of, np.arange(len(of)) - (np.cumsum(count) - count)[of]] = shapes[order]
    some = np.flatnonzero(count)
    made = grounds.copy()
    made[some] = shapely.difference(grounds[some], shapely.union_all(table[some], axis=1))
    return made


def missed(
    positions: shapely.Geometry, radius: Metre, wanted: shapely.Geometry, chord: Metre
) -> shapely.Geometry:
    """The part of `wanted` that a disc of `radius` does not cover while its centre stays in `positions`.

    What lies outside the positions is reached across an edge (a rectangle on it) or round an
    outward corner (a fan): both exact but for chords, which are drawn inside the circle.
    """
    positions, wanted = (np.array([each], dtype=object) for each in (positions, wanted))
    return missed_of(positions, np.array([radius]), wanted, chord)[0]


def missed_of(positions: Objects, radii: Array, wanted: Objects, chord: Metre) -> Objects:
    """As `missed`, of several discs at once, each with its own radius, positions and wanted ground.

    Of positions that are an upright rectangle as wide or as high as the ground no corner has a say.
    """
    upright, ends = upright_boxes(positions)
    within = (ends * OUT >= shapely.bounds(wanted) * OUT).reshape(-1, 2, 2).all(axis=1)
    upright &= within.any(axis=1)
    covered = positions.copy()
    by = np.where(np.tile(within, 2), 0.0, radii[:, None] * OUT)
    covered[upright] = shapely.box(*(ends + by)[upright].T)
    rest = np.asarray(shapely.difference(wanted, covered), dtype=object)
    some = np.flatnonzero(~upright & ~shapely.is_empty(rest) & ~shapely.is_empty(positions))
    if len(some):
        edges = _edges(positions[some], radii[some], shapely.bounds(rest[some]))
        (strips, under), (fans, about) = _strips(edges), _fans(edges, chord)
        rest[some] = less(rest[some], np.concatenate((strips, fans)), np.concatenate((under, about)))
    return rest


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    """The edges of all rings around several grounds, ring by ring, the ground on their left."""

    of: Indices
    """Which ground."""
    first: Mask
    """Whether the edge is the first of its ring."""
    before: Indices
    after: Indices
    """The edges before and after it in its ring."""
    starts: Array
    lengths: Array
    outward: Array
    """Normals, shape (n, 2)."""
    turn: Array
    """From the edge before to this one [rad]."""
    radius: Array
    """Of the disc that moves on this ground [m]."""
    bounds: Array
    """Of what is to be covered, shape (n, 4)."""


def _edges(grounds: Objects, radii: Array, bounds: Array) -> _Edges:
    parts, of = shapely.get_parts(grounds, return_index=True)
    rings, part = shapely.get_rings(shapely.orient_polygons(parts), return_index=True)
    points, row = shapely.get_coordinates(rings, return_index=True)
    steps = np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    kept = np.flatnonzero((row[1:] == row[:-1]) & (lengths > 0.0))
    kept = kept[np.bincount(row[kept], minlength=len(rings))[row[kept]] >= 3]
    row, starts, steps, lengths = row[kept], points[kept], steps[kept], lengths[kept]
    count = np.bincount(row, minlength=len(rings))
    begin = (np.cumsum(count) - count)[row]
    place, count = np.arange(len(row)) - begin, count[row]
    before, after = begin + (place - 1) % count, begin + (place + 1) % count
    outward = np.column_stack((steps[:, 1], -steps[:, 0])) / lengths[:, None]
    earlier = outward[before]
    turn = np.arctan2(
        earlier[:, 0] * outward[:, 1] - earlier[:, 1] * outward[:, 0], np.sum(earlier * outward, axis=1)
    )
    of = of[part[row]]
    return _Edges(of, place == 0, before, after, starts, lengths, outward, turn, radii[of], bounds[of])


def _strips(edges: _Edges) -> tuple[Objects, Indices]:
    """A rectangle on each edge near what is to be covered, and whose each is; those along an inward arc are
    one strip, whose inner edges end where they meet.
    """
    starts, ends = edges.starts, edges.starts[edges.after]
    out = edges.radius[:, None] * edges.outward
    corners = np.stack((starts, starts + out, ends + out, ends), axis=1)
    low, high = corners.min(axis=1), corners.max(axis=1)
    near = (low <= edges.bounds[:, 2:]).all(axis=1) & (high >= edges.bounds[:, :2]).all(axis=1)
    arc = (edges.turn <= 0.0) & (edges.turn > -0.5)
    shorter = np.where(arc, edges.radius * np.tan(-0.5 * np.where(arc, edges.turn, 0.0)), 0.0)
    fits = near & (edges.lengths >= shorter + shorter[edges.after] - 0.1 * _POINT)
    joined = arc & fits & fits[edges.before] & ~edges.first
    turned = np.cumsum(np.where(joined, -edges.turn, 0.0))
    quarters = np.floor((turned - np.maximum.accumulate(np.where(edges.first, turned, 0.0))) / (0.5 * pi))
    joined &= quarters == quarters[edges.before]
    first, last = np.flatnonzero(near & ~joined), np.flatnonzero(near & ~joined[edges.after])
    strip = np.cumsum(near & ~joined) - 1
    edge, inner = np.flatnonzero(near), np.flatnonzero(joined)
    a, b = edges.outward[edges.before[inner]], edges.outward[inner]
    meet = starts[inner] + edges.radius[inner, None] * (a + b) / (1.0 + np.sum(a * b, axis=1))[:, None]
    # Along the outer side, then back along the inner one.
    points = np.concatenate((starts[edge], corners[last, 3], corners[last, 2], meet, corners[first, 1]))
    of = np.concatenate((strip[edge], strip[last], strip[last], strip[inner], strip[first]))
    sides = np.repeat(np.arange(5), [len(edge), len(last), len(last), len(inner), len(first)])
    along = np.concatenate((edge, last, last, -inner, first))
    order = np.lexsort((along, sides, of))
    points, of = points[order], of[order]
    apart = (np.abs(np.diff(points, axis=0)).max(axis=1) > _POINT) | (np.diff(of) > 0)
    kept = np.append(True, apart)[: len(points)]
    kept &= np.bincount(of[kept], minlength=len(first))[of] >= 3
    whole, ring = np.unique(of[kept], return_inverse=True)
    rings = shapely.linearrings(points[kept], indices=ring)
    return np.asarray(shapely.polygons(rings), dtype=object), edges.of[first[whole]]


def _fans(edges: _Edges, chord: Metre) -> tuple[Objects, Indices]:
    """Sectors at outward corners between the normals of the two edges that meet there, and whose each is."""
    away = np.maximum(np.maximum(edges.bounds[:, :2] - edges.starts, edges.starts - edges.bounds[:, 2:]), 0.0)
    near = np.hypot(away[:, 0], away[:, 1]) <= edges.radius
    chosen = np.flatnonzero((edges.turn > 1e-9) & near)
    if not len(chosen):
        return np.zeros(0, dtype=object), edges.of[:0]
    before, after, corners = edges.outward[edges.before[chosen]], edges.outward[chosen], edges.starts[chosen]
    turn, radius = edges.turn[chosen], edges.radius[chosen]
    step = np.array([2.0 * pi / segments(Metre(each), chord) for each in radius.tolist()])
    start = np.arctan2(before[:, 1], before[:, 0])
    count = np.maximum(2, np.ceil(turn / step - 1e-9).astype(np.int64) + 1)  # whatever the rounding
    fan = np.repeat(np.arange(len(chosen)), count)
    place = np.arange(len(fan)) - (np.cumsum(count) - count)[fan]
    axes = 0.5 * pi * np.arange(-4, 9)
    on_axis, axis = np.nonzero((axes > start[:, None]) & (axes < (start + turn)[:, None]))
    angles = np.concatenate((start[fan] + place * (turn / (count - 1))[fan], axes[axis]))
    fan = np.concatenate((fan, on_axis))
    order = np.lexsort((angles, fan))
    angles, fan = angles[order], fan[order]
    arc = corners[fan] + radius[fan][:, None] * np.column_stack((np.cos(angles), np.sin(angles)))
    size = np.bincount(fan)
    last = np.cumsum(size) - 1
    arc[last - size + 1], arc[last] = corners + radius[:, None] * before, corners + radius[:, None] * after
    points, row = np.concatenate((corners, arc)), np.concatenate((np.arange(len(chosen)), fan))
    order = np.argsort(row, kind="stable")
    rings = shapely.linearrings(points[order], indices=row[order])
    return np.asarray(shapely.polygons(rings), dtype=object), edges.of[chosen]
