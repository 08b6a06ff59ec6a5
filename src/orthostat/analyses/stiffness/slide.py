"""The debonded bound: the fill's nodes along the plates made double, held together only crosswise.

Fill and plates still lean on each other (they bend alike) but pass no shear up the seam. Where a base
plate or lid crosses the seam both sides stay one, since the fill is cast onto them.
"""

from __future__ import annotations

import numpy as np

from orthostat.analyses.stiffness.build import Layers, Part, lame
from orthostat.analyses.stiffness.section import Flags, Indices, SectionMesh
from orthostat.analyses.stiffness.sweep import Interface
from orthostat.model.bodies import Role

STIFF = 100.0
"""Crosswise spring over (plate modulus / edge length): high enough to be closed, low enough to be solved."""


def sliding_seam(
    mesh: SectionMesh, layers: Layers, parts: tuple[Part, ...]
) -> tuple[Interface, Flags] | None:
    """The seam between fill and plates and the triangles on the fill's side; `None` without either."""
    is_fill = np.array(
        [part.role in (Role.FILL, Role.SLEEVE, Role.ANCHOR, Role.VOID_FORMER) for part in parts]
    )
    is_plate = np.array([part.role is Role.PLATE for part in parts])
    if not is_fill.any() or not is_plate.any():
        return None
    fill = layers.shares[:, is_fill].sum(axis=1)
    plate = layers.shares[:, is_plate].sum(axis=1)
    filled = layers.filled
    fill_here, plate_here = filled & (fill > 0.5), filled & (plate > 0.5)
    side = np.asarray(fill_here.any(axis=0))
    left, right = _neighbours(mesh)
    both = right >= 0
    seam = np.flatnonzero(both & (side[left] != side[right]))
    if not len(seam):
        return None
    inner = np.where(side[left[seam]], left[seam], right[seam])
    outer = np.where(side[left[seam]], right[seam], left[seam])
    opened = fill_here[:, inner] & plate_here[:, outer]
    if not opened.any():
        return None
    touching = filled[:, inner] & filled[:, outer]
    vertices = mesh.edges[seam]
    nodes = np.hstack([vertices, len(mesh.points) + seam[:, None]])
    unique = np.unique(nodes)
    fresh = np.full(mesh.node_count, -1)
    fresh[unique] = mesh.node_count + np.arange(len(unique))
    along = mesh.points[vertices[:, 1]] - mesh.points[vertices[:, 0]]
    length = np.linalg.norm(along, axis=1)
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1) / length[:, None]
    stiffest = max(lame(p.material)[1] for p, plate_part in zip(parts, is_plate, strict=True) if plate_part)
    made = Interface(
        nodes,
        fresh[nodes],
        normal,
        length,
        opened,
        touching & ~opened,
        STIFF * stiffest / float(length.mean()),
    )
    return made, side


def _neighbours(mesh: SectionMesh) -> tuple[Indices, Indices]:
    """The one or two triangles of each edge; -1 where there is no second."""
    flat = mesh.triangle_edges.ravel()
    order = np.argsort(flat, kind="stable")
    triangle = order // 3
    first = np.searchsorted(flat[order], np.arange(len(mesh.edges)))
    last = np.searchsorted(flat[order], np.arange(len(mesh.edges)), side="right") - 1
    return triangle[first], np.where(last > first, triangle[last], -1)
