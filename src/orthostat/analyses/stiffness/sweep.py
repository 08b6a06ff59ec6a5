"""Quadratic wedges swept along the height on a section mesh: numbering and assembly.

On a straight prism every integral over a wedge is an integral over its triangle times one over its
height, so stiffness and mass are assembled from section matrices and line matrices. Functions are
hierarchical (hats and bubbles); leaving out the product of an edge bubble and a height bubble leaves
the space of the 15-node serendipity wedge. Reference matrices come from scikit-fem.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
from skfem import Basis, BilinearForm, ElementLineP2, ElementTriP2, MeshLine, MeshTri

from orthostat.analyses.stiffness.build import Elastic, Layers
from orthostat.analyses.stiffness.section import Floats, Indices, SectionMesh

Flags = npt.NDArray[np.bool_]

_TO_BUBBLES_TRIANGLE = np.eye(6)
_TO_BUBBLES_TRIANGLE[3, [0, 1]] = _TO_BUBBLES_TRIANGLE[4, [1, 2]] = _TO_BUBBLES_TRIANGLE[5, [0, 2]] = 0.5
_TO_BUBBLES_LINE = np.eye(3)
_TO_BUBBLES_LINE[2, [0, 1]] = 0.5


@lru_cache(maxsize=1)
def reference_triangle() -> Floats:
    """(3, 3, 6, 6): integrals of (φ, φ_r, φ_s) of row times the same of column on the unit triangle."""
    basis = Basis(MeshTri.init_refdom(), ElementTriP2(), intorder=4)
    made = np.empty((3, 3, 6, 6))
    for a in range(3):
        for b in range(3):
            made[a, b] = _element(basis, a, b)
    return np.asarray(np.einsum("ki,abkl,lj->abij", _TO_BUBBLES_TRIANGLE, made, _TO_BUBBLES_TRIANGLE))


@lru_cache(maxsize=1)
def reference_line() -> Floats:
    """(2, 2, 3, 3): integrals of (ψ, ψ_t) of row times column on the unit interval."""
    basis = Basis(MeshLine.init_refdom(), ElementLineP2(), intorder=4)
    made = np.array([[_element(basis, a, b) for b in range(2)] for a in range(2)])
    return np.asarray(np.einsum("ki,abkl,lj->abij", _TO_BUBBLES_LINE, made, _TO_BUBBLES_LINE))


def _element(basis: Basis, row: int, column: int) -> Floats:
    """One element matrix in the order of the element's own functions; 0 is the value, k the k-th slope."""

    def part(field: object, which: int) -> object:
        return field if which == 0 else field.grad[which - 1]  # type: ignore[attr-defined]

    form = BilinearForm(lambda u, v, _: part(v, row) * part(u, column))  # type: ignore[operator]
    data = form.elemental(basis).data.reshape(basis.Nbfun, basis.Nbfun)
    return np.asarray(data.T, dtype=np.float64)


def section_integrals(mesh: SectionMesh) -> Floats:
    """(nt, 3, 3, 6, 6): integrals of (φ, φ_x, φ_z) of row times column on each triangle."""
    a, b, c = (mesh.points[mesh.triangles[:, k]] for k in range(3))
    jacobian = np.stack([b - a, c - a], axis=2)
    determinant = np.linalg.det(jacobian)
    slopes = np.zeros((len(mesh.triangles), 3, 3))
    slopes[:, 0, 0] = 1.0
    slopes[:, 1:, 1:] = np.linalg.inv(jacobian).transpose(0, 2, 1)
    flat = reference_triangle().reshape(9, 36)
    combined = np.einsum("tac,tbd->tabcd", slopes, slopes).reshape(-1, 9)
    product = (combined @ flat).reshape(-1, 3, 3, 6, 6)
    return np.asarray(product * determinant[:, None, None, None, None])


def line_integrals(length: float) -> Floats:
    """(2, 2, 3, 3): integrals of (ψ, ψ_y) of row times column over an element of this length [m]."""
    scale = np.array([[length, 1.0], [1.0, 1.0 / length]])
    return np.asarray(reference_line() * scale[:, :, None, None])


@dataclass(frozen=True, slots=True)
class Interface:
    """Edges of the section along which two bodies may slide, for one design.

    edges: (m, 3) section nodes (two vertices, edge bubble) on the side that keeps its numbers;
    copies: (m, 3) the other side's. normals: (m, 2). lengths: (m,). open: (nl, m) where it slides.
    tied: (nl, m) where the two sides are one.
    """

    edges: Indices
    copies: Indices
    normals: Floats
    lengths: Floats
    open: Flags
    tied: Flags
    stiffness: float
    """Normal spring per area that keeps the two in touch [Pa/m]."""


@dataclass(frozen=True, slots=True)
class Swept:
    """Numbered functions of the swept body.

    heights: (m + 1,) of the elements' ends [m]. layer: (m,) layer of each element.
    nodes: (nt, 6) section functions of each triangle. number: (section functions, line functions), the
    scalar unknown of a product or -1; line functions are m + 1 hats, then m bubbles.
    count: scalar unknowns; the displacement (x, y, z) of unknown g are 3g, 3g + 1, 3g + 2.
    """

    mesh: SectionMesh
    layers: Layers
    heights: Floats
    layer: Indices
    nodes: Indices
    number: Indices
    count: int
    interface: Interface | None

    @property
    def unknowns(self) -> int:
        return 3 * self.count

    @property
    def hats(self) -> tuple[Indices, Floats]:
        """Section functions that are hats (k,), the seam's copies too, and where they stand (k, 2) [m]."""
        own = np.arange(len(self.mesh.points))
        if self.interface is None:
            return own, self.mesh.points
        copies, first = np.unique(self.interface.copies[:, :2].ravel(), return_index=True)
        of = self.interface.edges[:, :2].ravel()[first]
        return np.concatenate([own, copies]), np.vstack([self.mesh.points, self.mesh.points[of]])

    def line_nodes(self, layer: int) -> Indices:
        """(elements, 3): line functions of the elements of a layer."""
        which = np.flatnonzero(self.layer == layer)
        return np.stack([which, which + 1, len(self.heights) + which], axis=1)

    def rows(self, at: Floats, heights: Floats, *, upward: bool = False) -> sp.csr_array:
        """(n, count): interpolation of a scalar field at plan points `at` (n, 2) and `heights` (n,) [m].

        A height on a layer boundary takes the layer above it if `upward`, else the one below, unless
        that one is empty there. Raises `MeshError` where there is no material at the height.
        """
        return _interpolation(self, at, heights, upward=upward)


def element_heights(levels: Floats, size: float) -> tuple[Floats, Indices]:
    """Ends of the line elements and the layer of each; no element is longer than `size` [m]."""
    ends, layer = [float(levels[0])], []
    for k, (low, high) in enumerate(pairwise(levels)):
        count = max(1, int(np.ceil((high - low) / size - 1e-9)))
        ends.extend(np.linspace(low, high, count + 1)[1:].tolist())
        layer.extend([k] * count)
    return np.asarray(ends), np.asarray(layer, dtype=np.intp)


def sweep(
    mesh: SectionMesh,
    layers: Layers,
    *,
    size: float,
    clamped: bool,
    interface: Interface | None = None,
    sliding: Flags | None = None,
) -> Swept:
    """Number the functions. `clamped` drops those at the lowest level; `sliding` (nt,) marks the
    triangles that use the interface's copies.
    """
    heights, layer = element_heights(layers.levels, size)
    nodes = mesh.triangle_nodes
    total = mesh.node_count
    if interface is not None and sliding is not None:
        replaced = np.arange(total)
        replaced[interface.edges.ravel()] = interface.copies.ravel()
        nodes = np.where(sliding[:, None], replaced[nodes], nodes)
        total = int(max(total, interface.copies.max() + 1))
    elements = len(layer)
    active = np.zeros((total, 2 * elements + 1), dtype=bool)
    bubble = np.zeros(total, dtype=bool)
    bubble[len(mesh.points) : mesh.node_count] = True
    if interface is not None:
        bubble[interface.copies[:, 2]] = True
    for k in range(len(layers.levels) - 1):
        here = np.zeros(total, dtype=bool)
        here[nodes[layers.filled[k]].ravel()] = True
        which = np.flatnonzero(layer == k)
        active[np.ix_(here, np.unique(np.concatenate([which, which + 1])))] = True
        active[np.ix_(here & ~bubble, elements + 1 + which)] = True
    if clamped:
        active[:, 0] = False
    number = np.full(active.shape, -1, dtype=np.intp)
    flat = np.flatnonzero(active.T.ravel())
    number.T[np.unravel_index(flat, active.T.shape)] = np.arange(len(flat))
    if interface is not None:
        number = _tied(number, interface, layer, elements)
    return Swept(mesh, layers, heights, layer, nodes, number, int(number.max()) + 1, interface)


def _tied(number: Indices, interface: Interface, layer: Indices, elements: int) -> Indices:
    """Give both sides of the interface one number wherever a layer holds them together."""
    for k in range(len(interface.tied)):
        which = np.flatnonzero(layer == k)
        edges = np.flatnonzero(interface.tied[k])
        lines = np.unique(np.concatenate([which, which + 1, elements + 1 + which]))
        own, copy = interface.edges[edges].ravel(), interface.copies[edges].ravel()
        for line in lines:
            both = (number[own, line] >= 0) & (number[copy, line] >= 0)
            number[copy[both], line] = number[own[both], line]
    used, compact = np.unique(number, return_inverse=True)
    compact = compact.reshape(number.shape)
    return compact - 1 if used[0] < 0 else compact


@dataclass(frozen=True, slots=True)
class _Pattern:
    """Sparse pattern of the section: rows, columns and the place of each (triangle, 6, 6) entry."""

    rows: Indices
    columns: Indices
    place: Indices

    def gathered(self, entries: Floats) -> Floats:
        return np.asarray(
            np.bincount(self.place, weights=entries.ravel(), minlength=len(self.rows)), dtype=np.float64
        )


def _pattern(nodes: Indices, total: int) -> _Pattern:
    row = np.broadcast_to(nodes[:, :, None], (len(nodes), 6, 6))
    column = np.broadcast_to(nodes[:, None, :], (len(nodes), 6, 6))
    keys, place = np.unique(row.ravel() * total + column.ravel(), return_inverse=True)
    return _Pattern(keys // total, keys % total, place.ravel())


_SECTION_SLOPE = (1, 0, 2)
"""Section derivative that belongs to x, y, z: φ_x, φ, φ_z."""
_LINE_SLOPE = (0, 1, 0)


class _Triplets:
    """Entries of the lower triangle of a symmetric matrix, gathered block by block."""

    def __init__(self, size: int) -> None:
        self.size = size
        self.rows: list[npt.NDArray[np.int32]] = []
        self.columns: list[npt.NDArray[np.int32]] = []
        self.values: list[Floats] = []

    def add(self, rows: Indices, columns: Indices, values: Floats) -> None:
        self.rows.append(rows.astype(np.int32))
        self.columns.append(columns.astype(np.int32))
        self.values.append(values)

    def matrix(self) -> sp.csc_array:
        entries = np.concatenate(self.values)
        places = (np.concatenate(self.rows), np.concatenate(self.columns))
        made = sp.csc_array(sp.coo_array((entries, places), shape=(self.size, self.size)))
        made.sum_duplicates()
        return made


def stiffness_matrix(swept: Swept, elastic: Elastic) -> sp.csc_array:
    """Lower triangle of the stiffness matrix [N/m], (unknowns, unknowns)."""
    triplets = _Triplets(swept.unknowns)
    integrals = section_integrals(swept.mesh)
    for k in range(len(swept.layers.levels) - 1):
        solid = np.flatnonzero(elastic.shear[k] > 0.0)
        if len(solid):
            _add_layer(triplets, swept, k, solid, integrals[solid], elastic)
    if swept.interface is not None:
        _add_interface(triplets, swept, swept.interface)
    return triplets.matrix()


def _add_layer(
    triplets: _Triplets, swept: Swept, k: int, solid: Indices, integrals: Floats, elastic: Elastic
) -> None:
    pattern = _pattern(swept.nodes[solid], len(swept.number))
    lines = swept.line_nodes(k)
    length = float(swept.heights[lines[0, 1]] - swept.heights[lines[0, 0]])
    line = line_integrals(length)
    il = np.broadcast_to(lines[:, :, None], (len(lines), 3, 3)).ravel()
    jl = np.broadcast_to(lines[:, None, :], (len(lines), 3, 3)).ravel()
    row = swept.number[pattern.rows][:, il]
    column = swept.number[pattern.columns][:, jl]
    keep = (row >= 0) & (column >= 0)
    lower = keep & (row >= column)
    lame, shear = elastic.first_lame[k, solid], elastic.shear[k, solid]
    for j in range(3):
        for i in range(j + 1):
            wanted = lower if i == j else keep
            values = _block(pattern, integrals, line, lame, shear, j, i, len(lines))[wanted]
            first, second = 3 * row[wanted] + j, 3 * column[wanted] + i
            triplets.add(np.maximum(first, second), np.minimum(first, second), values)


def _block(
    pattern: _Pattern,
    integrals: Floats,
    line: Floats,
    lame: Floats,
    shear: Floats,
    j: int,
    i: int,
    count: int,
) -> Floats:
    """Entries of row component j, column component i: λ ∂j ∂i + µ ∂i ∂j (+ µ ∇·∇ where i = j)."""
    terms: dict[tuple[int, int], Floats] = {}

    def add(a: int, b: int, factor: Floats) -> None:
        kind = (_LINE_SLOPE[a], _LINE_SLOPE[b])
        part = factor[:, None, None] * integrals[:, _SECTION_SLOPE[a], _SECTION_SLOPE[b]]
        terms[kind] = terms[kind] + part if kind in terms else part

    add(j, i, lame)
    add(i, j, shear)
    if i == j:
        for axis in range(3):
            add(axis, axis, shear)
    section = np.stack([pattern.gathered(part) for part in terms.values()], axis=1)
    along = np.stack([np.tile(line[a, b].ravel(), count) for a, b in terms])
    return np.asarray(section @ along)


def _add_interface(triplets: _Triplets, swept: Swept, interface: Interface) -> None:
    """Springs normal to the sliding edges: ∫ k (n·(u − u'))² over edge and height."""
    edge = reference_line()[0, 0]
    sign = np.array([1.0, -1.0])
    for k in range(len(interface.open)):
        chosen = np.flatnonzero(interface.open[k])
        if not len(chosen):
            continue
        lines = swept.line_nodes(k)
        length = float(swept.heights[lines[0, 1]] - swept.heights[lines[0, 0]])
        along = line_integrals(length)[0, 0]
        nodes = np.stack([interface.edges[chosen], interface.copies[chosen]], axis=1).reshape(len(chosen), 6)
        pair = np.kron(np.outer(sign, sign), edge)
        scale = interface.stiffness * interface.lengths[chosen]
        values = np.einsum("e,pq,rs->eprqs", scale, pair, along)
        numbers = swept.number[nodes[:, :, None, None], lines.T[None, None]].transpose(0, 3, 1, 2)
        _add_normal(triplets, numbers, values, interface.normals[chosen])


def _add_normal(triplets: _Triplets, numbers: Indices, values: Floats, normals: Floats) -> None:
    """numbers: (edges, elements, 6, 3); values: (edges, 6, 3, 6, 3); normals: (edges, 2)."""
    edges, elements = numbers.shape[:2]
    flat = numbers.reshape(edges, elements, 18)
    row = np.broadcast_to(flat[..., :, None], (edges, elements, 18, 18))
    column = np.broadcast_to(flat[..., None, :], (edges, elements, 18, 18))
    body = np.broadcast_to(values.reshape(edges, 1, 18, 18), row.shape)
    for j, cj in enumerate((0, 2)):
        for i, ci in enumerate((0, 2)):
            weight = (normals[:, j] * normals[:, i])[:, None, None, None]
            keep = (row >= 0) & (column >= 0) & (3 * row + cj >= 3 * column + ci)
            triplets.add(3 * row[keep] + cj, 3 * column[keep] + ci, (body * weight)[keep])


def mass_matrix(swept: Swept, density: Floats) -> sp.csr_array:
    """Consistent mass of one displacement component [kg], (count, count), full and symmetric."""
    triplets = _Triplets(swept.count)
    for k in range(len(swept.layers.levels) - 1):
        _add_scalar(triplets, swept, k, density[k], line_kind=(0, 0))
    return sp.csr_array(triplets.matrix())


def bottom_matrix(swept: Swept, integrals: Floats) -> sp.csr_array:
    """∫ φ φ over the lowest section, (count, count) [m²], from each triangle's own (nt, 6, 6)."""
    solid = np.flatnonzero(swept.layers.filled[0] & (integrals[:, 0, 0] > 0.0))
    nodes = swept.nodes[solid]
    values = integrals[solid]
    numbers = swept.number[nodes, 0]
    row = np.broadcast_to(numbers[:, :, None], values.shape)
    column = np.broadcast_to(numbers[:, None, :], values.shape)
    keep = (row >= 0) & (column >= 0)
    made = sp.coo_array((values[keep], (row[keep], column[keep])), shape=(swept.count, swept.count))
    return sp.csr_array(made)


def _add_scalar(
    triplets: _Triplets, swept: Swept, k: int, factor: Floats, *, line_kind: tuple[int, int]
) -> None:
    solid = np.flatnonzero(factor > 0.0)
    if not len(solid):
        return
    pattern = _pattern(swept.nodes[solid], len(swept.number))
    section = pattern.gathered(section_integrals(swept.mesh)[solid][:, 0, 0] * factor[solid, None, None])
    lines = swept.line_nodes(k)
    length = float(swept.heights[lines[0, 1]] - swept.heights[lines[0, 0]])
    along = np.tile(line_integrals(length)[line_kind].ravel(), len(lines))
    il = np.broadcast_to(lines[:, :, None], (len(lines), 3, 3)).ravel()
    jl = np.broadcast_to(lines[:, None, :], (len(lines), 3, 3)).ravel()
    row, column = swept.number[pattern.rows][:, il], swept.number[pattern.columns][:, jl]
    keep = (row >= 0) & (column >= 0)
    triplets.add(row[keep], column[keep], np.outer(section, along)[keep])


def _interpolation(swept: Swept, at: Floats, heights: Floats, *, upward: bool) -> sp.csr_array:
    element = _element_at(swept, heights, upward=upward)
    values, rows, columns = [], [], []
    for k in np.unique(swept.layer[element]):
        chosen = np.flatnonzero(swept.layer[element] == k)
        filled = swept.layers.filled[k]
        triangle, bary = swept.mesh.locate(at[chosen], filled)
        here = element[chosen]
        low, high = swept.heights[here], swept.heights[here + 1]
        t = np.clip((heights[chosen] - low) / (high - low), 0.0, 1.0)
        line = np.stack([1.0 - t, t, 4.0 * t * (1.0 - t)], axis=1)
        lines = np.stack([here, here + 1, len(swept.heights) + here], axis=1)
        edges = 4.0 * np.stack(
            [bary[:, 0] * bary[:, 1], bary[:, 1] * bary[:, 2], bary[:, 0] * bary[:, 2]], axis=1
        )
        section = np.hstack([bary, edges])
        value = section[:, :, None] * line[:, None, :]
        number = swept.number[swept.nodes[triangle][:, :, None], lines[:, None, :]]
        row = np.broadcast_to(chosen[:, None, None], value.shape)
        keep = number >= 0
        values.append(value[keep])
        rows.append(row[keep])
        columns.append(number[keep])
    places = (np.concatenate(rows), np.concatenate(columns))
    return sp.csr_array(sp.coo_array((np.concatenate(values), places), shape=(len(at), swept.count)))


def _element_at(swept: Swept, heights: Floats, *, upward: bool) -> Indices:
    nudge = 1e-9 if upward else -1e-9
    found = np.searchsorted(swept.heights, heights + nudge, side="right") - 1
    return np.asarray(np.clip(found, 0, len(swept.layer) - 1), dtype=np.intp)
