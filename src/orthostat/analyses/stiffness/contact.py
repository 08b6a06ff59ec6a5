"""The contact's share in a section mesh: integrals over what of each triangle is pressed.

The pressed area seldom follows the triangles. Spread over those that it cuts it would move sideways, and
with it the arm that it holds the column by; so the integrals are taken over the very overlap.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

from orthostat.analyses.stiffness.fields import triangle_functions
from orthostat.analyses.stiffness.integrals import section_integrals
from orthostat.analyses.stiffness.section import Floats, Indices, SectionMesh
from orthostat.model.bodies import Polygon

WHOLE = 1e-9
"""A share nearer than this to none or all of a triangle is none or all."""


def contact_share(mesh: SectionMesh, contact: tuple[Polygon, ...]) -> Floats:
    """(nt,) share of each triangle that is pressed; all of it where `contact` is empty."""
    if not contact:
        return np.ones(len(mesh.triangles))
    return np.asarray(shapely.area(_overlaps(mesh, contact)) / mesh.areas)


@lru_cache(maxsize=8)
def contact_integrals(mesh: SectionMesh, contact: tuple[Polygon, ...]) -> Floats:
    """(nt, 6, 6): integrals of φφ over the pressed part of each triangle [m²]; over all of it where
    `contact` is empty. The last are kept: most edits leave the plan alone.
    """
    whole = section_integrals(mesh)[:, 0, 0]
    if not contact:
        return whole
    overlaps = _overlaps(mesh, contact)
    share = shapely.area(overlaps) / mesh.areas
    cut = np.flatnonzero((share > WHOLE) & (share < 1.0 - WHOLE))
    made = np.where((share >= 1.0 - WHOLE)[:, None, None], whole, 0.0)
    made[cut] = _over_polygons(mesh, cut, overlaps[cut])
    made.setflags(write=False)
    return np.asarray(made)


def _overlaps(mesh: SectionMesh, contact: tuple[Polygon, ...]) -> np.ndarray:
    region = shapely.unary_union([shapely.Polygon(polygon.points) for polygon in contact])
    shapely.prepare(region)
    triangles = shapely.polygons(mesh.points[mesh.triangles])
    whole = shapely.covers(region, triangles)
    cut = shapely.intersects(region, triangles) & ~whole
    made = np.where(whole, triangles, shapely.Polygon())
    made[cut] = shapely.intersection(triangles[cut], region)
    return np.asarray(made)


def _over_polygons(mesh: SectionMesh, triangles: Indices, areas: np.ndarray) -> Floats:
    """(k, 6, 6): ∫φφ over a polygon in each triangle, as a sum of signed triangles from the triangle's first
    corner to every side of the polygon (exact, since φφ is one polynomial there).
    """
    rings, owner = _oriented_rings(areas)
    starts, ends, of = _sides(rings, owner)
    corner = mesh.points[mesh.triangles[triangles]]
    jacobian = np.stack([corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]], axis=2)
    inverse = np.linalg.inv(jacobian)
    first = np.einsum("sab,sb->sa", inverse[of], starts - corner[of, 0])
    second = np.einsum("sab,sb->sa", inverse[of], ends - corner[of, 0])
    place, weight = get_quadrature(RefTri, 4)
    at = place[0][None, :, None] * first[:, None] + place[1][None, :, None] * second[:, None]
    values = triangle_functions(at.reshape(-1, 2).T)[0].reshape(len(of), len(weight), 6)
    size = (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) * np.linalg.det(jacobian)[of]
    each = np.einsum("s,q,sqi,sqj->sij", size, weight, values, values, optimize=True)
    made = np.zeros((len(triangles), 6, 6))
    np.add.at(made, of, each)
    return made


def _oriented_rings(areas: np.ndarray) -> tuple[np.ndarray, Indices]:
    """Rings of polygons, outer ones counter-clockwise and holes clockwise, and which area each is of."""
    pieces, of = shapely.get_parts(areas, return_index=True)
    solid = shapely.get_dimensions(pieces) == 2
    facing = shapely.orient_polygons(pieces[solid])
    rings, piece = shapely.get_rings(facing, return_index=True)
    return np.asarray(rings), np.asarray(of[solid][piece], dtype=np.intp)


def _sides(rings: np.ndarray, owner: Indices) -> tuple[Floats, Floats, Indices]:
    """Start and end (s, 2) of every side of the rings, and the ring's owner (s,)."""
    points, ring = shapely.get_coordinates(rings, return_index=True)
    same = np.flatnonzero(ring[1:] == ring[:-1])
    return points[same], points[same + 1], owner[ring[same]]
