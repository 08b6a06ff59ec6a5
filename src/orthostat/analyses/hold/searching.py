"""What the search for the slip of many loads is made of: points, loads, and where each stands."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.slip import fan_of_motions, speeds_of

if TYPE_CHECKING:
    from orthostat.analyses.hold.patch import Patch

Array = NDArray[np.float64]
Rows = NDArray[np.intp] | NDArray[np.bool_]

EXACT = 1e-10
"""What may be left out of balance."""


class Points(NamedTuple):
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


@lru_cache(maxsize=24)
def points_of(patch: Patch) -> Points:
    """The points of a patch."""
    local = patch.points - patch.centroid
    size = float(np.max(np.hypot(local[:, 0], local[:, 1]))) or 1.0
    x, z = local[:, 0] / size, local[:, 1] / size
    one, none = np.ones_like(x), np.zeros_like(x)
    across, along = np.stack([one, none, z], axis=1), np.stack([none, one, -x], axis=1)
    moves = across[:, :, None] * across[:, None, :] + along[:, :, None] * along[:, None, :]
    return Points(
        x,
        z,
        np.array([1.0, 1.0, size]),
        patch.shape,
        patch.pairs,
        moves.reshape(-1, 9),
    )


@lru_cache(maxsize=24)
def fan_of(patch: Patch) -> Array:
    """(k, n): speeds of the points under motions of every direction."""
    points = points_of(patch)
    return speeds_of(np.column_stack([points.x, points.z]), fan_of_motions())


class Each(NamedTuple):
    """Where variants of a joint differ: one row for all loads, or a row for each."""

    gap: Array
    preload: Array
    stud_stiffness: Array
    slack: Array
    rest: Array

    def rows(self, chosen: Rows) -> Each:
        return self if len(self.gap) == 1 else Each(*(each[chosen] for each in self))


class Load(NamedTuple):
    """What grows, and where the search stands: a row for each of m loads."""

    push: Array
    pressing: Array
    motion: Array
    factor: Array
    closing: Array

    def rows(self, chosen: Rows) -> Load:
        return Load(*(each[chosen] for each in self))

    def put(self, chosen: NDArray[np.intp], other: Load) -> None:
        for mine, its in zip(self, other, strict=True):
            mine[chosen] = its

    def moved(self, step: Array, length: Array) -> Load:
        """A share of a step (m, 7) further; only the direction of the motion counts."""
        there = self.motion + length[:, None] * step[:, :3]
        size = np.sqrt((there * there).sum(axis=1))[:, None]
        factor = self.factor + length * step[:, 3]
        return Load(
            self.push, self.pressing, there / size, factor, self.closing + length[:, None] * step[:, 4:]
        )


class State(NamedTuple):
    """What is out of balance (m, 6), its size (m,), and the fields (m, n) that the matrix is made of."""

    off: Array
    error: Array
    tilted: Array
    """(m,) the part of `error` that pressure and studs leave."""
    ahead: Array
    """(m, 3, n): direction of sliding along x and z, and about the centroid."""
    speed: Array
    force: Array
    stud: Array

    def rows(self, chosen: Rows) -> State:
        return State(*(each[chosen] for each in self))

    def put(self, chosen: NDArray[np.intp], other: State) -> None:
        for mine, its in zip(self, other, strict=True):
            mine[chosen] = its


class Course(NamedTuple):
    """How the bed closes as loads grow while nothing lifts: `closed` (m or 1, 3) at rest, `rate` (m, 3), and
    the factors (m,) at which something does.
    """

    closed: Array
    rate: Array
    lift: Array

    def rows(self, chosen: Rows) -> Course:
        closed = self.closed if len(self.closed) == 1 else self.closed[chosen]
        return Course(closed, self.rate[chosen], self.lift[chosen])


class Start(NamedTuple):
    """Where searches begin, and of each: the factor at which power balances, whether that is an upper bound,
    whether it is of use, and whether it begins with a hint.
    """

    load: Load
    factor: Array
    balanced: NDArray[np.bool_]
    usable: NDArray[np.bool_]
    hinted: NDArray[np.bool_]


class Later(NamedTuple):
    """Limits (m,) beyond which a slip factor is not asked for, first lifts, and what friction can spare at
    rest whatever the direction.

    Where nothing has lifted, friction of full size that balances a factor λ but for a rest r says that
    λ ρ / (ρ + |r|) is carried: what is carried at λ and the spare ρ at rest mix in every share.
    """

    limit: Array
    lift: Array
    spare: Array

    def rows(self, chosen: Rows) -> Later:
        return Later(*(each[chosen] for each in self))

    def reached(self, load: Load, state: State) -> NDArray[np.bool_]:
        """Loads that surely bear more than their limit."""
        rest = np.sqrt((state.off[:, :3] ** 2).sum(axis=1))
        borne = load.factor * self.spare / (self.spare + rest)
        seated = (load.factor <= self.lift) & (state.tilted < EXACT)
        return np.asarray(seated & (borne > self.limit), dtype=np.bool_)
