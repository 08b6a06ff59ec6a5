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
from orthostat.analyses.stiffness.study.topology import Topology

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
    """Of modes (count, 2, s) and (count, a) over the first `rings` rings, with the triangulation's vertices
    at `points`.
    """
    s, a = within.shape[2], along.shape[1]
    made = SectionTerms(np.empty((rings, 3, s, s)), np.empty((rings, 2, a, a)), np.empty((rings, 2, s, a)))
    value, steep, strain = _at_points(points[top.triangles])
    for ring, where in enumerate(top.slices[:rings]):
        # one ring at a time stays within the processor's cache
        nodes = top.nodes[where]
        inner, outer = within.take(nodes, axis=0), along.take(nodes, axis=0)
        strains = strain[where] @ inner.reshape(-1, 12, s)
        spread, sheared = strains[:, :3].reshape(-1, s), strains[:, 3:].reshape(-1, s)
        still = (value[where] @ inner.reshape(-1, 6, 2 * s)).reshape(-1, s)
        v, slopes = (value[where] @ outer).reshape(-1, a), (steep[where] @ outer).reshape(-1, a)
        of_within, of_along, of_both = made.within[ring], made.along[ring], made.across[ring]
        np.matmul(spread.T, spread, out=of_within[SPREAD])
        # 2·u_x² + 2·w_z² = (u_x + w_z)² + (u_x - w_z)²
        np.matmul(sheared.T, sheared, out=of_within[SHAPE])
        of_within[SHAPE] += of_within[SPREAD]
        np.matmul(still.T, still, out=of_within[STILL])
        np.matmul(slopes.T, slopes, out=of_along[SHEARED])
        np.matmul(v.T, v, out=of_along[STRETCHED])
        np.matmul(spread.T, v, out=of_both[SWELLING])
        np.matmul(still.T, slopes, out=of_both[LEANING])
    for each in (made.within, made.along, made.across):
        each.setflags(write=False)
    return made


def _at_points(corners: Floats) -> tuple[Floats, Floats, Floats]:
    """What takes the six nodes of triangles (t, 3, 2) to their three points, times the root of the area that
    a point stands for: values (t, 3, 6); slopes (t, 3 · 2, 6), along x then z at each point; and of u and w
    at each node (t, 3 · 3, 6 · 2) u_x + w_z at the points, then u_x - w_z, then u_z + w_x.
    """
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    det = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    root = np.sqrt(np.abs(det) / 6.0)
    to_plan = np.stack([b[:, 1], -b[:, 0], -a[:, 1], a[:, 0]], axis=1) * (root / det)[:, None]
    along_r, along_s = to_plan.reshape(-1, 2, 1, 2, 1).swapaxes(0, 1)
    value, slopes = _functions()
    steep = along_r * slopes[0][:, None] + along_s * slopes[1][:, None]
    along_x, along_z = steep[:, :, 0], steep[:, :, 1]
    strain = np.empty((len(det), 3, 3, 6, 2))
    strain[:, 0, ..., 0], strain[:, 0, ..., 1] = along_x, along_z
    strain[:, 1, ..., 0], strain[:, 1, ..., 1] = along_x, -along_z
    strain[:, 2, ..., 0], strain[:, 2, ..., 1] = along_z, along_x
    return root[:, None, None] * value, steep.reshape(-1, 6, 6), strain.reshape(-1, 9, 12)
