"""Stiffness and mass of swept wedges, put together pair by pair of functions.

On a straight wedge every integral is one over the triangle times one over the height. So a layer is put
together in plan and in height apart, each small, and only their products are spread over the unknowns: three
by three for each pair of functions, sorted once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from orthostat.analyses.stiffness.build import Elastic
from orthostat.analyses.stiffness.integrals import line_integrals, reference_line, section_integrals
from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.sweep import Flags, Interface, Swept

_SECTION_SLOPE = (1, 0, 2)
"""Section derivative that belongs to x, y, z: φ_x, φ, φ_z."""
_LINE_SLOPE = (0, 1, 0)


def stiffness_matrix(swept: Swept, elastic: Elastic) -> sp.csc_array:
    """Lower triangle of the body's stiffness [N/m]."""
    pairs = _Pairs(swept.count)
    integrals = section_integrals(swept.mesh)
    for k in range(len(swept.layers.levels) - 1):
        solid = np.flatnonzero(elastic.shear[k] > 0.0)
        if len(solid):
            layer = _Layer.of(swept, k, solid)
            section = _springs(layer, integrals[solid], elastic.first_lame[k, solid], elastic.shear[k, solid])
            pairs.add(layer.row, layer.column, layer.spread(section))
    if swept.interface is not None:
        _add_interface(pairs, swept, swept.interface)
    return pairs.matrix()


def mass_matrix(swept: Swept, density: Floats) -> sp.csr_array:
    """Consistent mass of one displacement component [kg], (count, count), full and symmetric."""
    rows, columns, values = [], [], []
    integrals = section_integrals(swept.mesh)[:, 0, 0]
    for k in range(len(swept.layers.levels) - 1):
        solid = np.flatnonzero(density[k] > 0.0)
        if len(solid):
            layer = _Layer.of(swept, k, solid)
            section = np.zeros((len(layer.pattern.rows), 4, 1))
            section[:, 0, 0] = layer.pattern.gathered(integrals[solid] * density[k, solid, None, None])
            rows.append(layer.row)
            columns.append(layer.column)
            values.append(layer.spread(section)[:, 0])
    places = (np.concatenate(rows), np.concatenate(columns))
    lower = sp.csr_array(sp.coo_array((np.concatenate(values), places), shape=(swept.count, swept.count)))
    return sp.csr_array(lower + sp.tril(lower, -1).T)


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


@dataclass(frozen=True, slots=True)
class _Pattern:
    """Sparse pattern of the section: rows, columns and the place of each (triangle, 6, 6) entry."""

    rows: Indices
    columns: Indices
    place: Indices

    @staticmethod
    def of(nodes: Indices, total: int) -> _Pattern:
        """Of triangles' functions (nt, 6) among so many."""
        row = np.broadcast_to(nodes[:, :, None], (len(nodes), 6, 6))
        column = np.broadcast_to(nodes[:, None, :], (len(nodes), 6, 6))
        keys, place = np.unique(row.ravel() * total + column.ravel(), return_inverse=True)
        return _Pattern(keys // total, keys % total, place.ravel())

    def gathered(self, entries: Floats) -> Floats:
        """(pairs,) sums of (triangle, 6, 6) entries."""
        return np.asarray(
            np.bincount(self.place, weights=entries.ravel(), minlength=len(self.rows)), dtype=np.float64
        )


@dataclass(frozen=True, slots=True)
class _Layer:
    """Pairs of functions that meet in a layer, in plan and in height, of which the lower half is kept.

    along: (4, pairs in height), integrals of ψψ, ψψ', ψ'ψ, ψ'ψ'. row, column: scalar unknowns of the kept
    products of pairs, `kept` which of (pairs in plan, pairs in height) they are.
    """

    pattern: _Pattern
    along: Floats
    kept: Flags
    row: npt.NDArray[np.int64]
    column: npt.NDArray[np.int64]

    @staticmethod
    def of(swept: Swept, k: int, solid: Indices) -> _Layer:
        """Of these triangles in layer k."""
        pattern = _Pattern.of(swept.nodes[solid], len(swept.number))
        lines = swept.line_nodes(k)
        used, local = np.unique(lines, return_inverse=True)
        local = local.reshape(lines.shape)
        length = float(swept.heights[lines[0, 1]] - swept.heights[lines[0, 0]])
        whole = np.zeros((4, len(used), len(used)))
        meet = np.zeros((len(used), len(used)), dtype=bool)
        element = line_integrals(length).reshape(4, 3, 3)
        for one in local:
            whole[:, one[:, None], one[None, :]] += element
            meet[one[:, None], one[None, :]] = True
        # Unknowns are numbered line function by line function, so a pair of lower lines is a lower pair.
        upper, lower = np.nonzero(np.tril(meet))
        row = swept.number[pattern.rows][:, used[upper]]
        column = swept.number[pattern.columns][:, used[lower]]
        kept = (column >= 0) & (row >= column)
        return _Layer(pattern, whole[:, upper, lower], kept, row[kept], column[kept])

    def spread(self, section: Floats) -> Floats:
        """(kept, m): m values of each kept product, from those in plan (pairs, 4, m) beside `along`."""
        return np.asarray(np.matmul(self.along.T[None], section)[self.kept])


def _springs(layer: _Layer, integrals: Floats, lame: Floats, shear: Floats) -> Floats:
    """(pairs in plan, 4, 9): what goes with each kind of integral over the height, for row component j and
    column component i in place 3 i + j: λ ∂j ∂i + µ ∂i ∂j (+ µ ∇·∇ where i = j).
    """
    pattern = layer.pattern
    by_lame, by_shear = (
        np.array(
            [
                [pattern.gathered(integrals[:, a, b] * factor[:, None, None]) for b in range(3)]
                for a in range(3)
            ]
        )
        for factor in (lame, shear)
    )
    made = np.zeros((4, 9, len(pattern.rows)))

    def add(place: int, which: Floats, a: int, b: int) -> None:
        kind = 2 * _LINE_SLOPE[a] + _LINE_SLOPE[b]
        made[kind, place] += which[_SECTION_SLOPE[a], _SECTION_SLOPE[b]]

    for j in range(3):
        for i in range(3):
            add(3 * i + j, by_lame, j, i)
            add(3 * i + j, by_shear, i, j)
        for axis in range(3):
            add(4 * j, by_shear, axis, axis)
    return np.ascontiguousarray(made.transpose(2, 0, 1))


class _Pairs:
    """Three by three entries of pairs of scalar unknowns, of which the row's is never the lower."""

    def __init__(self, count: int) -> None:
        self.count = count
        self.keys: list[npt.NDArray[np.int64]] = []
        self.values: list[Floats] = []

    def add(self, row: npt.NDArray[np.int64], column: npt.NDArray[np.int64], values: Floats) -> None:
        """`values` (n, 9): row component j and column component i in place 3 i + j."""
        self.keys.append(column * self.count + row)
        self.values.append(values)

    def matrix(self) -> sp.csc_array:
        """The lower triangle, sorted, without duplicates."""
        keys, values = np.concatenate(self.keys), np.concatenate(self.values)
        order = np.argsort(keys)
        keys = keys[order]
        starts = np.flatnonzero(np.concatenate([[True], keys[1:] != keys[:-1]]))
        values = values[order]
        if len(starts) < len(keys):
            keys, values = keys[starts], np.add.reduceat(values, starts, axis=0)
        first = np.searchsorted(keys, self.count * np.arange(self.count + 1))
        size = 3 * self.count
        # As rows of the upper triangle: each unknown's first block is its own, whose lower half is left out.
        blocks = (values.reshape(-1, 3, 3), keys % self.count, first)
        upper = sp.bsr_array(blocks, shape=(size, size)).tocsr()
        second, third = upper.indptr[1:-1:3], upper.indptr[2:-1:3]
        keep = np.ones(len(upper.data), dtype=bool)
        keep[np.concatenate([second, third, third + 1])] = False
        left_out = np.concatenate([[0], np.cumsum(np.tile([0, 1, 2], self.count))])
        places = (upper.data[keep], upper.indices[keep], upper.indptr - left_out.astype(upper.indptr.dtype))
        made = sp.csc_array(places, shape=(size, size))
        made.has_canonical_format = True
        return made


def _add_interface(pairs: _Pairs, swept: Swept, interface: Interface) -> None:
    """Springs normal to the sliding edges: ∫ k (n·(u − u'))² over edge and height."""
    edge = reference_line()[0, 0]
    sign = np.array([1.0, -1.0])
    pair = np.kron(np.outer(sign, sign), edge)
    for k in range(len(interface.open)):
        chosen = np.flatnonzero(interface.open[k])
        if not len(chosen):
            continue
        lines = swept.line_nodes(k)
        length = float(swept.heights[lines[0, 1]] - swept.heights[lines[0, 0]])
        along = line_integrals(length)[0, 0]
        nodes = np.stack([interface.edges[chosen], interface.copies[chosen]], axis=1).reshape(len(chosen), 6)
        scale = interface.stiffness * interface.lengths[chosen]
        values = np.einsum("e,pq,rs->eprqs", scale, pair, along).reshape(len(chosen), 1, 18, 18)
        numbers = swept.number[nodes[:, :, None, None], lines.T[None, None]].transpose(0, 3, 1, 2)
        flat = numbers.reshape(len(chosen), len(lines), 18)
        row = np.broadcast_to(flat[..., :, None], (*flat.shape, 18))
        column = np.broadcast_to(flat[..., None, :], row.shape)
        normal = np.zeros((len(chosen), 3))
        normal[:, [0, 2]] = interface.normals[chosen]
        both = (normal[:, :, None] * normal[:, None, :]).reshape(len(chosen), 1, 1, 1, 9)
        keep = (column >= 0) & (row >= column)
        pairs.add(row[keep], column[keep], np.broadcast_to(values[..., None] * both, (*row.shape, 9))[keep])
