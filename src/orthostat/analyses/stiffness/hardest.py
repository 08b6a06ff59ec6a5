"""The direction in which a cut moves the work most, and what then pushes the body."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from orthostat.analyses.stiffness.inputs import CutForce
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.supports import rigid_motion

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


@dataclass(frozen=True, eq=False, slots=True)
class Pushes:
    """The largest loads of several cuts (c), each in its worst direction.

    reach: (c, 3, 6), movement of the work at a cut's place per unit motion of its own station's patch. loads:
    (c, 6) at the middle of that patch. moved: (c, 3) [m].
    """

    station: Indices
    reach: Floats
    loads: Floats
    moved: Floats

    def at_station(self, compliance: Floats) -> Floats:
        """(..., c, 6, 6): what of (..., 6 · stations, 6 · stations) each cut's own station sees of itself."""
        own = 6 * self.station[:, None] + np.arange(6)
        return np.asarray(compliance[..., own[:, :, None], own[:, None, :]])


def pushes(condensed: Ports, cuts: Sequence[CutForce]) -> Pushes:
    """The worst of the directions that each cut's force may point in."""
    station = np.array([cut.place for cut in cuts])
    reach = rigid_motion(np.array([cut.at for cut in cuts]) - condensed.centres[station])
    across, out = (np.array([getattr(cut, name) for cut in cuts])[:, None] for name in ("across", "out"))
    angles = np.array(
        [_ROUND if cut.direction is None else np.full(DIRECTIONS, cut.direction) for cut in cuts]
    )
    sideways = np.cos(angles)[..., None] * across + np.sin(angles)[..., None] * np.array([0.0, 1.0, 0.0])
    sizes = np.array([(cut.in_plane, cut.axial, cut.torque) for cut in cuts])
    in_plane, axial, torque = sizes.T[..., None, None]
    planar = in_plane * sideways
    forces = np.stack([planar + axial * out, planar - axial * out], axis=2).reshape(len(cuts), -1, 3)
    loads = forces @ reach
    loads[..., 3:] += torque * out
    found = Pushes(station, reach, loads, np.empty(0))
    moved = loads @ found.at_station(condensed.compliance) @ reach.transpose(0, 2, 1)
    each = np.arange(len(cuts))
    worst = np.argmax(np.linalg.norm(moved, axis=2), axis=1)
    return Pushes(station, reach, loads[each, worst], moved[each, worst])


def hardest(condensed: Ports, cut: CutForce) -> Push:
    """The worst of the directions that a cut's force may point in."""
    found = pushes(condensed, (cut,))
    loads = np.zeros(len(condensed.compliance))
    loads[6 * cut.place : 6 * cut.place + 6] = found.loads[0]
    return Push(loads, found.moved[0])
