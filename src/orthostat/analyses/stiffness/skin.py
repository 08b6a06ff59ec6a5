"""The body's outside as quadrilaterals, and what a mode does to it: for pictures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.sweep import Swept


@dataclass(frozen=True, slots=True)
class Skin:
    """Outer surface. points: (k, 3) [m]; quads: (m, 4) corners (the last two may be one);
    rims: (r, 2) corners of sharp edges.

    unknowns: (k,) scalar unknown of each point, to read a displacement with.
    """

    points: Floats
    quads: Indices
    rims: Indices
    unknowns: Indices

    def moved(self, vector: Floats) -> Floats:
        """(k, 3) displacement of the points [m]."""
        held = np.vstack([vector[: 3 * (len(vector) // 3)].reshape(-1, 3), np.zeros((1, 3))])
        return np.asarray(held[np.where(self.unknowns >= 0, self.unknowns, len(held) - 1)])


def skin_of(swept: Swept) -> Skin:
    """Side walls where material meets air, per layer, and what looks up; plan corners as rims.

    A triangle that looks up is a quadrilateral whose last corner stands twice.
    """
    quads: list[tuple[tuple[int, int], ...]] = []
    rims: list[tuple[tuple[int, int], tuple[int, int]]] = []
    for k in range(len(swept.layers.levels) - 1):
        edges, corners = outline(swept, k)
        lines = swept.line_nodes(k)
        for a, b in edges.tolist():
            quads.extend(
                (((a, low)), ((b, low)), ((b, high)), ((a, high))) for low, high, _ in lines.tolist()
            )
        rims.extend(((c, low), (c, high)) for c in corners for low, high, _ in lines.tolist())
        for end in (int(lines[0, 0]), int(lines[-1, 1])):
            rims.extend(((a, end), (b, end)) for a, b in edges.tolist())
        end = int(lines[-1, 1])
        quads.extend(
            ((a, end), (b, end), (c, end), (c, end))
            for a, b, c in swept.mesh.triangles[caps(swept, k)].tolist()
        )
    keys = sorted({key for quad in quads for key in quad})
    place = {key: k for k, key in enumerate(keys)}
    node = np.array([key[0] for key in keys], dtype=np.intp)
    line = np.array([key[1] for key in keys], dtype=np.intp)
    plan = swept.mesh.points[node]
    return Skin(
        np.stack([plan[:, 0], swept.heights[line], plan[:, 1]], axis=1),
        np.array([[place[key] for key in quad] for quad in quads], dtype=np.intp),
        np.array([[place[a], place[b]] for a, b in dict.fromkeys(rims)], dtype=np.intp),
        swept.number[node, line],
    )


def caps(swept: Swept, layer: int) -> Indices:
    """Triangles of a layer with nothing on top."""
    filled = swept.layers.filled
    above = filled[layer + 1] if layer + 1 < len(filled) else np.zeros_like(filled[layer])
    return np.flatnonzero(filled[layer] & ~above)


def outline(swept: Swept, layer: int) -> tuple[Indices, list[int]]:
    """(n, 2) section edges with material on one side only that face the open (not an inner cavity), and the
    vertices at which they turn a corner.
    """
    filled = swept.layers.filled[layer]
    flat = swept.mesh.triangle_edges[filled].ravel()
    edges, count = np.unique(flat, return_counts=True)
    rim = swept.mesh.edges[edges[count == 1]]
    edges = _outer_loop(swept.mesh.points, rim)
    return edges, _corners(swept, edges)


def _outer_loop(points: Floats, rim: Indices) -> Indices:
    """Of the closed loops among the edges, the one that reaches farthest."""
    group = {int(v): int(v) for v in np.unique(rim)}

    def root(v: int) -> int:
        while group[v] != v:
            group[v] = group[group[v]]
            v = group[v]
        return v

    for a, b in rim.tolist():
        group[root(a)] = root(b)
    roots = np.array([root(int(a)) for a in rim[:, 0]])
    far = int(np.argmax(np.hypot(*points[rim[:, 0]].T)))
    return np.asarray(rim[roots == roots[far]])


def _corners(swept: Swept, edges: Indices) -> list[int]:
    """Vertices where the outline turns by more than some twenty degrees."""
    along: dict[int, list[Floats]] = {}
    for a, b in edges.tolist():
        step = swept.mesh.points[b] - swept.mesh.points[a]
        unit = step / np.linalg.norm(step)
        along.setdefault(a, []).append(unit)
        along.setdefault(b, []).append(unit)
    return [v for v, (u, *rest) in along.items() if rest and abs(float(u @ rest[0])) < 0.94]
