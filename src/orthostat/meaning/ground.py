"""Whether a cut lies on its face or on something that its station carries."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, sin

from orthostat.document.reading import KeyPath
from orthostat.meaning.faults import Faults
from orthostat.model.bodies import Body, Disc, Face, Point2, Prism
from orthostat.model.stations import Cut

_ROUNDING = 1e-9


Ground = tuple[float, float, float, float]
"""Low and high end across, low and high end up [m]."""


def reach_of(bodies: tuple[Body, ...], angle: float) -> Ground | None:
    """How far bodies reach along a face whose normal stands at `angle`; `None` where there are none."""
    corners = [spot for body in bodies for prism in body.adds for spot in _corners(prism, angle)]
    if not corners:
        return None
    across, up = zip(*corners, strict=True)
    return min(across), max(across), min(up), max(up)


def ground_of(face: Face, carried: Ground | None) -> Ground:
    """The reach of a face and of what a station carries on it."""
    own = (face.u_low, face.u_high, face.v_low, face.v_high)
    if carried is None:
        return own
    return (
        min(own[0], carried[0]),
        max(own[1], carried[1]),
        min(own[2], carried[2]),
        max(own[3], carried[3]),
    )


def on_its_ground(cut: Cut, face: Face, ground: Ground, path: KeyPath, faults: Faults) -> bool:
    """Whether a cut from the front has all its places, or some of its region, on the face or over what
    the station carries; notes a fault if not. Turned cuts are not asked.
    """
    if abs(cut.turn) > 1e-12:
        return True
    u_low, u_high, v_low, v_high = ground
    on = True
    for u, v in cut.places:
        on &= u_low - _ROUNDING <= u <= u_high + _ROUNDING and v_low - _ROUNDING <= v <= v_high + _ROUNDING
    if cut.region is not None:
        across, up = zip(*cut.region.points, strict=True)
        on &= min(across) < u_high and max(across) > u_low and min(up) < v_high and max(up) > v_low
    if not on:
        reaches = f"across {_mm(u_low)} to {_mm(u_high)}, up {_mm(v_low)} to {_mm(v_high)}"
        faults.add(
            (*path, "at" if cut.region is None else "region"),
            f"lies off {face.name} and off everything that its station carries",
            allowed=f"{reaches}, counted from the face's own zero",
        )
    return on


def _corners(prism: Prism, angle: float) -> Iterator[Point2]:
    sine, cosine, section = sin(angle), cos(angle), prism.section
    if isinstance(section, Disc):
        (a, b), r = section.centre, section.radius
        ring: tuple[Point2, ...] = ((a - r, b - r), (a + r, b - r), (a + r, b + r), (a - r, b + r))
    else:
        ring = section.points
    for first, second in ring:
        for level in (prism.low, prism.high):
            x, y, z = prism.frame.point(first, second, level)
            yield x * cosine - z * sine, y


def _mm(metres: float) -> str:
    return f"{metres * 1e3:.6g} mm"
