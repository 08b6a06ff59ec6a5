"""Section integrals of the basis over each ring of a design's section.

Movements within the section (u, w) and along the height (v) have modes of their own, which keeps the
matrices small. Three points in every triangle: the strains of quadratic functions are integrated exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

import numpy as np

from orthostat.analyses.stiffness.fields import triangle_functions
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.topology import Topology

PLACES = np.array([[1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0], [1.0 / 6.0, 1.0 / 6.0, 2.0 / 3.0]])


@dataclass(frozen=True, slots=True)
class RingTerms:
    """Integrals over one ring, of modes within the section (s) and along (a).

    shape, spread: (s, s) of strains within the section, by µ and by λ. still: (s, s) of movement itself.
    sheared: (a, a) of ∇v·∇v. stretched: (a, a) of v·v. swelling: (s, a) of (u_x + w_z)·v. leaning: (s, a) of
    u·v_x + w·v_z.
    """

    shape: Floats
    spread: Floats
    still: Floats
    sheared: Floats
    stretched: Floats
    swelling: Floats
    leaning: Floats


@dataclass(frozen=True, slots=True)
class SectionValues:
    """Modes at the points of the triangles, times the root of the points' areas.

    within: (t, 3 points, 2, s), their slopes x and z alike; along: (t, 3, a). areas: (t,) [m²].
    """

    within: Floats
    within_x: Floats
    within_z: Floats
    along: Floats
    along_x: Floats
    along_z: Floats


@lru_cache(maxsize=1)
def _functions() -> tuple[Floats, Floats]:
    """Values (3, 6) and slopes (2, 3, 6) of the six functions at the points."""
    section, slope_r, slope_s = triangle_functions(PLACES)
    return section, np.stack([slope_r, slope_s])


def section_values(top: Topology, points: Floats, within: Floats, along: Floats) -> SectionValues:
    """Evaluate modes (count, 2, s) and (count, a) on the triangulation with its vertices at `points`."""
    corners = points[top.triangles]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    det = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    inverse = np.empty((len(det), 2, 2))
    inverse[:, 0, 0], inverse[:, 0, 1] = b[:, 1], -b[:, 0]
    inverse[:, 1, 0], inverse[:, 1, 1] = -a[:, 1], a[:, 0]
    inverse /= det[:, None, None]
    root = np.sqrt(np.abs(det) / 6.0)
    value, slopes = _functions()
    rows = np.empty((len(det), 9, 6))
    rows[:, :3] = value
    rows[:, 3:] = np.einsum("tac,aqp->tcqp", inverse, slopes).reshape(len(det), 6, 6)
    rows *= root[:, None, None]
    s = within.shape[2]
    together = np.concatenate([within.reshape(len(within), 2 * s), along], axis=1)
    found = rows @ together[top.nodes]
    inner = found[:, :, : 2 * s].reshape(len(det), 9, 2, s)
    outer = found[:, :, 2 * s :]
    return SectionValues(inner[:, :3], inner[:, 3:6], inner[:, 6:], outer[:, :3], outer[:, 3:6], outer[:, 6:])


def ring_terms(of: SectionValues, where: slice) -> RingTerms:
    """The integrals over the triangles `where`."""
    s, a = of.within.shape[3], of.along.shape[2]
    x, z = of.within_x[where].reshape(-1, 2, s), of.within_z[where].reshape(-1, 2, s)
    spread = x[:, 0] + z[:, 1]
    strains = np.concatenate([sqrt(2.0) * x[:, 0], sqrt(2.0) * z[:, 1], z[:, 0] + x[:, 1]])
    still = of.within[where].reshape(-1, 2, s)
    both = np.concatenate([still[:, 0], still[:, 1]])
    v = of.along[where].reshape(-1, a)
    grown = np.concatenate([of.along_x[where].reshape(-1, a), of.along_z[where].reshape(-1, a)])
    return RingTerms(
        strains.T @ strains,
        spread.T @ spread,
        both.T @ both,
        grown.T @ grown,
        v.T @ v,
        spread.T @ v,
        both.T @ grown,
    )
