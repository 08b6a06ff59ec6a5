"""Loads from moving the column: indexing about B, axis acceleration, an emergency stop, weight."""

from __future__ import annotations

from math import pi

import numpy as np

from orthostat.analyses.loads.inputs import Moving
from orthostat.analyses.loads.result import Array, Handling, OpenHandling
from orthostat.analyses.loads.wrench import crossed
from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import MetrePerSecondSquared
from orthostat.base.findings import NotStated, stated

INDEXING, TRAVERSING, STOPPING = "B indexing", "axis acceleration", "emergency stop"
_ANGLES = np.arange(16) * (2.0 * pi / 16)
_WAYS = np.stack([np.sin(_ANGLES), np.zeros(16), np.cos(_ANGLES)], axis=1)
_TOWARD = tuple(f"toward {np.degrees(angle):g}°" for angle in _ANGLES)
_ROUNDING = 1e-12
"""Distance from the axis [m] below which a centre of gravity is only rounding."""


def handling(moving: Moving) -> tuple[tuple[Handling, ...], tuple[OpenHandling, ...], Array | None]:
    """The handling loads, those that are not known, and the weight's wrench (6,)."""
    known: list[Handling] = []
    unknown: list[OpenHandling] = []
    for name, make in ((INDEXING, _indexing), (TRAVERSING, _traversing), (STOPPING, _stopping)):
        try:
            made = make(moving)
        except NotStated as gap:
            unknown.append(OpenHandling(name, gap.missing, gap.reason))
        else:
            if made is not None:
                known.append(made)
    return tuple(known), tuple(unknown), _gravity(moving)


def _indexing(moving: Moving) -> Handling:
    """±(inertia × acceleration) about B, with the tangential push of a centre of gravity off the axis."""
    path = f"{moving.machine_path}.b_acceleration"
    acceleration = stated(moving.b_acceleration, path)
    inertia = stated(moving.inertia, moving.mass_path)
    mass, (x, y, z) = _mass(moving)
    rows = []
    for alpha in (acceleration, -acceleration):
        # a = α × r about +y; the inertia force is -m a, acting at the centre of gravity's height
        along_x, along_z = -mass * alpha * z, mass * alpha * x
        rows.append((along_x, 0.0, along_z, y * along_z, -inertia * alpha, -y * along_x))
    return Handling(INDEXING, path, _frozen(np.array(rows)), ("starting one way", "starting the other way"))


def _traversing(moving: Moving) -> Handling | None:
    return _pushed(moving, TRAVERSING, moving.axis_acceleration, "axis_acceleration")


def _stopping(moving: Moving) -> Handling | None:
    return _pushed(moving, STOPPING, moving.stop_acceleration, "stop_acceleration")


def _pushed(
    moving: Moving, name: str, acceleration: MetrePerSecondSquared | None, key: str
) -> Handling | None:
    """Mass times acceleration, in any horizontal direction, since the column may stand at any B."""
    if moving.pallet_moves is False:
        return None  # the spindle side moves; the pallet stands still
    stated(moving.pallet_moves, f"{moving.machine_path}.pallet_moves")
    path = f"{moving.machine_path}.{key}"
    rate = stated(acceleration, path)
    mass, centre = _mass(moving)
    push = mass * rate * _WAYS
    rows = np.hstack([push, crossed(np.asarray(centre), push)])
    return Handling(name, path, _frozen(rows), _TOWARD)


def _gravity(moving: Moving) -> Array | None:
    if moving.mass is None or moving.centre is None:
        return None
    weight, (x, _, z) = -moving.mass * STANDARD_GRAVITY, moving.centre
    return _frozen(np.array([0.0, weight, 0.0, -z * weight, 0.0, x * weight]))


def _mass(moving: Moving) -> tuple[float, tuple[float, float, float]]:
    """Mass and centre; a centre nearer to the axis than rounding can tell is on it."""
    x, y, z = stated(moving.centre, moving.mass_path)
    x, z = (0.0 if abs(value) < _ROUNDING else value for value in (x, z))
    return stated(moving.mass, moving.mass_path), (x, y, z)


def _frozen(rows: Array) -> Array:
    rows.setflags(write=False)
    return rows
