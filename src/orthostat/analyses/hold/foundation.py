"""Pressure under a rigid part that is pressed down by studs on a bed that cannot pull.

The part has three freedoms: down and two tilts. The bed presses back in proportion to how far it is
closed at each point and never pulls; each stud is a spring under preload. Solved for many loads, or for
variants of a bed, side by side by Newton's method on a convex energy, so the answer does not depend on
the start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.patch import Patch
from orthostat.base.dimensions import PascalPerMetre

Array = NDArray[np.float64]

_ROUNDS = 60
_EXACT = 1e-11


@dataclass(frozen=True, eq=False)
class Bed:
    """A patch of n points on a bed of `stiffness` with k studs.

    `stud_at` (k, 2) [m], `stud_stiffness` (k,) [N/m], `preload` (k,) [N] when nothing else acts,
    `gap` (n,) [m] open before tightening (a hollow or a high spot).
    """

    patch: Patch
    stiffness: PascalPerMetre
    stud_at: Array
    stud_stiffness: Array
    preload: Array
    gap: Array

    @property
    def shape(self) -> Array:
        """(n, 3): closing at each point for a unit of each freedom, tilts in units of the size."""
        return self.patch.shape

    @cached_property
    def stud_shape(self) -> Array:
        return self.patch.basis(self.stud_at)

    @cached_property
    def stud_pairs(self) -> Array:
        """(k, 9): products of the columns of `stud_shape`."""
        made: Array = (self.stud_shape[:, :, None] * self.stud_shape[:, None, :]).reshape(-1, 9)
        return made

    @property
    def spread(self) -> Array:
        """(k, 3) the share of each stud in (F_down, Σ F x, Σ F z), were all alike and the part free."""
        return _spread(self.stud_at.tobytes())

    @cached_property
    def bears_any(self) -> bool:
        """Whether any load finds a balance: with a springy stud well inside the patch, points that push and
        studs that pull make up every one.
        """
        springy = self.stud_at[self.stud_stiffness > 0.0]
        return any(self.patch.inside(at) > 1e-3 * self.patch.size for at in springy)

    @cached_property
    def assembled(self) -> Array:
        """Closing (3,) when only the studs press, each with exactly its preload."""
        found: Array = _assembled([self])[0]
        return found

    def loads(self, vertical: Array) -> Array:
        """Generalised loads of (F_down, Σ F x, Σ F z) about the frame's origin, rows (m, 3)."""
        made = vertical.copy()
        made[:, 1:] -= vertical[:, :1] * self.patch.centroid
        made[:, 1:] /= self.patch.size
        return made


@lru_cache(maxsize=64)
def _spread(stud_at: bytes) -> Array:
    at = np.frombuffer(stud_at).reshape(-1, 2)
    studs = np.column_stack([np.ones(len(at)), at])
    made: Array = studs @ np.linalg.pinv(studs.T @ studs)
    made.setflags(write=False)
    return made


@dataclass(frozen=True, slots=True, eq=False)
class Seated:
    """The bed under m loads: closing (m, 3), point forces (m, n) [N], stud forces (m, k) [N],
    and whether an equilibrium exists (m,).
    """

    closing: Array
    point_force: Array
    stud_force: Array
    balanced: NDArray[np.bool_]

    def row(self, k: int) -> Seated:
        """Under the k-th load alone."""
        one = slice(k, k + 1)
        return Seated(self.closing[one], self.point_force[one], self.stud_force[one], self.balanced[one])


def seated(bed: Bed, vertical: Array) -> Seated:
    """Press the part with `vertical` (m, 3) = (F_down, Σ F x, Σ F z) beside its studs' preload.

    A load for which the bed and studs cannot find a balance (the part tips) comes back with
    `balanced` false and NaN in its rows.
    """
    return seated_beside([bed], vertical)


def seated_beside(beds: Sequence[Bed], vertical: Array) -> Seated:
    """The same of beds that differ in preload, stud stiffness and gap alone, a row (m, 3) each."""
    fresh = [bed for bed in beds if "assembled" not in vars(bed)]
    if len(fresh) > 1:
        for bed, found in zip(fresh, _assembled(fresh), strict=True):
            vars(bed)["assembled"] = found
    start = np.array([bed.assembled for bed in beds])
    rest = by_row(start, beds[0].stud_shape.T)
    equations, loads = _equations(beds, rest), beds[0].loads(vertical)
    closing, balanced = _newton(equations, loads, np.broadcast_to(start, loads.shape).copy())
    point, stud = equations.forces(closing)
    for rows in (closing, point, stud):
        rows[~balanced] = np.nan
        rows.setflags(write=False)
    return Seated(closing, point, stud, balanced)


def _assembled(beds: Sequence[Bed]) -> Array:
    """Closing (b, 3) when only the studs press, each with exactly its preload."""
    preload, gap = np.array([bed.preload for bed in beds]), np.array([bed.gap for bed in beds])
    total = preload.sum(axis=1)
    start = np.zeros((len(beds), 3))
    start[:, 0] = total / (beds[0].stiffness * beds[0].patch.area) + gap.max(axis=1)
    start[total <= 0.0] = 0.0
    firm = _equations(beds, np.zeros_like(preload))._replace(stiffness=np.zeros_like(preload))
    closing, balanced = _newton(firm, np.zeros_like(start), start.copy())
    found: Array = np.where((balanced & (total > 0.0))[:, None], closing, start)
    found.setflags(write=False)
    return found


class _Equations(NamedTuple):
    """What the balance of m rows is made of: n points and k studs, alike but for `gap` and what follows it,
    of which there is one row for all or a row each.
    """

    shape: Array
    pairs: Array
    weight: Array
    studs: Array
    stud_pairs: Array
    gap: Array
    stiffness: Array
    preload: Array
    rest: Array
    """(m, k) how far the studs' seats have closed when each has its preload."""

    def rows(self, chosen: NDArray[np.bool_]) -> _Equations:
        if len(self.gap) == 1:
            return self
        return _Equations(*self[:5], *(each[chosen] for each in self[5:]))

    def closed(self, loads: Array) -> Array:
        """(m, 3) closing under loads (m, 3), if every point pushes and every stud pulls."""
        springs = by_row(self.stiffness, self.stud_pairs)
        matrix = (self.weight @ self.pairs + springs).reshape(-1, 3, 3)
        studs = by_row(self.preload + self.stiffness * self.rest, self.studs)
        right = loads + by_row(self.weight * self.gap, self.shape) + studs
        return np.asarray(np.linalg.solve(matrix, right[:, :, None])[:, :, 0], dtype=np.float64)

    def forces(self, closing: Array) -> tuple[Array, Array]:
        """(m, n) and (m, k): forces at points and of studs."""
        point = self.weight * np.maximum(by_row(closing, self.shape.T) - self.gap, 0.0)
        drawn = by_row(closing, self.studs.T) - self.rest
        return point, np.maximum(self.preload - self.stiffness * drawn, 0.0)


class _State(NamedTuple):
    """Where m searches stand: forces, what is out of balance (m, 3), and the energy (m,)."""

    closing: Array
    point: Array
    stud: Array
    off: Array
    energy: Array

    def rows(self, chosen: NDArray[np.bool_]) -> _State:
        return _State(*(each[chosen] for each in self))


def _equations(beds: Sequence[Bed], rest: Array) -> _Equations:
    first = beds[0]
    studs = first.stud_shape
    return _Equations(
        first.shape,
        first.patch.pairs,
        first.stiffness * first.patch.areas,
        studs,
        first.stud_pairs,
        np.array([bed.gap for bed in beds]),
        np.array([bed.stud_stiffness for bed in beds]),
        np.array([bed.preload for bed in beds]),
        rest,
    )


def by_row(rows: Array, matrix: Array) -> Array:
    """Rows (m, k) times a matrix, each by itself: to the last bit what it gives alone."""
    made: Array = (rows[:, None, :] @ matrix)[:, 0]
    return made


def _state(equations: _Equations, loads: Array, closing: Array) -> _State:
    point, stud = equations.forces(closing)
    off = loads - by_row(point, equations.shape) + by_row(stud, equations.studs)
    sprung = equations.stiffness > 0.0
    springs = np.where(
        sprung,
        0.5 * stud * stud / np.where(sprung, equations.stiffness, 1.0),
        -equations.preload * by_row(closing, equations.studs.T),
    )
    stored = (0.5 * point * point / equations.weight).sum(axis=1) + springs.sum(axis=1)
    return _State(closing, point, stud, off, stored - (loads * closing).sum(axis=1))


def _newton(equations: _Equations, loads: Array, closing: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Semismooth Newton with step halving on the residual's energy: where each search ends (m, 3), and which
    have found a balance. It begins where all would be closed, which mostly is the answer, or at `closing`
    if nothing touches there.
    """
    scale = np.abs(loads).max(axis=1) + equations.preload.sum(axis=1) + 1e-12
    state = _state(equations, loads, equations.closed(loads))
    touches = np.asarray(state.point.any(axis=1))
    if not touches.all():
        state = _state(equations, loads, np.where(touches[:, None], state.closing, closing))
    found, left = closing, np.full(len(loads), np.inf)
    place = np.arange(len(loads))
    for _ in range(_ROUNDS):
        found[place] = state.closing
        left[place] = np.abs(state.off).max(axis=1)
        going = left[place] > _EXACT * scale[place]
        if not going.any():
            break
        if not going.all():
            place, loads = place[going], loads[going]
            equations, state = equations.rows(going), state.rows(going)
        state = _stepped(equations, loads, state)
    return found, left <= 1e-7 * scale


def _stepped(equations: _Equations, loads: Array, state: _State) -> _State:
    """One step of each search, as long as it takes off energy."""
    active = (state.point > 0.0) * equations.weight
    tight = (state.stud > 0.0) * equations.stiffness
    hessian = (by_row(active, equations.pairs) + by_row(tight, equations.stud_pairs)).reshape(-1, 3, 3)
    hessian += 1e-12 * equations.weight.sum() * np.eye(3)
    step = np.linalg.solve(hessian, state.off[:, :, None])[:, :, 0]
    slope = (state.off * step).sum(axis=1)
    length = np.ones(len(step))
    for _ in range(30):
        after = _state(equations, loads, state.closing + length[:, None] * step)
        worse = after.energy > state.energy - 1e-4 * length * slope + 1e-12 * np.abs(state.energy)
        if not worse.any():
            break
        length[worse] *= 0.5
    return after
