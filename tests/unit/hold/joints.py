"""Small joints for the tests of the hold analysis."""

import itertools
from math import cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.capacity import Held
from orthostat.analyses.hold.foundation import Bed
from orthostat.analyses.hold.patch import POINTS, patch_of
from orthostat.base.dimensions import PascalPerMetre, Ratio
from orthostat.model.bodies import Polygon

Array = NDArray[np.float64]


def rectangle(width: float, depth: float, turn: float = 0.0) -> tuple[Polygon, ...]:
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    c, s = cos(turn), sin(turn)
    return (
        Polygon(
            tuple(
                (0.5 * (a * width * c - b * depth * s), 0.5 * (a * width * s + b * depth * c))
                for a, b in corners
            )
        ),
    )


def ring(outside: float, inside: float, pieces: int = 36) -> tuple[Polygon, ...]:
    """A ring as trapezoids; radii [m]."""
    at = [(cos(2 * pi * k / pieces), sin(2 * pi * k / pieces)) for k in range(pieces + 1)]
    return tuple(
        Polygon(
            (
                (outside * a[0], outside * a[1]),
                (outside * b[0], outside * b[1]),
                (inside * b[0], inside * b[1]),
                (inside * a[0], inside * a[1]),
            )
        )
        for a, b in itertools.pairwise(at)
    )


def hexagon(side: float) -> tuple[Polygon, ...]:
    return (Polygon(tuple((side * cos(k * pi / 3), side * sin(k * pi / 3)) for k in range(6))),)


def held(
    pieces: tuple[Polygon, ...],
    *,
    studs: list[tuple[float, float]] | None = None,
    preload: float | list[float] = 25e3,
    stud_stiffness: float = 0.0,
    friction: float = 0.1,
    bed: float = 1e12,
    steady: Array | None = None,
    count: int = POINTS,
) -> Held:
    at = np.array([(0.0, 0.0)] if studs is None else studs)
    patch = patch_of(pieces, count)
    forces = np.broadcast_to(np.asarray(preload, dtype=float), (len(at),)).copy()
    return Held(
        Bed(
            patch,
            PascalPerMetre(bed),
            at,
            np.full(len(at), stud_stiffness),
            forces,
            np.zeros(len(patch.points)),
        ),
        Ratio(friction),
        np.zeros(6) if steady is None else steady,
    )


def load(
    *, fx: float = 0.0, fy: float = 0.0, fz: float = 0.0, mx: float = 0.0, my: float = 0.0, mz: float = 0.0
) -> Array:
    return np.array([fx, fy, fz, mx, my, mz])
