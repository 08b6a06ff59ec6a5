"""Quadratic wedges swept along the height on a section mesh: numbering and interpolation.

Functions are hierarchical (hats and bubbles); leaving out the product of an edge bubble and a height bubble
leaves the space of the 15-node serendipity wedge.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.sparse as sp

from orthostat.analyses.stiffness.build import Layers
from orthostat.analyses.stiffness.section import Flags, Floats, Indices, SectionMesh


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


def _interpolation(swept: Swept, at: Floats, heights: Floats, *, upward: bool) -> sp.csr_array:
    element = _element_at(swept, heights, upward=upward)
    values, rows, columns = [], [], []
    for k in np.unique(swept.layer[element]):
        chosen = np.flatnonzero(swept.layer[element] == k)
        filled = swept.layers.filled[k]
        plan, which = _distinct(at[chosen])
        triangle, bary = (found[which] for found in swept.mesh.locate(plan, filled))
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


def _distinct(at: Floats) -> tuple[Floats, Indices]:
    """Plan points (k, 2) without repetitions, and which of them each of `at` (n, 2) is."""
    _, first, which = np.unique(at[:, 0] + 1j * at[:, 1], return_index=True, return_inverse=True)
    return at[first], which


def _element_at(swept: Swept, heights: Floats, *, upward: bool) -> Indices:
    nudge = 1e-9 if upward else -1e-9
    found = np.searchsorted(swept.heights, heights + nudge, side="right") - 1
    return np.asarray(np.clip(found, 0, len(swept.layer) - 1), dtype=np.intp)
