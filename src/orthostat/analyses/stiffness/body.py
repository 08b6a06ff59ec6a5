"""The assembled body: matrices, supports and stations of one design at one fineness."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.csgraph import connected_components

from orthostat.analyses.stiffness.assembly import mass_matrix, stiffness_matrix
from orthostat.analyses.stiffness.build import (
    Elastic,
    Part,
    coarsened,
    elastic,
    layered,
    levels_of,
    region_of,
    rings_of,
    solid_share,
    tall,
)
from orthostat.analyses.stiffness.inputs import BodyInputs, Fineness, Place
from orthostat.analyses.stiffness.section import Floats, Indices, MeshError, mesh_section
from orthostat.analyses.stiffness.slide import sliding_seam
from orthostat.analyses.stiffness.supports import (
    Supports,
    mass_about,
    padded,
    patch_motions,
    supports,
)
from orthostat.analyses.stiffness.sweep import Swept, sweep
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated

CLOSED_GAP = 0.008
"""Gaps in plan narrower than this share of the width are closed."""
TALL = 0.25
"""The section of what is at least this share of the height asks for short edges; away from it edges grow."""


@dataclass(frozen=True, slots=True)
class Assembled:
    """Matrices over the body's unknowns, then the table's own motions.

    stiffness: lower triangle [N/m], supports included. ports: (6 · stations, unknowns), each station's mean
    rigid motion. centres: (stations, 3) [m].
    """

    swept: Swept
    parts: tuple[Part, ...]
    elastic: Elastic
    stiffness: sp.csc_array
    supports: Supports
    ports: sp.csr_array
    centres: Floats
    faces: tuple[sp.csr_array, Floats]
    """The same of the faces' places."""
    own_mass: sp.csr_array
    """Of one displacement component of the body alone."""
    at_ports: tuple[Indices, Floats]
    """The unknowns (k,) that `ports` reads, and `ports` (6 · stations, k) of these."""
    hung: sp.csr_array
    """What hangs at the stations, about their centres: (6 · stations, 6 · stations)."""

    @property
    def mass(self) -> sp.csr_array:
        """Full [kg], stations included."""
        body = padded(sp.csr_array(sp.kron(self.own_mass, sp.eye_array(3))), (self.unknowns, self.unknowns))
        return sp.csr_array(body + self.ports.T @ self.hung @ self.ports) if self.hung.nnz else body

    def mass_times(self, vectors: Floats) -> Floats:
        """`mass` times vectors (n, k), by the three components together."""
        body = 3 * self.own_mass.shape[0]
        made = np.zeros_like(vectors)
        made[:body] = (self.own_mass @ vectors[:body].reshape(body // 3, -1)).reshape(body, -1)
        if self.hung.nnz:
            where, ports = self.at_ports
            made[where] += ports.T @ (self.hung @ (ports @ vectors[where]))
        return made

    @property
    def unknowns(self) -> int:
        return self.supports.size


def assembled(inputs: BodyInputs) -> Assembled:
    """Mesh, number and assemble. Raises `NotStated` where the design can't be solved, saying why."""
    swept, properties = swept_body(
        inputs.parts,
        width=inputs.width,
        height=inputs.height,
        fineness=inputs.fineness,
        clamped=inputs.joint is None or inputs.joint.is_rigid,
        sliding=inputs.sliding,
    )
    refuse_floating(swept, inputs.parts)
    held = supports(swept, inputs.joint, inputs.table)
    stiffness = stiffness_matrix(swept, properties, (held.contact, held.studs, held.table))
    motions, centres = patch_motions(swept, (*inputs.places, *inputs.faces), held.size)
    stations = len(inputs.places)
    own = mass_matrix(swept, properties.density)
    return Assembled(
        swept,
        inputs.parts,
        properties,
        stiffness,
        held,
        motions[: 6 * stations],
        centres[:stations],
        (motions[6 * stations :], centres[stations:]),
        own,
        _read_by(motions[: 6 * stations]),
        _hung(inputs.places, centres),
    )


def swept_body(
    parts: tuple[Part, ...],
    *,
    width: Metre,
    height: Metre,
    fineness: Fineness,
    clamped: bool,
    sliding: bool = False,
) -> tuple[Swept, Elastic]:
    """The numbered mesh of the parts and the properties on it."""
    if not parts:
        raise NotStated(reason="the column has no bodies")
    bounding = coarsened(parts, Metre(fineness.detail * height))
    standing = region_of(tall(bounding, Metre(TALL * height)))
    yard = fineness.scale(solid_share(standing)) * width
    try:
        mesh = mesh_section(
            rings_of(bounding),
            size=Metre(fineness.plan * yard),
            gap=Metre(CLOSED_GAP * width),
            near=standing,
        )
    except MeshError as fault:
        raise NotStated(reason=str(fault)) from fault
    layers = layered(parts, mesh, levels_of(bounding, Metre(fineness.detail * height)))
    properties = elastic(parts, layers)
    seam = sliding_seam(mesh, layers, parts) if sliding else None
    swept = sweep(
        mesh,
        layers,
        size=fineness.height * yard,
        clamped=clamped,
        interface=seam[0] if seam else None,
        sliding=seam[1] if seam else None,
    )
    return swept, properties


def _read_by(ports: sp.csr_array) -> tuple[Indices, Floats]:
    """The columns of a matrix that are not empty, and what stands in them."""
    where, place = np.unique(ports.indices, return_inverse=True)
    made = np.zeros((ports.shape[0], len(where)))
    made[np.repeat(np.arange(ports.shape[0]), np.diff(ports.indptr)), place] = ports.data
    return where.astype(np.intp), made


def _hung(places: tuple[Place, ...], centres: Floats) -> sp.csr_array:
    """What hangs at the places, about their centres."""
    if not any(place.masses for place in places):
        return sp.csr_array((6 * len(places), 6 * len(places)))
    masses = [mass_about(centre, place.masses) for centre, place in zip(centres, places, strict=False)]
    return sp.csr_array(sp.block_diag(masses, format="csr"))


def refuse_floating(swept: Swept, parts: tuple[Part, ...]) -> None:
    """Raise `NotStated` naming the parts of every piece of the body that nothing holds.

    Pieces are triangles of layers joined by a common edge within a layer or by standing on each other.
    """
    layers = swept.layers
    filled = layers.filled
    count = len(filled)
    index = np.where(filled, np.arange(filled.size).reshape(filled.shape), -1)
    edges = _shared_edges(swept)
    side = [(index[k, edges[:, 0]], index[k, edges[:, 1]]) for k in range(count)]
    up = [(index[k], index[k + 1]) for k in range(count - 1)]
    first = np.concatenate([pair[0] for pair in (*side, *up)])
    second = np.concatenate([pair[1] for pair in (*side, *up)])
    joined = (first >= 0) & (second >= 0)
    graph = sp.coo_array(
        (np.ones(int(joined.sum())), (first[joined], second[joined])), shape=(filled.size, filled.size)
    )
    _, label = connected_components(graph, directed=False)
    held = np.unique(label[index[0][filled[0]]])
    loose = ~np.isin(label.reshape(filled.shape), held) & filled
    if not loose.any():
        return
    volume = layers.shares * loose[:, None, :]
    floating = [part.name for part, share in zip(parts, volume.sum(axis=(0, 2)), strict=True) if share > 0.5]
    raise NotStated(
        reason=f"nothing holds {', '.join(floating) or 'a piece of the column'}: "
        "it touches no other part that stands on the pallet"
    )


def _shared_edges(swept: Swept) -> Indices:
    """(k, 2): pairs of triangles with a common edge."""
    flat = swept.mesh.triangle_edges.ravel()
    order = np.argsort(flat, kind="stable")
    same = flat[order[1:]] == flat[order[:-1]]
    return np.stack([order[:-1][same] // 3, order[1:][same] // 3], axis=1)
