"""One triangulation for all columns of some number of sides: rings of void, fill, wall and flange.

Every vertex is a fixed mean of a few corners, so another design moves the vertices and leaves the numbering.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from math import pi

import numpy as np
import numpy.typing as npt

from orthostat.analyses.stiffness.section import Floats, Indices, SectionMesh

CORE, FILL, WALL, FLANGE = range(4)
RINGS = 4
FILL_LAYERS = 2
CROWDED = 0.4
"""How much closer a side's points stand at its ends: a thin wall bends most at the corners."""
MOST_SIDES = 8


@dataclass(frozen=True, eq=False)
class Topology:
    """A triangulation of n sectors, each of `pieces` along its side.

    weights: (vertices, controls), of outer, inner and core corners (n each), the centre, then n · pieces
    points of the flange's edge. region: (nt,), rising. side_edges: (n, pieces) section functions of the
    bubbles along each side, side_vertices: (n, pieces + 1).
    """

    sides: int
    pieces: int
    weights: Floats
    triangles: Indices
    edges: Indices
    triangle_edges: Indices
    region: Indices
    side_vertices: Indices
    side_edges: Indices
    wall: WallPairs

    @property
    def count(self) -> int:
        """Section functions: hats, then edge bubbles."""
        return len(self.weights) + len(self.edges)

    @cached_property
    def nodes(self) -> Indices:
        """(nt, 6)."""
        return np.hstack([self.triangles, len(self.weights) + self.triangle_edges])

    def mesh(self, controls: Floats) -> SectionMesh:
        """The triangulation with its corners in their places (controls, 2) [m]."""
        return SectionMesh(self.weights @ controls, self.triangles, self.edges, self.triangle_edges)

    @cached_property
    def slices(self) -> tuple[slice, ...]:
        """The triangles of each ring."""
        ends = np.searchsorted(self.region, np.arange(RINGS + 1))
        return tuple(slice(int(a), int(b)) for a, b in pairwise(ends))


@dataclass(frozen=True, eq=False)
class WallPairs:
    """Section functions of the wall's ring, (n · pieces,) each: inner and outer vertices, bubbles along them,
    bubbles across the wall and on its diagonals.
    """

    inner: Indices
    outer: Indices
    inner_edges: Indices
    outer_edges: Indices
    across: Indices
    diagonal: Indices


def pieces_of(sides: int, *, hollow: bool) -> int:
    """Pieces along a side; thin walls want more, for they bend within the section."""
    return (6 if hollow else 4) if sides <= 4 else (4 if hollow else 2)


def shares(pieces: int) -> Floats:
    """(pieces,) where along a side each piece begins, as a share of it."""
    even = np.arange(pieces) / pieces
    return np.asarray(even - CROWDED * np.sin(2.0 * pi * even) / (2.0 * pi))


@lru_cache(maxsize=32)
def topology(sides: int, *, hollow: bool = False) -> Topology:
    """The triangulation for a number of sides, symmetric about every side's middle."""
    pieces = pieces_of(sides, hollow=hollow)
    around = sides * pieces
    weights = _weights(sides, pieces)
    rings = [1 + r * around + np.arange(around) for r in range(FILL_LAYERS + 3)]
    triangles, region = _triangles(rings, pieces)
    pairs = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [0, 2]]]), axis=1)
    edges, which = np.unique(pairs, axis=0, return_inverse=True)
    number = {(int(a), int(b)): len(weights) + k for k, (a, b) in enumerate(edges)}
    inner, outer = rings[-3], rings[-2]

    def bubbles(first: Indices, second: Indices) -> Indices:
        return np.array(
            [number[min(a, b), max(a, b)] for a, b in zip(first.tolist(), second.tolist(), strict=True)]
        )

    first_half = np.arange(around) % pieces < pieces // 2
    after = np.roll(np.arange(around), -1)
    wall = WallPairs(
        inner,
        outer,
        bubbles(inner, inner[after]),
        bubbles(outer, outer[after]),
        bubbles(inner, outer),
        bubbles(np.where(first_half, inner, inner[after]), np.where(first_half, outer[after], outer)),
    )
    by_side = np.arange(around).reshape(sides, pieces)
    vertices = outer[np.hstack([by_side, (by_side[:, -1:] + 1) % around])]
    return Topology(
        sides, pieces, weights, triangles, edges, which.reshape(3, -1).T.copy(), region, vertices,
        wall.outer_edges[by_side], wall,
    )  # fmt: skip


def _weights(sides: int, pieces: int) -> Floats:
    """Vertices as means of the controls: the centre, then each ring from the core outward. Side k runs from
    corner k - 1 to corner k.
    """
    around = sides * pieces
    side = np.repeat(np.arange(sides), pieces)
    share = np.tile(shares(pieces), sides)
    rows = np.arange(around)
    ring = np.zeros((3, around, 3 * sides + 1 + around))
    for kind in range(3):
        ring[kind, rows, kind * sides + (side - 1) % sides] = 1.0 - share
        ring[kind, rows, kind * sides + side] = share
    outer, inner, core = ring
    centre = np.zeros((1, outer.shape[1]))
    centre[0, 3 * sides] = 1.0
    flange = np.zeros_like(outer)
    flange[rows, 3 * sides + 1 + rows] = 1.0
    fill = [core + (inner - core) * step / FILL_LAYERS for step in range(FILL_LAYERS + 1)]
    return np.vstack([centre, *fill, outer, flange])


def _triangles(rings: list[npt.NDArray[np.intp]], pieces: int) -> tuple[Indices, Indices]:
    """Counter-clockwise for corners in counter-clockwise order; diagonals turn at a side's middle."""
    around = len(rings[0])
    found = [(0, int(rings[0][i]), int(rings[0][(i + 1) % around])) for i in range(around)]
    region = [CORE] * around
    for r in range(len(rings) - 1):
        kind = FILL if r < FILL_LAYERS else (WALL if r == FILL_LAYERS else FLANGE)
        for i in range(around):
            a, b = int(rings[r][i]), int(rings[r][(i + 1) % around])
            c, d = int(rings[r + 1][i]), int(rings[r + 1][(i + 1) % around])
            found += [(a, c, d), (a, d, b)] if i % pieces < pieces // 2 else [(a, c, b), (b, c, d)]
            region += [kind, kind]
    return np.array(found, dtype=np.intp), np.array(region, dtype=np.intp)


def ring_controls(outer: Floats, inner: Floats, core: float, flange: Floats, pieces: int) -> Floats:
    """Controls (controls, 2) from the corners (n, 2) of outline and cavity, the core's share of the cavity
    and the flange's corners.
    """
    centre = centroid(inner)
    share = shares(pieces)[None, :, None]
    before = preceding(flange)
    edge = before[:, None, :] + share * (flange - before)[:, None, :]
    return np.vstack([outer, inner, centre + core * (inner - centre), centre[None], edge.reshape(-1, 2)])


THICK, THIN = 0.25, 0.12
"""Walls of the references, for families with a fill and for hollow ones."""


@lru_cache(maxsize=32)
def regular(sides: int, *, hollow: bool = False) -> Floats:
    """Controls of a reference: a regular polygon one from face to axis."""
    turn = -2.0 * pi * np.arange(sides) / sides
    wall = THIN if hollow else THICK

    def at(distance: float) -> Floats:
        return half_planes(turn, np.full(sides, distance))

    return ring_controls(at(1.0), at(1.0 - wall), 0.5, at(1.25), pieces_of(sides, hollow=hollow))


def half_planes(angles: Floats, distances: Floats) -> Floats:
    """(n, 2) corners x, z; corner k lies between sides k and k + 1, given by the angle of the outward normal
    (0 along +z, growing toward +x) and the distance.
    """
    a, b = angles, following(angles)
    d, e = distances, following(distances)
    det = np.sin(a) * np.cos(b) - np.cos(a) * np.sin(b)
    x, z = (d * np.cos(b) - e * np.cos(a)) / det, (e * np.sin(a) - d * np.sin(b)) / det
    return np.stack([x, z], axis=1)


def following(of: Floats) -> Floats:
    """What comes after each, the first after the last."""
    return np.concatenate([of[1:], of[:1]])


def preceding(of: Floats) -> Floats:
    """What comes before each, the last before the first."""
    return np.concatenate([of[-1:], of[:-1]])


def centroid(corners: Floats) -> Floats:
    """(2,) of a polygon."""
    after = following(corners)
    cross = corners[:, 0] * after[:, 1] - after[:, 0] * corners[:, 1]
    return np.asarray(((corners + after) * cross[:, None]).sum(axis=0) / (3.0 * cross.sum()))


def area(corners: Floats) -> float:
    """Of a polygon, positive counter-clockwise."""
    after = following(corners)
    return float(0.5 * np.sum(corners[:, 0] * after[:, 1] - after[:, 0] * corners[:, 1]))
