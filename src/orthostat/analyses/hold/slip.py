"""Slip: the largest multiple of a load that friction over a patch can carry, as a convex programme.

Each point may carry friction in any direction up to µ times the force that presses it. The largest
factor λ with balance in two shears and torsion is a second-order cone programme, solved by Clarabel.
Points come with a pressing force P + λ dP that follows the load.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from threading import Lock

import clarabel
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from orthostat.base.findings import NotStated

Array = NDArray[np.float64]

UNLIMITED = 1e6
"""Factors above this are reported as this: no load of this direction makes it slip."""


@dataclass(frozen=True, slots=True, eq=False)
class Slip:
    """The factor, the friction at each point (n, 2) [N] and the direction in which it would slide:
    (v_x, v_z, ω) scaled so that the load does unit work.
    """

    factor: float
    friction: Array
    motion: Array


class Programme:
    """The cone programme of one patch; many loads are solved on the same structure."""

    def __init__(self, at: Array) -> None:
        """`at` (n, 2) [m]: points relative to any centre; loads must be about the same centre."""
        self._count = len(at)
        self._size = float(np.max(np.hypot(at[:, 0], at[:, 1]))) or 1.0
        n, local = self._count, at / self._size
        settings = clarabel.DefaultSettings()
        settings.verbose = False
        settings.presolve_enable = False  # so that the data of a solver may be replaced
        settings.equilibrate_enable = False  # the data are scaled here; no solve depends on one before it
        self._settings = settings
        self._solver: clarabel.DefaultSolver | None = None
        self._turn = Lock()
        self._cones = [clarabel.ZeroConeT(3), *(clarabel.SecondOrderConeT(3) for _ in range(n))]
        self._quadratic = sparse.csc_matrix((2 * n + 1, 2 * n + 1))
        self._linear = np.zeros(2 * n + 1)
        self._linear[-1] = -1.0
        each = np.arange(n)
        in_x = np.stack([np.zeros(n), np.full(n, 2.0), 4.0 + 3.0 * each])
        in_z = np.stack([np.ones(n), np.full(n, 2.0), 5.0 + 3.0 * each])
        rows = np.stack([in_x, in_z], axis=2).transpose(1, 2, 0).reshape(-1, 3)  # two columns for each point
        values_x = np.stack([np.ones(n), local[:, 1], -np.ones(n)])
        values_z = np.stack([np.ones(n), -local[:, 0], -np.ones(n)])
        values = np.stack([values_x, values_z], axis=2).transpose(1, 2, 0).reshape(-1, 3)
        last = np.concatenate([np.arange(3), 3 + 3 * each])
        self._indices = np.concatenate([rows.reshape(-1), last]).astype(np.int64)
        self._data = np.concatenate([values.reshape(-1), np.zeros(n + 3)])
        self._pointer = np.concatenate([np.arange(2 * n + 1) * 3, [6 * n + n + 3]])
        self._bound = np.zeros(3 + 3 * n)
        self._cone_rows = 3 + 3 * each

    def solve(self, limit: Array, growth: Array, *, steady: Array, growing: Array) -> Slip:
        """The largest λ ≥ 0 with friction ≤ limit + λ growth balancing steady + λ growing.

        `limit`, `growth` (n,) [N] are µ times the pressing force and its rate; `steady`, `growing`
        (3,) are (F_x, F_z, M_y) [N, N, N·m] on the part. λ is 0 where the steady load alone slides.
        Raises `NotStated` where the solver finds no answer.
        """
        scale = float(limit.sum()) or 1.0
        lengths = np.array([1.0, 1.0, self._size])
        push, hold = growing / (scale * lengths), steady / (scale * lengths)
        unit = float(np.abs(push).max()) or float(np.abs(growth).max()) / scale
        if unit == 0.0:
            return self._nothing(UNLIMITED)
        data = self._data.copy()
        n = self._count
        data[6 * n : 6 * n + 3] = push / unit
        data[6 * n + 3 :] = -growth / (scale * unit)
        bound = self._bound.copy()
        bound[:3] = -hold
        bound[self._cone_rows] = limit / scale
        answer = self._solved(data, bound)
        return self._read(answer, scale, unit)

    def _solved(self, data: Array, bound: Array) -> clarabel.DefaultSolution:
        """Solve with new numbers on the structure that the first solve has analysed."""
        with self._turn:
            if self._solver is None:
                n = self._count
                matrix = sparse.csc_matrix((data, self._indices, self._pointer), shape=(3 + 3 * n, 2 * n + 1))
                self._solver = clarabel.DefaultSolver(
                    self._quadratic, self._linear, matrix, bound, self._cones, self._settings
                )
            else:
                self._solver.update(A=data, b=bound)
            return self._solver.solve()

    def _read(self, answer: clarabel.DefaultSolution, scale: float, unit: float) -> Slip:
        status = answer.status
        if status == clarabel.SolverStatus.PrimalInfeasible:
            return self._nothing(0.0)
        if status in (clarabel.SolverStatus.DualInfeasible, clarabel.SolverStatus.AlmostDualInfeasible):
            return self._nothing(UNLIMITED)
        if status not in (clarabel.SolverStatus.Solved, clarabel.SolverStatus.AlmostSolved):
            raise NotStated(reason=f"the load at which it slips was not found: the solver ended as {status}")
        variables, duals = np.array(answer.x), np.array(answer.z)
        factor = max(0.0, float(variables[-1]) / unit)
        if factor >= UNLIMITED:
            return self._nothing(UNLIMITED)
        friction = variables[:-1].reshape(-1, 2) * scale
        motion = duals[:3] / np.array([1.0, 1.0, self._size]) / (scale * unit)
        return Slip(factor, friction, motion)

    def _nothing(self, factor: float) -> Slip:
        return Slip(factor, np.zeros((self._count, 2)), np.zeros(3))


def sliding(at: Array, motion: Array) -> Array:
    """Velocity (n, 2) of each point under (v_x, v_z, ω): v + ω × r, with ω about +y."""
    return np.column_stack([motion[0] + motion[2] * at[:, 1], motion[1] - motion[2] * at[:, 0]])


@dataclass(frozen=True, eq=False)
class Rising:
    """Points `at` (n, 2) that carry friction of `limit` (n,), and for each of k things that the load changes
    by one unit `grown` (n, k) more.
    """

    at: Array
    limit: Array
    grown: Array
    steady: Array
    """(3,) what is carried already."""

    @cached_property
    def needs(self) -> Array:
        """(motions, 3 + k) share of the friction work that is left to a trial motion which a unit of each
        push, and of each thing that the load changes, takes; the same for all loads.
        """
        motions, speeds = trial_motions(self.at.tobytes())
        work = speeds @ np.column_stack([self.limit, self.grown])
        work = np.vstack([work, work[2 * len(work) - len(motions) :]])
        room = work[:, :1] - (motions @ self.steady)[:, None]
        made: Array = np.hstack([motions, -work[:, 1:]]) / np.maximum(room, 1.0 / UNLIMITED**2)
        return made


CLOSE = 1.04
"""How far a bound from trial motions lies over the slip factor, at most; a test compares."""


def bounds(rising: Rising, rate: Array, growing: Array) -> Array:
    """For each of m loads (m, 3) an upper bound on its slip factor, from trial motions; `rate` (m, k) is
    what each changes.

    Kinematic theorem: any motion whose friction work is less than the load's work slides. Tried are motions
    in every direction, and turns about every point: friction has no direction where nothing moves, so they
    are often what comes. Used to find which loads are worth solving exactly.
    """
    most = (rising.needs @ np.hstack([growing, rate]).T).max(axis=0)
    found: Array = 1.0 / np.maximum(most, 1.0 / UNLIMITED)
    found[found < 1.0 / UNLIMITED] = 0.0  # it slides at rest, under any load alike
    return found


@lru_cache(maxsize=16)
def trial_motions(at: bytes) -> tuple[Array, Array]:
    """Motions (k, 3) in every direction, about each point, and about each the other way; and the speeds of
    the points under all but the last, which are those of the motions before them.
    """
    points = np.frombuffer(at).reshape(-1, 2)
    size = float(np.sqrt((points * points).sum(axis=1).max())) or 1.0
    turns = np.column_stack([-points[:, 1], points[:, 0], np.ones(len(points))])
    motions = np.vstack([fan_of_motions() / np.array([1.0, 1.0, size]), turns])
    return np.vstack([motions, -turns]), speeds_of(points, motions)


def speeds_of(at: Array, motions: Array) -> Array:
    """(k, n) speed of each point (n, 2) under each motion (k, 3)."""
    turn = motions[:, 2:]
    in_x, in_z = motions[:, :1] + turn * at[:, 1], motions[:, 1:2] - turn * at[:, 0]
    speed: Array = np.sqrt(in_x * in_x + in_z * in_z)  # sooner than `hypot`, and never near overflow
    return speed


_AROUND, _TURNS = 24, 13


@cache
def fan_of_motions() -> Array:
    """Directions of motion over the sphere, rows (k, 3)."""
    angle = np.arange(_AROUND) * (2.0 * np.pi / _AROUND)
    tilt = np.linspace(-np.pi / 2, np.pi / 2, _TURNS)
    fan: Array = np.array(
        [(np.cos(t) * np.cos(a), np.cos(t) * np.sin(a), np.sin(t)) for t in tilt for a in angle]
    )
    return fan
