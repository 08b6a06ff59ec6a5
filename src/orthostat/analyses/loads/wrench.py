"""A force and a moment about the column's origin, as one value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from orthostat.base.frames import Frame, Vector

Array = NDArray[np.float64]

COMPONENTS = ("F_x", "F_y", "F_z", "M_x", "M_y", "M_z")


@dataclass(frozen=True, slots=True)
class Wrench:
    """Force [N] and moment [N·m] about the column's origin, both in column axes."""

    force: Vector
    moment: Vector

    @property
    def row(self) -> Array:
        """(6,): F_x, F_y, F_z, M_x, M_y, M_z."""
        return np.array([*self.force, *self.moment])

    @classmethod
    def of(cls, row: Array) -> Wrench:
        """The wrench of a row (6,)."""
        x = [float(value) for value in row]
        return cls((x[0], x[1], x[2]), (x[3], x[4], x[5]))


def moved(rows: Array, to: Vector) -> Array:
    """The same wrenches (m, 6) with moments taken about another point [m]."""
    made = rows.copy()
    made[:, 3:] -= crossed(np.asarray(to), rows[:, :3])
    return made


def crossed(arm: Array, force: Array) -> Array:
    """Moments (..., 3) of forces at arms, whose shapes fit one another."""
    x, y, z = arm[..., 0], arm[..., 1], arm[..., 2]
    a, b, c = force[..., 0], force[..., 1], force[..., 2]
    made = np.empty((*np.broadcast(x, a).shape, 3))
    made[..., 0], made[..., 1], made[..., 2] = y * c - z * b, z * a - x * c, x * b - y * a
    return made


def axes_of(frame: Frame) -> Array:
    """(3, 3): rows are the frame's axes in column coordinates."""
    return np.array([frame.first, frame.second, frame.third])
