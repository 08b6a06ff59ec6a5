"""An independent answer to slip: the least upper bound over rigid motions, by brute force.

Shares no code with the engine: a grid over the sphere of motions, then shrinking grids about the best.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def slip_factor(at: Array, limit: Array, load: Array, *, coarse: int = 60, rounds: int = 24) -> float:
    """Least (Σ limit |v|)/(load · motion) over motions (v_x, v_z, ω); at (n, 2), load (F_x, F_z, M_y)."""
    size = float(np.abs(at).max())
    tilt, around = np.meshgrid(
        np.linspace(-np.pi / 2, np.pi / 2, coarse), np.linspace(0.0, 2.0 * np.pi, 2 * coarse)
    )
    best, where = _least(tilt.ravel(), around.ravel(), at, limit, load, size)
    step = np.pi / coarse
    for _ in range(rounds):
        offsets = np.linspace(-2.0, 2.0, 17) * step
        tilt, around = np.meshgrid(where[0] + offsets, where[1] + offsets)
        value, place = _least(tilt.ravel(), around.ravel(), at, limit, load, size)
        if value <= best:
            best, where = value, place
        step *= 0.6
    return best


def _least(
    tilt: Array, around: Array, at: Array, limit: Array, load: Array, size: float
) -> tuple[float, tuple[float, float]]:
    vx, vz = np.cos(tilt) * np.cos(around), np.cos(tilt) * np.sin(around)
    turn = np.sin(tilt) / size
    speed = np.hypot(vx[:, None] + turn[:, None] * at[:, 1], vz[:, None] - turn[:, None] * at[:, 0])
    work = load[0] * vx + load[1] * vz + load[2] * turn
    ratio = np.where(work > 1e-12, (speed @ limit) / np.where(work > 1e-12, work, 1.0), np.inf)
    k = int(ratio.argmin())
    return float(ratio[k]), (float(tilt[k]), float(around[k]))


def grid_search(at: Array, limit: Array, load: Array, *, steps: int = 450) -> float:
    """The same bound from one fine grid without refinement: `steps` × 2 `steps` motions.

    The bound is flat at its least value, so a step δ leaves a relative error of about δ²: 450 steps of
    0.007 rad are good to 1e-4. This is what the speed of the programme is measured against.
    """
    size = float(np.abs(at).max())
    around = np.linspace(0.0, 2.0 * np.pi, 2 * steps, endpoint=False)
    best = np.inf
    for tilt in np.linspace(-np.pi / 2, np.pi / 2, steps):
        best = min(best, _least(np.full_like(around, tilt), around, at, limit, load, size)[0])
    return best
