"""The body as the solver sees it: parts made of weighted prisms in plan, layered by height.

A part's prisms may be added or cut. Those large enough bound triangles; the small ones (studs' bores,
sleeves, tapped holes, anchors) are spread over the triangles they touch by their share of volume, so
no volume and no mass is lost. Where parts share a triangle their stiffness is added by volume (Voigt).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely

from orthostat.analyses.stiffness.section import Flags, Floats, Ring, SectionMesh
from orthostat.base.dimensions import Metre, Pascal
from orthostat.base.findings import NotStated, stated
from orthostat.model.bodies import Role
from orthostat.model.materials import Material

VOID_SHARE = 0.2
"""A triangle filled by less than this share of its volume is taken as empty."""
OVERLAP_SHARE = 0.02
"""Two parts in the same place: tolerated up to this share of the section (rounding of bores)."""


SAME_HEIGHT = 1e-6
"""Heights nearer than this [m] are one."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One prism of a part: a convex plan outline (x, z) [m] over `low..high` [m] in height.

    `weight` is +1 where added, -1 where cut; a hole across a face carries its share of its bounding
    box. `bounds` says whether triangles must follow the outline.
    """

    outline: Ring
    low: Metre
    high: Metre
    weight: float
    bounds: bool


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of the column of one material."""

    name: str
    path: str
    role: Role
    material: Material
    pieces: tuple[Piece, ...]
    face: int | None = None
    """Number of the face it is the plate of."""


@dataclass(frozen=True, slots=True)
class Layers:
    """Heights of the layers and what fills each triangle in each.

    levels: (nl + 1,) [m]. shares: (nl, parts, nt), volume share of each part in each triangle.
    """

    levels: Floats
    shares: Floats

    @property
    def filled(self) -> Flags:
        """(nl, nt): where there is material."""
        return np.asarray(self.shares.sum(axis=1) > VOID_SHARE)


@dataclass(frozen=True, slots=True)
class Elastic:
    """Properties of each triangle in each layer, (nl, nt): Lamé constants [Pa] and density [kg/m³]."""

    first_lame: Floats
    shear: Floats
    density: Floats


def lame(material: Material) -> tuple[Pascal, Pascal]:
    """First Lamé constant and shear modulus [Pa] of a material.

    Raises `NotStated` where modulus or Poisson's ratio is missing or out of range.
    """
    modulus = stated(material.youngs_modulus, f"{material.path}.youngs_modulus")
    ratio = stated(material.poissons_ratio, f"{material.path}.poissons_ratio")
    if modulus <= 0.0:
        raise NotStated(
            f"{material.path}.youngs_modulus", reason=f"{material.name}: a modulus must be above zero"
        )
    if not -1.0 < ratio < 0.5:
        raise NotStated(
            f"{material.path}.poissons_ratio", reason=f"{material.name}: Poisson's ratio must lie below 0.5"
        )
    shear = modulus / (2.0 * (1.0 + ratio))
    return Pascal(modulus * ratio / ((1.0 + ratio) * (1.0 - 2.0 * ratio))), Pascal(shear)


def rings_of(parts: Sequence[Part]) -> tuple[Ring, ...]:
    """The outlines that triangles must follow, largest first; neighbours of one material and one
    height range are merged, so that a mitre inside one casting makes no edge.
    """
    groups: dict[tuple[Material, float, float], tuple[list[shapely.Polygon], list[shapely.Polygon]]] = {}
    for part in parts:
        for piece in part.pieces:
            if piece.bounds:
                key = (part.material, round(piece.low, 6), round(piece.high, 6))
                adds, cuts = groups.setdefault(key, ([], []))
                (adds if piece.weight > 0 else cuts).append(shapely.Polygon(piece.outline))
    rings: list[Ring] = []
    for adds, cuts in groups.values():
        if adds:
            region = shapely.unary_union(adds, grid_size=1e-7)
            for polygon in shapely.get_parts(region):
                outer = polygon.simplify(1e-6)
                rings.append(_ring(outer.exterior.coords))
                rings.extend(_ring(hole.coords) for hole in outer.interiors)
        rings.extend(_ring(cut.exterior.coords) for cut in cuts)
    return tuple(sorted(set(rings), key=lambda ring: (-round(float(shapely.Polygon(ring).area), 9), ring)))


def _ring(coords: Iterable[tuple[float, float]]) -> Ring:
    """A closed ring from its lowest corner on, counter-clockwise, whatever it started with."""
    points = [(float(round(x, 7)) + 0.0, float(round(z, 7)) + 0.0) for x, z in coords][:-1]
    start = points.index(min(points))
    points = points[start:] + points[:start]
    if not shapely.LinearRing(points).is_ccw:
        points = [points[0], *reversed(points[1:])]
    return tuple(points)


def coarsened(parts: Sequence[Part], detail: Metre) -> tuple[Part, ...]:
    """The parts, with steps lower than `detail` [m] no longer bounding triangles or layers.

    A step is a shallow piece under or on a thicker piece of the same part, such as a lid's register.
    """
    return tuple(
        replace(
            part,
            pieces=tuple(replace(p, bounds=p.bounds and not _is_step(p, part, detail)) for p in part.pieces),
        )
        for part in parts
    )


def _is_step(piece: Piece, part: Part, detail: float) -> bool:
    height = piece.high - piece.low
    return height < detail and any(
        other.bounds
        and other.weight == piece.weight
        and other.high - other.low > height
        and (abs(other.low - piece.high) < SAME_HEIGHT or abs(other.high - piece.low) < SAME_HEIGHT)
        for other in part.pieces
    )


def tall(parts: Sequence[Part], height: Metre) -> tuple[Part, ...]:
    """What of the parts is at least `height` [m] high and bounds triangles."""
    return tuple(
        replace(part, pieces=tuple(p for p in part.pieces if p.bounds and p.high - p.low >= height))
        for part in parts
    )


def region_of(parts: Sequence[Part]) -> shapely.Geometry | None:
    """The plan that the parts cover, `None` where there are none."""
    pieces = [(shapely.Polygon(p.outline), p.weight > 0.0) for part in parts for p in part.pieces]
    added = shapely.unary_union([shape for shape, adds in pieces if adds], grid_size=1e-7)
    region = added.difference(shapely.unary_union([shape for shape, adds in pieces if not adds]))
    return None if region.is_empty else region


def solid_share(region: shapely.Geometry | None) -> float:
    """How much of a region's hull is solid; one where there is none."""
    return 1.0 if region is None else float(region.area / region.convex_hull.area)


def levels_of(parts: Sequence[Part], gap: Metre) -> tuple[float, ...]:
    """Heights [m] at which a bounding piece begins or ends; those nearer than `gap` are one, unless a
    piece fills what lies between them.
    """
    spans = sorted({(p.low, p.high) for part in parts for p in part.pieces if p.bounds})
    heights = sorted({height for span in spans for height in span})
    if not heights:
        raise NotStated(reason="the column has no bodies")
    kept = [heights[0]]
    for height in heights[1:]:
        thin = any(
            kept[-1] - SAME_HEIGHT <= low and high <= height + SAME_HEIGHT and high - low > SAME_HEIGHT
            for low, high in spans
        )
        if height - kept[-1] > gap or thin:
            kept.append(height)
    if len(kept) < 2:
        raise NotStated(reason="the column has no height")
    kept[-1] = max(kept[-1], heights[-1]) if heights[-1] - kept[-1] <= gap else kept[-1]
    return tuple(float(h) for h in kept)


def layered(parts: Sequence[Part], mesh: SectionMesh, levels: Sequence[float]) -> Layers:
    """Volume share of each part in each triangle and layer, from exact overlaps.

    Raises `NotStated` naming the parts where two stand in the same place.
    """
    heights = np.asarray(levels, dtype=np.float64)
    pieces = [piece for part in parts for piece in part.pieces]
    number = {outline: k for k, outline in enumerate(dict.fromkeys(piece.outline for piece in pieces))}
    covered = _covered(mesh, tuple(number))[[number[piece.outline] for piece in pieces]]
    low, high, weight = np.array([(piece.low, piece.high, piece.weight) for piece in pieces]).T[:, :, None]
    overlap = np.minimum(heights[1:], high) - np.maximum(heights[:-1], low)
    depth = weight * np.clip(overlap, 0.0, None) / np.diff(heights)
    shares = np.zeros((len(heights) - 1, len(parts), len(mesh.triangles)))
    owner = np.repeat(np.arange(len(parts)), [len(part.pieces) for part in parts])
    np.add.at(shares.transpose(1, 0, 2), owner, depth[:, :, None] * covered[:, None, :])
    np.clip(shares, 0.0, 1.0, out=shares)
    _refuse_overlap(parts, shares, mesh.areas)
    return Layers(heights, shares)


@lru_cache(maxsize=8)
def _covered(mesh: SectionMesh, outlines: tuple[Ring, ...]) -> Floats:
    """(outlines, nt): what share of each triangle lies inside each convex outline."""
    inside, cut = (np.empty((len(outlines), len(mesh.triangles)), dtype=bool) for _ in range(2))
    for corners in {len(outline) for outline in outlines}:
        which = [k for k, outline in enumerate(outlines) if len(outline) == corners]
        inside[which], cut[which] = _sides(mesh, np.array([outlines[k] for k in which]))
    made = inside.astype(np.float64)
    outline, triangle = np.nonzero(cut)
    rings = shapely.polygons([shapely.linearrings(outline) for outline in outlines])
    shapes = shapely.polygons(mesh.points[mesh.triangles])
    common = shapely.area(shapely.intersection(shapes[triangle], rings[outline]))
    made[outline, triangle] = common / mesh.areas[triangle]
    made.setflags(write=False)
    return made


def _sides(mesh: SectionMesh, corners: Floats) -> tuple[Flags, Flags]:
    """(k, nt) each: triangles inside convex outlines (k, n, 2), and those that an edge may cut."""
    side = np.roll(corners, -1, axis=1) - corners
    turn = np.sum(corners[..., 0] * side[..., 1] - corners[..., 1] * side[..., 0], axis=1)
    normal = np.stack([side[..., 1], -side[..., 0]], axis=-1) * np.where(turn < 0.0, -1.0, 1.0)[:, None, None]
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    out = mesh.points @ normal.transpose(0, 2, 1) - np.sum(normal * corners, axis=-1)[:, None, :]
    near = out[:, mesh.triangles]
    tolerance = 1e-6
    inside = np.all(near <= tolerance, axis=(2, 3))
    outside = np.any(np.all(near >= -tolerance, axis=2), axis=2)
    return inside & ~outside, ~inside & ~outside


def _refuse_overlap(parts: Sequence[Part], shares: Floats, areas: Floats) -> None:
    excess = np.clip(shares.sum(axis=1) - 1.0, 0.0, None) @ areas
    section = np.clip(shares.sum(axis=1), 0.0, 1.0) @ areas
    worst = int(np.argmax(excess / np.maximum(section, 1e-12)))
    if excess[worst] <= OVERLAP_SHARE * section[worst]:
        return
    both = np.einsum("pt,qt,t->pq", shares[worst], shares[worst], areas)
    np.fill_diagonal(both, 0.0)
    first, second = divmod(int(np.argmax(both)), len(parts))
    raise NotStated(
        reason=f"{parts[first].name} and {parts[second].name} stand in the same place "
        f"({1e4 * excess[worst]:.3g} cm² of the section)"
    )


def elastic(parts: Sequence[Part], layers: Layers) -> Elastic:
    """Properties of every triangle by volume share; empty triangles get zero.

    Raises `NotStated` where a material lacks modulus, Poisson's ratio or density.
    """
    constants = np.asarray(
        [(*lame(p.material), stated(p.material.density, f"{p.material.path}.density")) for p in parts]
    )
    mixed = np.einsum("lpt,pk->klt", layers.shares, constants)
    mixed[:, ~layers.filled] = 0.0
    return Elastic(mixed[0], mixed[1], mixed[2])
