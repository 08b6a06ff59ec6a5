"""Displacement slopes, and from them strain and stress, at integration points of the swept wedges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

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
    points = _layer_points(swept, layer)
    slopes = np.stack([np.moveaxis(s, 0, -1) for s in _slopes(swept, vector[:, None], points)], axis=-2)
    return LayerSlopes(points.triangles, slopes[..., 0, :, :], points.weights, points.plan, points.heights)


def slopes_at(swept: Swept, vector: Floats, layer: int, point: tuple[float, float, float]) -> Floats:
    """(3, 3) slopes at one point (x, y, z) [m], the mean over the triangles of the layer that meet there."""
    x, y, z = point
    lines = swept.line_nodes(layer)
    element = int(np.clip(np.searchsorted(swept.heights[lines[:, 1]], y - 1e-9), 0, len(lines) - 1))
    low, high = swept.heights[lines[element, 0]], swept.heights[lines[element, 1]]
    t = float(np.clip((y - low) / (high - low), 0.0, 1.0))
    line = np.array([1.0 - t, t, 4.0 * t * (1.0 - t)])
    rise = np.array([-1.0, 1.0, 4.0 - 8.0 * t]) / (high - low)
    filled = np.flatnonzero(swept.layers.filled[layer])
    corners = swept.mesh.points[swept.mesh.triangles[filled]]
    jacobian = np.stack([corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]], axis=2)
    local = np.linalg.solve(jacobian, (np.array([x, z]) - corners[:, 0])[:, :, None])[:, :, 0]
    meets = (local.min(axis=1) > -1e-6) & (local.sum(axis=1) < 1.0 + 1e-6)
    field = np.vstack([vector[: swept.unknowns].reshape(-1, 3), np.zeros((1, 3))])
    made = []
    for k in np.flatnonzero(meets):
        section, along_r, along_s = triangle_functions(local[k][:, None])
        in_plan = np.linalg.inv(jacobian[k]).T @ np.stack([along_r[0], along_s[0]])
        moved = field[swept.number[swept.nodes[filled[k]][:, None], lines[element][None, :]]]
        made.append(
            [
                np.einsum("p,s,psc->c", in_plan[0], line, moved),
                np.einsum("p,s,psc->c", section[0], rise, moved),
                np.einsum("p,s,psc->c", in_plan[1], line, moved),
            ]
        )
    return np.asarray(np.mean(made, axis=0))


def layer_energies(swept: Swept, vectors: Floats, layer: int) -> tuple[Floats, Floats, Indices]:
    """(m, t) each: ∫(div u)² and ∫2ε:ε over each triangle's height for m displacements; the triangles."""
    points = _layer_points(swept, layer)
    by_axis = _slopes(swept, vectors, points)
    spread = by_axis[0][0] + by_axis[1][1] + by_axis[2][2]
    square = sum(2.0 * by_axis[a][a] ** 2 for a in range(3))
    for a, b in ((0, 1), (1, 2), (0, 2)):
        square = square + (by_axis[a][b] + by_axis[b][a]) ** 2
    volumetric = np.einsum("teqrm,teqr->mt", spread**2, points.weights)
    return volumetric, np.einsum("teqrm,teqr->mt", square, points.weights), points.triangles


@dataclass(frozen=True, slots=True)
class _Points:
    """Integration points of a layer and the functions there."""

    triangles: Indices
    lines: Indices
    section: Floats
    in_plan: Floats
    line: Floats
    line_slope: Floats
    lengths: Floats
    weights: Floats
    plan: Floats
    heights: Floats


@lru_cache(maxsize=1)
def _quadrature() -> tuple[Floats, Floats, Floats, Floats]:
    """Points and weights in the triangle, and up the height."""
    return (*get_quadrature(RefTri, 4), *get_quadrature(RefLine, 5))


def _layer_points(swept: Swept, layer: int) -> _Points:
    triangles = np.flatnonzero(swept.layers.filled[layer])
    lines = swept.line_nodes(layer)
    place, weight, along, along_weight = _quadrature()
    section, slope_r, slope_s = triangle_functions(place)
    corners = swept.mesh.points[swept.mesh.triangles[triangles]]
    jacobian = np.stack([corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]], axis=2)
    in_plan = np.einsum("tac,aqp->tcqp", np.linalg.inv(jacobian), np.stack([slope_r, slope_s]))
    t = along[0]
    lengths = swept.heights[lines[:, 1]] - swept.heights[lines[:, 0]]
    volume = np.linalg.det(jacobian)[:, None, None, None] * lengths[None, :, None, None]
    return _Points(
        triangles,
        lines,
        section,
        in_plan,
        np.stack([1.0 - t, t, 4.0 * t * (1.0 - t)], axis=1),
        np.stack([-np.ones_like(t), np.ones_like(t), 4.0 - 8.0 * t], axis=1),
        lengths,
        volume * weight[None, None, :, None] * along_weight[None, None, None, :],
        corners[:, None, 0] + np.einsum("tab,bq->tqa", jacobian, place),
        swept.heights[lines[:, 0]][:, None] + lengths[:, None] * t[None, :],
    )


def _slopes(swept: Swept, vectors: Floats, points: _Points) -> list[Floats]:
    """For each axis x, y, z: (3 components, t, e, q, r, m) slopes of m displacements (unknowns, m)."""
    many = vectors.shape[1]
    field = np.vstack([vectors[: swept.unknowns], np.zeros((3, many))]).reshape(-1, 3, many)
    numbers = swept.number[swept.nodes[points.triangles][:, None, :, None], points.lines[None, :, None]]
    local = field[numbers].reshape(*numbers.shape, 3 * many)  # t, e, section p, line s, components of all
    lengths = points.lengths[:, None, None, None]
    shape = (*numbers.shape[:2], numbers.shape[2], -1)
    up = np.matmul(points.line, local).reshape(shape)
    steep = (np.matmul(points.line_slope, local) / lengths).reshape(shape)
    made = (
        np.matmul(points.in_plan[:, 0, None], up),
        np.matmul(points.section, steep),
        np.matmul(points.in_plan[:, 1, None], up),
    )
    heights = len(points.line)
    return [np.moveaxis(each.reshape(*each.shape[:3], heights, 3, many), 4, 0) for each in made]


def triangle_functions(place: Floats) -> tuple[Floats, Floats, Floats]:
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
