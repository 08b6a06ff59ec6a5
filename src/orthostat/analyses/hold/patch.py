"""The patch on which two parts touch, as points with areas that integrate quadratics exactly.

Rectangles get a grid of 2 × 2 Gauss cells, other convex pieces a fan of triangles with the
three-point rule; both turn with the piece, so a turned patch gives turned points.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import ceil, hypot, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from orthostat.base.findings import NotStated
from orthostat.model.bodies import Point2, Polygon

Array = NDArray[np.float64]

POINTS = 96
"""Points a patch is cut into, about; slip in torsion on a square is then good to 0.1 %."""
_MOST = 1536
_CELL = 2.0
"""Largest cell, in distances of the pressing force from the nearest edge: what is pressed is three deep."""
_TRIANGLE = ((2 / 3, 1 / 6, 1 / 6), (1 / 6, 2 / 3, 1 / 6), (1 / 6, 1 / 6, 2 / 3))


@dataclass(frozen=True, eq=False)
class Patch:
    """Points (n, 2) [m], their areas (n,) [m²], centroid (2,), corners of all pieces (m, 2) and the
    corners of the convex hull in order (k, 2).
    """

    points: Array
    areas: Array
    centroid: Array
    corners: Array
    hull: Array

    @cached_property
    def area(self) -> float:
        return float(self.areas.sum())

    @cached_property
    def size(self) -> float:
        """Largest distance of a corner from the centroid [m]."""
        return float(np.max(np.hypot(*(self.corners - self.centroid).T)))

    @cached_property
    def shape(self) -> Array:
        """(n, 3): closing at each point for a unit of each freedom, tilts in units of the size."""
        made = self.basis(self.points)
        made.setflags(write=False)
        return made

    @cached_property
    def pairs(self) -> Array:
        """(n, 9): products of the columns of `shape`."""
        made: Array = (self.shape[:, :, None] * self.shape[:, None, :]).reshape(-1, 9)
        made.setflags(write=False)
        return made

    @cached_property
    def corner_shape(self) -> Array:
        """(m, 3): closing at each corner for a unit of each freedom."""
        made = self.basis(self.corners)
        made.setflags(write=False)
        return made

    @cached_property
    def sides(self) -> Array:
        """(k, 3) for each side of the hull: a, b, c with a + b x + c z zero on it and positive within."""
        ahead = np.roll(self.hull, -1, axis=0) - self.hull
        normal = np.column_stack([-ahead[:, 1], ahead[:, 0]])
        inward = np.sign(np.einsum("ij,ij->i", normal, self.centroid - self.hull))[:, None] * normal
        made = np.column_stack([-np.einsum("ij,ij->i", inward, self.hull), inward])
        made.setflags(write=False)
        return made

    def inside(self, at: Array) -> float:
        """How far a place (2,) lies inside the hull's nearest edge [m]; below zero outside."""
        sides = np.roll(self.hull, -1, axis=0) - self.hull
        inward = np.stack([-sides[:, 1], sides[:, 0]], axis=1) / np.hypot(*sides.T)[:, None]
        return float(np.min(np.sum(inward * (at - self.hull), axis=1)))

    def basis(self, at: Array) -> Array:
        """(k, 3) closing at points (k, 2) for a unit of each freedom: down, and two tilts."""
        made: Array = np.empty((len(at), 3))
        made[:, 0] = 1.0
        made[:, 1:] = (at - self.centroid) / self.size
        return made


def points_near_an_edge(patch: Patch, at: Array) -> int:
    """How many points a patch needs that is pressed down at a place (2,): more than usual where that lies so
    near an edge that the points would stand farther in than what is pressed.
    """
    inside = patch.inside(at)
    if inside <= 0.0:
        return POINTS
    cells = 4.0 * patch.area / (_CELL * inside) ** 2
    return int(min(max(cells, POINTS), _MOST))


def patch_of(pieces: tuple[Polygon, ...], count: int = POINTS) -> Patch:
    """The patch made of convex `pieces` that do not overlap, in about `count` points; the same object for
    the same of both, with all it has found.

    Raises:
        NotStated: the pieces have no area, so there is nothing to stand on.
    """
    return _patch_of(pieces, count)


@lru_cache(maxsize=256)
def _patch_of(pieces: tuple[Polygon, ...], count: int) -> Patch:
    areas = [_signed_area(piece.points) for piece in pieces]
    total = sum(abs(area) for area in areas)
    extent = max((abs(value) for piece in pieces for point in piece.points for value in point), default=0.0)
    if total <= 1e-9 * extent**2:
        raise NotStated(reason="the contact patch has no area")
    cell = total / count
    points: list[Point2] = []
    weights: list[float] = []
    for piece in pieces:
        for point, weight in _rectangle(piece, cell) or _fan(piece, cell):
            points.append(point)
            weights.append(weight)
    at, area = np.array(points), np.array(weights)
    corners = np.array([point for piece in pieces for point in piece.points])
    hull = corners[ConvexHull(corners).vertices]
    centroid = (at * area[:, None]).sum(axis=0) / area.sum()
    for each in (at, area, corners, hull, centroid):
        each.setflags(write=False)
    return Patch(at, area, centroid, corners, hull)


def _signed_area(points: tuple[Point2, ...]) -> float:
    following = points[1:] + points[:1]
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, following, strict=True))


def _rectangle(piece: Polygon, cell: float) -> list[tuple[Point2, float]]:
    """Gauss cells of a rectangle; empty when the piece is none."""
    if len(piece.points) != 4:
        return []
    a, b, c, d = piece.points
    first, second = (b[0] - a[0], b[1] - a[1]), (d[0] - a[0], d[1] - a[1])
    length, width = hypot(*first), hypot(*second)
    skew = abs(first[0] * second[0] + first[1] * second[1]) + hypot(
        a[0] + c[0] - b[0] - d[0], a[1] + c[1] - b[1] - d[1]
    ) * max(length, width)
    if skew > 1e-9 * length * width:
        return []
    side = sqrt(4.0 * cell)
    along, across = _gauss(length, side), _gauss(width, side)
    weight = length * width / (len(along) * len(across))
    return [
        ((a[0] + s * first[0] + t * second[0], a[1] + s * first[1] + t * second[1]), weight)
        for s in along
        for t in across
    ]


def _gauss(length: float, side: float) -> list[float]:
    """Two Gauss points in each of the equal parts of [0, 1]."""
    parts = max(2, ceil(length / side - 1e-9))
    reach = 0.5 / sqrt(3.0)
    return [(k + 0.5 + sign * reach) / parts for k in range(parts) for sign in (-1.0, 1.0)]


def _fan(piece: Polygon, cell: float) -> list[tuple[Point2, float]]:
    """Three points in each small triangle of a fan about the middle of the piece."""
    corners = piece.points
    middle = (sum(x for x, _ in corners) / len(corners), sum(z for _, z in corners) / len(corners))
    found: list[tuple[Point2, float]] = []
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        area = abs(_signed_area((middle, a, b)))
        parts = max(1, ceil(sqrt(area / (3.0 * cell)) - 1e-9))
        for small in _subdivided(middle, a, b, parts):
            found += [(_mixed(small, weights), area / parts**2 / 3.0) for weights in _TRIANGLE]
    return found


def _subdivided(a: Point2, b: Point2, c: Point2, parts: int) -> list[tuple[Point2, Point2, Point2]]:
    def at(i: int, j: int) -> Point2:
        return _mixed((a, b, c), (1.0 - (i + j) / parts, i / parts, j / parts))

    up = [(at(i, j), at(i + 1, j), at(i, j + 1)) for i in range(parts) for j in range(parts - i)]
    down = [
        (at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)) for i in range(parts) for j in range(parts - i - 1)
    ]
    return up + down


def _mixed(corners: tuple[Point2, Point2, Point2], weights: tuple[float, float, float]) -> Point2:
    (ax, az), (bx, bz), (cx, cz) = corners
    a, b, c = weights
    return a * ax + b * bx + c * cx, a * az + b * bz + c * cz
