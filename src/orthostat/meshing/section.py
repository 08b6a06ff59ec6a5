"""A conforming triangulation of a plan section made of polygonal regions.

Boundaries are sampled at the local size, interior points come from a hexagonal grid and are refined
by inserting circumcentres (Ruppert 1995, in batches on scipy's Delaunay triangulation); boundary
pieces that the triangulation lost are halved until all are edges of it. Shared interfaces are meshed
once, so that regions are joined node to node. The same section gives the same mesh.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay, cKDTree

from orthostat.base.dimensions import Metre, Ratio, SquareMetre
from orthostat.model.bodies import Point2

Floats = NDArray[np.float64]
Ints = NDArray[np.integer[Any]]

USUAL_GRADING = Ratio(0.35)
MOST_POINTS = 40_000
GRID = 1e-7
"""Points nearer than this [m] count as one, so that joints of turned plates close in spite of rounding."""


class MeshFault(ValueError):
    """A section can't be triangulated (regions empty, overlapping or finer than the size allows)."""


@dataclass(frozen=True, slots=True)
class Region:
    """One material area of a section: a closed outline and holes, vertices in order [m]."""

    name: str
    outline: tuple[Point2, ...]
    holes: tuple[tuple[Point2, ...], ...] = ()


@dataclass(frozen=True)
class SectionMesh:
    """Nodes and triangles of a section.

    `points` (n, 2) [m], `triangles` (m, 3) counter-clockwise node numbers, `region` (m,) index into
    `names`. Arrays are read-only.
    """

    names: tuple[str, ...]
    points: Floats = field(compare=False)
    triangles: Ints = field(compare=False)
    region: Ints = field(compare=False)

    @cached_property
    def areas(self) -> Floats:
        """Area of each triangle (m,) [m²]."""
        return _frozen(_areas(self.points, self.triangles))

    def area(self, name: str) -> SquareMetre:
        """Total area of a region [m²]."""
        return SquareMetre(float(self.areas[self.region == self.names.index(name)].sum()))

    def boundary_edges(self) -> tuple[Ints, Ints]:
        """Edges with a triangle on one side only: (k, 2) nodes and (k,) the triangle that owns each."""
        edges, owners, counts = self._edges
        once = counts == 1
        return edges[once], owners[once]

    def interface_edges(self, first: str, second: str) -> Ints:
        """Edges (k, 2) between a triangle of one region and a triangle of another."""
        wanted = {self.names.index(first), self.names.index(second)}
        sides: dict[tuple[int, int], set[int]] = {}
        for corner in range(3):
            pairs = np.sort(self.triangles[:, [corner, (corner + 1) % 3]], axis=1)
            for (a, b), region in zip(pairs.tolist(), self.region.tolist(), strict=True):
                sides.setdefault((a, b), set()).add(region)
        return np.array([pair for pair, regions in sides.items() if regions == wanted], int).reshape(-1, 2)

    @cached_property
    def _edges(self) -> tuple[Ints, Ints, Ints]:
        pairs = np.concatenate(
            [self.triangles[:, [0, 1]], self.triangles[:, [1, 2]], self.triangles[:, [2, 0]]]
        )
        _, first, counts = np.unique(np.sort(pairs, axis=1), axis=0, return_index=True, return_counts=True)
        return pairs[first], first % len(self.triangles), counts


@lru_cache(maxsize=16)
def mesh_section(regions: tuple[Region, ...], size: Metre, *, grading: Ratio = USUAL_GRADING) -> SectionMesh:
    """Triangulate `regions` with edges of about `size` [m], finer where the outline is finer.

    `grading` is how fast the edge length may grow away from a short outline piece. Where regions
    overlap the first one listed wins. Raises `MeshFault` if no region has an area.
    """
    shapes = [shapely.Polygon(region.outline, region.holes) for region in regions]
    if not shapes or any(not shape.is_valid or shape.area <= 0.0 for shape in shapes):
        raise MeshFault("a region of the section is empty or crosses itself")
    segments, vertices = _noded(shapes)
    sizing = _Sizing(vertices, segments, float(size), float(grading))
    boundary, pieces = _sampled(vertices, segments, sizing)
    domain = shapely.unary_union(shapes, grid_size=GRID)
    shapely.prepare(domain)
    points, pieces = _refined(boundary, pieces, domain, sizing)
    triangles = _inside(points, Delaunay(points).simplices, domain)
    region = _regions_of(points, triangles, shapes)
    used, renumbered = np.unique(triangles[region >= 0], return_inverse=True)
    return SectionMesh(
        tuple(r.name for r in regions),
        _frozen(points[used]),
        _frozen(_counter_clockwise(points[used], renumbered.reshape(-1, 3))),
        _frozen(region[region >= 0]),
    )


class _Sizing:
    """Wanted edge length at a place: `size`, or less near short outline pieces, growing with distance."""

    def __init__(self, vertices: Floats, segments: Ints, size: float, grading: float) -> None:
        lengths = np.linalg.norm(vertices[segments[:, 0]] - vertices[segments[:, 1]], axis=1)
        shortest = np.full(len(vertices), np.inf)
        for side in (0, 1):
            np.minimum.at(shortest, segments[:, side], lengths)
        self.size, self.grading = size, grading
        fine = shortest < size
        self.places, self.lengths = vertices[fine], shortest[fine]

    def __call__(self, points: Floats) -> Floats:
        if not len(self.places):
            return np.full(len(points), self.size)
        distance = np.linalg.norm(points[:, None, :] - self.places[None, :, :], axis=2)
        near = np.asarray((self.lengths[None, :] + self.grading * distance).min(axis=1))
        return np.asarray(np.minimum(self.size, near))


def _noded(shapes: list[Any]) -> tuple[Ints, Floats]:
    """All outlines cut at one another's vertices: segments (k, 2) and vertices (n, 2)."""
    lines = shapely.unary_union([shape.boundary for shape in shapes], grid_size=GRID)
    parts = [np.asarray(part.coords) for part in getattr(lines, "geoms", [lines])]
    ends = np.concatenate([np.stack([p[:-1], p[1:]], axis=1) for p in parts])
    vertices, number = np.unique(np.round(ends.reshape(-1, 2), 9), axis=0, return_inverse=True)
    return np.unique(np.sort(number.reshape(-1, 2), axis=1), axis=0), vertices


def _sampled(vertices: Floats, segments: Ints, sizing: _Sizing) -> tuple[Floats, Ints]:
    """Segments cut into pieces of the wanted length: points (n, 2), pieces (k, 2)."""
    points: list[Floats] = [vertices]
    pieces: list[tuple[int, int]] = []
    count = len(vertices)
    for a, b in segments.tolist():
        cuts = _cuts(vertices[a], vertices[b], sizing)
        names = [a, *range(count, count + len(cuts)), b]
        points.append(vertices[a] + cuts[:, None] * (vertices[b] - vertices[a]))
        count += len(cuts)
        pieces += list(pairwise(names))
    return np.concatenate(points), np.array(pieces, int)


def _cuts(start: Floats, end: Floats, sizing: _Sizing) -> Floats:
    """Fractions along a segment at equal steps of ∫ ds / wanted length."""
    along = np.linspace(0.0, 1.0, 65)
    wanted = sizing(start + along[:, None] * (end - start))
    density = np.linalg.norm(end - start) / wanted
    steps = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(along))])
    number = max(1, int(np.ceil(steps[-1] - 0.25)))
    return np.asarray(np.interp(np.arange(1, number) / number * steps[-1], steps, along))


def _refined(boundary: Floats, pieces: Ints, domain: Any, sizing: _Sizing) -> tuple[Floats, Ints]:
    """Add interior points until boundary pieces are edges and triangles have the wanted size."""
    points, fixed = boundary, len(boundary)
    inner = _grid(boundary, domain, sizing)
    for _ in range(40):
        triangulation = Delaunay(np.concatenate([points[:fixed], inner]))
        lost = _lost(triangulation.simplices, pieces, fixed + len(inner))
        if len(lost):
            points, pieces, inner = _halved(points[:fixed], pieces, lost, inner)
            fixed = len(points)
            if fixed > MOST_POINTS:
                raise MeshFault("an outline is finer than its size allows: it does not close")
            continue
        added = _wanted(triangulation, domain, sizing, pieces)
        if not len(added):
            break
        inner = np.concatenate([inner, added])
    inner = _smoothed(points[:fixed], inner, pieces)
    return np.concatenate([points[:fixed], inner]), pieces


def _grid(boundary: Floats, domain: Any, sizing: _Sizing) -> Floats:
    size = sizing.size
    low, high = boundary.min(axis=0), boundary.max(axis=0)
    rows = np.arange(low[1] + 0.5 * size, high[1], size * np.sqrt(0.75))
    if not len(rows):
        return np.zeros((0, 2))
    grid = np.concatenate(
        [_row(low[0] + (0.25 + 0.5 * (i % 2)) * size, high[0], size, y) for i, y in enumerate(rows)]
    )
    grid = grid[_contains(domain, grid)]
    if not len(grid):
        return grid
    distance, _ = cKDTree(boundary).query(grid)
    return grid[(distance > 0.7 * size) & (sizing(grid) > 0.95 * size)]


def _row(start: float, end: float, size: float, height: float) -> Floats:
    across = np.arange(start, end, size)
    return np.stack([across, np.full(len(across), height)], axis=1)


def _lost(simplices: Ints, pieces: Ints, count: int) -> Ints:
    """Numbers of the boundary pieces that are not edges of the triangulation."""
    pairs = np.concatenate([simplices[:, [0, 1]], simplices[:, [1, 2]], simplices[:, [2, 0]]]).astype(
        np.int64
    )
    pairs.sort(axis=1)
    wanted = np.sort(pieces, axis=1)
    keys = np.unique(pairs[:, 0] * count + pairs[:, 1])
    return np.flatnonzero(~np.isin(wanted[:, 0] * count + wanted[:, 1], keys))


def _halved(fixed: Floats, pieces: Ints, lost: Ints, inner: Floats) -> tuple[Floats, Ints, Floats]:
    middles = 0.5 * (fixed[pieces[lost, 0]] + fixed[pieces[lost, 1]])
    reach = 0.5 * np.linalg.norm(fixed[pieces[lost, 0]] - fixed[pieces[lost, 1]], axis=1)
    names = len(fixed) + np.arange(len(lost))
    kept = np.delete(pieces, lost, axis=0)
    halves = np.concatenate([np.stack([pieces[lost, 0], names], 1), np.stack([names, pieces[lost, 1]], 1)])
    if len(inner):
        distance, nearest = cKDTree(middles).query(inner)
        inner = inner[distance > 0.8 * reach[nearest]]
    return np.concatenate([fixed, middles]), np.concatenate([kept, halves]), inner


def _wanted(triangulation: Any, domain: Any, sizing: _Sizing, pieces: Ints) -> Floats:
    """Circumcentres of triangles that are too large or too thin, spaced apart and off the boundary."""
    points = triangulation.points
    triangles = _inside(points, triangulation.simplices, domain)
    centre, radius = _circumcircles(points, triangles)
    middle = points[triangles].mean(axis=1)
    wanted = sizing(middle)
    corners = points[triangles]
    shortest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).min(axis=1)
    bad = (radius > 0.85 * wanted) | ((radius > 1.5 * shortest) & (radius > 0.5 * wanted))
    bad &= _contains(domain, np.where(np.isfinite(centre), centre, np.inf))
    if not bad.any():
        return np.zeros((0, 2))
    order = np.argsort(-radius[bad] / wanted[bad], kind="stable")
    candidates, spacing = centre[bad][order], sizing(centre[bad][order])
    halfway = 0.5 * (points[pieces[:, 0]] + points[pieces[:, 1]])
    reach = 0.5 * np.linalg.norm(points[pieces[:, 0]] - points[pieces[:, 1]], axis=1)
    near, _ = cKDTree(points).query(candidates)
    clear = near > 0.6 * spacing
    closest, piece = cKDTree(halfway).query(candidates)
    clear &= closest > reach[piece]
    return _apart(candidates[clear], spacing[clear])


def _apart(candidates: Floats, spacing: Floats) -> Floats:
    """The candidates, best first, that keep 0.7 of the spacing from those taken before."""
    if not len(candidates):
        return candidates
    tree = cKDTree(candidates)
    taken = np.ones(len(candidates), bool)
    neighbours = tree.query_ball_point(candidates, 0.7 * spacing)
    for i, near in enumerate(neighbours):
        if taken[i]:
            taken[[j for j in near if j > i]] = False
    return candidates[taken]


def _smoothed(fixed: Floats, inner: Floats, pieces: Ints) -> Floats:
    """Interior points moved to the mean of their neighbours, where that loses no boundary piece."""
    for _ in range(3):
        if not len(inner):
            return inner
        points = np.concatenate([fixed, inner])
        first, neighbour = Delaunay(points).vertex_neighbor_vertices
        counts = np.diff(first)
        sums = np.add.reduceat(points[neighbour], first[:-1], axis=0)
        moved = (sums / counts[:, None])[len(fixed) :]
        trial = np.concatenate([fixed, 0.5 * (inner + moved)])
        if len(_lost(Delaunay(trial).simplices, pieces, len(trial))):
            return inner
        inner = trial[len(fixed) :]
    return inner


def _inside(points: Floats, simplices: Ints, domain: Any) -> Ints:
    """Triangles with area whose middle lies in the domain."""
    simplices = simplices.astype(np.int64)
    solid = np.abs(_areas(points, simplices)) > 1e-16
    middles = points[simplices].mean(axis=1)
    return simplices[solid & _contains(domain, middles)]


def _contains(shape: Any, points: Floats) -> NDArray[np.bool_]:
    return np.asarray(shapely.contains_xy(shape, points), bool)


def _regions_of(points: Floats, triangles: Ints, shapes: list[Any]) -> Ints:
    middles = points[triangles].mean(axis=1)
    region = np.full(len(triangles), -1)
    for index in reversed(range(len(shapes))):
        region[_contains(shapes[index], middles)] = index
    return region


def _circumcircles(points: Floats, triangles: Ints) -> tuple[Floats, Floats]:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    ab, ac = b - a, c - a
    twice = 2.0 * (ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0])
    ab2, ac2 = (ab**2).sum(axis=1), (ac**2).sum(axis=1)
    x = (ac[:, 1] * ab2 - ab[:, 1] * ac2) / twice
    y = (ab[:, 0] * ac2 - ac[:, 0] * ab2) / twice
    return a + np.stack([x, y], axis=1), np.hypot(x, y)


def _areas(points: Floats, triangles: Ints) -> Floats:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    u, v = b - a, c - a
    return np.asarray(0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]))


def _counter_clockwise(points: Floats, triangles: Ints) -> Ints:
    turned = triangles.copy()
    clockwise = _areas(points, triangles) < 0.0
    turned[clockwise] = turned[clockwise][:, [0, 2, 1]]
    return turned


def _frozen(array: NDArray[Any]) -> NDArray[Any]:
    array.setflags(write=False)
    return array
