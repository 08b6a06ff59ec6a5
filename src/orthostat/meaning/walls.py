"""Plates behind the faces and how they meet at the corners; end plates, lips and rings.

Every piece is a convex polygon in the column's own plan (before turn and position).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, sin

from orthostat.meaning.plan import Side, corners
from orthostat.model.bodies import Point2

Outline = tuple[Point2, ...]


def outer_outline(sides: Sequence[Side]) -> Outline | None:
    """The plan of the side faces."""
    return corners([(side.angle, side.distance) for side in sides])


def offset_outline(sides: Sequence[Side], offsets: Sequence[float]) -> Outline | None:
    """The plan with each side moved outward by its offset [m]; `None` when nothing is left."""
    return corners(
        [(side.angle, side.distance + offset) for side, offset in zip(sides, offsets, strict=True)]
    )


def inner_outline(sides: Sequence[Side]) -> Outline | None:
    """The cavity behind the walls; `None` when the walls meet."""
    return offset_outline(sides, [-(side.wall or 0.0) for side in sides])


def plate_outlines(sides: Sequence[Side], corner_style: str) -> list[Outline]:
    """One convex piece for each side; together they fill the ring between the faces and the cavity.

    `mitred`: cut from outer to inner corner. `butt`: each plate runs out to the corner it shares
    with the next one and stops against the one before. `alternate`: plates 1, 3, … run out at both
    corners, those between stop at both (an odd plan ends as `butt` where the two rules meet).
    """
    outer, inner = outer_outline(sides), inner_outline(sides)
    if outer is None or inner is None:
        raise ValueError("walls meet: there is no ring of plates")
    if corner_style == "mitred":
        return [(outer[k - 1], outer[k], inner[k], inner[k - 1]) for k in range(len(sides))]
    pieces = []
    for k, side in enumerate(sides):
        piece = clip(outer, side.angle, side.distance - (side.wall or 0.0), keep_beyond=True)
        for other in _corner_owners(k, len(sides), corner_style):
            rival = sides[other]
            piece = clip(piece, rival.angle, rival.distance - (rival.wall or 0.0), keep_beyond=False)
        pieces.append(piece)
    return pieces


def _corner_owners(k: int, count: int, corner_style: str) -> list[int]:
    """Neighbours of plate `k` that own the corner they share with it."""
    before, after = (k - 1) % count, (k + 1) % count
    if corner_style == "alternate" and count % 2 == 0:
        return [before, after] if k % 2 == 1 else []
    return [before]


def ring_outlines(sides: Sequence[Side], outer_offset: float, inner_offset: float) -> list[Outline]:
    """A mitred ring between two offsets of the cavity's own sides, as one convex piece a side."""
    outer = offset_outline(sides, [-(side.wall or 0.0) + outer_offset for side in sides])
    inner = offset_outline(sides, [-(side.wall or 0.0) + inner_offset for side in sides])
    if outer is None or inner is None:
        raise ValueError("the ring closes up")
    return [(outer[k - 1], outer[k], inner[k], inner[k - 1]) for k in range(len(sides))]


def clip(outline: Outline, angle: float, distance: float, *, keep_beyond: bool) -> Outline:
    """The part of a convex outline beyond (or short of) the line at `distance` in direction `angle`."""
    sign = 1.0 if keep_beyond else -1.0

    def depth(point: Point2) -> float:
        return sign * (point[0] * sin(angle) + point[1] * cos(angle) - distance)

    kept: list[Point2] = []
    for start, end in zip(outline, [*outline[1:], outline[0]], strict=True):
        a, b = depth(start), depth(end)
        if a >= 0.0:
            kept.append(start)
        if (a > 1e-12 and b < -1e-12) or (a < -1e-12 and b > 1e-12):
            t = a / (a - b)
            kept.append((start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1])))
    return tuple(kept)


def contains(outline: Outline, at: Point2) -> bool:
    """Whether a convex outline (either turn) holds the point, its edge included."""
    x, z = at
    left = right = True
    ax, az = outline[-1]
    for bx, bz in outline:
        side = (bx - ax) * (z - az) - (bz - az) * (x - ax)
        left &= side >= 0.0
        right &= side <= 0.0
        if not (left or right):
            return False
        ax, az = bx, bz
    return True
