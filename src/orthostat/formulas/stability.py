"""Static stability of things that stand free."""

from __future__ import annotations

from math import atan

from orthostat.base.dimensions import Metre, Radian


def tipping_angle(*, to_edge: Metre, height: Metre) -> Radian:
    """Tilt at which a free-standing body topples: tan α = e / h.

    e is the plan distance from the centre of gravity to the nearest side of the support polygon
    (negative outside it), h the height of the centre of gravity over the support. Source: statics, such
    as meriam-kraige-statics-2012, chapter 3 (a body tips when its weight's line of action passes the edge).
    Valid for a rigid body on a rigid floor that does not slide. Raises `ValueError` for h ≤ 0.

    e = 0.15 m, h = 0.33 m: 0.426 rad (24.4°).
    """
    if not height > 0.0 * height:
        raise ValueError("the centre of gravity must lie above the support")
    return Radian(atan(to_edge / height))
