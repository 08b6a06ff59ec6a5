"""Displacement slopes, and from them strain and stress, at integration points of the swept wedges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from skfem.quadrature import get_quadrature
from skfem.refdom import RefLine, RefTri

from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.sweep import Swept


@dataclass(frozen=True, slots=True)
class LayerSlopes:
    """Slopes in one layer. Axes: t triangles with material, e elements up the layer, q points of the
    triangle, r points of the height.

    triangles: (t,). slopes: (t, e, q, r, 3, 3), derivative along axis (x, y, z) of component (x, y, z).
    weights: (t, e, q, r) [m³]. points: (t, q, 2) x, z [m]. heights: (e, r) [m].
    """

    triangles: Indices
    slopes: Floats
    weights: Floats
    points: Floats
    heights: Floats


def layer_slopes(swept: Swept, vector: Floats, layer: int) -> LayerSlopes:
    """Slopes of a displacement vector (unknowns,) in a layer, at points exact to the fourth degree."""
    triangles = np.flatnonzero(swept.layers.filled[layer])
    lines = swept.line_nodes(layer)
    place, weight = get_quadrature(RefTri, 4)
    along, along_weight = get_quadrature(RefLine, 5)
    section, slope_r, slope_s = _triangle_functions(place)
    corners = swept.mesh.points[swept.mesh.triangles[triangles]]
    jacobian = np.stack([corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]], axis=2)
    inverse = np.linalg.inv(jacobian)
    in_plan = np.einsum("tac,aqp->tcqp", inverse, np.stack([slope_r, slope_s]))
    t = along[0]
    length = swept.heights[lines[:, 1]] - swept.heights[lines[:, 0]]
    line = np.stack([1.0 - t, t, 4.0 * t * (1.0 - t)], axis=1)
    line_slope = np.stack([-np.ones_like(t), np.ones_like(t), 4.0 - 8.0 * t], axis=1)
    field = np.vstack([vector[: swept.unknowns].reshape(-1, 3), np.zeros((1, 3))])
    local = field[swept.number[swept.nodes[triangles][:, :, None, None], lines[None, None]]]
    made = np.empty((len(triangles), len(lines), len(weight), len(t), 3, 3))
    made[..., 0, :] = np.einsum("tqp,rs,tpesc->teqrc", in_plan[:, 0], line, local, optimize=True)
    made[..., 2, :] = np.einsum("tqp,rs,tpesc->teqrc", in_plan[:, 1], line, local, optimize=True)
    made[..., 1, :] = np.einsum(
        "qp,rs,e,tpesc->teqrc", section, line_slope, 1.0 / length, local, optimize=True
    )
    volume = np.linalg.det(jacobian)[:, None, None, None] * length[None, :, None, None]
    weights = volume * weight[None, None, :, None] * along_weight[None, None, None, :]
    points = corners[:, None, 0] + np.einsum("tab,bq->tqa", jacobian, place)
    heights = swept.heights[lines[:, 0]][:, None] + length[:, None] * t[None, :]
    return LayerSlopes(triangles, made, weights, points, heights)


def _triangle_functions(place: Floats) -> tuple[Floats, Floats, Floats]:
    """(q, 6) each: hats and edge bubbles (01, 12, 02) and their slopes at reference points (2, q)."""
    r, s = place
    first = 1.0 - r - s
    zero, one = np.zeros_like(r), np.ones_like(r)
    values = np.stack([first, r, s, 4 * first * r, 4 * r * s, 4 * first * s], axis=1)
    along_r = np.stack([-one, one, zero, 4 * (first - r), 4 * s, -4 * s], axis=1)
    along_s = np.stack([-one, zero, one, -4 * r, 4 * r, 4 * (first - s)], axis=1)
    return values, along_r, along_s


def stress(slopes: Floats, *, first_lame: Floats, shear: Floats) -> Floats:
    """(..., 3, 3) stress [Pa] from slopes (..., 3, 3); the Lamé constants broadcast over the front axes."""
    strain = 0.5 * (slopes + slopes.swapaxes(-1, -2))
    spread = np.einsum("...ii->...", strain)
    return np.asarray(
        2.0 * np.asarray(shear)[..., None, None] * strain
        + (np.asarray(first_lame) * spread)[..., None, None] * np.eye(3)
    )
