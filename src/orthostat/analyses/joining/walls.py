"""How much of a plate is left beside a hole in its edge."""

from __future__ import annotations

from math import hypot

from orthostat.base.frames import Vector
from orthostat.model.bodies import Body, Disc, Polygon, Prism

_ALONG = 0.9999
"""Planes this nearly square to a hole's axis are those that it enters by or runs toward."""

Plane = tuple[Vector, float]
"""Outward normal and distance: points inside have less along the normal."""


def beside(hole: Prism, body: Body, inward: Vector) -> float:
    """Least distance [m] from the axis of a hole to a side of the piece it is bored into.

    `inward` is the direction it is drilled in. The surface it enters does not count; the one it runs
    toward counts only once it is reached, and is then negative.
    """
    if not isinstance(hole.section, Disc):
        return 0.0
    ends = [hole.frame.point(*hole.section.centre, level) for level in (hole.low, hole.high)]
    ends.sort(key=lambda p: _dot(p, inward))
    best = float("-inf")
    for piece in body.adds:
        planes = _planes(piece)
        along = [(n, d) for n, d in planes if abs(_dot(n, inward)) > _ALONG]
        sides = [(n, d) for n, d in planes if abs(_dot(n, inward)) <= _ALONG]
        aside = min((d - _dot(n, p) for n, d in sides for p in ends), default=0.0)
        beyond = min((d - _dot(n, ends[1]) for n, d in along if _dot(n, inward) > 0.0), default=0.0)
        best = max(best, aside if beyond > -1e-9 else min(aside, beyond))
    return best


def _planes(piece: Prism) -> list[Plane]:
    """The bounding planes of an upright prism with a polygon for its plan."""
    if not isinstance(piece.section, Polygon):
        return []
    points = [(x, z) for x, _, z in (piece.frame.point(a, b, 0.0) for a, b in piece.section.points)]
    middle = (sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points))
    planes: list[Plane] = [((0.0, 1.0, 0.0), piece.high), ((0.0, -1.0, 0.0), -piece.low)]
    for (ax, az), (bx, bz) in zip(points, [*points[1:], points[0]], strict=True):
        length = hypot(bx - ax, bz - az)
        nx, nz = (bz - az) / length, (ax - bx) / length
        if nx * (middle[0] - ax) + nz * (middle[1] - az) > 0.0:
            nx, nz = -nx, -nz
        planes.append(((nx, 0.0, nz), nx * ax + nz * az))
    return planes


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
