"""The contact's share in a section mesh: integrals over what of each triangle is pressed.

The pressed area seldom follows the triangles. Spread over those that it cuts it would move sideways, and
with it the arm that it holds the column by; so the integrals are taken over the very overlap: as a sum of
signed triangles from one corner of each to every side of its overlap (exact: φφ is one polynomial there).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

from orthostat.analyses.stiffness.fields import triangle_functions
from orthostat.analyses.stiffness.integrals import section_integrals
from orthostat.analyses.stiffness.section import Complexes, Floats, Indices, SectionMesh
from orthostat.model.bodies import Polygon


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
    if not contact:
        made = section_integrals(mesh)[:, 0, 0]
    else:
        made = _over_sides(mesh, *_sides(mesh.points[mesh.triangles], _parts(contact)))
    made.setflags(write=False)
    return made


@lru_cache(maxsize=16)
def _parts(contact: tuple[Polygon, ...]) -> Floats:
    """(r, 3, 2) triangles of the pressed area, corners counter-clockwise."""
    region = shapely.unary_union([shapely.Polygon(polygon.points) for polygon in contact])
    pieces = shapely.get_parts(region)
    solid = pieces[shapely.get_dimensions(pieces) == 2]
    parts = shapely.orient_polygons(shapely.get_parts(shapely.constrained_delaunay_triangles(solid)))
    return np.asarray(shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3])


def _sides(corners: Floats, parts: Floats) -> tuple[Complexes, Indices]:
    """Sides (s, 2), start and end as x + iz, of the overlaps of triangles (nt, 3, 2) with parts (r, 3, 2),
    and the triangle of each, rising.
    """
    (low, high), (least, most) = ((each.min(axis=1), each.max(axis=1)) for each in (corners, parts))
    own, part = np.nonzero(((low[:, None] < most) & (high[:, None] > least)).all(axis=2))
    first, second = (each[..., 0] + 1j * each[..., 1] for each in (corners[own], parts[part]))
    sides = np.stack([first, first[:, [1, 2, 0]]], axis=2)
    for k in range(3):
        sides = _clipped(sides, second[:, k], second[:, (k + 1) % 3])
    found, side = np.nonzero(sides[..., 0] != sides[..., 1])
    return sides[found, side], own[found]


def _clipped(sides: Complexes, start: Complexes, end: Complexes) -> Complexes:
    """Sides (n, k + 1, 2) of what of convex polygons with sides (n, k, 2), of which some may have no length,
    lies left of the line from start to end (n,) each.

    Neighbours share their corner to the last bit, so that the sides stay a closed line.
    """
    way, away = (end - start)[:, None, None], sides - start[:, None, None]
    # real products: those of complex numbers may be rounded otherwise from one place to the next
    height = way.real * away.imag - way.imag * away.real
    left = height >= 0.0
    before, after = left[..., 0], left[..., 1]
    leaves, comes = before & ~after, after & ~before
    drop = height[..., 0] - height[..., 1]
    share = height[..., 0] / np.where(before != after, drop, 1.0)
    crossing = sides[..., 0] + share * (sides[..., 1] - sides[..., 0])
    made = np.zeros((len(sides), sides.shape[1] + 1, 2), dtype=np.complex128)
    made[:, :-1] = np.where(left, sides, np.where(before | after, crossing, 0.0)[..., None])
    made[:, -1, 0] = (crossing * leaves).sum(axis=1)
    made[:, -1, 1] = (crossing * comes).sum(axis=1)
    made[leaves.sum(axis=1) > 1] = 0.0  # a sliver that rounding has bent
    return made


def _over_sides(mesh: SectionMesh, sides: Complexes, of: Indices) -> Floats:
    """(nt, 6, 6): ∫φφ over what sides (s, 2) bound in the triangles (s,), rising, that they are in."""
    corner = mesh.points[mesh.triangles]
    origin, a, b = (corner[of, k, 0] + 1j * corner[of, k, 1] for k in range(3))
    a, b, (start, end) = a - origin, b - origin, (sides - origin[:, None]).T
    size = (start.conj() * end).imag
    some = np.flatnonzero(size != 0.0)  # not those through the first corner
    of, size, a, b = of[some], size[some], a[some], b[some]
    both = np.stack([start[some], end[some]])
    det = (a.conj() * b).imag
    r, s = -(both * b.conj()).imag / det, (both * a.conj()).imag / det
    place, weight = get_quadrature(RefTri, 4)
    at = (place.T @ np.stack([r, s])).reshape(2, -1)
    values = triangle_functions(at)[0].reshape(len(weight), len(of), 6).swapaxes(0, 1)
    each = values.swapaxes(1, 2) @ (values * (size[:, None] * weight)[..., None])
    starts = np.flatnonzero(np.diff(of, prepend=-1))
    made = np.zeros((len(corner), 6, 6))
    made[of[starts]] = np.add.reduceat(each, starts)
    return made


def _overlaps(mesh: SectionMesh, contact: tuple[Polygon, ...]) -> np.ndarray:
    region = shapely.unary_union([shapely.Polygon(polygon.points) for polygon in contact])
    shapely.prepare(region)
    triangles = shapely.polygons(mesh.points[mesh.triangles])
    whole = shapely.covers(region, triangles)
    cut = shapely.intersects(region, triangles) & ~whole
    made = np.where(whole, triangles, shapely.Polygon())
    made[cut] = shapely.intersection(triangles[cut], region)
    return np.asarray(made)
