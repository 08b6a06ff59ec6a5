"""Section integrals of the basis over each ring of a design's section.

Movements within the section (u, w) and along the height (v) have modes of their own, which keeps the
matrices small. Three points in every triangle: the strains of quadratic functions are integrated exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from orthostat.analyses.stiffness.fields import triangle_functions
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.topology import RINGS, Topology

PLACES = np.array([[1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0], [1.0 / 6.0, 1.0 / 6.0, 2.0 / 3.0]])
SHAPE, SPREAD, STILL = range(3)
SHEARED, STRETCHED = range(2)
SWELLING, LEANING = range(2)


@dataclass(frozen=True, slots=True)
class SectionTerms:
    """Integrals over each ring, of modes within the section (s) and along (a).

    within: (rings, 3, s, s) `SHAPE` and `SPREAD` of strains, by µ and by λ, `STILL` of movement itself.
    along: (rings, 2, a, a) `SHEARED` of ∇v·∇v, `STRETCHED` of v·v. across: (rings, 2, s, a) `SWELLING` of
    (u_x + w_z)·v, `LEANING` of u·v_x + w·v_z.
    """

    within: Floats
    along: Floats
    across: Floats


@lru_cache(maxsize=1)
def _functions() -> tuple[Floats, Floats]:
    """Values (3, 6) and slopes (2, 3, 6) of the six functions at the points."""
    section, slope_r, slope_s = triangle_functions(PLACES)
    return section, np.stack([slope_r, slope_s])


def section_terms(
    top: Topology, points: Floats, within: Floats, along: Floats, *, rings: int
) -> SectionTerms:
    """Of modes (count, 2, s) and (count, a), with the triangulation's vertices at `points`; the rings beyond
    the first `rings` stay zero.
    """
    s, a = within.shape[2], along.shape[1]
    together = np.concatenate([within.reshape(len(within), 2 * s), along], axis=1)
    made = SectionTerms(np.zeros((RINGS, 3, s, s)), np.zeros((RINGS, 2, a, a)), np.zeros((RINGS, 2, s, a)))
    for ring, where in enumerate(top.slices()[:rings]):
        # one ring at a time stays within the processor's cache
        at = _functions_at(points[top.triangles[where]]) @ together[top.nodes[where]]
        (u, w, v), (u_x, w_x, v_x), (u_z, w_z, v_z) = (
            np.split(kind.reshape(-1, 2 * s + a), [s, 2 * s], axis=1)
            for kind in (at[:, :3], at[:, 3:6], at[:, 6:])
        )
        spread = u_x + w_z
        sheared = np.concatenate([u_x - w_z, u_z + w_x])
        still, steep = np.concatenate([u, w]), np.concatenate([v_x, v_z])
        of_within, of_along, of_both = made.within[ring], made.along[ring], made.across[ring]
        of_within[SPREAD] = spread.T @ spread
        # 2·u_x² + 2·w_z² = (u_x + w_z)² + (u_x - w_z)²
        of_within[SHAPE] = of_within[SPREAD] + sheared.T @ sheared
        of_within[STILL] = still.T @ still
        of_along[SHEARED], of_along[STRETCHED] = steep.T @ steep, v.T @ v
        of_both[SWELLING], of_both[LEANING] = spread.T @ v, still.T @ steep
    for each in (made.within, made.along, made.across):
        each.setflags(write=False)
    return made


def _functions_at(corners: Floats) -> Floats:
    """(t, 9, 6) of triangles (t, 3, 2): at the three points of each the six functions, their slopes along x,
    then along z, times the root of the area that the point stands for.
    """
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    det = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    to_plan = np.empty((len(det), 2, 2))
    to_plan[:, 0, 0], to_plan[:, 0, 1] = b[:, 1], -a[:, 1]
    to_plan[:, 1, 0], to_plan[:, 1, 1] = -b[:, 0], a[:, 0]
    root = np.sqrt(np.abs(det) / 6.0)
    value, slopes = _functions()
    made = np.empty((len(det), 9, 6))
    made[:, :3] = root[:, None, None] * value
    steep = (root / det)[:, None, None] * to_plan @ slopes.reshape(2, 18)
    made[:, 3:] = steep.reshape(len(det), 6, 6)
    return made
