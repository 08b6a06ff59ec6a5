"""A field on triangles cut into bands between round levels, so that a surface can be read like a drawing."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

_SAME = 1e-12


@dataclass(frozen=True, eq=False, slots=True)
class Contoured:
    """Triangles that each lie in one band.

    starts, ends: (n,) points of the surface between which each vertex lies; at: (n,) how far along.
    triangles: (t, 3); band: (t,); origin: (t,) the surface's triangle each was cut from.
    lines: (s, 2) vertices on a level, across a triangle.
    """

    starts: Indices
    ends: Indices
    at: Floats
    triangles: Indices
    band: Indices
    origin: Indices
    lines: Indices

    def read(self, field: Floats) -> Floats:
        """A field of the surface's points (k, ...) at the vertices (n, ...)."""
        along = self.at.reshape(-1, *([1] * (field.ndim - 1)))
        return np.asarray((1.0 - along) * field[self.starts] + along * field[self.ends])


def contoured(values: Floats, triangles: Indices, levels: Sequence[float]) -> Contoured:
    """Cut triangles at the levels; band k lies below `levels[k]`, the last one above all of them."""
    cutter = _Cutter(values, levels)
    for number, triangle in enumerate(triangles.tolist()):
        cutter.cut(number, triangle)
    return cutter.made(len(values))


class _Cutter:
    def __init__(self, values: Floats, levels: Sequence[float]) -> None:
        self.values, self.levels = values.tolist(), list(levels)
        self.crossings: dict[tuple[int, int, int], int] = {}
        self.triangles: list[tuple[int, int, int]] = []
        self.band: list[int] = []
        self.origin: list[int] = []
        self.lines: list[tuple[int, int]] = []

    def cut(self, number: int, triangle: list[int]) -> None:
        heights = [self.values[point] for point in triangle]
        first = bisect_right(self.levels, min(heights) + _SAME)
        last = bisect_right(self.levels, max(heights) - _SAME)
        if first == last:
            self._keep(number, first, triangle)
            return
        ring = self._ring(triangle)
        for band in range(first, last + 1):
            low = self.levels[band - 1] if band else -np.inf
            high = self.levels[band] if band < len(self.levels) else np.inf
            inside = [vertex for vertex, value in ring if low - _SAME <= value <= high + _SAME]
            self._keep(number, band, inside)
            if band < last:
                on = [vertex for vertex, value in ring if abs(value - high) <= _SAME]
                if len(on) == 2:
                    self.lines.append((on[0], on[1]))

    def _ring(self, triangle: list[int]) -> list[tuple[int, float]]:
        """The triangle's corners with the crossings of the levels between them, in order."""
        ring: list[tuple[int, float]] = []
        for k in range(3):
            a, b = triangle[k], triangle[(k + 1) % 3]
            low, high = sorted((self.values[a], self.values[b]))
            ring.append((a, self.values[a]))
            between = [
                (self._crossing(a, b, number), level)
                for number, level in enumerate(self.levels)
                if low + _SAME < level < high - _SAME
            ]
            ring += between if self.values[a] < self.values[b] else reversed(between)
        return ring

    def _crossing(self, a: int, b: int, level: int) -> int:
        key = (min(a, b), max(a, b), level)
        return self.crossings.setdefault(key, len(self.values) + len(self.crossings))

    def _keep(self, number: int, band: int, ring: Sequence[int]) -> None:
        for k in range(1, len(ring) - 1):
            self.triangles.append((ring[0], ring[k], ring[k + 1]))
            self.band.append(band)
            self.origin.append(number)

    def made(self, count: int) -> Contoured:
        crossed = np.array(list(self.crossings), dtype=np.intp).reshape(-1, 3)
        a, b = crossed[:, 0], crossed[:, 1]
        values, levels = np.array(self.values), np.array([*self.levels, 0.0])
        span = values[b] - values[a]
        along = (levels[crossed[:, 2]] - values[a]) / np.where(span == 0.0, 1.0, span)
        own = np.arange(count, dtype=np.intp)
        return Contoured(
            np.concatenate([own, a]),
            np.concatenate([own, b]),
            np.concatenate([np.zeros(count), along]),
            np.array(self.triangles, dtype=np.intp).reshape(-1, 3),
            np.array(self.band, dtype=np.intp),
            np.array(self.origin, dtype=np.intp),
            np.array(self.lines, dtype=np.intp).reshape(-1, 2),
        )


def areas_of(points: Floats, triangles: Indices) -> Floats:
    """(t,) areas [m²]."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return np.asarray(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1))
