"""Slip by Newton's method: sliding motion, load factor and the bed's closing, all at once.

At the factor λ where a joint slips there is a rigid motion v such that friction of full size against
v balances the load, while the bed and studs balance it upright. Those are seven equations; a point
that solves them is the limit by the static and the kinematic theorem together, so nothing is taken on
trust. Where the iteration does not end (a point about which everything turns, a load under which
nothing slides) there is no answer here and the cone programme is asked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.slip import UNLIMITED, Slip

if TYPE_CHECKING:
    from orthostat.analyses.hold.foundation import Bed
    from orthostat.base.dimensions import Ratio

Array = NDArray[np.float64]

_ROUNDS = 30
_GUESSES = 5
_EXACT = 1e-10
_TINY = 1e-13


class Sliding:
    """The equations of one joint; `steady` are its lateral (3,) and upright (3,) loads at rest."""

    def __init__(self, bed: Bed, friction: Ratio, steady: tuple[Array, Array], at_rest: Array) -> None:
        points = bed.patch.points - bed.patch.centroid
        self._size = float(np.max(np.hypot(points[:, 0], points[:, 1]))) or 1.0
        self._x, self._z = points[:, 0] / self._size, points[:, 1] / self._size
        self._lengths = np.array([1.0, 1.0, self._size])
        self._friction = float(friction)
        self._shape, self._studs = bed.shape, bed.stud_shape
        self._weight = bed.stiffness * bed.patch.areas
        self._gap, self._preload, self._stud_stiffness = bed.gap, bed.preload, bed.stud_stiffness
        self._slack = bed.stud_shape @ bed.assembled
        self._lateral, self._upright = steady[0] / self._lengths, steady[1]
        self._rest = at_rest
        self._push = self._friction * float(at_rest.sum())
        self._press = float(np.abs(self._upright).max()) + float(bed.preload.sum())

    def slip(
        self, growing: Array, pressing: Array, *, closed: Array, rate: Array, lift: float
    ) -> Slip | None:
        """The slip under a load with lateral part `growing` (3,) and upright part `pressing` (3,).

        `closed` (3,) and `rate` (3,) are the closing at rest and its change with the load while nothing
        lifts; `lift` is the factor at which something does. `None` where Newton's method does not end.
        """
        push = growing / self._lengths
        if self._push <= 0.0 or not np.abs(push).max() > _TINY * np.abs(pressing).max():
            return None
        guess = self._guess(push)
        if guess is None:
            return None
        motion, factor = guess
        if lift > 0.0:
            factor = min(factor, 2.0 * lift)
        closing = closed + min(factor, lift) * rate
        with np.errstate(all="ignore"):
            return self._newton(motion, factor, closing, push, pressing)

    def _guess(self, push: Array) -> tuple[Array, float] | None:
        """Motion and factor with the pressure of rest, from a few steps of reweighted least squares."""
        across = np.stack([np.ones_like(self._x), np.zeros_like(self._x), self._z])
        along = np.stack([np.zeros_like(self._x), np.ones_like(self._x), -self._x])
        weight = self._friction * self._rest
        speed = np.ones_like(self._x)
        motion, factor = push, 0.0
        for _ in range(_GUESSES):
            share = weight / speed
            matrix = (across * share) @ across.T + (along * share) @ along.T
            try:
                own, other = np.linalg.solve(matrix, np.stack([push, self._lateral], axis=1)).T
            except np.linalg.LinAlgError:
                return None
            factor = (1.0 - float(push @ other)) / float(push @ own)
            motion = other + factor * own
            speed = np.hypot(motion @ across, motion @ along) + 1e-9 * float(np.abs(motion).max())
        if not np.isfinite(factor) or not np.any(motion):
            return None
        size = float(np.linalg.norm(motion))
        speeds = np.hypot(motion @ across, motion @ along)
        reach = float(weight @ speeds) - float(self._lateral @ motion)
        return motion / size, min(max(reach / float(push @ motion), 0.0), UNLIMITED)

    def _newton(
        self, motion: Array, factor: float, closing: Array, push: Array, pressing: Array
    ) -> Slip | None:
        at = (motion, factor, closing)
        state = self._state(at, push, pressing)
        for _ in range(_ROUNDS):
            off, error, matrix = state[0], state[1], self._matrix(state, push, pressing)
            if error < _EXACT:
                return self._read(at, state, push, pressing)
            try:
                step = np.linalg.solve(matrix, -np.append(off, 0.0))
            except np.linalg.LinAlgError:
                return None
            length = 1.0
            for _ in range(12):
                moved = at[0] + length * step[:3]
                size = float(np.linalg.norm(moved))
                if size > 0.0:
                    there = (moved / size, at[1] + length * float(step[3]), at[2] + length * step[4:])
                    state = self._state(there, push, pressing)
                    if state[1] <= (1.0 - 0.1 * length) * error:
                        break
                length *= 0.5
            else:
                return None
            at = there
        return None

    def _state(
        self, at: tuple[Array, float, Array], push: Array, pressing: Array
    ) -> tuple[Array, float, Array, Array, Array, Array, Array, Array]:
        """What is out of balance (6,), its size, and the fields the matrix is made of."""
        motion, factor, closing = at
        in_x, in_z = motion[0] + motion[2] * self._z, motion[1] - motion[2] * self._x
        speed = np.hypot(in_x, in_z) + _TINY
        in_x, in_z = in_x / speed, in_z / speed
        force = self._weight * np.maximum(self._shape @ closing - self._gap, 0.0)
        stud = np.maximum(self._preload - self._stud_stiffness * (self._studs @ closing - self._slack), 0.0)
        turning = self._z * in_x - self._x * in_z
        rub = self._friction * np.array([force @ in_x, force @ in_z, force @ turning])
        lateral = rub - self._lateral - factor * push
        upright = self._upright + factor * pressing - force @ self._shape + stud @ self._studs
        error = max(
            float(np.abs(lateral).max()) / self._push,
            float(np.abs(upright).max()) / (self._press + factor * float(np.abs(pressing).max())),
        )
        return np.concatenate([lateral, upright]), error, in_x, in_z, speed, turning, force, stud

    def _matrix(
        self,
        state: tuple[Array, float, Array, Array, Array, Array, Array, Array],
        push: Array,
        pressing: Array,
    ) -> Array:
        _, _, in_x, in_z, speed, turning, force, stud = state
        square = np.stack([-in_z, in_x, -in_z * self._z - in_x * self._x])
        ahead = np.stack([in_x, in_z, turning])
        active = self._weight * (force > 0.0)
        matrix = np.zeros((7, 7))
        matrix[:3, :3] = (square * (self._friction * force / speed)) @ square.T
        matrix[:3, 3] = -push
        matrix[:3, 4:] = self._friction * (ahead * active) @ self._shape
        matrix[3:6, 3] = pressing
        matrix[3:6, 4:] = self._upright_matrix(active, stud)
        # Only the direction of the motion counts: the step keeps to what is square to it.
        motion = np.array([in_x @ speed, in_z @ speed, turning @ speed])
        matrix[6, :3] = motion / (np.linalg.norm(motion) or 1.0)
        return matrix

    def _upright_matrix(self, active: Array, stud: Array) -> Array:
        springs = self._stud_stiffness * (stud > 0.0)
        made: Array = -(self._shape.T * active) @ self._shape - (self._studs.T * springs) @ self._studs
        return made

    def _read(
        self,
        at: tuple[Array, float, Array],
        state: tuple[Array, float, Array, Array, Array, Array, Array, Array],
        push: Array,
        pressing: Array,
    ) -> Slip | None:
        """The slip, where more load makes it slide and less does not."""
        motion, factor, _ = at
        _, _, in_x, in_z, speed, _, force, stud = state
        if not 0.0 < factor < UNLIMITED:
            return None
        active = self._weight * (force > 0.0)
        try:
            follows = np.linalg.solve(self._upright_matrix(active, stud), -pressing)
        except np.linalg.LinAlgError:
            return None
        gained = self._friction * float((active * (self._shape @ follows)) @ speed)
        work = float(push @ motion)
        if work - gained <= 1e-9 * abs(work):
            return None
        friction = -self._friction * force[:, None] * np.column_stack([in_x, in_z])
        return Slip(factor, friction, motion / (self._lengths * (work - gained)))
