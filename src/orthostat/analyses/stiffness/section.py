"""Section meshes: a conforming Delaunay triangulation of everything in plan, voids included.

Rings that bound bodies in plan come in; triangles whose edges lie on every ring come out. Rings
nearer to one another than `gap` are closed on each other, so a half-millimetre clearance does not
ask for half-millimetre triangles.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, sqrt

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import Delaunay

from orthostat.base.dimensions import Metre

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]
Ring = tuple[tuple[float, float], ...]

GRID = 1e-7
"""Coordinates are rounded to this [m], so that a turned body gets the same triangles."""
SPLITS = 12
"""Rounds of halving edges that the triangulation missed before the mesh is given up."""


class MeshError(Exception):
    """The section can't be meshed; the message says which part of it."""


@dataclass(frozen=True, slots=True)
class SectionMesh:
    """Triangles over the convex hull of the section, with straight edges.

    points: (nv, 2) x, z [m]. triangles: (nt, 3) counter-clockwise. edges: (ne, 2), low index first.
    triangle_edges: (nt, 3), the edges 01, 12, 02 of each triangle.
    """

    points: Floats
    triangles: Indices
    edges: Indices
    triangle_edges: Indices

    @property
    def areas(self) -> Floats:
        """(nt,) [m²]."""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        return 0.5 * ((b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]))

    @property
    def node_count(self) -> int:
        """Vertices and edges: the section's functions (linear hats and edge bubbles)."""
        return len(self.points) + len(self.edges)

    @property
    def triangle_nodes(self) -> Indices:
        """(nt, 6): three vertices, then three edges numbered after the vertices."""
        return np.hstack([self.triangles, len(self.points) + self.triangle_edges])

    def locate(self, at: Floats, allowed: npt.NDArray[np.bool_]) -> tuple[Indices, Floats]:
        """The triangle (among `allowed`) nearest to holding each point of `at` (n, 2), and the point's
        barycentric coordinates in it (n, 3), clipped onto the triangle.

        Raises `MeshError` where no triangle is allowed.
        """
        chosen = np.flatnonzero(allowed)
        if not len(chosen):
            raise MeshError("no material to stand on")
        corner = self.points[self.triangles[chosen]]
        first, second = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
        det = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
        away = at[:, None, :] - corner[None, :, 0]
        l1 = (away[..., 0] * second[:, 1] - away[..., 1] * second[:, 0]) / det
        l2 = (first[:, 0] * away[..., 1] - first[:, 1] * away[..., 0]) / det
        bary = np.stack([1.0 - l1 - l2, l1, l2], axis=-1)
        outside = np.maximum(-bary, 0.0).sum(axis=-1) * np.sqrt(np.abs(det))
        best = np.argmin(outside, axis=1)
        found = np.clip(bary[np.arange(len(at)), best], 0.0, None)
        return chosen[best], found / found.sum(axis=1, keepdims=True)


def mesh_section(rings: Sequence[Ring], *, size: Metre, gap: Metre) -> SectionMesh:
    """Triangulate the hull of `rings` (most important first) with edges about `size` long.

    Raises `MeshError` where fewer than three distinct corners remain or edges can't be recovered.
    """
    lines = _noded(_closed_onto_each_other(rings, gap))
    points, edges = _divided(lines, size)
    inner = _lattice(points, edges, size)
    for _ in range(SPLITS):
        triangles = _delaunay(np.vstack([points, inner]))
        lost = _missing(edges, triangles)
        if not len(lost):
            return _with_edges(np.vstack([points, inner]), triangles)
        points, edges = _halved(points, edges, lost)
    raise MeshError("the section has edges too close to one another to mesh")


Point = tuple[float, float]


def _closed_onto_each_other(rings: Sequence[Ring], gap: float) -> list[list[Point]]:
    """Closed chains of corners; a corner within `gap` of an earlier chain is moved onto it, and every
    chain passes through the corners of the others that lie on it.
    """
    chains: list[list[Point]] = []
    for ring in rings:
        chain: list[Point] = []
        for x, z in ring:
            point = _onto((round(x / GRID) * GRID, round(z / GRID) * GRID), chains, gap)
            if not chain or point != chain[-1]:
                chain.append(point)
        while len(chain) > 1 and chain[0] == chain[-1]:
            chain.pop()
        if len(chain) < 3 or abs(shapely.Polygon(chain).area) < gap * gap:
            continue
        chains.append(_through(chain, [corner for other in chains for corner in other], gap))
    if not chains:
        raise MeshError("the section has no area")
    return [[*chain, chain[0]] for chain in chains]


def _onto(point: Point, chains: list[list[Point]], gap: float) -> Point:
    """The point, or the nearest corner or edge point of a chain within `gap` (then a corner of it)."""
    corners = [corner for chain in chains for corner in chain]
    near = min(corners, key=lambda c: _apart(c, point), default=None)
    if near is not None and _apart(near, point) <= gap:
        return near
    for chain in chains:
        line = shapely.LineString([*chain, chain[0]])
        if line.distance(shapely.Point(point)) <= gap:
            where = line.project(shapely.Point(point))
            found = line.interpolate(where)
            corner = (round(found.x / GRID) * GRID, round(found.y / GRID) * GRID)
            starts = [line.project(shapely.Point(c)) for c in chain]
            chain.insert(sum(start < where for start in starts), corner)
            return corner
    return point


def _through(chain: list[Point], corners: list[Point], gap: float) -> list[Point]:
    """The chain led through every corner of `corners` that lies within `gap` of one of its edges."""
    made: list[Point] = []
    for start, end in zip(chain, [*chain[1:], chain[0]], strict=True):
        made.append(start)
        edge = shapely.LineString([start, end])
        on = [
            (edge.project(shapely.Point(c)), c)
            for c in dict.fromkeys(corners)
            if c not in (start, end) and edge.distance(shapely.Point(c)) <= gap
        ]
        made.extend(c for along, c in sorted(on) if gap < along < edge.length - gap)
    return made


def _apart(a: Point, b: Point) -> float:
    return sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)


def _noded(chains: list[list[Point]]) -> list[Floats]:
    lines = [shapely.LineString(chain) for chain in chains]
    noded = shapely.unary_union(lines, grid_size=GRID)
    merged = shapely.get_parts(noded)
    return [np.asarray(shapely.get_coordinates(part)) for part in merged]


def _divided(lines: list[Floats], size: float) -> tuple[Floats, Indices]:
    index: dict[tuple[int, int], int] = {}
    points: list[tuple[float, float]] = []
    edges: list[tuple[int, int]] = []

    def number(x: float, z: float) -> int:
        key = (round(x / GRID), round(z / GRID))
        if key not in index:
            index[key] = len(points)
            points.append((key[0] * GRID, key[1] * GRID))
        return index[key]

    for line in lines:
        for (xa, za), (xb, zb) in pairwise(line):
            count = max(1, ceil(sqrt((xb - xa) ** 2 + (zb - za) ** 2) / size - 1e-6))
            chain = [number(xa + (xb - xa) * t / count, za + (zb - za) * t / count) for t in range(count + 1)]
            edges.extend((min(a, b), max(a, b)) for a, b in pairwise(chain) if a != b)
    return np.asarray(points), np.unique(np.asarray(edges, dtype=np.intp), axis=0)


def _lattice(points: Floats, edges: Indices, size: float) -> Floats:
    """Points of a triangular lattice inside the hull, clear of every edge, about its centre."""
    low, high = points.min(axis=0), points.max(axis=0)
    middle = 0.5 * (low + high)
    pitch, rise = size, size * sqrt(3.0) / 2.0
    rows = ceil((high[1] - low[1]) / rise / 2.0)
    columns = ceil((high[0] - low[0]) / pitch / 2.0) + 1
    across, up = np.meshgrid(np.arange(-columns, columns + 1), np.arange(-rows, rows + 1))
    grid = np.stack([(across + 0.5 * (up % 2)) * pitch, up * rise], axis=-1).reshape(-1, 2) + middle
    hull = shapely.MultiPoint(points).convex_hull
    lines = shapely.MultiLineString([points[edge] for edge in edges])
    candidates = shapely.points(grid)
    inside = shapely.contains(hull, candidates)
    clear = shapely.distance(lines, candidates) > 0.55 * size
    return np.asarray(np.round(grid[inside & clear] / GRID) * GRID)


def _delaunay(points: Floats) -> Indices:
    triangles = Delaunay(points).simplices.astype(np.intp)
    a, b, c = (points[triangles[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    flipped = area < 0.0
    triangles[flipped] = triangles[flipped][:, ::-1]
    longest = np.max([np.sum((a - b) ** 2, 1), np.sum((b - c) ** 2, 1), np.sum((c - a) ** 2, 1)], axis=0)
    return np.asarray(triangles[np.abs(area) > 1e-4 * longest])


def _pairs(triangles: Indices) -> Indices:
    return np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [0, 2]]]), axis=1)


def _missing(edges: Indices, triangles: Indices) -> Indices:
    count = int(max(edges.max(), triangles.max())) + 1
    present = np.unique(_pairs(triangles) @ np.array([count, 1]))
    return np.flatnonzero(~np.isin(edges @ np.array([count, 1]), present))


def _halved(points: Floats, edges: Indices, lost: Indices) -> tuple[Floats, Indices]:
    middles = 0.5 * (points[edges[lost, 0]] + points[edges[lost, 1]])
    new = len(points) + np.arange(len(lost))
    halves = np.vstack([np.stack([edges[lost, 0], new], 1), np.stack([edges[lost, 1], new], 1)])
    kept = np.delete(edges, lost, axis=0)
    return np.vstack([points, middles]), np.vstack([kept, halves])


def _with_edges(points: Floats, triangles: Indices) -> SectionMesh:
    used, renumbered = np.unique(triangles, return_inverse=True)
    triangles = renumbered.reshape(triangles.shape)
    edges, which = np.unique(_pairs(triangles), axis=0, return_inverse=True)
    return SectionMesh(points[used], triangles, edges, which.reshape(3, -1).T.copy())
