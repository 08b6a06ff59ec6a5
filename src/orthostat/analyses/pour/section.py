"""The plan section as a thermal body: plates, fill, voids and the room, by linear finite elements.

An endless column: nothing flows up or down, so the middle of a tall pour is met and its ends are
cooler. Capacity and heat are lumped at nodes. A void is one node of well-mixed air (or dry sand where
it is stuffed) behind the wall's resistance and a film.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi
from typing import Any

import numpy as np
import shapely
import skfem
from numpy.typing import NDArray
from scipy.sparse import csc_array
from skfem.helpers import dot, grad

from orthostat.analyses.pour.cup import Stuff
from orthostat.analyses.pour.inputs import Former, Inputs, Plate
from orthostat.analyses.pour.march import ThermalBody
from orthostat.analyses.pour.volumes import ring
from orthostat.base.dimensions import Metre, WattPerSquareMetreKelvin
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue.casting import assumption
from orthostat.meshing import MeshFault, Region, SectionMesh, mesh_section
from orthostat.model.bodies import Disc, Point2

Floats = NDArray[np.float64]
Ints = NDArray[np.integer[Any]]


Void = tuple[float, Ints, Floats]
"""Heat capacity of a void's node [J/(m K)], the mesh nodes on its wall, conductance to each [W/(m K)]."""


@dataclass(frozen=True)
class SectionPart:
    """What one metre of a section holds and leads, over the mesh nodes (n,), voids apart."""

    capacity: Floats
    """[J/(m K)]."""
    stiffness: csc_array
    """[W/(m K)], films not included."""
    along: Floats
    """Conductivity times area, for heat led up and down [W m/K]."""


@dataclass(frozen=True)
class Section:
    """A meshed section for one metre of column: nodes of the mesh first, then one for each void."""

    mesh: SectionMesh
    body: ThermalBody = field(repr=False)
    fill_nodes: Ints = field(repr=False)
    """Nodes of the fill."""
    fill_area: Floats = field(repr=False)
    """(nodes,) area of fill that belongs to each mesh node [m²]."""
    faces: tuple[tuple[str, Floats], ...] = field(repr=False)
    """For each plate, weights (nodes,) that give the mean temperature of its outer surface."""
    void_names: tuple[str, ...]
    voids: tuple[Void, ...] = field(repr=False)
    film: Floats = field(repr=False)
    """(n,) film outside [W/(m K)]."""
    walls: SectionPart = field(repr=False)
    """The plates alone, for heights that are not filled yet."""
    filled: SectionPart = field(repr=False)
    """Plates and fill."""

    @property
    def count(self) -> int:
        """Number of mesh nodes."""
        return len(self.mesh.points)


@dataclass(frozen=True, slots=True)
class Films:
    """Film coefficients: outside each plate (in plate order), and in voids."""

    outside: tuple[WattPerSquareMetreKelvin, ...]
    void: WattPerSquareMetreKelvin


def films(inputs: Inputs, *, end: str = "likely") -> Films:
    """The films of a pour: stated, or the catalogue's for still air (`end` low, likely or high)."""
    usual = inputs.pour.film
    if usual is None:
        usual = WattPerSquareMetreKelvin(getattr(assumption("film outside"), end))
    sides = inputs.pour.film_sides
    faces = sorted({plate.face for plate in inputs.plates if plate.face is not None})
    by_face = {face: sides[i] for i, face in enumerate(faces) if i < len(sides)}
    outside = tuple(by_face.get(plate.face or -1) or usual for plate in inputs.plates)
    return Films(outside, WattPerSquareMetreKelvin(getattr(assumption("film in a void"), end)))


def section(
    inputs: Inputs,
    stuff: Stuff,
    heat: float,
    around: Films,
    *,
    size: Metre,
    plates: tuple[Plate, ...] | None = None,
) -> Section:
    """The section at mid height; `heat` [J/m³] of fill over the whole cure, `size` [m] of its elements.

    Raises `NotStated` naming a missing conductivity, specific heat or density.
    """
    walls = inputs.plates if plates is None else plates
    standing = _standing(inputs)
    sides = _sides(size)
    rings = [ring(former, sides(former)) for former in standing]
    if not walls:
        raise NotStated(f"{inputs.path}.body", reason="no plate stands around the fill")
    regions = [Region(plate.name, plate.outline.points) for plate in walls]
    try:
        mesh = mesh_section((*regions, *_fill_regions(inputs, rings)), size)
    except MeshFault as fault:
        raise NotStated(f"{inputs.path}.body", reason=f"the section can't be meshed: {fault}") from fault
    conductivity, held = _properties(walls, stuff)
    of = np.minimum(mesh.region, len(walls))
    stiffness = stiffness_matrix(mesh, conductivity[of])
    third = mesh.areas / 3.0
    capacity = _lumped(mesh, third * held[of])
    fill = len(walls)
    fill_area = _lumped(mesh, np.where(of == fill, third, 0.0))
    film, faces = _outside(mesh, walls, around)
    links = tuple(_voids(mesh, standing, rings, around.void))
    body = _assembled(stiffness, capacity, film, fill_area * heat, links)
    bare = np.where(np.arange(len(conductivity)) == fill, 0.0, 1.0)
    walls_alone = SectionPart(
        _lumped(mesh, third * (held * bare)[of]),
        stiffness_matrix(mesh, (conductivity * bare)[of]),
        _lumped(mesh, third * (conductivity * bare)[of]),
    )
    whole = SectionPart(capacity, stiffness, _lumped(mesh, third * conductivity[of]))
    names = tuple(former.name for former in standing)
    return Section(
        mesh, body, np.flatnonzero(fill_area), fill_area, faces, names, links, film, walls_alone, whole
    )


def _fill_regions(inputs: Inputs, rings: list[tuple[Point2, ...]]) -> list[Region]:
    """The cavity less what stands in it; more than one region where formers part it."""
    left = shapely.Polygon(inputs.cavity.points).difference(
        shapely.unary_union([shapely.Polygon(r) for r in rings])
    )
    parts = [part for part in getattr(left, "geoms", [left]) if part.area > 1e-9]
    return [
        Region(
            "the fill",
            tuple((float(x), float(z)) for x, z in part.exterior.coords[:-1]),
            tuple(tuple((float(x), float(z)) for x, z in hole.coords[:-1]) for hole in part.interiors),
        )
        for part in parts
    ]


def _standing(inputs: Inputs) -> list[Former]:
    middle = 0.5 * (inputs.bottom + inputs.top)
    return [former for former in inputs.formers if former.bottom <= middle <= former.top]


def _sides(size: Metre) -> Any:
    def sides(former: Former) -> int:
        if not isinstance(former.section, Disc):
            return 0
        return int(min(48, max(10, round(2.0 * pi * former.section.radius / (0.8 * size)))))

    return sides


def _properties(walls: tuple[Plate, ...], stuff: Stuff) -> tuple[Floats, Floats]:
    """Conductivity and heat capacity per volume of each region, plates first."""
    conductivity, held = [], []
    for plate in walls:
        material = stated(plate.material, f"{plate.path}.material")
        path = material.path or plate.path
        missing = [
            f"{path}.{name}"
            for name in ("conductivity", "specific_heat", "density")
            if getattr(material, name) is None
        ]
        if (
            missing
            or material.conductivity is None
            or material.specific_heat is None
            or material.density is None
        ):
            raise NotStated(*missing)
        conductivity.append(float(material.conductivity))
        held.append(material.density * material.specific_heat)
    return np.array([*conductivity, stuff.conductivity]), np.array(
        [*held, stuff.density * stuff.specific_heat]
    )


def stiffness_matrix(mesh: SectionMesh, conductivity: Floats) -> csc_array:
    """∫ k ∇u·∇v on linear triangles [W/(m K)], with `conductivity` (triangles,) [W/(m K)]."""
    grid = skfem.MeshTri(mesh.points.T.copy(), mesh.triangles.T.copy())
    basis = skfem.Basis(grid, skfem.ElementTriP1())
    flat = basis.with_element(skfem.ElementTriP0())

    @skfem.BilinearForm  # type: ignore[untyped-decorator]  # scikit-fem has no types
    def conduct(u: Any, v: Any, w: Any) -> Any:
        return w["k"] * dot(grad(u), grad(v))

    return csc_array(conduct.assemble(basis, k=flat.interpolate(conductivity)))


def _lumped(mesh: SectionMesh, shares: Floats) -> Floats:
    """(nodes,) sums of a triangle's third over its corners."""
    total = np.zeros(len(mesh.points))
    for corner in range(3):
        np.add.at(total, mesh.triangles[:, corner], shares)
    return total


def _outside(
    mesh: SectionMesh, walls: tuple[Plate, ...], around: Films
) -> tuple[Floats, tuple[tuple[str, Floats], ...]]:
    """Film at each node [W/(m K)], and the outer surface of each plate as weights."""
    edges, owners = mesh.boundary_edges()
    plate_of = mesh.region[owners]
    ends = mesh.points[edges]
    length = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1)
    middle, centre = ends.mean(axis=1), mesh.points.mean(axis=0)
    film = np.zeros(len(mesh.points))
    faces = []
    for index, plate in enumerate(walls):
        mine = plate_of == index
        along = ends[mine, 1] - ends[mine, 0]
        normal = np.stack([along[:, 1], -along[:, 0]], axis=1) / length[mine][:, None]
        outward = np.sign(np.einsum("ij,ij->i", normal, middle[mine] - centre))[:, None] * normal
        weights = np.zeros(len(mesh.points))
        front = outward @ np.array(plate.normal) > 0.9
        for side in (0, 1):
            np.add.at(film, edges[mine, side], 0.5 * length[mine] * around.outside[index])
            np.add.at(weights, edges[mine][front, side], 0.5 * length[mine][front])
        if weights.sum() > 0.0:
            faces.append((plate.name, _frozen(weights / weights.sum())))
    return film, tuple(faces)


def _voids(
    mesh: SectionMesh, standing: list[Former], rings: list[tuple[Point2, ...]], film: WattPerSquareMetreKelvin
) -> list[Void]:
    edges, owners = mesh.boundary_edges()
    fill = mesh.names.index("the fill")
    inner = mesh.region[owners] >= fill
    edges = edges[inner]
    middle = mesh.points[edges].mean(axis=1)
    found: list[Void] = []
    for former, points in zip(standing, rings, strict=True):
        near = _near(middle, points)
        mine = edges[near]
        length = np.linalg.norm(mesh.points[mine[:, 0]] - mesh.points[mine[:, 1]], axis=1)
        area = abs(float(np.sum(_cross(np.array(points)))) / 2.0)
        passing = 1.0 / (1.0 / _inner_film(former, area, film) + _wall_resistance(former))
        nodes, place = np.unique(mine, return_inverse=True)
        conductance = np.zeros(len(nodes))
        for side in (0, 1):
            np.add.at(conductance, place.reshape(-1, 2)[:, side], 0.5 * length * passing)
        found.append((_void_capacity(former, area), nodes, conductance))
    return found


def _near(middles: Floats, points: tuple[Point2, ...]) -> NDArray[np.bool_]:
    """Which edge middles lie on a ring."""
    start = np.array(points)
    end = np.roll(start, -1, axis=0)
    along = end - start
    rel = middles[:, None, :] - start[None, :, :]
    share = np.clip(np.einsum("ijk,jk->ij", rel, along) / (along**2).sum(axis=1), 0.0, 1.0)
    off = np.linalg.norm(rel - share[:, :, None] * along[None, :, :], axis=2).min(axis=1)
    return np.asarray(off < 1e-6)


def _cross(points: Floats) -> Floats:
    nxt = np.roll(points, -1, axis=0)
    return np.asarray(points[:, 0] * nxt[:, 1] - nxt[:, 0] * points[:, 1])


def _inner_film(former: Former, area: float, film: WattPerSquareMetreKelvin) -> float:
    """Film to the void's air; for stuffing, its own resistance from wall to mean: 4 k/R of a cylinder."""
    if not former.stuffed:
        return float(film)
    radius = (area / pi) ** 0.5
    return float(4.0 * assumption("sand in a stuffed void, conductivity").likely / radius)


def _wall_resistance(former: Former) -> float:
    if former.wall is None:
        return 0.0
    material = stated(former.material, f"{former.path}.material")
    conductivity = stated(material.conductivity, f"{material.path or former.path}.conductivity")
    return float(former.wall / conductivity)


def _void_capacity(former: Former, area: float) -> float:
    name = "sand in a stuffed void, heat" if former.stuffed else "air in a void"
    held = area * assumption(name).likely
    material = former.material
    if former.wall is not None and material is not None and material.density and material.specific_heat:
        held += former.perimeter * former.wall * material.density * material.specific_heat
    return held


def _assembled(
    stiffness: csc_array, capacity: Floats, film: Floats, heat: Floats, voids: tuple[Void, ...]
) -> ThermalBody:
    count, total = len(capacity), len(capacity) + len(voids)
    coo = stiffness.tocoo()
    rows: list[Any] = [coo.coords[0], np.arange(count)]
    columns: list[Any] = [coo.coords[1], np.arange(count)]
    values: list[Any] = [coo.data, film]
    for k, (_, nodes, g) in enumerate(voids):
        own = np.full(len(nodes), count + k)
        rows += [nodes, own, nodes, own]
        columns += [nodes, own, own, nodes]
        values += [g, g, -g, -g]
    matrix = csc_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(total, total)
    )
    extra = np.zeros(len(voids))
    return ThermalBody(
        np.concatenate([capacity, [held for held, _, _ in voids]]),
        matrix,
        np.concatenate([film, extra]),
        np.concatenate([heat, extra]),
    )


def _frozen(array: Floats) -> Floats:
    array.setflags(write=False)
    return array
