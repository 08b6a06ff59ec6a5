"""Signed distance of convex prisms by separating axes, continuous through touching.

Positive: a gap, never above the true one. Negative: they overlap by that depth along the least axis.
Exact in sign for plane-faced prisms and for parallel cylinders; for crossing cylinders the axis is refined
until it no longer improves. Method: separating-axis theorem (ericson-2005, section 5.2.1).

Many pairs are measured side by side: those of alike shape, so many corners and so many, in one go.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from orthostat.model.bodies import Disc, Polygon, Prism

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
PARALLEL = 1.0 - 1e-12
ROUND = 1e-12
"""Gaps nearer to zero than this [m] are rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class _Hulls:
    """Prisms of one kind as arrays, one row each: corners (k, n, 3) or, of discs, centre, radius and axes;
    normals and edges (k, m, 3).
    """

    corners: Array | None
    centre: Array
    radius: Array
    half: Array
    first: Array
    second: Array
    third: Array
    normals: Array
    edges: Array

    def at(self, rows: Indices) -> _Hulls:
        """Some of them."""
        return _Hulls(
            None if self.corners is None else self.corners[rows],
            self.centre[rows], self.radius[rows], self.half[rows], self.first[rows], self.second[rows],
            self.third[rows], self.normals[rows], self.edges[rows],
        )  # fmt: skip


def separation(one: Prism, other: Prism) -> float:
    """Signed distance between two convex prisms [m]: gap (lower bound) or minus the overlap's depth."""
    return separations([(one, other)])[0]


def separations(pairs: Sequence[tuple[Prism, Prism]]) -> list[float]:
    """The signed distance of each pair [m]."""
    made = np.zeros(len(pairs))
    kinds: dict[tuple[int, int, bool], list[int]] = {}
    for number, (one, other) in enumerate(pairs):
        a, b = one.frame.third, other.frame.third
        parallel = abs(a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) > PARALLEL
        kinds.setdefault((_corners(one), _corners(other), parallel), []).append(number)
    for (*_, parallel), rows in kinds.items():
        ours, theirs = (_hulls([pairs[row][side] for row in rows]) for side in (0, 1))
        made[rows] = _separations(ours, theirs, parallel=parallel)
    return [float(each) for each in made]


def boxes(prisms: Sequence[Prism]) -> tuple[Array, Array]:
    """Low and high corners of the boxes of round prisms, shape (k, 3)."""
    hulls = _hulls(prisms)
    spread = hulls.radius[:, None] * np.hypot(hulls.first, hulls.second)
    spread = spread + hulls.half[:, None] * np.abs(hulls.third)
    return hulls.centre - spread, hulls.centre + spread


def _corners(prism: Prism) -> int:
    """Corners of the section; 0 for a disc."""
    return 0 if isinstance(prism.section, Disc) else len(prism.section.points)


def _separations(a: _Hulls, b: _Hulls, *, parallel: bool) -> Array:
    own = _flat_axes(a, b) if parallel else _crossed_axes(a, b)
    coordinates = np.broadcast_to(_COORDINATES, (len(a.half), 3, 3))
    axes = np.concatenate([coordinates, a.normals, b.normals, own], axis=1)
    gaps = _gaps(a, b, axes)
    best = np.argmax(gaps, axis=1)
    rows = np.arange(len(best))
    found: Array = gaps[rows, best]
    if not parallel and (a.corners is None or b.corners is None):
        some = np.flatnonzero(found < -ROUND)
        found[some] = _refined(a.at(some), b.at(some), axes[some, best[some]], found[some])
    return found


_COORDINATES = np.eye(3)


def _hulls(prisms: Sequence[Prism]) -> _Hulls:
    """Prisms whose sections have equally many corners, or are all discs."""
    frames = {id(p.frame): p.frame for p in prisms}
    place = {key: number for number, key in enumerate(frames)}
    axes = np.array([(f.origin, f.first, f.second, f.third) for f in frames.values()])
    origin, first, second, third = axes[[place[id(p.frame)] for p in prisms]].transpose(1, 0, 2)
    ends = np.array([(p.low, p.high) for p in prisms])
    half = 0.5 * (ends[:, 1] - ends[:, 0])
    sections = [p.section for p in prisms]
    discs = [s for s in sections if isinstance(s, Disc)]
    if discs:
        flat = np.array([(*s.centre, s.radius) for s in discs])
        middle = 0.5 * (ends[:, :1] + ends[:, 1:])
        centre = origin + flat[:, :1] * first + flat[:, 1:2] * second + middle * third
        return _Hulls(None, centre, flat[:, 2], half, first, second, third, third[:, None], third[:, None])
    points = np.array([s.points for s in sections if isinstance(s, Polygon)])
    f, s, t = first[:, None], second[:, None], third[:, None]
    plane = origin[:, None] + points[..., :1] * f + points[..., 1:] * s
    corners = plane[:, :, None] + ends[:, None, :, None] * t[:, :, None]
    corners = corners.reshape(len(prisms), -1, 3)
    along = np.roll(points, -1, axis=1) - points
    along = along / np.hypot(along[..., :1], along[..., 1:])
    edges = along[..., :1] * f + along[..., 1:] * s
    normals = along[..., 1:] * f - along[..., :1] * s
    return _Hulls(
        corners, corners.mean(axis=1), np.zeros(len(prisms)), half, first, second, third,
        np.concatenate([normals, t], axis=1), np.concatenate([edges, t], axis=1),
    )  # fmt: skip


def _crossed_axes(a: _Hulls, b: _Hulls) -> Array:
    """Edges of the one crossed with edges of the other; with a disc among them also centre to centre."""
    crossed = _cross(a.edges[:, :, None], b.edges[:, None]).reshape(len(a.half), -1, 3)
    if a.corners is None or b.corners is None:
        crossed = np.concatenate([crossed, (b.centre - a.centre)[:, None]], axis=1)
    return _unit(crossed)


def _flat_axes(a: _Hulls, b: _Hulls) -> Array:
    """Parallel prisms: from a disc's centre to the other's centre or corners; none for two polygons."""
    if a.corners is not None and b.corners is not None:
        return np.empty((len(a.half), 0, 3))
    disc, other = (a, b) if a.corners is None else (b, a)
    targets = other.centre[:, None] if other.corners is None else other.corners
    away = targets - disc.centre[:, None]
    third = disc.third[:, None]
    return _unit(away - np.sum(away * third, axis=2, keepdims=True) * third)


def _cross(a: Array, b: Array) -> Array:
    x, y, z = (a[..., k] for k in range(3))
    u, v, w = (b[..., k] for k in range(3))
    return np.stack((y * w - z * v, z * u - x * w, x * v - y * u), axis=-1)


def _unit(vectors: Array) -> Array:
    """Unit vectors along the last axis; those that are none become 0."""
    lengths = np.sqrt(np.sum(vectors**2, axis=-1, keepdims=True))
    return np.where(lengths > 1e-9, vectors / np.maximum(lengths, 1e-9), 0.0)


def _gaps(a: _Hulls, b: _Hulls, axes: Array) -> Array:
    """Gap of each pair along each of its axes (k, m, 3), shape (k, m); none along an axis that is 0."""
    a_low, a_high = _range(a, axes)
    b_low, b_high = _range(b, axes)
    gaps: Array = np.maximum(b_low - a_high, a_low - b_high)
    return np.where(axes.any(axis=2), gaps, -np.inf)


def _range(hulls: _Hulls, axes: Array) -> tuple[Array, Array]:
    """Least and greatest projection on each axis, exact for discs too."""
    if hulls.corners is not None:
        along = axes @ hulls.corners.transpose(0, 2, 1)
        return along.min(axis=2), along.max(axis=2)
    middle, a, b, c = (
        (axes @ each[:, :, None])[..., 0] for each in (hulls.centre, hulls.first, hulls.second, hulls.third)
    )
    spread = hulls.radius[:, None] * np.hypot(a, b) + hulls.half[:, None] * np.abs(c)
    return middle - spread, middle + spread


def _refined(a: _Hulls, b: _Hulls, axis: Array, gap: Array) -> Array:
    """Pattern search on the unit sphere from the best candidate axis, until the step is below 1e-5 rad."""
    step = np.full(len(gap), 0.2)
    turn = (np.arange(8) * (np.pi / 4))[:, None]
    rows = np.arange(len(gap))
    axis, gap = axis.copy(), gap.copy()
    while len(rows := rows[step[rows] > 1e-5]):
        here = axis[rows]
        across = _unit(_cross(here, _COORDINATES[np.argmin(np.abs(here), axis=1)]))
        up = _cross(here, across)
        around = np.cos(turn) * across[:, None] + np.sin(turn) * up[:, None]
        tried = _unit(here[:, None] + step[rows, None, None] * around)
        gaps = _gaps(a.at(rows), b.at(rows), tried)
        best = np.argmax(gaps, axis=1)
        found = gaps[np.arange(len(rows)), best]
        better = found > gap[rows]
        axis[rows[better]], gap[rows[better]] = tried[better, best[better]], found[better]
        step[rows[~better]] *= 0.5
    return gap
