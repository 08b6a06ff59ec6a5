"""Slip by Newton's method: sliding motion, load factor and the bed's closing, all at once.

At the factor λ where a joint slips there is a rigid motion v such that friction of full size against
v balances the load, while the bed and studs balance it upright. Those are seven equations; a point
that solves them is the limit by the static and the kinematic theorem together, so nothing is taken on
trust. Where everything turns about one point, friction is let fade below a small speed, and counts where
that takes off little enough. Where the iteration does not end the cone programme is asked.

Many loads are worked out side by side, each by itself: no answer depends on those beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.slip import UNLIMITED, Slip, fan_of_motions, speeds_of

if TYPE_CHECKING:
    from orthostat.analyses.hold.foundation import Bed
    from orthostat.analyses.hold.patch import Patch
    from orthostat.base.dimensions import Ratio

Array = NDArray[np.float64]
Rows = NDArray[np.intp] | NDArray[np.bool_]

_ROUNDS = 30
_HALVINGS = 5
_PATIENCE = 4
"""Rounds in which what is out of balance must halve."""
_GUESSES = 4
_SEATING = 8
_EXACT = 1e-10
_TINY = 1e-13
_BLURS = (1e-2, 1e-3, 1e-4, 1e-5)
"""Speeds, as shares of the motion, below which friction fades, one after the other: about a point that
carries force and stands still its direction is open."""


class _Points(NamedTuple):
    """n points of a patch about its centroid, in units of their reach, and what they are summed with."""

    x: Array
    z: Array
    lengths: Array
    """(3,) what a motion is divided by."""
    shape: Array
    """(n, 3)"""
    pairs: Array
    """(n, 9): products of the shape's columns."""
    moves: Array
    """(n, 9): products of what the three motions do to a point."""
    fan: Array
    """(k, n): speeds under motions of every direction."""


@lru_cache(maxsize=24)
def _points(patch: Patch) -> _Points:
    local = patch.points - patch.centroid
    size = float(np.max(np.hypot(local[:, 0], local[:, 1]))) or 1.0
    x, z = local[:, 0] / size, local[:, 1] / size
    one, none = np.ones_like(x), np.zeros_like(x)
    across, along = np.stack([one, none, z], axis=1), np.stack([none, one, -x], axis=1)
    moves = across[:, :, None] * across[:, None, :] + along[:, :, None] * along[:, None, :]
    return _Points(
        x,
        z,
        np.array([1.0, 1.0, size]),
        patch.shape,
        patch.pairs,
        moves.reshape(-1, 9),
        speeds_of(local / size, fan_of_motions()),
    )


class _Each(NamedTuple):
    """Where variants of a joint differ: one row for all loads, or a row for each."""

    gap: Array
    preload: Array
    stud_stiffness: Array
    slack: Array
    rest: Array

    def rows(self, chosen: Rows) -> _Each:
        return self if len(self.gap) == 1 else _Each(*(each[chosen] for each in self))


class _Load(NamedTuple):
    """What grows, and where the search stands: a row for each of m loads."""

    push: Array
    pressing: Array
    motion: Array
    factor: Array
    closing: Array

    def rows(self, chosen: Rows) -> _Load:
        return _Load(*(each[chosen] for each in self))

    def put(self, chosen: NDArray[np.intp], other: _Load) -> None:
        for mine, its in zip(self, other, strict=True):
            mine[chosen] = its

    def moved(self, step: Array, length: Array) -> _Load:
        """A share of a step (m, 7) further; only the direction of the motion counts."""
        there = self.motion + length[:, None] * step[:, :3]
        size = np.sqrt((there * there).sum(axis=1))[:, None]
        factor = self.factor + length * step[:, 3]
        return _Load(
            self.push, self.pressing, there / size, factor, self.closing + length[:, None] * step[:, 4:]
        )


class _State(NamedTuple):
    """What is out of balance (m, 6), its size (m,), and the fields (m, n) the matrix is made of."""

    off: Array
    error: Array
    ahead: Array
    """(m, 3, n): direction of sliding along x and z, and about the centroid."""
    speed: Array
    force: Array
    stud: Array

    def rows(self, chosen: Rows) -> _State:
        return _State(*(each[chosen] for each in self))

    def put(self, chosen: NDArray[np.intp], other: _State) -> None:
        for mine, its in zip(self, other, strict=True):
            mine[chosen] = its


class Sliding:
    """The equations of one joint; `steady` are its lateral (3,) and upright (3,) loads at rest."""

    def __init__(self, bed: Bed, friction: Ratio, steady: tuple[Array, Array], at_rest: Array) -> None:
        self.points = _points(bed.patch)
        self.friction = float(friction)
        self.weight = bed.stiffness * bed.patch.areas
        self.studs = bed.stud_shape
        self.lateral, self.upright = steady[0] / self.points.lengths, steady[1]
        one = (bed.gap, bed.preload, bed.stud_stiffness, bed.stud_shape @ bed.assembled, at_rest)
        self.each = _Each(*(each[None] for each in one))

    @classmethod
    def beside(cls, joints: Sequence[Sliding]) -> Sliding:
        """Variants of one joint, a row each: they differ in preload, stud stiffness and gap alone."""
        made = cls.__new__(cls)
        vars(made).update(vars(joints[0]))
        made.each = _Each(*(np.concatenate(each) for each in zip(*(j.each for j in joints), strict=True)))
        return made

    def slips(
        self, growing: Array, pressing: Array, *, closed: Array, rate: Array, lift: Array, same: float
    ) -> list[Slip | None]:
        """The slip under each load, with lateral part `growing` (m, 3) and upright part `pressing` (m, 3).

        `closed` (m or 1, 3) and `rate` (m, 3) are the closing at rest and its change with the load while
        nothing lifts; `lift` (m,) is the factor at which something does. Where all turns about one of the
        points the answer may lie below the limit by a share of `same`. `None` where Newton's method does
        not end.
        """
        found: list[Slip | None] = [None] * len(growing)
        push = growing / self.points.lengths
        with np.errstate(all="ignore"):
            motion, factor, usable = self._guess(self.each, push)
            usable &= self.friction * self.each.rest.sum(axis=1) > 0.0
            usable &= np.abs(push).max(axis=1) > _TINY * np.abs(pressing).max(axis=1)
            least = np.where(lift > 0.0, np.minimum(factor, 2.0 * lift), factor)
            closing = closed + np.minimum(least, lift)[:, None] * rate
            start = _Load(push, pressing, motion, least, closing)
            left, load = np.flatnonzero(usable), start.rows(usable)
            # What may be a little low is blurred from the beginning: it takes fewer steps, and mostly counts.
            for blur in _BLURS if same > 10.0 * _BLURS[0] ** 2 else (_TINY, *_BLURS):
                if not len(left):
                    break
                each = self.each.rows(left)
                load, ended = self._newton(each, load, blur)
                slips = self._read(each.rows(ended), load.rows(ended), blur, same)
                for k, slip in zip(left[ended].tolist(), slips, strict=True):
                    found[k] = slip
                if blur == _TINY:
                    left = left[~ended]
                    if not len(left):
                        break
                    load = self._again(each.rows(~ended), start._replace(factor=factor).rows(left))
                else:
                    going = ended & np.array([found[k] is None for k in left], dtype=bool)
                    left, load = left[going], load.rows(going)
        return found

    def _guess(self, each: _Each, push: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
        """Motions and factors with the pressure of rest, from a few steps of reweighted least squares, and
        which are of use.
        """
        weight = self.friction * each.rest
        speed = self._first(weight, push)
        motion, factor = push, np.zeros(len(push))
        lateral = np.broadcast_to(self.lateral, push.shape)
        for _ in range(_GUESSES):
            matrix = ((weight / speed)[:, None, :] @ self.points.moves).reshape(-1, 3, 3)
            both = _solved(matrix, np.stack([push, lateral], axis=2))
            own, other = both[:, :, 0], both[:, :, 1]
            factor = (1.0 - (push * other).sum(axis=1)) / (push * own).sum(axis=1)
            motion = other + factor[:, None] * own
            speed = self._speed(motion) + 1e-9 * np.abs(motion).max(axis=1)[:, None]
        usable = np.isfinite(factor) & np.any(motion != 0.0, axis=1)
        reach = (weight * self._speed(motion)).sum(axis=1) - motion @ self.lateral
        factor = np.clip(reach / (push * motion).sum(axis=1), 0.0, UNLIMITED)
        return motion / np.sqrt((motion * motion).sum(axis=1))[:, None], factor, usable

    def _again(self, each: _Each, load: _Load) -> _Load:
        """Another start: upright balance at the factor guessed, as nearly as some steps bring it, and the
        motion that the pressure there resists least.
        """
        state = self._state(each, load, _TINY)
        for _ in range(_SEATING):
            active = self.weight * (state.force > 0.0)
            off = -state.off[:, 3:, None]
            step = _solved(self._upright_matrix(each, active, state.stud), off)[:, :, 0]
            there = load._replace(closing=load.closing + step)
            after = self._state(each, there, _TINY)
            size, before = (np.abs(each.off[:, 3:]).max(axis=1) for each in (after, state))
            nearer = np.flatnonzero(size < before)
            load.put(nearer, there.rows(nearer))
            state.put(nearer, after.rows(nearer))
        motion, _, usable = self._guess(each._replace(rest=state.force), load.push)
        return load._replace(motion=np.where(usable[:, None], motion, load.motion))

    def _first(self, weight: Array, push: Array) -> Array:
        """Speeds (m, n) under the motion of a wide fan that stops each load soonest."""
        speeds, fan = self.points.fan, fan_of_motions()
        room, need = (weight[:, None, :] @ speeds.T)[:, 0] - fan @ self.lateral, push @ fan.T
        found: Array = speeds[(need / room).argmax(axis=1)] + 1e-9
        return found

    def _speed(self, motion: Array) -> Array:
        in_x = motion[:, :1] + motion[:, 2:] * self.points.z
        in_z = motion[:, 1:2] - motion[:, 2:] * self.points.x
        speed: Array = np.sqrt(in_x * in_x + in_z * in_z)
        return speed

    def _newton(self, each: _Each, load: _Load, blur: float) -> tuple[_Load, NDArray[np.bool_]]:
        """Where each search ends, and which ones do."""
        place, done = np.arange(len(load.factor)), np.zeros(len(load.factor), dtype=bool)
        last = load.rows(place)
        state, before = self._state(each, load, blur), np.full(len(place), np.inf)
        for step in range(_ROUNDS):
            ended = state.error < _EXACT
            last.put(place[ended], load.rows(ended))
            done[place[ended]] = True
            going = ~ended
            if step % _PATIENCE == 0:
                going &= state.error <= 0.5 * before
                before = state.error
            if not going.any():
                break
            if not going.all():
                each, load, state = each.rows(going), load.rows(going), state.rows(going)
                place, before = place[going], before[going]
            load, state, nearer = self._stepped(each, load, state, blur)
            if not nearer.all():
                each, load, state = each.rows(nearer), load.rows(nearer), state.rows(nearer)
                place, before = place[nearer], before[nearer]
        return last, done

    def _stepped(
        self, each: _Each, load: _Load, state: _State, blur: float
    ) -> tuple[_Load, _State, NDArray[np.bool_]]:
        """One step of each load, as long as it brings it nearer; and which ones it does."""
        right = -np.concatenate([state.off, np.zeros((len(state.off), 1))], axis=1)
        step = _solved(self._matrix(each, load, state, blur), right[:, :, None])[:, :, 0]
        length = np.ones(len(step))
        there = load.moved(step, length)
        after = self._state(each, there, blur)
        for _ in range(_HALVINGS):
            worse = np.flatnonzero(~(after.error <= (1.0 - 0.1 * length) * state.error))
            if not len(worse):
                return there, after, np.ones(len(step), dtype=bool)
            length[worse] *= 0.5
            there = load.moved(step, length)
            after.put(worse, self._state(each.rows(worse), there.rows(worse), blur))
        return there, after, after.error <= (1.0 - 0.1 * length) * state.error

    def _state(self, each: _Each, load: _Load, blur: float) -> _State:
        x, z, shape = self.points.x, self.points.z, self.points.shape
        motion, closing, factor = load.motion, load.closing, load.factor[:, None]
        in_x, in_z = motion[:, :1] + motion[:, 2:] * z, motion[:, 1:2] - motion[:, 2:] * x
        speed = np.sqrt(in_x * in_x + in_z * in_z + blur * blur)
        ahead = np.empty((len(motion), 3, len(x)))
        np.divide(in_x, speed, out=ahead[:, 0])
        np.divide(in_z, speed, out=ahead[:, 1])
        np.subtract(z * ahead[:, 0], x * ahead[:, 1], out=ahead[:, 2])
        closed = closing[:, :1] + closing[:, 1:2] * shape[:, 1] + closing[:, 2:] * shape[:, 2]
        force = self.weight * np.maximum(closed - each.gap, 0.0)
        drawn = (closing[:, None, :] @ self.studs.T)[:, 0] - each.slack
        stud = np.maximum(each.preload - each.stud_stiffness * drawn, 0.0)
        off = np.empty((len(motion), 6))
        off[:, :3] = self.friction * (ahead @ force[:, :, None])[:, :, 0] - self.lateral - factor * load.push
        pressed = (force[:, None, :] @ shape)[:, 0] - (stud[:, None, :] @ self.studs)[:, 0]
        off[:, 3:] = self.upright + factor * load.pressing - pressed
        push = self.friction * each.rest.sum(axis=1)
        press = np.abs(self.upright).max() + each.preload.sum(axis=1)
        size = np.abs(off)
        error = np.maximum(
            size[:, :3].max(axis=1) / push,
            size[:, 3:].max(axis=1) / (press + load.factor * np.abs(load.pressing).max(axis=1)),
        )
        return _State(off, error, ahead, speed, force, stud)

    def _matrix(self, each: _Each, load: _Load, state: _State, blur: float) -> Array:
        x, z = self.points.x, self.points.z
        in_x, in_z = state.ahead[:, 0], state.ahead[:, 1]
        square = np.empty_like(state.ahead)
        np.negative(in_z, out=square[:, 0])
        square[:, 1] = in_x
        np.subtract(z * square[:, 0], x * in_x, out=square[:, 2])
        active = self.weight * (state.force > 0.0)
        rubbed = self.friction * state.force / state.speed
        matrix = np.zeros((len(active), 7, 7))
        matrix[:, :3, :3] = (square * rubbed[:, None]) @ square.transpose(0, 2, 1)
        if blur > _TINY:
            blurred = (rubbed * (1.0 - in_x * in_x - in_z * in_z))[:, None]
            matrix[:, :3, :3] += (blurred @ self.points.moves).reshape(-1, 3, 3)
        matrix[:, :3, 3] = -load.push
        matrix[:, :3, 4:] = (state.ahead * (self.friction * active)[:, None]) @ self.points.shape
        matrix[:, 3:6, 3] = load.pressing
        matrix[:, 3:6, 4:] = self._upright_matrix(each, active, state.stud)
        # Only the direction of the motion counts: the step keeps to what is square to it.
        matrix[:, 6, :3] = load.motion
        return matrix

    def _upright_matrix(self, each: _Each, active: Array, stud: Array) -> Array:
        springs = (each.stud_stiffness * (stud > 0.0))[:, :, None]
        bed = (active[:, None, :] @ self.points.pairs).reshape(-1, 3, 3)
        made: Array = -bed - (self.studs * springs).transpose(0, 2, 1) @ self.studs
        return made

    def _read(self, each: _Each, load: _Load, blur: float, same: float) -> list[Slip | None]:
        """The slip of each load, where more of it makes it slide and less does not."""
        state = self._state(each, load, blur)
        factor, work = load.factor, (load.push * load.motion).sum(axis=1)
        # Friction that is blurred is less than it may be: the balance stands, and sliding needs no more
        # than friction of full size along the same motion.
        speed = self._speed(load.motion)
        short = self.friction * (state.force * (speed - speed * speed / state.speed)).sum(axis=1)
        active = self.weight * (state.force > 0.0)
        follows = _solved(self._upright_matrix(each, active, state.stud), -load.pressing[:, :, None])
        gained = (active * (self.points.shape @ follows)[:, :, 0] * state.speed).sum(axis=1)
        left = work - self.friction * gained
        counts = (factor > 0.0) & (factor < UNLIMITED) & (short <= same * factor * work)
        counts &= left > 1e-9 * np.abs(work)
        friction = (-self.friction * state.force[:, None] * state.ahead[:, :2]).transpose(0, 2, 1)
        motion = load.motion / (self.points.lengths * left[:, None])
        return [
            Slip(each, friction[k], motion[k]) if taken else None
            for k, (each, taken) in enumerate(zip(factor.tolist(), counts.tolist(), strict=True))
        ]


def _solved(matrix: Array, right: Array) -> Array:
    """Solutions (m, k, r) of m systems; NaN where one has none."""
    try:
        return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    except np.linalg.LinAlgError:
        made = np.full_like(right, np.nan)
        for k in range(len(matrix)):
            try:
                made[k] = np.linalg.solve(matrix[k], right[k])
            except np.linalg.LinAlgError:
                continue
    return made
