"""How many times a load a joint can bear: before it lifts, before it tips, before it slips."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.foundation import Bed, Seated, by_row, seated, seated_beside
from orthostat.analyses.hold.patch import Patch
from orthostat.analyses.hold.searching import Course
from orthostat.analyses.hold.sliding import Sliding
from orthostat.analyses.hold.slip import UNLIMITED, Programme, Rising, Slip, bounds
from orthostat.base.dimensions import Newton, PascalPerMetre, Ratio
from orthostat.base.kept import Kept
from orthostat.model.bodies import Point2

Array = NDArray[np.float64]

EXACT, ROUGH = 1e-4, 2e-3
"""Relative step of λ below which pressure and friction agree: for a verdict, and for a what-if."""
_ROUNDS = 25


class Least(NamedTuple):
    """The least factors of a set of loads, each with the place in the set of the load that has it."""

    lift: tuple[float, int]
    tip: tuple[float, int]
    slip: tuple[float, int]


def vertical(rows: Array) -> Array:
    """(F_down, Σ F x, Σ F z) of wrenches (m, 6) in the joint's plane: what presses and tilts."""
    made = rows[:, (1, 5, 3)]
    made[:, :2] *= -1.0
    return made


def lateral(rows: Array, centre: Array) -> Array:
    """(F_x, F_z, M_y about the patch's centroid) of wrenches (m, 6): what shears and twists."""
    turning = rows[:, 4] - (centre[1] * rows[:, 0] - centre[0] * rows[:, 2])
    return np.column_stack([rows[:, 0], rows[:, 2], turning])


@dataclass(frozen=True, eq=False)
class Held:
    """A joint with its preloads, its least friction and the steady load (6,) it always bears."""

    bed: Bed
    friction: Ratio
    steady: Array

    @cached_property
    def least(self) -> Kept[bytes, Least]:
        """What load sets do to it: many cuts push alike, and so do alike fixtures."""
        return Kept(64)

    @cached_property
    def changes(self) -> Kept[tuple[bytes, tuple[float, ...], bool], tuple[Array, Array, NDArray[np.intp]]]:
        """How load sets change the force of its studs: least, greatest, and which load makes that."""
        return Kept(64)

    @cached_property
    def programme(self) -> Programme:
        return _programme(self.bed.patch)

    @cached_property
    def points(self) -> Array:
        """(n, 2) points of the patch about its centroid."""
        patch = self.bed.patch
        return patch.points - patch.centroid

    @cached_property
    def rest(self) -> Seated:
        """The bed under the steady load alone."""
        return seated(self.bed, vertical(self.steady[None, :]))

    @staticmethod
    def settle(joints: Sequence[Held]) -> None:
        """Work out at once where variants of one joint rest, and how they give from there."""
        fresh = [joint for joint in joints if "rest" not in vars(joint)]
        if len(fresh) > 1:
            steady = vertical(np.array([joint.steady for joint in fresh]))
            found = seated_beside([joint.bed for joint in fresh], steady)
            for k, joint in enumerate(fresh):
                vars(joint)["rest"] = found.row(k)
        fresh = [joint for joint in joints if "inverse" not in vars(joint)]
        for joint, inverse in zip(fresh, _inverses(fresh), strict=True):
            vars(joint)["inverse"] = inverse

    @property
    def at_rest(self) -> Array:
        """(n,) point forces under the steady load alone."""
        force: Array = self.rest.point_force[0]
        return force

    @property
    def closed_at_rest(self) -> Array:
        """(3,) closing under the steady load alone."""
        closing: Array = self.rest.closing[0]
        return closing

    @cached_property
    def active(self) -> Array:
        """(n,) stiffness of what touches at rest, nothing of what does not."""
        return (self.at_rest > 0.0) * self.bed.stiffness * self.bed.patch.areas

    @cached_property
    def inverse(self) -> Array:
        """(3, 3): closing for each unit of load while what touches at rest goes on touching."""
        found: Array = _inverses([self])[0]
        return found

    @cached_property
    def sliding(self) -> Sliding:
        return _sliding([self])

    @cached_property
    def is_borne(self) -> bool:
        """Whether it stays put under the steady load alone."""
        return bool(np.all(np.isfinite(self.at_rest)))

    def closing_rate(self, rows: Array) -> Array:
        """(m, 3) closing for one unit of each load, while contact does not change."""
        return self.bed.loads(vertical(rows)) @ self.inverse

    def force_rate(self, rows: Array) -> Array:
        """(m, n) point forces for one unit of each load, while contact does not change."""
        return (self.closing_rate(rows) @ self.bed.shape.T) * self.active

    def lift_factors(self, rows: Array) -> Array:
        """(m,) multiple of each load at which the first corner of the patch comes free.

        Exact: until then the bed is linear. Zero where a corner is free at rest.
        """
        corners = self.bed.patch.corner_shape.T
        return _lifts(self.closed_at_rest[None, :] @ corners, self.closing_rate(rows) @ corners)

    def tip_factors(self, rows: Array) -> Array:
        """(m,) multiple of each load at which clamp, weight and load together press on an edge.

        The studs keep their preload; past this the column turns about that edge and only the stretch
        of the studs is left. Exact, from the balance about each edge of the patch's hull.
        """
        bed = self.bed
        pull = np.concatenate([[bed.preload.sum()], bed.preload @ bed.stud_at])
        rest = pull + vertical(self.steady[None, :])[0]
        sides = bed.patch.sides
        return _least_ratio(sides @ rest, -(vertical(rows) @ sides.T))

    def slip_bounds(self, rows: Array) -> Array:
        """Upper bounds (m,) on the slip factors of loads (m, 6), near ones while nothing lifts."""
        if not self.is_borne:
            return np.zeros(len(rows))
        return bounds(self._rising, self.closing_rate(rows), lateral(rows, self.bed.patch.centroid))

    @cached_property
    def _rising(self) -> Rising:
        steady = lateral(self.steady[None, :], self.bed.patch.centroid)[0]
        grown = self.friction * self.active[:, None] * self.bed.shape
        return Rising(self.points, self.friction * self.at_rest, grown, steady)

    def slip(self, row: Array, *, same: float = EXACT) -> Slip:
        """The slip factor of one load (6,), pressure and friction worked out at the same multiple."""
        return slips([(self, row)], same=same)[0]

    def by_turns(self, row: Array, lift: float, same: float) -> Slip:
        """While nothing lifts, pressure follows the load in a straight line and one programme is exact;
        otherwise pressure is solved again at λ, by Newton's method on the gap between the two.
        """
        rows = row[None, :]
        centre = self.bed.patch.centroid
        steady = lateral(self.steady[None, :], centre)[0]
        growing = lateral(rows, centre)[0]
        if lift == 0.0:
            return self._consistent(row, steady, growing, 0.0, same)
        limit = self.friction * self.at_rest
        growth = self.friction * self.force_rate(rows)[0]
        straight = self.programme.solve(limit, growth, steady=steady, growing=growing)
        pressed = limit + straight.factor * growth
        touching = pressed[limit > 0.0]
        flat = not self.bed.gap.any()  # else points may part, or meet, before the first corner does
        if (flat and straight.factor <= lift * (1.0 - 1e-6)) or (
            np.all(touching > 1e-6 * limit.max()) and self._touches_alike(row, straight.factor)
        ):
            return straight
        return self._consistent(row, steady, growing, max(lift, straight.factor), same)

    def never(self, factor: float) -> Slip:
        """A slip at a factor of nothing or of no limit: nothing slides, and friction carries nothing."""
        return Slip(factor, np.zeros((len(self.points), 2)), np.zeros(3))

    def _touches_alike(self, row: Array, multiple: float) -> bool:
        """Whether the same points touch at a multiple of the load as at rest."""
        if multiple >= UNLIMITED:
            return False
        pressed = self._pressed(row, multiple)
        return pressed is not None and bool(np.array_equal(pressed > 0.0, self.at_rest > 0.0))

    def _consistent(self, row: Array, steady: Array, growing: Array, start: float, same: float) -> Slip:
        """Root of (slip factor with the pressure of μ) - μ; kept between a bracket."""
        none = np.zeros(len(self.points))
        low, high, at = 0.0, np.inf, start
        best = self.never(0.0)
        for _ in range(_ROUNDS):
            pressed = self._pressed(row, at)
            if pressed is None:
                high = at
                at = 0.5 * (low + high)
            else:
                found = self.programme.solve(self.friction * pressed, none, steady=steady, growing=growing)
                if found.factor >= at:
                    low, best = at, found
                else:
                    high = at
                if abs(found.factor - at) <= same * at or found.factor == 0.0 or at >= UNLIMITED:
                    return Slip(min(found.factor, at), found.friction, found.motion)
                at = self._next(row, at, found, pressed, low, high)
            if np.isfinite(high) and high - low <= same * high:
                break
        return Slip(low, best.friction, best.motion)

    def _next(self, row: Array, at: float, found: Slip, pressed: Array, low: float, high: float) -> float:
        """Newton's step, with the slope of the slip factor from the programme's sliding speeds."""
        ahead_by = 1e-4 * max(at, 0.1 * found.factor)
        ahead = self._pressed(row, at + ahead_by)
        slope = 0.0
        if ahead is not None:
            speed = np.hypot(
                found.motion[0] + found.motion[2] * self.points[:, 1],
                found.motion[1] - found.motion[2] * self.points[:, 0],
            )
            slope = float(self.friction * (speed @ (ahead - pressed)) / ahead_by)
        step = at + (found.factor - at) / (1.0 - min(slope, 0.9))
        top = high if np.isfinite(high) else max(2.0 * at, 10.0 * found.factor + 1.0)
        if not low < step < top:
            step = 0.5 * (low + top)
        return float(min(step, UNLIMITED))

    def _pressed(self, row: Array, multiple: float) -> Array | None:
        """(n,) point forces at a multiple of the load; `None` when there is no balance."""
        seat = seated(self.bed, vertical((self.steady + multiple * row)[None, :]))
        return seat.point_force[0] if seat.balanced[0] else None


def slips(
    asked: Sequence[tuple[Held, Array]], *, same: float = EXACT, hints: Array | None = None
) -> list[Slip]:
    """The slip factor of each load (6,) on its joint; the joints are one bed or variants of it.

    Newton's method on everything at once answers nearly always, for all loads side by side; the cone
    programme does otherwise. `hints` (m, 3) are motions to begin with, as for `first_slips`.
    """
    joints, rows = [joint for joint, _ in asked], np.array([row for _, row in asked])
    return _slips(joints, rows, same, None, hints)


def lifts_beside(joints: Sequence[Held], row: Array) -> Array:
    """The factor at which each variant of one joint lifts first under a load (6,)."""
    Held.settle(joints)
    corners, pressing = joints[0].bed.patch.corner_shape.T, joints[0].bed.loads(vertical(row[None, :]))
    closed, inverse = _gives(joints)
    return _lifts(by_row(closed, corners), by_row((pressing[:, None, :] @ inverse)[:, 0], corners))


def _gives(joints: Sequence[Held]) -> tuple[Array, Array]:
    """Closings (m, 3) at rest, and (m, 3, 3) for each unit of load."""
    return np.array([each.closed_at_rest for each in joints]), np.array([each.inverse for each in joints])


def first_slips(joint: Held, rows: Array, sets: NDArray[np.intp], hints: Array) -> tuple[Array, Array]:
    """The slip factors of loads (m, 6) that may slip first of their set, infinite for others, and motions
    (m, 3) as of `motions_of`.

    `sets` (m,) tells which set each load is of. `hints` (m, 3) are motions like those that are looked for,
    NaN where there are none: they make it quicker and change nothing.
    """
    known: dict[bytes, int] = {}
    place = np.array([known.setdefault(row.tobytes(), len(known)) for row in rows])
    first = np.unique(place, return_index=True)[1]
    rivals = np.zeros((int(sets.max(initial=0)) + 1, len(first)), dtype=bool)
    rivals[sets, place] = True
    found = _slips([joint] * len(first), rows[first], EXACT, rivals, hints[first])
    return np.array([slip.factor for slip in found])[place], motions_of(joint, found)[place]


def motions_of(joint: Held, found: Sequence[Slip]) -> Array:
    """(m, 3) motions of slips, turns in units of the patch's reach: on one that only grows they stay."""
    made: Array = np.array([slip.motion for slip in found]) * joint.sliding.points.lengths
    return made


def _slips(
    joints: list[Held],
    rows: Array,
    same: float,
    rivals: NDArray[np.bool_] | None,
    hints: Array | None,
) -> list[Slip]:
    """Of loads (m, 6), a joint for each."""
    variants = list({id(joint): joint for joint in joints}.values())
    Held.settle(variants)
    found = _plainly(joints, rows)
    tried = [k for k, slip in enumerate(found) if slip is None]
    if not tried:
        return [slip for slip in found if slip is not None]
    chosen, rows_ = [joints[k] for k in tried], rows[tried]
    first = chosen[0]
    bed, patch = first.bed, first.bed.patch
    one = len(variants) == 1
    closed, inverse = _gives(chosen[:1] if one else chosen)
    pressing = bed.loads(vertical(rows_))
    rate = (pressing[:, None, :] @ inverse)[:, 0]
    lift = _lifts(by_row(closed, patch.corner_shape.T), by_row(rate, patch.corner_shape.T))
    newton = (first.sliding if one else _sliding(chosen)).slips(
        lateral(rows_, patch.centroid),
        pressing,
        Course(closed, rate, lift),
        same=same,
        rivals=None if rivals is None else rivals[:, tried],
        hints=None if hints is None else hints[tried],
    )
    for k, slip, free in zip(tried, newton, lift.tolist(), strict=True):
        found[k] = joints[k].by_turns(rows[k], free, same) if slip is None else slip
    return [slip for slip in found if slip is not None]


def _sliding(joints: Sequence[Held]) -> Sliding:
    first = joints[0]
    steady, bed = first.steady[None, :], first.bed
    loads = lateral(steady, bed.patch.centroid)[0], bed.loads(vertical(steady))[0]
    return Sliding(
        [each.bed for each in joints], first.friction, loads, np.array([each.at_rest for each in joints])
    )


def _plainly(joints: list[Held], rows: Array) -> list[Slip | None]:
    """What needs no search: a joint that slides at rest, loads that shear nothing; else `None`."""
    first = joints[0]
    sheared = lateral(np.vstack([first.steady, rows]), first.bed.patch.centroid) != 0.0
    borne = np.array([joint.is_borne for joint in joints])
    still = np.flatnonzero(~sheared[1:].any(axis=1) & ~sheared[0].any() & borne)
    found = [None if each else joint.never(0.0) for joint, each in zip(joints, borne.tolist(), strict=True)]
    bearing = np.array([joints[k].bed.bears_any for k in still], dtype=bool)
    for k in still[bearing].tolist():
        found[k] = joints[k].never(UNLIMITED)
    still = still[~bearing]
    if len(still):
        beds = list({id(joints[k]): joints[k].bed for k in still}.values())
        beds = beds if len(beds) == 1 else [joints[k].bed for k in still]
        far = seated_beside(beds, vertical(first.steady + UNLIMITED * rows[still]))
        for k in still[far.balanced].tolist():
            found[k] = joints[k].never(UNLIMITED)
    return found


def _inverses(joints: Sequence[Held]) -> Array:
    """(b, 3, 3): closing of variants of a joint for each unit of load while contact does not change."""
    if not joints:
        return np.zeros((0, 3, 3))
    bed = joints[0].bed
    active = np.array([joint.active for joint in joints])
    springs = np.array([joint.bed.stud_stiffness for joint in joints])
    stiffness = by_row(active, bed.patch.pairs) + by_row(springs, bed.stud_pairs)
    return np.asarray(np.linalg.pinv(stiffness.reshape(-1, 3, 3), rcond=1e-12), dtype=np.float64)


def _lifts(start: Array, rate: Array) -> Array:
    """(m,) factor at which the first corner comes free, from closings at corners (m or 1, c) at rest and
    their change (m, c); zero where a corner is free at rest.
    """
    pressed = np.all(start > 0.0, axis=1)
    return np.where(pressed, _least_ratio(start, -rate), 0.0)


@lru_cache(maxsize=96)
def held(
    patch: Patch,
    stiffness: PascalPerMetre,
    stud_at: tuple[Point2, ...],
    stud_stiffness: tuple[float, ...],
    preload: tuple[Newton, ...],
    friction: Ratio,
    steady: bytes,
) -> Held:
    """A flat joint under a steady load; the same object for the same numbers, with all it has found."""
    at, studs = np.array(stud_at), np.array(stud_stiffness)
    bed = Bed(patch, stiffness, at, studs, np.array(preload), np.zeros(len(patch.points)))
    return Held(bed, friction, np.frombuffer(steady))


@lru_cache(maxsize=64)
def _programme(patch: Patch) -> Programme:
    return Programme(patch.points - patch.centroid)


def _least_ratio(room: Array, need: Array) -> Array:
    """(m,) least of room / need over columns (m, k) where need is positive."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        ratio = np.where(need > 1e-15 * np.abs(need).max(initial=1e-300), room / need, np.inf)
    least: Array = np.clip(ratio.min(axis=1), 0.0, UNLIMITED)
    return least
