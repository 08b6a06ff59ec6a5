"""Stiffness and mass of swept wedges, put together pair by pair of functions.

On a straight wedge every integral is one over the triangle times one over the height. So a layer is put
together in plan and in height apart, each small, and only their products are spread over the unknowns: three
by three for each pair of functions, in places that `pattern` remembers.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy.sparse as sp

from orthostat.analyses.stiffness.build import Elastic
from orthostat.analyses.stiffness.integrals import line_integrals, reference_line, section_integrals
from orthostat.analyses.stiffness.pattern import PlanPairs, SeamPairs, pattern_of
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.sweep import Interface, Swept

_SECTION_SLOPE = (1, 0, 2)
"""Section derivative that belongs to x, y, z: φ_x, φ, φ_z."""
_LINE_SLOPE = (0, 1, 0)


def stiffness_matrix(swept: Swept, elastic: Elastic, supports: Sequence[sp.csr_array] = ()) -> sp.csc_array:
    """Lower triangle of the body's stiffness [N/m], with symmetric matrices of what holds it: of its unknowns
    and any number more.
    """
    pattern = pattern_of(swept)
    values = np.zeros((pattern.blocks, 9))
    integrals = section_integrals(swept.mesh)
    for layer in pattern.layers:
        k, solid = layer.number, layer.solid
        along = layer.along(line_integrals(_length(swept, k)))
        section = _springs(
            layer.plan, integrals[solid], elastic.first_lame[k, solid], elastic.shear[k, solid]
        )
        values += layer.sums @ layer.spread(along, section)
    if swept.interface is not None:
        for seam in pattern.seams:
            values += seam.sums @ _seam_springs(swept, swept.interface, seam)
    return pattern.supported(values, supports) if supports else pattern.lower(values)


def mass_matrix(swept: Swept, density: Floats) -> sp.csr_array:
    """Consistent mass of one displacement component [kg], (count, count), full and symmetric."""
    pattern = pattern_of(swept)
    values = np.zeros(pattern.blocks)
    integrals = section_integrals(swept.mesh)[:, 0, 0]
    for layer in pattern.layers:
        solid = layer.solid
        along = layer.along(line_integrals(_length(swept, layer.number)))[0]
        section = layer.plan.gathered(integrals[solid] * density[layer.number, solid, None, None])
        values += layer.sums @ np.outer(section, along)[layer.kept]
    return pattern.symmetric(values)


def _length(swept: Swept, layer: int) -> float:
    """Of each element of a layer, up the height [m]."""
    low, high, _ = swept.line_nodes(layer)[0]
    return float(swept.heights[high] - swept.heights[low])


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


def _springs(pattern: PlanPairs, integrals: Floats, lame: Floats, shear: Floats) -> Floats:
    """(pairs in plan, 4, 9): what goes with each kind of integral over the height, for row component j and
    column component i in place 3 i + j: λ ∂j ∂i + µ ∂i ∂j (+ µ ∇·∇ where i = j).
    """
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


def _seam_springs(swept: Swept, interface: Interface, seam: SeamPairs) -> Floats:
    """(kept, 9) springs normal to the sliding edges: ∫ k (n·(u − u'))² over edge and height."""
    chosen = np.flatnonzero(interface.open[seam.number])
    sign = np.array([1.0, -1.0])
    pair = np.kron(np.outer(sign, sign), reference_line()[0, 0])
    along = line_integrals(_length(swept, seam.number))[0, 0]
    scale = interface.stiffness * interface.lengths[chosen]
    values = np.einsum("e,pq,rs->eprqs", scale, pair, along).reshape(len(chosen), 1, 18, 18)
    normal = np.zeros((len(chosen), 3))
    normal[:, [0, 2]] = interface.normals[chosen]
    both = (normal[:, :, None] * normal[:, None, :]).reshape(len(chosen), 9)
    edge = np.nonzero(seam.kept)[0]
    return np.broadcast_to(values, seam.kept.shape)[seam.kept][:, None] * both[edge]
