"""Cuts that cross one another, such as a pocket over holes, counted once.

The union of prisms is the sum of each less what it shares with those after it; what two convex prisms
along one axis share is again a convex prism, so the same rule answers that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from math import cos, hypot, pi, sin, sqrt

from orthostat.analyses.solids.moments import Moments, signed_moments
from orthostat.base.dimensions import Metre
from orthostat.base.frames import Frame
from orthostat.formulas.polygons import clipped, polygon_moments, sides
from orthostat.model.bodies import Body, Disc, Point2, Polygon, Prism, Section

CORNERS = 360
"""Corners of the polygon of equal area that stands for a circle which crosses an edge."""
TOUCH = 1e-9
"""Prisms that share less than this depth [m], or its square [m²], touch."""


def body_moments(body: Body) -> Moments:
    """Volume moments of a body: its adds less the union of its cuts."""
    return signed_moments([*((1.0, prism) for prism in body.adds), *_union(body.cuts, -1.0)])


def union_moments(prisms: Sequence[Prism]) -> Moments:
    """Volume moments of all prisms together, what several share counted once.

    Exact for polygons and for circles that lie wholly inside or outside one another; a circle that crosses
    an edge is taken as a polygon there. Prisms in different frames are taken not to cross.
    """
    return signed_moments(_union(prisms, 1.0))


def _union(prisms: Sequence[Prism], sign: float) -> list[tuple[float, Prism]]:
    """Prisms whose sum is the union of some: themselves, less the unions of what each shares with others."""
    parts = [(sign, prism) for prism in prisms]
    for beside in _by_frame(prisms) if len(prisms) > 1 else ():
        for shared in _shared(beside):
            parts += _union(shared, -sign)
    return parts


def _shared(prisms: list[Prism]) -> Iterator[list[Prism]]:
    """Of each of some prisms of one frame what it shares with those that begin after it."""
    ordered = sorted(((*_box(prism), k) for k, prism in enumerate(prisms)))
    for number, (_, b, c, a_end, b_end, c_end, k) in enumerate(ordered):
        shared = []
        for a0, b0, c0, _, b1, c1, other in ordered[number + 1 :]:
            if a0 + TOUCH >= a_end:
                break  # all that follow begin later still
            if (
                b0 + TOUCH < b_end and b + TOUCH < b1 and c0 + TOUCH < c_end and c + TOUCH < c1
                and (both := _common(prisms[k], prisms[other])) is not None
            ):  # fmt: skip
                shared.append(both)
        if shared:
            yield shared


def _by_frame(prisms: Sequence[Prism]) -> Iterable[list[Prism]]:
    """Prisms that share a frame. Most equal frames are one object: hashing each prism's own takes long."""
    unlike = {id(prism.frame): prism.frame for prism in prisms}
    made: dict[Frame, list[Prism]] = {frame: [] for frame in unlike.values()}
    of = {key: made[frame] for key, frame in unlike.items()}
    for prism in prisms:
        of[id(prism.frame)].append(prism)
    return made.values()


def _box(prism: Prism) -> tuple[float, float, float, float, float, float]:
    """Least a, b and c of a prism in its own frame, then the greatest [m]."""
    section = prism.section
    if isinstance(section, Disc):
        (a, b), r = section.centre, section.radius
        return a - r, b - r, prism.low, a + r, b + r, prism.high
    along, across = [a for a, _ in section.points], [b for _, b in section.points]
    return min(along), min(across), prism.low, max(along), max(across), prism.high


def _common(one: Prism, other: Prism) -> Prism | None:
    """What two prisms of one frame share; `None` for nothing."""
    low, high = max(one.low, other.low), min(one.high, other.high)
    section = _common_section(one.section, other.section)
    return None if section is None else Prism(section, low, high, one.frame)


@lru_cache(maxsize=1024)
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
