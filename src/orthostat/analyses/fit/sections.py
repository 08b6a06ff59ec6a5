"""Plane questions: how far a section stays inside a convex polygon or a disc. Negative: it pokes out."""

from __future__ import annotations

from functools import lru_cache
from math import hypot

from orthostat.formulas.polygons import Side, sides
from orthostat.model.bodies import Disc, Point2, Polygon, Section


@lru_cache(maxsize=4096)
def sides_of(polygon: Polygon) -> tuple[Side, ...]:
    """Outward normals and offsets of a polygon's sides; see `formulas.polygons.sides`."""
    return sides(polygon.points)


def reach(section: Section, a: float, b: float) -> float:
    """Largest a·p + b·q over the section's points (p, q) [m for a unit direction]."""
    if isinstance(section, Disc):
        return a * section.centre[0] + b * section.centre[1] + section.radius * hypot(a, b)
    return max([a * p + b * q for p, q in section.points])


def inset(section: Section, within: Section) -> float:
    """Least gap from a section to the boundary of the one around it [m]; negative when it pokes out."""
    if isinstance(within, Polygon):
        return min([offset - reach(section, a, b) for a, b, offset in sides_of(within)])
    x, y = within.centre
    if isinstance(section, Disc):
        return within.radius - section.radius - hypot(section.centre[0] - x, section.centre[1] - y)
    return within.radius - max([hypot(p - x, q - y) for p, q in section.points])


def point_inset(point: Point2, within: Polygon) -> float:
    """Distance from a point to the nearest side line of a polygon around it [m], negative outside."""
    return min([offset - a * point[0] - b * point[1] for a, b, offset in sides_of(within)])
