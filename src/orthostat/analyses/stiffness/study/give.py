"""What the wall gives at a station itself: dents and turns too short for the few unknowns of a study.

A load on a patch bends the wall around it, and the less so the thicker the wall. What the study model misses
of that is learnt from the columns that it was taught, as powers of wall thickness and patch size, and added
to the static compliance, as the residual of modes left out is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.design import StudyDesign, shape_of, sides_of
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
        count = len(design.places)
        made = np.zeros((count, 6, count, 6))
        if count:
            size = np.exp(_signs(design) @ self.powers) / _units(design)
            turn = _axes(design)
            own = turn.swapaxes(1, 2) @ (self.together * size[:, :, None] * size[:, None]) @ turn
            made[np.arange(count), :, np.arange(count)] = own
        return made.reshape(6 * count, 6 * count)


def learnt_give(
    designs: Sequence[StudyDesign], exact: Sequence[Floats], found: Sequence[Floats]
) -> Give | None:
    """From compliances (6s, 6s) of columns solved in full and by the study model."""
    signs, missing = [], []
    for design, whole, few in zip(designs, exact, found, strict=True):
        if not design.places:
            continue
        units = _units(design)
        signs += list(_signs(design))
        for k, turn in enumerate(_axes(design)):
            here = slice(6 * k, 6 * k + 6)
            least = LEAST * np.diag(turn @ whole[here, here] @ turn.T)
            left = turn @ (whole - few)[here, here] @ turn.T
            misses = np.diag(left) > 0.0
            left = left * np.outer(misses, misses) + np.diag(least)
            missing.append(left * np.outer(units, units))
    if len(signs) < FEWEST:
        return None
    sizes = np.sqrt(np.diagonal(missing, axis1=1, axis2=2))
    powers = np.linalg.lstsq(np.array(signs), np.log(sizes), rcond=1e-6)[0]
    together = np.mean(np.array(missing) / (sizes[:, :, None] * sizes[:, None]), axis=0)
    return Give(powers, together)


def _signs(design: StudyDesign) -> Floats:
    """(places, 4) what the powers are of, as logarithms."""
    yard = design.yardstick
    made = np.ones((len(design.places), 4))
    made[:, 1] = np.asarray(design.walls)[sides_of(shape_of(design), design.places)] if design.walls else yard
    for row, place in zip(made, design.places, strict=True):
        across, up = zip(*place.patch.points, strict=True)
        row[2:] = max(across) - min(across), max(up) - min(up)
    made[:, 1:] = np.log(made[:, 1:] / yard)
    return made


def _units(design: StudyDesign) -> Floats:
    """(6,) roots of what makes the compliance to forces and couples a number."""
    modulus = float(stated(design.wall.youngs_modulus, f"{design.wall.path}.youngs_modulus"))
    return np.sqrt(modulus * design.yardstick ** np.array([1.0, 1.0, 1.0, 3.0, 3.0, 3.0]))


def _axes(design: StudyDesign) -> Floats:
    """(places, 6, 6) from the body's axes to those of each station."""
    made = np.zeros((len(design.places), 6, 6))
    made[:, :3, :3] = [(place.across, (0.0, 1.0, 0.0), place.out) for place in design.places]
    made[:, 3:, 3:] = made[:, :3, :3]
    return made
