"""Minkowski sums of convex polygons with circles and boxes, and the ground a round cutter covers.

A general buffer is not used: the one in GEOS fills shallow concave corners, by up to 1 % of its
distance, a hundred times the bound kept here. Sums with a circle are drawn around it, so that what
is forbidden is never drawn too small; what a cutter covers is drawn inside, so that it is never
drawn too large. Straight edges are exact in both.
"""

from __future__ import annotations

from collections.abc import Callable
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

    def ring(ends: Array, merged: Indices, _: Array) -> Array:
        passed = np.cumsum(merged < ends.shape[1], axis=1)
        other = np.arange(1, merged.shape[1] + 1) - passed - 1
        made: Array = _ends_passed(ends, passed) + vertices[other % len(normals)]
        return made

    return _summed(outlines, normals, ring)


def rounded(outlines: Objects, radius: Metre, chord: Metre) -> Objects:
    """Minkowski sum of each convex polygon with a circle; shape as `outlines`.

    Straight edges are exact; arcs are tangent lines at the edges' own normals and on the axes, nowhere
    further out than `chord`.
    """
    count = segments(radius, chord)

    def ring(ends: Array, merged: Indices, directions: Array) -> Array:
        passed = np.cumsum(merged < ends.shape[1], axis=1)
        after = np.roll(directions, -1, axis=1)
        after[:, -1] += 2.0 * pi
        half = 0.5 * (after - directions)
        middle, reach = directions + half, radius / np.cos(half)
        return _ends_passed(ends, passed) + np.stack((reach * np.cos(middle), reach * np.sin(middle)), axis=2)

    return _summed(outlines, np.asarray(2.0 * pi / count * np.arange(count), dtype=np.float64), ring)


def _summed(outlines: Objects, normals: Array, ring: Callable[[Array, Indices, Array], Array]) -> Objects:
    """Sums by merging the outlines' edge normals with a kernel's, polygons of one size at a time.

    `ring` gets the end of each edge in the order of its normal (g, m, 2), the order in which own (below
    m) and the kernel's normals are passed (g, m + n), and their angles in that order.
    """
    made = np.full(len(outlines), EMPTY, dtype=object)
    counts = shapely.get_num_coordinates(outlines) - 1
    for count in np.unique(counts[counts > 2]):
        chosen = np.flatnonzero(counts == count)
        rings = shapely.get_coordinates(outlines[chosen]).reshape(len(chosen), count + 1, 2)[:, :-1]
        ends, merged, directions = _merged(_anticlockwise(rings), normals)
        made[chosen] = shapely.polygons(ring(ends, merged, directions))
    return made


def _merged(rings: Array, normals: Array) -> tuple[Array, Indices, Array]:
    edges = np.roll(rings, -1, axis=1) - rings
    angles = np.mod(np.arctan2(-edges[..., 0], edges[..., 1]), 2.0 * pi)
    order = np.argsort(angles, axis=1, kind="stable")
    ends = np.take_along_axis(np.roll(rings, -1, axis=1), order[..., None], axis=1)
    own = np.take_along_axis(angles, order, axis=1)
    both = np.concatenate((own, np.broadcast_to(normals, (len(rings), len(normals)))), axis=1)
    merged = np.argsort(both, axis=1, kind="stable")
    return ends, merged, np.take_along_axis(both, merged, axis=1)


def _ends_passed(ends: Array, passed: Indices) -> Array:
    """The outline's corner at each direction, once `passed` of its own normals are behind."""
    corners: Array = np.take_along_axis(ends, ((passed - 1) % ends.shape[1])[..., None], axis=1)
    return corners


def _anticlockwise(rings: Array) -> Array:
    after = np.roll(rings, -1, axis=1)
    area = np.sum(rings[..., 0] * after[..., 1] - rings[..., 1] * after[..., 0], axis=1)
    rings = rings.copy()
    rings[area < 0.0] = rings[area < 0.0][:, ::-1]
    return rings


def shrunk(convex: shapely.Polygon, distance: Metre) -> shapely.Polygon:
    """What is left of a convex polygon `distance` inside all its edges: exact, perhaps empty."""
    ring = _anticlockwise(shapely.get_coordinates(convex)[None, :-1])[0]
    edges = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    kept = lengths > 0.0
    normals = np.column_stack((edges[kept, 1], -edges[kept, 0])) / lengths[kept, None]
    offsets = np.sum(normals * ring[kept], axis=1) - distance
    left = ring
    for normal, offset in zip(normals, offsets, strict=True):
        left = _half_plane(left, normal, offset)
        if len(left) < 3:
            return shapely.Polygon()
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


def covered(
    positions: shapely.Geometry, radius: Metre, wanted: shapely.Geometry, chord: Metre
) -> shapely.Geometry:
    """The part of `wanted` that a disc of `radius` covers while its centre stays in `positions`.

    What lies outside the positions is reached across an edge (a rectangle on it) or round an
    outward corner (a fan): both exact but for chords, which are drawn inside the circle.
    """
    rest = shapely.difference(wanted, positions)
    if rest.is_empty or positions.is_empty:
        return wanted if rest.is_empty else shapely.intersection(wanted, positions)
    pieces = [*_rectangles_and_fans(positions, radius, rest.bounds, chord)]
    if not pieces:
        return shapely.intersection(wanted, positions)
    lost = shapely.difference(rest, shapely.union_all(np.concatenate(pieces)))
    return shapely.difference(wanted, lost)


def _rectangles_and_fans(
    positions: shapely.Geometry, radius: Metre, bounds: tuple[float, float, float, float], chord: Metre
) -> list[Objects]:
    rings = shapely.get_rings(shapely.orient_polygons(shapely.get_parts(positions)))
    made: list[Objects] = []
    window = shapely.box(*bounds)
    for ring in rings:
        points = shapely.get_coordinates(ring)
        steps = np.diff(points, axis=0)
        lengths = np.hypot(steps[:, 0], steps[:, 1])
        kept = lengths > 0.0
        starts, steps, lengths = points[:-1][kept], steps[kept], lengths[kept]
        if len(starts) < 3:
            continue
        outward = np.column_stack((steps[:, 1], -steps[:, 0])) / lengths[:, None]
        out = radius * outward
        ends = starts + steps
        rectangles = shapely.polygons(np.stack((starts, starts + out, ends + out, ends), axis=1))
        made.append(rectangles[shapely.intersects(window, rectangles)])
        made.append(_fans(starts, outward, radius, window, chord))
    return [group for group in made if len(group)]


def _fans(corners: Array, outward: Array, radius: Metre, window: shapely.Polygon, chord: Metre) -> Objects:
    """Sectors at outward corners between the normals of the two edges that meet there."""
    before = np.roll(outward, 1, axis=0)
    turn = np.arctan2(
        before[:, 0] * outward[:, 1] - before[:, 1] * outward[:, 0], np.sum(before * outward, axis=1)
    )
    near = shapely.dwithin(shapely.points(corners), window, radius)
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
