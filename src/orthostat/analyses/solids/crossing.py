"""Cuts that cross one another, such as a pocket over holes, counted once.

The union of prisms is the sum of each less what it shares with those before it; what two convex prisms
along one axis share is again a convex prism, so the same rule answers that.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, hypot, pi, sin, sqrt

from orthostat.analyses.solids.moments import Moments, prism_moments, total
from orthostat.base.dimensions import Metre
from orthostat.formulas.polygons import clipped, polygon_moments, sides
from orthostat.model.bodies import Body, Disc, Point2, Polygon, Prism, Section

CORNERS = 360
"""Corners of the polygon of equal area that stands for a circle which crosses an edge."""
TOUCH = 1e-9
"""Prisms that share less than this depth [m], or its square [m²], touch."""


def body_moments(body: Body) -> Moments:
    """Volume moments of a body: its adds less its cuts."""
    added = total(prism_moments(prism) for prism in body.adds)
    return added.plus(union_moments(body.cuts), -1.0) if body.cuts else added


def union_moments(prisms: Sequence[Prism]) -> Moments:
    """Volume moments of all prisms together, what several share counted once.

    Exact for polygons and for circles that lie wholly inside or outside one another; a circle that crosses
    an edge is taken as a polygon there. Prisms in different frames are taken not to cross.
    """
    parts = [prism_moments(prism) for prism in prisms]
    if len(prisms) > 1:
        boxes = [_box(prism) for prism in prisms]
        for i, prism in enumerate(prisms):
            box = boxes[i]
            shared = [
                both
                for j in range(i)
                if _meet(box, boxes[j]) and (both := _common(prism, prisms[j])) is not None
            ]
            if shared:
                parts.append(union_moments(shared).times(-1.0))
    return total(parts)


Box = tuple[float, float, float, float, float, float]


def _meet(one: Box, other: Box) -> bool:
    return (
        one[0] < other[1] and other[0] < one[1]
        and one[2] < other[3] and other[2] < one[3]
        and one[4] < other[5] and other[4] < one[5]
    )  # fmt: skip


def _box(prism: Prism) -> Box:
    """Least and greatest a, b and c of a prism in its own frame [m]."""
    section = prism.section
    if isinstance(section, Disc):
        (a, b), r = section.centre, section.radius
        return a - r, a + r, b - r, b + r, prism.low, prism.high
    along, across = [a for a, _ in section.points], [b for _, b in section.points]
    return min(along), max(along), min(across), max(across), prism.low, prism.high


def _common(one: Prism, other: Prism) -> Prism | None:
    """What two prisms share; `None` for nothing, or where their frames differ."""
    if one.frame != other.frame:
        return None
    low, high = max(one.low, other.low), min(one.high, other.high)
    section = None if high - low <= TOUCH else _common_section(one.section, other.section)
    return None if section is None else Prism(section, low, high, one.frame)


def _common_section(one: Section, other: Section) -> Section | None:
    if _inside(one, other):
        return one
    if _inside(other, one):
        return other
    if isinstance(one, Disc) and isinstance(other, Disc) and _apart(one, other):
        return None
    points = clipped(_points(one), _points(other))
    try:
        area = polygon_moments(points).area
    except ValueError:
        return None
    return Polygon(points) if area > TOUCH * TOUCH else None


def _inside(inner: Section, outer: Section) -> bool:
    """Whether the whole of one section lies in the other."""
    if isinstance(outer, Disc):
        x, y = outer.centre
        if isinstance(inner, Disc):
            return hypot(inner.centre[0] - x, inner.centre[1] - y) + inner.radius <= outer.radius + TOUCH
        return all(hypot(a - x, b - y) <= outer.radius + TOUCH for a, b in inner.points)
    corners, grown = (
        ([inner.centre], inner.radius) if isinstance(inner, Disc) else (list(inner.points), Metre(0.0))
    )
    return all(
        side.a * a + side.b * b + grown <= side.offset + TOUCH
        for side in sides(outer.points)
        for a, b in corners
    )


def _apart(one: Disc, other: Disc) -> bool:
    between = hypot(one.centre[0] - other.centre[0], one.centre[1] - other.centre[1])
    return between >= one.radius + other.radius


def _points(section: Section) -> tuple[Point2, ...]:
    """Corners of a section; of a circle, those of a regular polygon of its area."""
    if isinstance(section, Polygon):
        return section.points
    step = 2.0 * pi / CORNERS
    radius = section.radius * sqrt(step / sin(step))
    a, b = section.centre
    return tuple((a + radius * cos(k * step), b + radius * sin(k * step)) for k in range(CORNERS))
