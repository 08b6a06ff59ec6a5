"""The direction in which a cut moves the work most, and what then pushes the body."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from orthostat.analyses.stiffness.inputs import CutForce
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.section import Floats

DIRECTIONS = 36
"""Directions tried for a force that may point any way across the spindle."""
_ROUND = 2.0 * pi * np.arange(DIRECTIONS) / DIRECTIONS


@dataclass(frozen=True, eq=False, slots=True)
class Push:
    """A cut's largest load in its worst direction.

    loads: (6 · stations,) forces [N] and moments [N·m] at the middles of the patches. moved: (3,), of the
    work at the cut's own place [m].
    """

    loads: Floats
    moved: Floats


def hardest(condensed: Ports, cut: CutForce) -> Push:
    """The worst of the directions that a cut's force may point in."""
    arm = condensed.reach(cut.place, cut.at)
    across, out = np.asarray(cut.across), np.asarray(cut.out)
    up = np.array([0.0, 1.0, 0.0])
    turned = np.zeros(arm.shape[1])
    turned[6 * cut.place + 3 : 6 * cut.place + 6] = cut.torque * out
    angles = np.atleast_1d(_ROUND if cut.direction is None else np.asarray(cut.direction))
    planar = cut.in_plane * (np.cos(angles)[:, None] * across + np.sin(angles)[:, None] * up)
    forces = np.stack([planar + cut.axial * out, planar - cut.axial * out], axis=1).reshape(-1, 3)
    loads = forces @ arm + turned
    moved = loads @ (condensed.compliance @ arm.T)
    worst = int(np.argmax(np.linalg.norm(moved, axis=1)))
    return Push(loads[worst], moved[worst])
