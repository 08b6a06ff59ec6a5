"""The outside of a solved body, finely enough to be painted: how every mode and every load moves it.

The mesh's functions are quadratic, so each of its sides is drawn as four, through the middles of its edges.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import scipy.sparse as sp

from orthostat.analyses.stiffness.body import assembled
from orthostat.analyses.stiffness.factor import MeshTooLarge, factorised, memory_available
from orthostat.analyses.stiffness.inputs import BodyInputs
from orthostat.analyses.stiffness.modes import lowest_modes
from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.skin import caps, outline
from orthostat.analyses.stiffness.sweep import Swept
from orthostat.base.findings import NotStated

Key = tuple[int, int]
"""A point of the outside: a function of the section (a vertex, or an edge for its middle) and one of the
height (an element's end, or an element for its middle).
"""


@dataclass(frozen=True, eq=False, slots=True)
class Outside:
    """points: (k, 3) in the body's frame [m]. triangles: (t, 3), seen from outside counter-clockwise.
    rims: (r, 2), sharp edges and ends.

    squares: (m,) of the modes [rad²/s²]. shapes: (m, k, 3), the largest movement scaled to one.
    statics: (6 · stations, k, 3), movement for one newton along, then one newton metre about x, y, z at the
    middle of each station's patch [m/N, m/(N·m)].
    """

    points: Floats
    triangles: Indices
    rims: Indices
    squares: Floats
    shapes: Floats
    statics: Floats


def outside_of(inputs: BodyInputs) -> Outside:
    """The outside of a body. Raises `NotStated` where it can't be solved, like the rest of stiffness."""
    return _outside(replace(inputs, name="", cuts=(), millings=(), bonds=()))


@lru_cache(maxsize=4)
def _outside(inputs: BodyInputs) -> Outside:
    model = assembled(inputs)
    allowed = memory_available() if inputs.memory is None else inputs.memory
    try:
        factor = factorised(model.stiffness, memory=allowed)
    except MeshTooLarge as large:
        raise NotStated(reason=f"{large}; take a coarser mesh") from large
    pairs = lowest_modes(model.stiffness, None, factor, inputs.modes, verify=False, times=model.mass_times)
    loads = model.ports.toarray().T
    moved = factor.solve(loads) if loads.shape[1] else loads
    surface = surface_of(model.swept)
    shapes = surface.moved(pairs.vectors)
    largest = np.linalg.norm(shapes, axis=2).max(axis=1)
    shapes /= np.where(largest > 0.0, largest, 1.0)[:, None, None]
    return Outside(
        surface.points, surface.triangles, surface.rims, pairs.squares, shapes, surface.moved(moved)
    )


@dataclass(frozen=True, eq=False, slots=True)
class Surface:
    """The outside of a mesh; `reader` (k, scalar unknowns) gives a field at its points."""

    points: Floats
    triangles: Indices
    rims: Indices
    reader: sp.csr_array

    def moved(self, vectors: Floats) -> Floats:
        """(n, k, 3) displacement of the points [m] for n displacement vectors (unknowns, n)."""
        count = self.reader.shape[1]
        fields = vectors[: 3 * count].reshape(count, -1)
        made = (self.reader @ fields).reshape(len(self.points), 3, -1)
        return np.ascontiguousarray(made.transpose(2, 0, 1))


def surface_of(swept: Swept) -> Surface:
    """Side walls and what looks up, each side of the mesh as four."""
    triangles: list[tuple[Key, Key, Key]] = []
    rims: list[tuple[Key, Key]] = []
    mesh, hats = swept.mesh, len(swept.heights)
    vertices = len(mesh.points)
    middle = {(int(a), int(b)): vertices + k for k, (a, b) in enumerate(mesh.edges.tolist())}
    for layer in range(len(swept.layers.levels) - 1):
        edges, corners = outline(swept, layer)
        lines = swept.line_nodes(layer).tolist()
        for a, b in _outward(swept, layer, edges):
            across = (a, middle[min(a, b), max(a, b)], b)
            for low, high, bubble in lines:
                triangles += _wall(across, (low, bubble, high))
            for end in (lines[0][0], lines[-1][1]):
                rims += [((across[0], end), (across[1], end)), ((across[1], end), (across[2], end))]
        for corner in corners:
            for low, high, bubble in lines:
                rims += [((corner, low), (corner, bubble)), ((corner, bubble), (corner, high))]
        for a, b, c, ab, bc, ca in mesh.triangle_nodes[caps(swept, layer)].tolist():
            # Plan triangles run x to z; seen from above that is clockwise.
            for k, m, n in ((a, ca, ab), (ab, bc, b), (bc, ca, c), (ab, ca, bc)):
                end = lines[-1][1]
                triangles.append(((k, end), (m, end), (n, end)))
    keys = sorted({key for triangle in triangles for key in triangle})
    place = {key: number for number, key in enumerate(keys)}
    section = np.array([key[0] for key in keys], dtype=np.intp)
    line = np.array([key[1] for key in keys], dtype=np.intp)
    plan = np.vstack([mesh.points, mesh.points[mesh.edges].mean(axis=1)])[section]
    levels = np.concatenate([swept.heights, 0.5 * (swept.heights[:-1] + swept.heights[1:])])[line]
    kept = [rim for rim in dict.fromkeys(rims) if rim[0] in place and rim[1] in place]
    return Surface(
        np.stack([plan[:, 0], levels, plan[:, 1]], axis=1),
        np.array([[place[key] for key in triangle] for triangle in triangles], dtype=np.intp),
        np.array([[place[a], place[b]] for a, b in kept], dtype=np.intp),
        _reader(swept, section, line, hats),
    )


def _wall(across: tuple[int, int, int], up: tuple[int, int, int]) -> list[tuple[Key, Key, Key]]:
    made: list[tuple[Key, Key, Key]] = []
    for left, right in ((across[0], across[1]), (across[1], across[2])):
        for low, high in ((up[0], up[1]), (up[1], up[2])):
            made.append(((left, low), (right, low), (right, high)))
            made.append(((left, low), (right, high), (left, high)))
    return made


def _outward(swept: Swept, layer: int, edges: Indices) -> list[Key]:
    """The outline's edges, each from left to right for a viewer outside."""
    mesh = swept.mesh
    filled = mesh.triangles[swept.layers.filled[layer]]
    beside: dict[Key, int] = {}
    for triangle in filled.tolist():
        for k in range(3):
            a, b = triangle[k], triangle[(k + 1) % 3]
            beside[min(a, b), max(a, b)] = triangle[(k + 2) % 3]
    made = []
    for a, b in edges.tolist():
        start, end = mesh.points[a], mesh.points[b]
        inner = mesh.points[beside[min(a, b), max(a, b)]]
        along, inward = end - start, inner - start
        # In (x, z) with y up, material lies to the left of what runs to the right for a viewer outside.
        left = along[1] * inward[0] - along[0] * inward[1] > 0.0
        made.append((a, b) if left else (b, a))
    return made


def _reader(swept: Swept, section: Indices, line: Indices, hats: int) -> sp.csr_array:
    """(points, scalar unknowns): the mean of an edge's ends and its bubble make its middle."""
    mesh = swept.mesh
    vertices = len(mesh.points)
    rows, columns, values = [], [], []
    copies = _copies(swept)
    for point, (s, level) in enumerate(zip(section.tolist(), line.tolist(), strict=True)):
        plan = [(s, 1.0)] if s < vertices else [*((int(v), 0.5) for v in mesh.edges[s - vertices]), (s, 1.0)]
        k = level - hats
        up = [(level, 1.0)] if k < 0 else [(k, 0.5), (k + 1, 0.5), (level, 1.0)]
        for node, share in plan:
            for height, part in up:
                number = int(swept.number[node, height])
                if number < 0 and node in copies:
                    number = int(swept.number[copies[node], height])
                if number >= 0:
                    rows.append(point)
                    columns.append(number)
                    values.append(share * part)
    shape = (len(section), swept.count)
    return sp.csr_array(sp.coo_array((np.array(values), (np.array(rows), np.array(columns))), shape=shape))


def _copies(swept: Swept) -> dict[int, int]:
    """Of the section's functions on a sliding seam, those of the seam's other side."""
    if swept.interface is None:
        return {}
    own, other = swept.interface.edges.ravel().tolist(), swept.interface.copies.ravel().tolist()
    return dict(zip(own, other, strict=True))
