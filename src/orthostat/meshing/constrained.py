"""Triangles that keep given edges: Delaunay's, with the edges it lost brought back by flipping diagonals.

Between two lines of a thin wall the plain triangulation joins whatever lies nearest, across the wall's faces.
Halving a face until it is kept makes ever more triangles; flipping makes none (Sloan 1993).
"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Edge = tuple[int, int]

FLAT = 1e-9
"""Three points whose triangle is lower than this share of its longest side lie on one line."""
SLIVER = 1e-4
"""Area over longest side squared below which a triangle of the plain triangulation's rim is rounding."""


class EdgeLost(Exception):
    """An edge can't be kept: it crosses another one, or a point lies on it."""


def constrained(points: Floats, edges: Ints) -> Ints:
    """(t, 3) counter-clockwise triangles over the hull of `points` (n, 2), with every one of `edges` (k, 2).

    As near to Delaunay's as the edges allow. Raises `EdgeLost` where two edges cross, or an edge runs
    through a point.
    """
    triangles = delaunay(points)
    lost = missing(edges, triangles)
    if not len(lost):
        return triangles
    return _Flips(points, triangles, edges).recovered(edges[lost])


def delaunay(points: Floats) -> Ints:
    """(t, 3) counter-clockwise triangles of the plain triangulation, without slivers."""
    triangles = Delaunay(points).simplices.astype(np.intp)
    a, b, c = (points[triangles[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    clockwise = area < 0.0
    triangles[clockwise] = triangles[clockwise][:, ::-1]
    longest = np.max([np.sum((a - b) ** 2, 1), np.sum((b - c) ** 2, 1), np.sum((c - a) ** 2, 1)], axis=0)
    return np.asarray(triangles[np.abs(area) > SLIVER * longest])


def pairs(triangles: Ints) -> Ints:
    """(3t, 2): the sides 01, 12, 02 of all triangles, one kind after the other, low number first."""
    return np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [0, 2]]]), axis=1)


def missing(edges: Ints, triangles: Ints) -> Ints:
    """Which of `edges` (k, 2) are no side of a triangle."""
    count = int(max(edges.max(initial=0), triangles.max(initial=0))) + 1
    key = np.array([count, 1])
    return np.flatnonzero(~np.isin(np.sort(edges, axis=1) @ key, np.unique(pairs(triangles) @ key)))


class _Flips:
    """A triangulation as a map from each directed side to the corner on its left, changed by flips."""

    def __init__(self, points: Floats, triangles: Ints, edges: Ints) -> None:
        self.places = points
        self.points: list[tuple[float, float]] = [(float(x), float(z)) for x, z in points]
        self.across: dict[Edge, int] = {}
        for a, b, c in triangles.tolist():
            self.across[a, b], self.across[b, c], self.across[c, a] = c, a, b
        self.fixed = {(min(a, b), max(a, b)) for a, b in edges.tolist()}

    def recovered(self, lost: Ints) -> Ints:
        for a, b in lost.tolist():
            self._relaxed(self._brought_back(a, b))
        return np.array(
            sorted((a, b, c) for (a, b), c in self.across.items() if a < b and a < c), dtype=np.intp
        )

    def _brought_back(self, a: int, b: int) -> list[Edge]:
        """Flip every diagonal that crosses a-b; the sides made on the way."""
        waiting = deque(self._crossing(a, b))
        made: list[Edge] = []
        patience = 4 * (len(waiting) + 2) ** 2
        while waiting:
            patience -= 1
            p, q = waiting.popleft()
            if (min(p, q), max(p, q)) in self.fixed or patience < 0:
                raise EdgeLost(f"the edge from {self._told(a)} to {self._told(b)} crosses another one")
            if not self._convex(p, q):
                waiting.append((p, q))
                continue
            r, s = self._flipped(p, q)
            if {r, s} & {a, b} or not self._cross(a, b, r, s):
                made.append((r, s))
            else:
                waiting.append((r, s))
        if (a, b) not in self.across and (b, a) not in self.across:
            raise EdgeLost(f"a point lies on the edge from {self._told(a)} to {self._told(b)}")
        return made

    def _told(self, point: int) -> str:
        x, z = self.points[point]
        return f"({1e3 * x:.3g}, {1e3 * z:.3g}) mm"

    def _crossing(self, a: int, b: int) -> list[Edge]:
        side = self._sides(a, b)
        return [
            (p, q)
            for p, q in self.across
            if side[p] * side[q] < 0.0
            and (p < q or (q, p) not in self.across)
            and self._turn(p, q, a) * self._turn(p, q, b) < 0.0
        ]

    def _sides(self, a: int, b: int) -> list[float]:
        """`_turn` of a-b and every point."""
        along, away = self.places[b] - self.places[a], self.places - self.places[a]
        found = along[0] * away[:, 1] - along[1] * away[:, 0]
        longest = np.maximum(along @ along, np.einsum("ij,ij->i", away, away))
        return list(np.where(np.abs(found) > FLAT * longest, found, 0.0).tolist())

    def _relaxed(self, sides: list[Edge]) -> None:
        """Flip the sides, and those that a flip touches, until each is Delaunay's or to be kept."""
        waiting = deque(sides)
        while waiting:
            p, q = waiting.popleft()
            r, s = self.across.get((p, q)), self.across.get((q, p))
            if r is None or s is None or (min(p, q), max(p, q)) in self.fixed:
                continue
            if self._in_circle(p, q, r, s) and self._convex(p, q):
                self._flipped(p, q)
                waiting.extend([(p, s), (s, q), (q, r), (r, p)])

    def _flipped(self, p: int, q: int) -> Edge:
        r, s = self.across.pop((p, q)), self.across.pop((q, p))
        for a, b, c in ((p, s, r), (s, q, r)):
            self.across[a, b], self.across[b, c], self.across[c, a] = c, a, b
        return r, s

    def _turn(self, a: int, b: int, c: int) -> float:
        """Twice the area of a-b-c, zero where it is as good as flat."""
        (xa, za), (xb, zb), (xc, zc) = self.points[a], self.points[b], self.points[c]
        ux, uz, vx, vz = xb - xa, zb - za, xc - xa, zc - za
        found = ux * vz - uz * vx
        return found if abs(found) > FLAT * max(ux * ux + uz * uz, vx * vx + vz * vz) else 0.0

    def _cross(self, a: int, b: int, p: int, q: int) -> bool:
        return (
            self._turn(a, b, p) * self._turn(a, b, q) < 0.0
            and self._turn(p, q, a) * self._turn(p, q, b) < 0.0
        )

    def _convex(self, p: int, q: int) -> bool:
        """Whether the two triangles on p-q make a quadrilateral that the other diagonal also cuts in two."""
        r, s = self.across.get((p, q)), self.across.get((q, p))
        return r is not None and s is not None and self._turn(p, s, r) > 0.0 and self._turn(s, q, r) > 0.0

    def _in_circle(self, p: int, q: int, r: int, s: int) -> bool:
        """Whether s lies inside the circle through p, q, r (counter-clockwise), clear of rounding."""
        (xs, zs) = self.points[s]
        (ax, az), (bx, bz), (cx, cz) = ((self.points[k][0] - xs, self.points[k][1] - zs) for k in (p, q, r))
        a2, b2, c2 = ax * ax + az * az, bx * bx + bz * bz, cx * cx + cz * cz
        found = a2 * (bx * cz - bz * cx) + b2 * (cx * az - cz * ax) + c2 * (ax * bz - az * bx)
        return found > FLAT * max(a2, b2, c2) ** 2
