"""Pressure under a rigid part that is pressed down by studs on a bed that cannot pull.

The part has three freedoms: down and two tilts. The bed presses back in proportion to how far it is
closed at each point and never pulls; each stud is a spring under preload. Solved for many loads at
once by Newton's method on a convex energy, so the answer does not depend on the start.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

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
    def assembled(self) -> Array:
        """Closing (3,) when only the studs press, each with exactly its preload."""
        return _assembled(self)

    def loads(self, vertical: Array) -> Array:
        """Generalised loads of (F_down, Σ F x, Σ F z) about the frame's origin, rows (m, 3)."""
        made = vertical.copy()
        made[:, 1:] -= vertical[:, :1] * self.patch.centroid
        made[:, 1:] /= self.patch.size
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


def seated(bed: Bed, vertical: Array) -> Seated:
    """Press the part with `vertical` (m, 3) = (F_down, Σ F x, Σ F z) beside its studs' preload.

    A load for which the bed and studs cannot find a balance (the part tips) comes back with
    `balanced` false and NaN in its rows.
    """
    start = bed.assembled
    shape, stud_shape = bed.shape, bed.stud_shape
    rest = stud_shape @ start
    loads = bed.loads(vertical)
    closing = np.tile(start, (len(loads), 1))
    closing, balanced = _newton(bed, shape, stud_shape, rest, loads, closing)
    point, stud = _forces(bed, shape, stud_shape, rest, closing)
    for rows in (closing, point, stud):
        rows[~balanced] = np.nan
        rows.setflags(write=False)
    return Seated(closing, point, stud, balanced)


def _assembled(bed: Bed) -> Array:
    """Closing (3,) when only the studs press, each with exactly its preload."""
    shape, stud_shape = bed.shape, bed.stud_shape
    loose = Bed(
        bed.patch, bed.stiffness, bed.stud_at, np.zeros_like(bed.stud_stiffness), bed.preload, bed.gap
    )
    total = float(bed.preload.sum())
    start: Array = np.zeros(3)
    if total <= 0.0:
        return start
    start[0] = total / (bed.stiffness * bed.patch.area) + float(bed.gap.max())
    slack = np.zeros(len(stud_shape))
    closing, balanced = _newton(loose, shape, stud_shape, slack, np.zeros((1, 3)), start[None, :])
    found: Array = closing[0] if balanced[0] else start
    return found


def _forces(bed: Bed, shape: Array, stud_shape: Array, rest: Array, closing: Array) -> tuple[Array, Array]:
    weight = bed.stiffness * bed.patch.areas
    point = weight * np.maximum(closing @ shape.T - bed.gap, 0.0)
    stud = np.maximum(bed.preload - bed.stud_stiffness * (closing @ stud_shape.T - rest), 0.0)
    return point, stud


def _newton(
    bed: Bed, shape: Array, stud_shape: Array, rest: Array, loads: Array, closing: Array
) -> tuple[Array, NDArray[np.bool_]]:
    """Semismooth Newton with step halving on the residual's energy, all loads at once."""
    weight = bed.stiffness * bed.patch.areas
    scale = np.abs(loads).max(axis=1) + float(bed.preload.sum()) + 1e-12

    def residual(at: Array, chosen: NDArray[np.intp]) -> Array:
        point, stud = _forces(bed, shape, stud_shape, rest, at)
        off: Array = loads[chosen] - point @ shape + stud @ stud_shape
        return off

    def energy(at: Array, chosen: NDArray[np.intp]) -> Array:
        open_ = np.maximum(at @ shape.T - bed.gap, 0.0)
        _, stud = _forces(bed, shape, stud_shape, rest, at)
        compliance = np.where(bed.stud_stiffness > 0.0, bed.stud_stiffness, 1.0)
        springs = np.where(
            bed.stud_stiffness > 0.0, 0.5 * stud**2 / compliance, -bed.preload * (at @ stud_shape.T)
        )
        work = np.einsum("ij,ij->i", loads[chosen], at)
        stored: Array = (0.5 * weight * open_**2).sum(axis=1) + springs.sum(axis=1) - work
        return stored

    done = np.zeros(len(loads), dtype=bool)
    for _ in range(_ROUNDS):
        going = np.flatnonzero(~done)
        off = residual(closing[going], going)
        done[going] = np.abs(off).max(axis=1) <= _EXACT * scale[going]
        keep = ~done[going]
        going, off = going[keep], off[keep]
        if not len(going):
            break
        at = closing[going]
        active = ((at @ shape.T - bed.gap) > 0.0) * weight
        tight = ((bed.preload - bed.stud_stiffness * (at @ stud_shape.T - rest)) > 0.0) * bed.stud_stiffness
        hessian = np.einsum("mi,ij,ik->mjk", active, shape, shape) + np.einsum(
            "mi,ij,ik->mjk", tight, stud_shape, stud_shape
        )
        hessian += 1e-12 * weight.sum() * np.eye(3)
        step = np.linalg.solve(hessian, off[:, :, None])[:, :, 0]
        length = np.ones(len(going))
        before = energy(at, going)
        slope = np.einsum("ij,ij->i", off, step)
        for _ in range(30):
            after = energy(at + length[:, None] * step, going)
            worse = after > before - 1e-4 * length * slope + 1e-12 * np.abs(before)
            if not worse.any():
                break
            length[worse] *= 0.5
        closing = closing.copy()
        closing[going] = at + length[:, None] * step
    final = np.abs(residual(closing, np.arange(len(loads)))).max(axis=1)
    return closing, final <= 1e-7 * scale
