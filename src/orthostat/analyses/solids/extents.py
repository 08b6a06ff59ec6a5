"""How far bodies reach: about the B axis, up and down, in plan. Cuts are left out of account.

A cut can only bring a body's outermost point inward, so these are exact or on the safe side.
"""

from __future__ import annotations

from functools import lru_cache
from math import cos, hypot, pi, sin, sqrt
from typing import NamedTuple

from orthostat.base.dimensions import Metre
from orthostat.base.frames import Vector
from orthostat.model.bodies import Body, Disc, Polygon, Prism


class Extents(NamedTuple):
    """Axis-aligned box of a body in the column frame and its largest radius about the B axis [m]."""

    x_low: Metre
    x_high: Metre
    y_low: Metre
    y_high: Metre
    z_low: Metre
    z_high: Metre
    radius: Metre


def support(prism: Prism, direction: Vector) -> Metre:
    """Largest p·n over the prism's points p, for a direction n in the column frame [m for a unit n]."""
    frame, section = prism.frame, prism.section
    a = _dot(frame.first, direction)
    b = _dot(frame.second, direction)
    c = _dot(frame.third, direction)
    if isinstance(section, Disc):
        flat = a * section.centre[0] + b * section.centre[1] + section.radius * hypot(a, b)
    else:
        flat = max([a * p + b * q for p, q in section.points])
    return Metre(_dot(frame.origin, direction) + flat + max(c * prism.low, c * prism.high))


@lru_cache(maxsize=8192)
def prism_extents(prism: Prism) -> Extents:
    """Box and largest radius of one prism, exact."""
    if isinstance(prism.section, Disc):
        return _disc_extents(prism, prism.section)
    xs, ys, zs = zip(*_corners(prism, prism.section), strict=True)
    ends = (min(xs), max(xs), min(ys), max(ys), min(zs), max(zs), max(map(hypot, xs, zs)))
    return Extents(*map(Metre, ends))


def _disc_extents(prism: Prism, section: Disc) -> Extents:
    """Of a cylinder, axis by axis without loops: screws and anchors are most of what an edit moves."""
    (u, v), r, frame = section.centre, section.radius, prism.frame
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = frame.first, frame.second, frame.third
    x, y, z = frame.point(u, v, 0.0)
    rx, ry, rz = r * hypot(ax, bx), r * hypot(ay, by), r * hypot(az, bz)
    x0, x1 = cx * prism.low, cx * prism.high
    y0, y1 = cy * prism.low, cy * prism.high
    z0, z1 = cz * prism.low, cz * prism.high
    if cx == cz == 0.0:
        radius = hypot(x, z) + r
    elif bx == bz == 0.0:
        a, b = r * ax, r * az
        radius = max(
            hypot(x + x0 + a, z + z0 + b), hypot(x + x0 - a, z + z0 - b),
            hypot(x + x1 + a, z + z1 + b), hypot(x + x1 - a, z + z1 - b),
        )  # fmt: skip
    else:
        radius = max(_rim_radius(prism, section, end) for end in (prism.low, prism.high))
    return Extents(
        Metre(x - rx + min(x0, x1)), Metre(x + rx + max(x0, x1)),
        Metre(y - ry + min(y0, y1)), Metre(y + ry + max(y0, y1)),
        Metre(z - rz + min(z0, z1)), Metre(z + rz + max(z0, z1)), Metre(radius),
    )  # fmt: skip


def prism_radius(prism: Prism) -> Metre:
    """Largest distance of any point of the prism from the B axis [m]."""
    return prism_extents(prism).radius


def body_extents(body: Body) -> Extents:
    """Box and largest radius over all adds of a body."""
    each = [prism_extents(prism) for prism in body.adds]
    if len(each) == 1:
        return each[0]
    columns = tuple(zip(*each, strict=True))
    ends = (min, max, min, max, min, max, max)
    return Extents(*(Metre(end(column)) for end, column in zip(ends, columns, strict=True)))


def _corners(prism: Prism, section: Polygon) -> list[Vector]:
    frame, ends = prism.frame, (prism.low, prism.high)
    (ox, oy, oz), (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (
        frame.origin,
        frame.first,
        frame.second,
        frame.third,
    )
    return [
        (ox + a * ax + b * bx + c * cx, oy + a * ay + b * by + c * cy, oz + a * az + b * bz + c * cz)
        for a, b in section.points
        for c in ends
    ]


def _rim_radius(prism: Prism, section: Disc, end: float) -> float:
    """Largest radius of the rim of one end face: the far point of an ellipse in plan."""
    x, _, z = prism.frame.point(*section.centre, end)
    radius = section.radius
    (ax, _, az), (bx, _, bz) = prism.frame.first, prism.frame.second
    ax, az, bx, bz = radius * ax, radius * az, radius * bx, radius * bz
    if ax * bx + az * bz == 0.0 and hypot(ax, az) == hypot(bx, bz):
        return hypot(x, z) + hypot(ax, az)

    # A skew cylinder: maximise |c + a cos t + b sin t|², by a fine scan and Newton's method.
    def squared(t: float) -> float:
        return (x + ax * cos(t) + bx * sin(t)) ** 2 + (z + az * cos(t) + bz * sin(t)) ** 2

    best = max((2.0 * pi * i / 180 for i in range(180)), key=squared)
    for _ in range(8):
        c, s = cos(best), sin(best)
        px, pz = x + ax * c + bx * s, z + az * c + bz * s
        dx, dz = bx * c - ax * s, bz * c - az * s
        slope = px * dx + pz * dz
        curve = dx * dx + dz * dz - px * (ax * c + bx * s) - pz * (az * c + bz * s)
        if curve >= 0.0:
            break
        best -= slope / curve
    return sqrt(squared(best))


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
