"""Signed distance of convex prisms by separating axes, continuous through touching.

Positive: a gap, never above the true one. Negative: they overlap by that depth along the least axis.
Exact in sign for plane-faced prisms and for parallel cylinders; for crossing cylinders the axis is refined
until it no longer improves. Method: separating-axis theorem (ericson-2005, section 5.2.1).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from orthostat.model.bodies import Disc, Prism

Array = NDArray[np.float64]
PARALLEL = 1.0 - 1e-12
ROUND = 1e-12
"""Gaps nearer to zero than this [m] are rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class _Hull:
    """A prism as arrays: corners (n, 3) or a disc's centre, radius and axes; normals and edges (m, 3)."""

    corners: Array | None
    centre: Array
    radius: float
    half: float
    first: Array
    second: Array
    third: Array
    normals: Array
    edges: Array


def separation(one: Prism, other: Prism) -> float:
    """Signed distance between two convex prisms [m]: gap (lower bound) or minus the overlap's depth."""
    return _separation(one, other)


@lru_cache(maxsize=16_384)
def _separation(one: Prism, other: Prism) -> float:
    a, b = _hull(one), _hull(other)
    parallel = abs(float(a.third @ b.third)) > PARALLEL
    own = _flat_axes(a, b) if parallel else _crossed_axes(a, b)
    axes = np.vstack([_COORDINATES, a.normals, b.normals, own])
    gaps = _gaps(a, b, axes)
    best = int(np.argmax(gaps))
    if gaps[best] >= -ROUND or parallel or (a.corners is not None and b.corners is not None):
        return float(gaps[best])
    return _refined(a, b, axes[best], float(gaps[best]))


_COORDINATES = np.eye(3)


@lru_cache(maxsize=4096)
def _hull(prism: Prism) -> _Hull:
    frame, section = prism.frame, prism.section
    first, second, third = (np.array(axis) for axis in (frame.first, frame.second, frame.third))
    middle = 0.5 * (prism.low + prism.high)
    half = 0.5 * (prism.high - prism.low)
    if isinstance(section, Disc):
        centre = np.array(frame.point(*section.centre, middle))
        return _Hull(None, centre, section.radius, half, first, second, third, third[None], third[None])
    flat = np.array(section.points)
    ends = np.array([prism.low, prism.high])
    plane = np.array(frame.origin) + flat[:, :1] * first + flat[:, 1:] * second
    corners = (plane[:, None, :] + ends[None, :, None] * third).reshape(-1, 3)
    along = np.roll(flat, -1, axis=0) - flat
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    edges = along[:, :1] * first + along[:, 1:] * second
    normals = along[:, 1:] * first - along[:, :1] * second
    return _Hull(
        corners, corners.mean(axis=0), 0.0, half, first, second, third,
        np.vstack([normals, third[None]]), np.vstack([edges, third[None]]),
    )  # fmt: skip


def _crossed_axes(a: _Hull, b: _Hull) -> Array:
    """Edges of the one crossed with edges of the other; with a disc among them also centre to centre."""
    crossed = np.cross(a.edges[:, None, :], b.edges[None, :, :]).reshape(-1, 3)
    if a.corners is None or b.corners is None:
        crossed = np.vstack([crossed, b.centre - a.centre])
    return _unit(crossed)


def _flat_axes(a: _Hull, b: _Hull) -> Array:
    """Parallel prisms: from a disc's centre to the other's centre or corners; none for two polygons."""
    if a.corners is not None and b.corners is not None:
        return np.empty((0, 3))
    disc, other = (a, b) if a.corners is None else (b, a)
    targets = other.centre[None] if other.corners is None else other.corners
    away = targets - disc.centre
    return _unit(away - (away @ disc.third)[:, None] * disc.third)


def _unit(vectors: Array) -> Array:
    lengths = np.linalg.norm(vectors, axis=1)
    keep = lengths > 1e-9
    return np.asarray(vectors[keep] / lengths[keep, None])


def _gaps(a: _Hull, b: _Hull, axes: Array) -> Array:
    a_low, a_high = _range(a, axes)
    b_low, b_high = _range(b, axes)
    return np.maximum(b_low - a_high, a_low - b_high)


def _range(hull: _Hull, axes: Array) -> tuple[Array, Array]:
    """Least and greatest projection on each axis, exact for discs too."""
    if hull.corners is not None:
        along = axes @ hull.corners.T
        return along.min(axis=1), along.max(axis=1)
    middle = axes @ hull.centre
    spread = hull.radius * np.hypot(axes @ hull.first, axes @ hull.second) + hull.half * np.abs(
        axes @ hull.third
    )
    return middle - spread, middle + spread


def _refined(a: _Hull, b: _Hull, axis: Array, gap: float) -> float:
    """Pattern search on the unit sphere from the best candidate axis, until the step is below 1e-5 rad."""
    step = 0.2
    turn = np.arange(8) * (np.pi / 4)
    while step > 1e-5:
        across = np.cross(axis, _COORDINATES[int(np.argmin(np.abs(axis)))])
        across = across / np.linalg.norm(across)
        up = np.cross(axis, across)
        tried = _unit(axis + step * (np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * up))
        gaps = _gaps(a, b, tried)
        best = int(np.argmax(gaps))
        if gaps[best] > gap:
            axis, gap = tried[best], float(gaps[best])
        else:
            step *= 0.5
    return gap
