"""What the wall gives at a station itself: dents and turns too short for the few unknowns of a study.

A load on a patch bends the wall around it, and the less so the thicker the wall. What the study model misses
of that is learnt from the columns that it was taught, as powers of wall thickness and patch size, and added
to the static compliance, as the residual of modes left out is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.inputs import Place
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.design import StudyDesign, shape_of, side_of
from orthostat.base.findings import stated

FEWEST = 12
"""Stations from which it can be learnt; from fewer nothing is added."""
LEAST = 1e-6
"""Share of a station's compliance below which nothing is missed."""


@dataclass(frozen=True, eq=False)
class Give:
    """Missing compliance of a station in its own axes (across, up, out): powers (4, 6) of e, of the wall's
    thickness, of the patch's width and height, whose product is the root of each diagonal value, and how the
    six go together (6, 6).

    Lengths count in yardsticks, stiffness in the wall's modulus.
    """

    powers: Floats
    together: Floats

    def of(self, design: StudyDesign) -> Floats:
        """(6s, 6s) what to add to a design's compliance."""
        made = np.zeros((6 * len(design.places),) * 2)
        for k, place in enumerate(design.places):
            size = np.exp(_signs(design, place) @ self.powers) / _units(design)
            turn = _axes(place)
            made[6 * k : 6 * k + 6, 6 * k : 6 * k + 6] = (
                turn.T @ (self.together * np.outer(size, size)) @ turn
            )
        return made


def learnt_give(
    designs: Sequence[StudyDesign], exact: Sequence[Floats], found: Sequence[Floats]
) -> Give | None:
    """From compliances (6s, 6s) of columns solved in full and by the study model."""
    signs, missing = [], []
    for design, whole, few in zip(designs, exact, found, strict=True):
        units = _units(design)
        for k, place in enumerate(design.places):
            here = slice(6 * k, 6 * k + 6)
            turn = _axes(place)
            least = LEAST * np.diag(np.diag(turn @ whole[here, here] @ turn.T))
            left = turn @ (whole - few)[here, here] @ turn.T + least
            missing.append(left * np.outer(units, units))
            signs.append(_signs(design, place))
    if len(signs) < FEWEST:
        return None
    sizes = np.sqrt(np.maximum(np.diagonal(missing, axis1=1, axis2=2), 1e-300))
    powers = np.linalg.lstsq(np.array(signs), np.log(sizes), rcond=1e-6)[0]
    together = np.mean(np.array(missing) / (sizes[:, :, None] * sizes[:, None]), axis=0)
    return Give(powers, together)


def _signs(design: StudyDesign, place: Place) -> Floats:
    """(4,) what the powers are of, as logarithms."""
    wall = design.walls[side_of(shape_of(design), place.out)] if design.walls else design.yardstick
    size = np.ptp(np.asarray(place.patch.points), axis=0)
    return np.array([1.0, *np.log(np.array([wall, *size]) / design.yardstick)])


def _units(design: StudyDesign) -> Floats:
    """(6,) roots of what makes the compliance to forces and couples a number."""
    modulus = float(stated(design.wall.youngs_modulus, f"{design.wall.path}.youngs_modulus"))
    return np.sqrt(modulus * design.yardstick ** np.array([1.0, 1.0, 1.0, 3.0, 3.0, 3.0]))


def _axes(place: Place) -> Floats:
    """(6, 6) from the body's axes to those of the station."""
    return np.kron(np.eye(2), np.array([place.across, (0.0, 1.0, 0.0), place.out]))
