"""Frames of reference after ISO 841 and the rotations between them.

Machine: Z along the spindle (positive away from the work), X across, Y up; B turns about Y.
Column: origin where the B axis meets the pallet's top, y up; angle 0 along +Z at B = 0, growing
from +Z toward +X. Face: u across (positive to the right of a viewer at the spindle), v height
above the pallet top, w outward.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin

from orthostat.base.dimensions import Metre, Radian

Vector = tuple[float, float, float]

SAME_ANGLE = 1e-9
"""Angles nearer to one another than this [rad] are one."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A local frame inside the column frame: origin [m] and three orthonormal axes.

    The axes need not be right-handed: plan sections use (x, z) extruded along y.
    """

    origin: Vector
    first: Vector
    second: Vector
    third: Vector

    def point(self, a: float, b: float, c: float) -> Vector:
        """The local point (a, b, c) [m] in column coordinates (x, y, z) [m]."""
        return (
            self.origin[0] + a * self.first[0] + b * self.second[0] + c * self.third[0],
            self.origin[1] + a * self.first[1] + b * self.second[1] + c * self.third[1],
            self.origin[2] + a * self.first[2] + b * self.second[2] + c * self.third[2],
        )

    def local(self, x: float, y: float, z: float) -> Vector:
        """A point in column coordinates [m] in this frame [m]."""
        x, y, z = x - self.origin[0], y - self.origin[1], z - self.origin[2]
        a, b, c = self.first, self.second, self.third
        return (
            x * a[0] + y * a[1] + z * a[2],
            x * b[0] + y * b[1] + z * b[2],
            x * c[0] + y * c[1] + z * c[2],
        )


PLAN = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
"""Plan sections: points are (x, z), extruded upward along y."""


def face_frame(angle: Radian, distance: Metre) -> Frame:
    """The frame of a face: (u, v, w), right-handed, w = 0 on the face plane.

    A face of angle θ has the outward normal (sin θ, 0, cos θ); u is (cos θ, 0, -sin θ). Numbers
    within rounding of 0 and ±1 are made exact so that square columns stay square.
    """
    s, c = _exact(sin(angle)), _exact(cos(angle))
    return Frame((s * distance, 0.0, c * distance), (c, 0.0, -s), (0.0, 1.0, 0.0), (s, 0.0, c))


def whole_turn(angle: float) -> Radian:
    """The angle brought into [0, 2π), a full turn within rounding being 0."""
    left = angle % (2.0 * pi)
    return Radian(0.0 if 2.0 * pi - left < SAME_ANGLE else left)


def b_facing(angle: float, *, clockwise: bool = True) -> Radian:
    """Where B stands, in [0, 2π), when the direction `angle` of the column faces the spindle.

    `clockwise`: +B turns the table clockwise from above, as ISO 841 has it.
    """
    return whole_turn(angle if clockwise else -angle)


def turned(x: float, z: float, b: Radian) -> tuple[float, float]:
    """Where the column point (x, z) [m] stands in machine (X, Z) about the B axis at angle B.

    X = x cos B - z sin B, Z = x sin B + z cos B (ISO 841: +B turns the table clockwise from above).
    """
    s, c = _exact(sin(b)), _exact(cos(b))
    return x * c - z * s, x * s + z * c


def _exact(value: float) -> float:
    for whole in (-1.0, -0.5, 0.0, 0.5, 1.0):
        if abs(value - whole) < 1e-15:
            return whole
    return value
