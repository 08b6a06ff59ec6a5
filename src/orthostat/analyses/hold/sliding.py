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
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.extremes import ALIKE
from orthostat.analyses.hold.foundation import Bed, by_row
from orthostat.analyses.hold.searching import (
    EXACT,
    Course,
    Each,
    Later,
    Load,
    Start,
    State,
    fan_of,
    points_of,
)
from orthostat.analyses.hold.slip import UNLIMITED, Slip, fan_of_motions

if TYPE_CHECKING:
    from orthostat.base.dimensions import Ratio

Array = NDArray[np.float64]

_ROUNDS = 30
_HALVINGS = 5
_PATIENCE = 4
"""Rounds in which what is out of balance must halve."""
_GUESSES = 4
_SEATING = 8
_TINY = 1e-13
_NONE = np.zeros((0, 2))
_BLURS = (1e-2, 1e-3, 1e-4, 1e-5)
"""Speeds, as shares of the motion, below which friction fades, one after the other: about a point that
carries force and stands still its direction is open."""


class Sliding:
    """The equations of one joint, or of variants that differ in preload, stud stiffness and gap alone.

    `steady` are the lateral (3,) and upright (3,) loads at rest, `at_rest` (b, n) the forces at the points.
    """

    def __init__(
        self, beds: Sequence[Bed], friction: Ratio, steady: tuple[Array, Array], at_rest: Array
    ) -> None:
        bed = beds[0]
        self.patch, self.points = bed.patch, points_of(bed.patch)
        self.friction = float(friction)
        self.weight = bed.stiffness * bed.patch.areas
        self.studs = bed.stud_shape
        self.lateral, self.upright = steady[0] / self.points.lengths, steady[1]
        self.each = Each(
            np.array([each.gap for each in beds]),
            np.array([each.preload for each in beds]),
            np.array([each.stud_stiffness for each in beds]),
            by_row(np.array([each.assembled for each in beds]), bed.stud_shape.T),
            at_rest,
        )

    def slips(
        self,
        growing: Array,
        pressing: Array,
        course: Course,
        *,
        same: float,
        rivals: NDArray[np.bool_] | None = None,
        hints: Array | None = None,
    ) -> list[Slip | None]:
        """The slip under each load, with lateral part `growing` (m, 3) and upright part `pressing` (m, 3).

        Where all turns about one of the points the answer may lie below the limit by a share of `same`.
        `rivals` (k, m) are sets of loads of which only the one that slips first is asked for: others that
        surely slip later come back with an infinite factor. `hints` (m, 3) are motions to begin with, NaN
        where there is none, turns in units of the patch's reach. `None` where Newton's method does not end.
        """
        found: list[Slip | None] = [None] * len(growing)
        push = growing / self.points.lengths
        # What may be a little low is blurred from the beginning: it takes fewer steps, and mostly counts.
        blur, *more = _BLURS if same > 10.0 * _BLURS[0] ** 2 else (_TINY, *_BLURS)
        with np.errstate(all="ignore"):
            start = self._start(self.each, push, pressing, course, hints)
            left = np.flatnonzero(start.usable)
            each, load = self.each.rows(left), start.load.rows(left)
            later = None if rivals is None else self._later(start, course.lift, rivals).rows(left)
            load, ended = self._searched(each, load, left, blur, same, found, later)
            failed = np.flatnonzero([found[k] is None and bool(start.hinted[k]) for k in left])
            if len(failed):
                begin = self._cold(push, pressing, course, left[failed]).load
                load_, ended[failed] = self._searched(
                    each.rows(failed), begin, left[failed], blur, same, found, None
                )
                load.put(failed, load_)
            if blur == _TINY:
                left = left[~ended]
                if len(left):
                    cold = self._cold(push, pressing, course, left)
                    load = self._again(self.each.rows(left), cold.load._replace(factor=cold.factor))
                ended = np.ones(len(left), dtype=bool)
            for blur in more:
                going = ended & np.array([found[k] is None for k in left], dtype=bool)
                left, load = left[going], load.rows(going)
                if not len(left):
                    break
                load, ended = self._searched(self.each.rows(left), load, left, blur, same, found, None)
        return found

    def _searched(
        self,
        each: Each,
        load: Load,
        place: NDArray[np.intp],
        blur: float,
        same: float,
        found: list[Slip | None],
        later: Later | None,
    ) -> tuple[Load, NDArray[np.bool_]]:
        """Newton's method from where loads stand; answers go into `found`. Where each ends, and which do."""
        load, ended, left_out = self._newton(each, load, blur, later)
        slips = self._read(each.rows(ended), load.rows(ended), blur, same)
        for k, slip in zip(place[ended].tolist(), slips, strict=True):
            found[k] = slip
        for k, motion in zip(place[left_out].tolist(), load.motion[left_out], strict=True):
            found[k] = Slip(np.inf, _NONE, motion / self.points.lengths)
        return load, ended | left_out

    def _cold(self, push: Array, pressing: Array, course: Course, chosen: NDArray[np.intp]) -> Start:
        """Where the search of chosen loads begins without a hint."""
        return self._start(self.each.rows(chosen), push[chosen], pressing[chosen], course.rows(chosen), None)

    def _start(self, each: Each, push: Array, pressing: Array, course: Course, hints: Array | None) -> Start:
        motion = np.zeros_like(push) if hints is None else hints.copy()
        hinted = (push * motion).sum(axis=1) > 0.0
        fresh = np.flatnonzero(~hinted)
        if len(fresh):
            motion[fresh] = self._guess(each.rows(fresh), push[fresh], course.rows(fresh))
        motion /= np.sqrt((motion * motion).sum(axis=1))[:, None]
        factor, balanced = self._upper(each, push, motion, course)
        usable = np.isfinite(factor) & (self.friction * each.rest.sum(axis=1) > 0.0)
        usable &= np.abs(push).max(axis=1) > _TINY * np.abs(pressing).max(axis=1)
        lift = course.lift
        least = np.where(lift > 0.0, np.minimum(factor, 2.0 * lift), factor)
        closing = course.closed + np.minimum(least, lift)[:, None] * course.rate
        return Start(Load(push, pressing, motion, least, closing), factor, balanced, usable, hinted)

    def _guess(self, each: Each, push: Array, course: Course | None = None) -> Array:
        """Motions (m, 3) from a few steps of reweighted least squares, with the pressure of rest or with that
        which follows the load.
        """
        weight = self.friction * each.rest
        speed = self._first(weight, push)
        motion = push
        lateral = np.broadcast_to(self.lateral, push.shape)
        for _ in range(_GUESSES):
            matrix = ((weight / speed)[:, None, :] @ self.points.moves).reshape(-1, 3, 3)
            both = _solved(matrix, np.stack([push, lateral], axis=2))
            own, other = both[:, :, 0], both[:, :, 1]
            factor = (1.0 - (push * other).sum(axis=1)) / (push * own).sum(axis=1)
            motion = other + factor[:, None] * own
            speed = self._speed(motion) + 1e-9 * np.abs(motion).max(axis=1)[:, None]
            if course is not None:
                closing = course.closed + np.clip(factor, 0.0, course.lift)[:, None] * course.rate
                weight = self.friction * self._force(each, closing)
        return motion

    def _upper(
        self, each: Each, push: Array, motion: Array, course: Course
    ) -> tuple[Array, NDArray[np.bool_]]:
        """Factors at which the power of the load is that of friction along the motion; and for which of them
        pressure is known to follow the load so far, which makes them upper bounds of the slip factor.
        """
        speed, work = self._speed(motion), (push * motion).sum(axis=1)
        reach = self.friction * (each.rest * speed).sum(axis=1) - motion @ self.lateral
        rises = self.weight * (course.rate @ self.points.shape.T)
        follows = reach / (work - self.friction * (rises * speed).sum(axis=1))
        balanced = (follows > 0.0) & (follows <= course.lift) & (follows < UNLIMITED)
        return np.where(balanced, follows, np.clip(reach / work, 0.0, UNLIMITED)), balanced

    def _later(self, start: Start, lift: Array, rivals: NDArray[np.bool_]) -> Later:
        """What tells which loads surely slip later than the first of every set they stand in."""
        above = np.where(start.usable & start.balanced, start.factor * (1.0 + EXACT), np.inf)
        least = np.where(rivals, above, np.inf).min(axis=1)
        # Σ w |s| ≥ Σ w |s|² / max |s|, and no point moves by more than √2 under a motion of size 1.
        resists = (self.friction * self.each.rest) @ self.points.moves
        spare = np.linalg.eigvalsh(resists.reshape(-1, 3, 3))[0, 0] / np.sqrt(2.0)
        spare = max(0.0, float(spare) - float(np.sqrt((self.lateral * self.lateral).sum())))
        limit = np.where(rivals, least[:, None], 0.0).max(axis=0) * (1.0 + ALIKE)
        return Later(limit, lift, np.full(len(limit), spare))

    def _again(self, each: Each, load: Load) -> Load:
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
        motion = self._guess(each._replace(rest=state.force), load.push)
        motion /= np.sqrt((motion * motion).sum(axis=1))[:, None]
        usable = np.asarray(np.isfinite(motion).all(axis=1))
        return load._replace(motion=np.where(usable[:, None], motion, load.motion))

    def _first(self, weight: Array, push: Array) -> Array:
        """Speeds (m, n) under the motion of a wide fan that stops each load soonest."""
        speeds, fan = fan_of(self.patch), fan_of_motions()
        room, need = (weight[:, None, :] @ speeds.T)[:, 0] - fan @ self.lateral, push @ fan.T
        found: Array = speeds[(need / room).argmax(axis=1)] + 1e-9
        return found

    def _speed(self, motion: Array) -> Array:
        in_x = motion[:, :1] + motion[:, 2:] * self.points.z
        in_z = motion[:, 1:2] - motion[:, 2:] * self.points.x
        speed: Array = np.sqrt(in_x * in_x + in_z * in_z)
        return speed

    def _newton(
        self, each: Each, load: Load, blur: float, later: Later | None
    ) -> tuple[Load, NDArray[np.bool_], NDArray[np.bool_]]:
        """Where each search ends, which ones do, and which are left out."""
        place, done = np.arange(len(load.factor)), np.zeros(len(load.factor), dtype=bool)
        left_out = done.copy()
        last = load.rows(place)
        state, before = self._state(each, load, blur), np.full(len(place), np.inf)
        for step in range(_ROUNDS):
            ended = state.error < EXACT
            last.put(place[ended], load.rows(ended))
            done[place[ended]] = True
            going = ~ended
            if later is not None:
                beyond = going & later.rows(place).reached(load, state)
                last.put(place[beyond], load.rows(beyond))
                left_out[place[beyond]] = True
                going &= ~beyond
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
        return last, done, left_out

    def _stepped(
        self, each: Each, load: Load, state: State, blur: float
    ) -> tuple[Load, State, NDArray[np.bool_]]:
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

    def _force(self, each: Each, closing: Array) -> Array:
        """(m, n) forces at the points."""
        shape = self.points.shape
        closed = closing[:, :1] + closing[:, 1:2] * shape[:, 1] + closing[:, 2:] * shape[:, 2]
        force: Array = self.weight * np.maximum(closed - each.gap, 0.0)
        return force

    def _state(self, each: Each, load: Load, blur: float) -> State:
        x, z, shape = self.points.x, self.points.z, self.points.shape
        motion, closing, factor = load.motion, load.closing, load.factor[:, None]
        in_x, in_z = motion[:, :1] + motion[:, 2:] * z, motion[:, 1:2] - motion[:, 2:] * x
        speed = np.sqrt(in_x * in_x + in_z * in_z + blur * blur)
        ahead = np.empty((len(motion), 3, len(x)))
        np.divide(in_x, speed, out=ahead[:, 0])
        np.divide(in_z, speed, out=ahead[:, 1])
        np.subtract(z * ahead[:, 0], x * ahead[:, 1], out=ahead[:, 2])
        force = self._force(each, closing)
        drawn = (closing[:, None, :] @ self.studs.T)[:, 0] - each.slack
        stud = np.maximum(each.preload - each.stud_stiffness * drawn, 0.0)
        off = np.empty((len(motion), 6))
        off[:, :3] = self.friction * (ahead @ force[:, :, None])[:, :, 0] - self.lateral - factor * load.push
        pressed = (force[:, None, :] @ shape)[:, 0] - (stud[:, None, :] @ self.studs)[:, 0]
        off[:, 3:] = self.upright + factor * load.pressing - pressed
        push = self.friction * each.rest.sum(axis=1)
        press = np.abs(self.upright).max() + each.preload.sum(axis=1)
        size = np.abs(off)
        tilted = size[:, 3:].max(axis=1) / (press + load.factor * np.abs(load.pressing).max(axis=1))
        error = np.maximum(size[:, :3].max(axis=1) / push, tilted)
        return State(off, error, tilted, ahead, speed, force, stud)

    def _matrix(self, each: Each, load: Load, state: State, blur: float) -> Array:
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

    def _upright_matrix(self, each: Each, active: Array, stud: Array) -> Array:
        springs = (each.stud_stiffness * (stud > 0.0))[:, :, None]
        bed = (active[:, None, :] @ self.points.pairs).reshape(-1, 3, 3)
        made: Array = -bed - (self.studs * springs).transpose(0, 2, 1) @ self.studs
        return made

    def _read(self, each: Each, load: Load, blur: float, same: float) -> list[Slip | None]:
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
