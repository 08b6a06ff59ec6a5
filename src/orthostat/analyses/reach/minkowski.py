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

from orthostat.analyses.reach.scene import EMPTY, Array, Indices, Objects, segments
from orthostat.base.dimensions import Metre


def box_reflected(low: tuple[float, float], high: tuple[float, float]) -> tuple[Array, Array]:
    """Edge normals' angles [rad], shape (4,), and the vertex after each edge [m], shape (4, 2), of a box
    about the axis reflected in it: an obstacle at q meets the box of an axis at p when q - p lies in
    the box, that is p in q plus the reflected box.
    """
    x = (-high[0], -low[0])
    y = (-high[1], -low[1])
    normals = np.asarray(0.5 * pi * np.arange(4), dtype=np.float64)
    return normals, np.array([(x[1], y[1]), (x[0], y[1]), (x[0], y[0]), (x[1], y[0])])


def sums(outlines: Objects, kernel: tuple[Array, Array]) -> Objects:
    """Minkowski sum of each convex polygon with one convex polygon; shape as `outlines`."""
    normals, vertices = kernel
    ways = _merged(outlines, [normals] * len(outlines))
    return _polygons(ways, ways.corners + vertices[(ways.passed - 1) % len(normals)], len(outlines))


def rounded(
    outlines: Objects, radius: float | Array, chord: Metre, drawn: float | Array | None = None
) -> Objects:
    """Minkowski sum of each convex polygon with a circle, or each with its own; shape as `outlines`.

    Straight edges are exact; arcs are tangent lines at the edges' own normals and on the axes, nowhere
    further out than `chord`: as many as a circle of radius `drawn` needs, where that is given.
    """
    radii = np.broadcast_to(radius, len(outlines))
    sides = np.broadcast_to(radius if drawn is None else drawn, len(outlines))
    ways = _merged(outlines, [_directions(segments(Metre(each), chord)) for each in sides.tolist()])
    half = 0.5 * (ways.after - ways.angles)
    middle, reach = ways.angles + half, radii[ways.rows] / np.cos(half)
    arcs = np.column_stack((reach * np.cos(middle), reach * np.sin(middle)))
    return _polygons(ways, ways.corners + arcs, len(outlines))


@lru_cache(maxsize=256)
def _directions(count: int) -> Array:
    made = np.asarray(2.0 * pi / count * np.arange(count), dtype=np.float64)
    made.setflags(write=False)
    return made


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


def missed(
    positions: shapely.Geometry, radius: Metre, wanted: shapely.Geometry, chord: Metre
) -> shapely.Geometry:
    """The part of `wanted` that a disc of `radius` does not cover while its centre stays in `positions`.

    What lies outside the positions is reached across an edge (a rectangle on it) or round an
    outward corner (a fan): both exact but for chords, which are drawn inside the circle.
    """
    rest = shapely.difference(wanted, positions)
    if rest.is_empty or positions.is_empty:
        return rest
    pieces = _rectangles_and_fans(positions, radius, rest.bounds, chord)
    return shapely.difference(rest, shapely.union_all(np.concatenate(pieces))) if pieces else rest


def _rectangles_and_fans(
    positions: shapely.Geometry, radius: Metre, bounds: tuple[float, float, float, float], chord: Metre
) -> list[Objects]:
    rings = shapely.get_rings(shapely.orient_polygons(shapely.get_parts(positions)))
    made: list[Objects] = []
    for ring in rings:
        points = shapely.get_coordinates(ring)
        steps = np.diff(points, axis=0)
        lengths = np.hypot(steps[:, 0], steps[:, 1])
        kept = lengths > 0.0
        starts, steps, lengths = points[:-1][kept], steps[kept], lengths[kept]
        if len(starts) < 3:
            continue
        outward = np.column_stack((steps[:, 1], -steps[:, 0])) / lengths[:, None]
        before = np.roll(outward, 1, axis=0)
        turn = np.arctan2(
            before[:, 0] * outward[:, 1] - before[:, 1] * outward[:, 0], np.sum(before * outward, axis=1)
        )
        made += _strips(starts, lengths, outward, turn, radius, bounds)
        made.append(_fans(starts, before, outward, turn, radius, bounds, chord))
    return [group for group in made if len(group)]


def _strips(
    starts: Array,
    lengths: Array,
    outward: Array,
    turn: Array,
    radius: Metre,
    bounds: tuple[float, float, float, float],
) -> list[Objects]:
    """A rectangle on each edge of a ring near `bounds`; those along an inward arc are one strip, whose inner
    edges end where they meet. `turn` is that of the ring at the start of each edge.
    """
    ends = np.roll(starts, -1, axis=0)
    corners = np.stack((starts, starts + radius * outward, ends + radius * outward, ends), axis=1)
    low, high = corners.min(axis=1), corners.max(axis=1)
    near = (low <= bounds[2:]).all(axis=1) & (high >= bounds[:2]).all(axis=1)
    arc = (turn <= 0.0) & (turn > -0.5)
    shorter = np.where(arc, radius * np.tan(-0.5 * np.where(arc, turn, 0.0)), 0.0)
    fits = near & (lengths >= 2.0 * np.maximum(shorter, np.roll(shorter, -1)))
    joined = arc & fits & np.roll(fits, 1)
    quarters = np.floor(np.cumsum(np.where(joined, -turn, 0.0)) / (0.5 * pi))
    joined[1:] &= quarters[1:] == quarters[:-1]
    joined[0] = False
    first = np.flatnonzero(near & ~joined)
    last = np.flatnonzero(near & ~np.append(joined[1:], False))
    made = [shapely.polygons(corners[first[first == last]])] if (first == last).any() else []
    for k, end in zip(first[first != last].tolist(), last[first != last].tolist(), strict=True):
        a, b = outward[k:end], outward[k + 1 : end + 1]
        meet = starts[k + 1 : end + 1] + radius * (a + b) / (1.0 + np.sum(a * b, axis=1))[:, None]
        strip = (starts[k : end + 1], corners[end, 3:], corners[end, 2:3], meet[::-1], corners[k, 1:2])
        made.append(np.array([shapely.Polygon(np.concatenate(strip))], dtype=object))
    return made


def _fans(
    corners: Array,
    before: Array,
    outward: Array,
    turn: Array,
    radius: Metre,
    bounds: tuple[float, float, float, float],
    chord: Metre,
) -> Objects:
    """Sectors at outward corners between the normals of the two edges that meet there."""
    away = np.maximum(np.maximum(bounds[:2] - corners, corners - bounds[2:]), 0.0)
    near = np.hypot(away[:, 0], away[:, 1]) <= radius
    step = 2.0 * pi / segments(radius, chord)
    fans = []
    for k in np.flatnonzero((turn > 1e-9) & near):
        start = np.arctan2(before[k, 1], before[k, 0])
        axes = 0.5 * pi * np.arange(-4, 9)
        inner = axes[(axes > start) & (axes < start + turn[k])]
        count = max(2, int(np.ceil(turn[k] / step)) + 1)
        angles = np.sort(np.concatenate((np.linspace(start, start + turn[k], count), inner)))
        arc = corners[k] + radius * np.column_stack((np.cos(angles), np.sin(angles)))
        arc[0], arc[-1] = corners[k] + radius * before[k], corners[k] + radius * outward[k]
        fans.append(shapely.Polygon(np.vstack((corners[k], arc))))
    return np.array(fans, dtype=object)
