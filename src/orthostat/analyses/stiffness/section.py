"""Section meshes: a constrained Delaunay triangulation of everything in plan, voids included.

Rings that bound bodies in plan come in; triangles whose edges lie on every ring come out. Rings
nearer to one another than `gap` are closed on each other, so a half-millimetre clearance does not
ask for half-millimetre triangles.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import ceil, sqrt

import numpy as np
import numpy.typing as npt
import shapely

from orthostat.base.dimensions import Metre
from orthostat.meshing.constrained import EdgeLost, constrained, pairs

Floats = npt.NDArray[np.float64]
Complexes = npt.NDArray[np.complex128]
Indices = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
Point = tuple[float, float]
Ring = tuple[Point, ...]

GRID = 1e-7
"""Coordinates are rounded to this [m], so that a turned body gets the same triangles."""
GROWTH = 0.3
"""How much longer an edge may be for each metre of distance from what asks for short ones."""
COARSENS = 0.3
"""Points thin out before edges may be twice as long: from 2^(1 - this) times as long on."""
FEWEST = 8
"""Corners that a round outline keeps at least."""
SHORT = 0.5
"""Sides shorter than this share of the wanted length are more than a round outline needs."""


class MeshError(Exception):
    """The section can't be meshed; the message says which part of it."""


@dataclass(frozen=True, eq=False)
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

    def locate(self, at: Floats, allowed: Flags) -> tuple[Indices, Floats]:
        """The triangle (among `allowed`) nearest to holding each point of `at` (n, 2), and the point's
        barycentric coordinates in it (n, 3), clipped onto the triangle.

        Raises `MeshError` where no triangle is allowed.
        """
        chosen = np.flatnonzero(allowed)
        if not len(chosen):
            raise MeshError("no material to stand on")
        corner = self.points[self.triangles[chosen]]
        (first_x, first_z), (second_x, second_z) = (corner[:, 1:] - corner[:, :1]).transpose(1, 2, 0)
        det = first_x * second_z - first_z * second_x
        x, z = at[:, 0, None] - corner[:, 0, 0], at[:, 1, None] - corner[:, 0, 1]
        l1 = x * (second_z / det) - z * (second_x / det)
        l2 = z * (first_x / det) - x * (first_z / det)
        l0 = 1.0 - l1 - l2
        inside = np.minimum(l0, 0.0) + np.minimum(l1, 0.0) + np.minimum(l2, 0.0)
        best = np.argmax(inside * np.sqrt(np.abs(det)), axis=1)
        rows = np.arange(len(at))
        found = np.clip(np.stack([l0[rows, best], l1[rows, best], l2[rows, best]], axis=1), 0.0, None)
        return chosen[best], found / found.sum(axis=1, keepdims=True)


def mesh_section(
    rings: Sequence[Ring], *, size: Metre, gap: Metre, near: shapely.Geometry | None = None
) -> SectionMesh:
    """Triangulate the hull of `rings` (most important first) with edges about `size` long.

    With `near`, edges grow with the distance from that region. Raises `MeshError` where fewer than three
    distinct corners remain or edges cross. The last meshes are kept: most edits leave the plan alone.
    """
    return _meshed(tuple(rings), size, gap, near)


@lru_cache(maxsize=8)
def _meshed(rings: tuple[Ring, ...], size: Metre, gap: Metre, near: shapely.Geometry | None) -> SectionMesh:
    sizing = _Sizing(float(size), near)
    lines = _noded(_closed_onto_each_other([_with_fewer_corners(ring, size) for ring in rings], gap))
    points, edges = _divided(lines, sizing)
    points = np.vstack([points, _lattice(points, edges, sizing)])
    try:
        return _with_edges(points, constrained(points, edges))
    except EdgeLost as lost:
        raise MeshError(f"the section can't be meshed: {lost}") from lost


@dataclass(frozen=True, slots=True)
class _Sizing:
    """Wanted length of edges at a place."""

    size: float
    near: shapely.Geometry | None

    def __call__(self, points: Floats) -> Floats:
        if self.near is None:
            return np.full(len(points), self.size)
        away = shapely.distance(self.near, shapely.points(points))
        return np.asarray(self.size + GROWTH * away)

    def pieces(self, start: Point, end: Point) -> int:
        """Into how many edges a line is cut."""
        (xa, za), (xb, zb) = start, end
        length = sqrt((xb - xa) ** 2 + (zb - za) ** 2)
        if length <= self.size * (1.0 + 1e-6):
            return 1
        share = (np.arange(8) + 0.5) / 8.0
        places = np.stack([xa + (xb - xa) * share, za + (zb - za) * share], axis=1)
        return max(1, ceil(length * float(np.mean(1.0 / self(places))) - 1e-6))


def _with_fewer_corners(ring: Ring, size: float) -> Ring:
    """A round outline of sides much shorter than `size` by every other corner, its area kept."""
    while len(ring) >= 2 * FEWEST and len(ring) % 2 == 0:
        corners = np.asarray(ring)
        sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        if sides.max() > SHORT * size:
            break
        middle = corners.mean(axis=0)
        fewer = corners[::2] - middle
        grown = sqrt(shapely.Polygon(ring).area / shapely.Polygon(fewer).area)
        ring = tuple((float(x), float(z)) for x, z in middle + grown * fewer)
    return ring


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


def _divided(lines: list[Floats], sizing: _Sizing) -> tuple[Floats, Indices]:
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
            count = sizing.pieces((xa, za), (xb, zb))
            chain = [number(xa + (xb - xa) * t / count, za + (zb - za) * t / count) for t in range(count + 1)]
            edges.extend((min(a, b), max(a, b)) for a, b in pairwise(chain) if a != b)
    return np.asarray(points), np.unique(np.asarray(edges, dtype=np.intp), axis=0)


def _lattice(points: Floats, edges: Indices, sizing: _Sizing) -> Floats:
    """Points of a triangular lattice inside the hull, clear of every edge, about its centre.

    Where edges may be twice as long only every other point of every other row is taken, and so on: what
    is left is as regular as the lattice.
    """
    size = sizing.size
    low, high = points.min(axis=0), points.max(axis=0)
    middle = 0.5 * (low + high)
    rows = ceil((high[1] - low[1]) / size / sqrt(3.0))
    columns = ceil((high[0] - low[0]) / size / 2.0) + 1
    across, up = np.meshgrid(np.arange(-columns, columns + 1), np.arange(-rows, rows + 1))
    slanted = (across - up // 2).ravel()
    grid = np.stack([across + 0.5 * (up % 2), up * sqrt(0.75)], axis=-1).reshape(-1, 2) * size + middle
    wanted = sizing(grid)
    stride = 2 ** np.floor(np.log2(wanted / size) + COARSENS).astype(int)
    hull = shapely.MultiPoint(points).convex_hull
    lines = shapely.MultiLineString([points[edge] for edge in edges])
    candidates = shapely.points(grid)
    regular = (slanted % stride == 0) & (up.ravel() % stride == 0)
    clear = shapely.distance(lines, candidates) > 0.55 * wanted
    return np.asarray(np.round(grid[regular & clear & shapely.contains(hull, candidates)] / GRID) * GRID)


def _with_edges(points: Floats, triangles: Indices) -> SectionMesh:
    used, renumbered = np.unique(triangles, return_inverse=True)
    triangles = renumbered.reshape(triangles.shape)
    edges, which = np.unique(pairs(triangles), axis=0, return_inverse=True)
    parts = (points[used], triangles, edges, which.reshape(3, -1).T.copy())
    for part in parts:
        part.setflags(write=False)  # a kept mesh is shared
    return SectionMesh(*parts)
