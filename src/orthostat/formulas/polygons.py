"""Area, centroid and second moments of plane figures.

The second moments here are ∫a²dA, ∫b²dA and ∫ab dA about the centroid, for coordinates (a, b).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pi
from typing import NamedTuple

from orthostat.base.dimensions import Metre, MetreToFourth, SquareMetre


class AreaMoments(NamedTuple):
    """Area, centroid (a, b) and second moments about the centroid of a plane figure."""

    area: SquareMetre
    a: Metre
    b: Metre
    aa: MetreToFourth
    """∫(a - ā)² dA: the second moment about the b axis through the centroid."""
    bb: MetreToFourth
    ab: MetreToFourth


def polygon_moments(points: Sequence[tuple[float, float]]) -> AreaMoments:
    """Area moments of a simple polygon, vertices (n, 2) in order, either turn [m].

    With c_i = a_i b_{i+1} - a_{i+1} b_i: A = ½Σc, ā = Σ(a_i + a_{i+1})c / 6A,
    ∫a² dA = Σ(a_i² + a_i a_{i+1} + a_{i+1}²)c / 12,
    ∫ab dA = Σ(a_i b_{i+1} + 2a_i b_i + 2a_{i+1} b_{i+1} + a_{i+1} b_i)c / 24; then the parallel-axis
    theorem. Source: Green's theorem; soerjadi-1968, pp. 1-3. Valid for polygons that do not cross
    themselves. Raises `ValueError` for fewer than three points or no area. The sums run from the
    first vertex, so a figure far from the origin loses no digits.

    A 3 × 2 rectangle: area 6, aa = 2·3³/12 = 4.5, bb = 3·2³/12 = 2, ab = 0.
    """
    if len(points) < 3:
        raise ValueError("a polygon has at least three points")
    a0, b0 = points[0]
    twice, first_a, first_b, aa, bb, ab = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    p, q = points[1][0] - a0, points[1][1] - b0
    for a, b in points[2:]:
        r, s = a - a0, b - b0
        cross = p * s - r * q
        twice += cross
        first_a += (p + r) * cross
        first_b += (q + s) * cross
        aa += (p * p + p * r + r * r) * cross
        bb += (q * q + q * s + s * s) * cross
        ab += (p * s + 2.0 * p * q + 2.0 * r * s + r * q) * cross
        p, q = r, s
    if twice == 0.0:
        raise ValueError("the polygon has no area")
    area = 0.5 * twice
    a_mean, b_mean = first_a / (3.0 * twice), first_b / (3.0 * twice)
    sign = 1.0 if twice > 0.0 * twice else -1.0
    return AreaMoments(
        SquareMetre(sign * area),
        Metre(a0 + a_mean),
        Metre(b0 + b_mean),
        MetreToFourth(sign * (aa / 12.0 - area * a_mean * a_mean)),
        MetreToFourth(sign * (bb / 12.0 - area * b_mean * b_mean)),
        MetreToFourth(sign * (ab / 24.0 - area * a_mean * b_mean)),
    )


def disc_moments(radius: Metre) -> AreaMoments:
    """Area moments of a full circle about its centre: A = πr², ∫a² dA = ∫b² dA = πr⁴/4.

    Source: any handbook, such as roark-2012, table A.1 case 15. Valid for radius > 0.
    Radius 2: area 12.566, aa = bb = 12.566.
    """
    second = MetreToFourth(0.25 * pi * radius**4)
    return AreaMoments(
        SquareMetre(pi * radius**2), Metre(0.0 * radius), Metre(0.0 * radius), second, second,
        MetreToFourth(0.0 * second),
    )  # fmt: skip


def clipped(
    points: Sequence[tuple[float, float]], clip: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """The part of a polygon inside a convex polygon (sutherland-hodgman-1974); empty if none.

    `points` (n, 2) and `clip` (m, 2) [m], either turn; `points` convex too, so that one piece results.
    A unit square clipped by itself moved half across: a ½ × 1 rectangle.
    """
    turn = 1.0 if _twice_area(clip) > 0.0 * _twice_area(clip) else -1.0
    left = list(points)
    for (a, b), (c, d) in zip(clip, (*clip[1:], clip[0]), strict=True):
        sides = [turn * ((c - a) * (y - b) - (d - b) * (x - a)) for x, y in left]
        kept = []
        for i, (here, side) in enumerate(zip(left, sides, strict=True)):
            before, was = left[i - 1], sides[i - 1]
            if (side >= 0.0) != (was >= 0.0):
                share = was / (was - side)
                kept.append(
                    (before[0] + share * (here[0] - before[0]), before[1] + share * (here[1] - before[1]))
                )
            if side >= 0.0:
                kept.append(here)
        left = kept
        if not left:
            return ()
    return tuple(left)


def _twice_area(points: Sequence[tuple[float, float]]) -> float:
    return sum(p * s - r * q for (p, q), (r, s) in zip(points, (*points[1:], points[0]), strict=True))


def convex_hull(points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Corners of the convex hull, counter-clockwise, without points on its sides (andrew-1979).

    `points` (n, 2) [m]. Fewer than three corners come back where the points lie on one line.
    The hull of a unit square's corners and its middle has 4 corners.
    """
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def chain(ordered: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for p in ordered:
            while len(kept) > 1 and not _turns_left(kept[-2], kept[-1], p):
                kept.pop()
            kept.append(p)
        return kept[:-1]

    return tuple(chain(ordered) + chain(ordered[::-1]))


def _turns_left(o: tuple[float, float], p: tuple[float, float], q: tuple[float, float]) -> bool:
    cross = (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0])
    return cross > 0.0 * cross


class Side(NamedTuple):
    """One side of a convex polygon: outward unit normal (a, b) and its distance from the origin along it."""

    a: float
    b: float
    offset: Metre


def sides(points: Sequence[tuple[float, float]]) -> tuple[Side, ...]:
    """Each side of a convex polygon, vertices (n, 2) in order, either turn [m]; sides of no length left out.

    The normal of the side from p to q is (q - p) turned a quarter outward. Source: geometry. A unit square
    at the origin has the sides (0, -1, 0), (1, 0, 1), (0, 1, 1), (-1, 0, 0).
    """
    turn = 1.0 if _twice_area(points) > 0.0 * _twice_area(points) else -1.0
    found = []
    for (p, q), (r, s) in zip(points, (*points[1:], points[0]), strict=True):
        length = ((r - p) ** 2 + (s - q) ** 2) ** 0.5
        if length > 0.0 * length:
            a, b = turn * (s - q) / length, turn * (p - r) / length
            found.append(Side(a, b, Metre(a * p + b * q)))
    return tuple(found)
