"""How many times a load a joint can bear: before it lifts, before it tips, before it slips."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.foundation import Bed, seated
from orthostat.analyses.hold.patch import Patch
from orthostat.analyses.hold.sliding import Sliding
from orthostat.analyses.hold.slip import UNLIMITED, Programme, Slip, refined_bounds
from orthostat.base.dimensions import PascalPerMetre, Ratio

Array = NDArray[np.float64]
Found = TypeVar("Found")

EXACT, ROUGH = 1e-4, 2e-3
"""Relative step of λ below which pressure and friction agree: for a verdict, and for a what-if."""
_ROUNDS = 25


def vertical(rows: Array) -> Array:
    """(F_down, Σ F x, Σ F z) of wrenches (m, 6) in the joint's plane: what presses and tilts."""
    return np.column_stack([-rows[:, 1], -rows[:, 5], rows[:, 3]])


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
    def _known(self) -> dict[tuple[str, bytes, float], Any]:
        """What was found of loads before: many cuts push alike, and so do alike fixtures."""
        return {}

    def _once(self, name: str, rows: Array, find: Callable[[], Found], same: float = 0.0) -> Found:
        key = (name, rows.tobytes(), same)
        if key not in self._known:
            self._known[key] = find()
        found: Found = self._known[key]
        return found

    @cached_property
    def programme(self) -> Programme:
        return _programme(self.bed.patch)

    @cached_property
    def points(self) -> Array:
        """(n, 2) points of the patch about its centroid."""
        patch = self.bed.patch
        return patch.points - patch.centroid

    @cached_property
    def at_rest(self) -> Array:
        """(n,) point forces under the steady load alone."""
        force: Array = seated(self.bed, vertical(self.steady[None, :])).point_force[0]
        return force

    @cached_property
    def closed_at_rest(self) -> Array:
        """(3,) closing under the steady load alone."""
        closing: Array = seated(self.bed, vertical(self.steady[None, :])).closing[0]
        return closing

    @cached_property
    def _inverse(self) -> Array:
        """(3, 3): closing for each unit of load while what touches at rest goes on touching."""
        bed = self.bed
        shape, studs = bed.shape, bed.stud_shape
        active = (self.at_rest > 0.0) * bed.stiffness * bed.patch.areas
        stiffness = (shape.T * active) @ shape + (studs.T * bed.stud_stiffness) @ studs
        return np.asarray(np.linalg.pinv(stiffness, rcond=1e-12), dtype=np.float64)

    @cached_property
    def _sliding(self) -> Sliding:
        steady = self.steady[None, :]
        loads = lateral(steady, self.bed.patch.centroid)[0], self.bed.loads(vertical(steady))[0]
        return Sliding(self.bed, self.friction, loads, self.at_rest)

    def closing_rate(self, rows: Array) -> Array:
        """(m, 3) closing for one unit of each load, while contact does not change."""
        return self.bed.loads(vertical(rows)) @ self._inverse

    def force_rate(self, rows: Array) -> Array:
        """(m, n) point forces for one unit of each load, while contact does not change."""
        active = (self.at_rest > 0.0) * self.bed.stiffness * self.bed.patch.areas
        return (self.closing_rate(rows) @ self.bed.shape.T) * active

    def lift_factors(self, rows: Array) -> Array:
        """(m,) multiple of each load at which the first corner of the patch comes free.

        Exact: until then the bed is linear. Zero where a corner is free at rest.
        """
        corners = self.bed.basis(self.bed.patch.corners)
        start = corners @ self.closed_at_rest
        if not np.all(np.isfinite(start)) or np.any(start <= 0.0):
            return np.zeros(len(rows))
        return _least_ratio(start, -(self.closing_rate(rows) @ corners.T))

    def tip_factors(self, rows: Array) -> Array:
        """(m,) multiple of each load at which clamp, weight and load together press on an edge.

        The studs keep their preload; past this the column turns about that edge and only the stretch
        of the studs is left. Exact, from the balance about each edge of the patch's hull.
        """
        bed = self.bed
        pull = np.concatenate([[bed.preload.sum()], bed.preload @ bed.stud_at])
        rest = pull + vertical(self.steady[None, :])[0]
        hull = bed.patch.hull
        ahead = np.roll(hull, -1, axis=0) - hull
        normal = np.column_stack([-ahead[:, 1], ahead[:, 0]])
        inward = np.sign(np.einsum("ij,ij->i", normal, bed.patch.centroid - hull))[:, None] * normal
        sides = np.column_stack([-np.einsum("ij,ij->i", inward, hull), inward])
        return _least_ratio(sides @ rest, -(vertical(rows) @ sides.T))

    def slip_bounds(self, rows: Array) -> Array:
        """(m,) near upper bounds on each load's slip factor, good to about half a per cent."""
        return self._once("bounds", rows, lambda: self._slip_bounds(rows))

    def _slip_bounds(self, rows: Array) -> Array:
        limit = self.friction * self.at_rest
        centre = self.bed.patch.centroid
        return refined_bounds(
            self.points,
            limit,
            self.friction * self.force_rate(rows),
            steady=lateral(self.steady[None, :], centre)[0],
            growing=lateral(rows, centre),
        )

    def slip(self, row: Array, *, same: float = EXACT) -> Slip:
        """The slip factor of one load (6,), pressure and friction worked out at the same multiple.

        Newton's method on everything at once answers nearly always. Else, while nothing lifts, pressure
        follows the load in a straight line and one programme is exact;
        otherwise pressure is solved again at λ, by Newton's method on the gap between the two.
        """
        return self._once("slip", row, lambda: self._slip(row, same), same)

    def _slip(self, row: Array, same: float) -> Slip:
        rows = row[None, :]
        centre = self.bed.patch.centroid
        steady = lateral(self.steady[None, :], centre)[0]
        growing = lateral(rows, centre)[0]
        lift = float(self.lift_factors(rows)[0])
        limit = self.friction * self.at_rest
        growth = self.friction * self.force_rate(rows)[0]
        if not np.all(np.isfinite(limit)):
            return Slip(0.0, np.zeros((len(self.points), 2)), np.zeros(3))
        found = self._sliding.slip(
            growing,
            self.bed.loads(vertical(rows))[0],
            closed=self.closed_at_rest,
            rate=self.closing_rate(rows)[0],
            lift=lift,
        )
        if found is not None:
            return found
        if lift == 0.0:
            return self._consistent(row, steady, growing, 0.0, same)
        straight = self.programme.solve(limit, growth, steady=steady, growing=growing)
        pressed = limit + straight.factor * growth
        touching = pressed[limit > 0.0]
        if straight.factor <= lift * (1.0 - 1e-6) or (
            np.all(touching > 1e-6 * limit.max()) and self._touches_alike(row, straight.factor)
        ):
            return straight
        return self._consistent(row, steady, growing, max(lift, straight.factor), same)

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
        best = Slip(0.0, np.zeros((len(none), 2)), np.zeros(3))
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


def held(bed: Bed, friction: Ratio, steady: Array) -> Held:
    """A joint under a steady load; the same object for the same numbers, with all it has found."""
    return _held(
        bed.patch,
        bed.stiffness,
        bed.stud_at.tobytes(),
        bed.stud_stiffness.tobytes(),
        bed.preload.tobytes(),
        bed.gap.tobytes(),
        friction,
        steady.tobytes(),
    )


@lru_cache(maxsize=128)
def _held(
    patch: Patch,
    stiffness: PascalPerMetre,
    stud_at: bytes,
    stud_stiffness: bytes,
    preload: bytes,
    gap: bytes,
    friction: Ratio,
    steady: bytes,
) -> Held:
    at = np.frombuffer(stud_at).reshape(-1, 2)
    studs = np.frombuffer(stud_stiffness)
    bed = Bed(patch, stiffness, at, studs, np.frombuffer(preload), np.frombuffer(gap))
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
