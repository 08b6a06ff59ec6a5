"""Edges that the plain triangulation lost are brought back without a new point."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from scipy.spatial import Delaunay

from orthostat.meshing.constrained import EdgeLost, Floats, Ints, constrained, missing, pairs


def _thin_ring(wall: float, outer: int, inner: int) -> tuple[Floats, Ints]:
    """Corners of two squares, one in the other, with sides cut into unlike numbers of edges."""
    points: list[tuple[float, float]] = []
    edges: list[tuple[int, int]] = []
    for half, count in ((1.0, outer), (1.0 - wall, inner)):
        first = len(points)
        corners = [(-half, -half), (half, -half), (half, half), (-half, half)]
        for (xa, za), (xb, zb) in pairwise([*corners, corners[0]]):
            points += [(xa + (xb - xa) * k / count, za + (zb - za) * k / count) for k in range(count)]
        numbers = [*range(first, len(points)), first]
        edges += list(pairwise(numbers))
    return np.array(points), np.array(edges)


def _areas(points: Floats, triangles: Ints) -> Floats:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return 0.5 * ((b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]))


@pytest.mark.parametrize("wall", [0.2, 0.05, 0.01, 0.002])
@pytest.mark.parametrize(("outer", "inner"), [(5, 4), (3, 7), (1, 6), (9, 1)])
def test_a_thin_wall_keeps_both_its_faces(wall: float, outer: int, inner: int) -> None:
    points, edges = _thin_ring(wall, outer, inner)
    triangles = constrained(points, edges)
    assert not len(missing(edges, triangles))
    assert _areas(points, triangles).min() > 0.0
    assert _areas(points, triangles).sum() == pytest.approx(4.0)
    middles = points[triangles].mean(axis=1)
    inside = np.abs(middles).max(axis=1) < 1.0 - wall
    assert _areas(points, triangles)[inside].sum() == pytest.approx(4.0 * (1.0 - wall) ** 2)


@pytest.mark.parametrize("seed", range(12))
def test_any_edges_that_do_not_cross_are_kept_and_the_rest_is_delaunay(seed: int) -> None:
    generator = np.random.default_rng(seed)
    points = generator.uniform(-1.0, 1.0, (60, 2)) * (1.0, 0.3)
    kept: list[tuple[int, int]] = []
    for a, b in generator.integers(0, 60, (80, 2)).tolist():
        line = shapely.LineString(points[[a, b]]) if a != b else None
        if line is not None and not any(
            line.crosses(shapely.LineString(points[list(other)])) or {a, b} == set(other) for other in kept
        ):
            kept.append((a, b))
    edges = np.array(kept)
    assert len(missing(edges, Delaunay(points).simplices.astype(np.intp))) > 0
    triangles = constrained(points, edges)
    assert not len(missing(edges, triangles))
    hull = shapely.MultiPoint(points).convex_hull.area
    assert _areas(points, triangles).sum() == pytest.approx(hull, rel=1e-3)
    _assert_locally_delaunay(points, triangles, {(min(e), max(e)) for e in kept})


def _assert_locally_delaunay(points: Floats, triangles: Ints, fixed: set[tuple[int, int]]) -> None:
    """No corner lies inside the circle of a neighbour across an edge that was not to be kept."""
    opposite: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for number, (a, b, c) in enumerate(triangles.tolist()):
        for p, q, r in ((a, b, c), (b, c, a), (c, a, b)):
            opposite.setdefault((min(p, q), max(p, q)), []).append((number, r))
    for side, both in opposite.items():
        if len(both) == 2 and side not in fixed:
            (first, _), (_, corner) = both
            centre, radius = _circle(points[triangles[first]])
            assert np.linalg.norm(points[corner] - centre) > radius * (1.0 - 1e-6)


def _circle(corners: Floats) -> tuple[Floats, float]:
    a, b, c = corners
    system = 2.0 * np.array([b - a, c - a])
    centre = np.linalg.solve(system, [b @ b - a @ a, c @ c - a @ a])
    return centre, float(np.linalg.norm(a - centre))


def test_without_edges_lost_it_is_the_plain_triangulation() -> None:
    points = np.random.default_rng(3).uniform(-1.0, 1.0, (40, 2))
    plain = Delaunay(points)
    edges = pairs(plain.simplices.astype(np.intp))[:10]
    same = {frozenset(t) for t in plain.simplices.tolist()}
    assert {frozenset(t) for t in constrained(points, edges).tolist()} <= same


def test_edges_that_cross_are_refused() -> None:
    points = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    with pytest.raises(EdgeLost, match="crosses"):
        constrained(points, np.array([(0, 2), (1, 3)]))


def test_an_edge_through_a_point_is_refused() -> None:
    points = np.array([(0.0, 0.0), (2.0, 0.0), (1.0, 0.0), (1.0, 1.0), (1.0, -1.0)])
    with pytest.raises(EdgeLost, match="a point lies on"):
        constrained(points, np.array([(0, 1)]))
