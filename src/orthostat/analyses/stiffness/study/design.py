"""What a study varies: one column by its plan, walls, plates, materials, joint, table and stations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from orthostat.analyses.stiffness.build import Part, Piece, lame
from orthostat.analyses.stiffness.inputs import BodyInputs, JointSprings, Place, Table
from orthostat.analyses.stiffness.section import Floats, Indices, Ring
from orthostat.analyses.stiffness.study.topology import (
    CORE,
    FILL,
    FLANGE,
    RINGS,
    WALL,
    Topology,
    area,
    following,
    half_planes,
    pieces_of,
    preceding,
    ring_controls,
    topology,
)
from orthostat.base.dimensions import Kilogram, Metre, Ratio
from orthostat.base.findings import NotStated, stated
from orthostat.model.bodies import Polygon, Role
from orthostat.model.materials import Material

SOLID_WALL = 0.35
"""Where the rings of a solid column part, as a share of its smallest face distance: any would do."""
PLAIN_CORE = 0.5
NEAR = 0.35
"""Height of the zone above the base plate in which sections still feel it, as a share of the yardstick."""
NEAR_MOST = 0.4
"""The same, at most, as a share of the height between base plate and lid."""
BARE_FLANGE = 0.1
NONE, NO_CORE, RIGID_TABLE = Metre(0.0), Ratio(0.0), Table()


@dataclass(frozen=True, slots=True)
class StudyDesign:
    """One column of a study, in the body's frame, its first side looking to +z.

    corners: the outline x, z [m], counter-clockwise with x to the right and z up; side k runs from corner
    k - 1 to corner k. walls: one thickness a side, none for a solid column. core: size of a void in the
    middle of the fill as a share of the cavity's. base, lid: thicknesses, zero for none. overhang: of the
    base plate beyond each side, none for a plate as large as the outline.
    """

    corners: Ring
    height: Metre
    wall: Material
    joint: JointSprings
    walls: tuple[Metre, ...] = ()
    fill: Material | None = None
    core: Ratio = NO_CORE
    base: Metre = NONE
    base_material: Material | None = None
    overhang: tuple[Metre, ...] = ()
    lid: Metre = NONE
    lid_material: Material | None = None
    table: Table = RIGID_TABLE
    places: tuple[Place, ...] = ()

    @property
    def kind(self) -> str:
        """`solid`, `hollow`, `filled`, or `cored` where the fill has a void."""
        if not self.walls:
            return "solid"
        if self.fill is None:
            return "hollow"
        return "cored" if self.core > 0.0 else "filled"

    @property
    def topology(self) -> Topology:
        """The triangulation of its family."""
        return topology(len(self.corners), hollow=self.kind == "hollow")

    @property
    def yardstick(self) -> float:
        """Side of the square as large as the outline [m]."""
        return float(np.sqrt(area(np.asarray(self.corners))))


@dataclass(frozen=True, slots=True)
class Shape:
    """A design's outlines (n, 2) [m] and the controls of its triangulation."""

    outer: Floats
    inner: Floats
    flange: Floats
    angles: Floats
    distances: Floats
    controls: Floats


def shape_of(design: StudyDesign) -> Shape:
    """Outlines of a design. Raises `NotStated` where it can't be built."""
    return _shape(design.corners, design.walls, design.core, design.overhang, hollow=design.kind == "hollow")


@lru_cache(maxsize=16)
def _shape(
    corners: Ring, walls_of: tuple[Metre, ...], core: Ratio, overhangs: tuple[Metre, ...], *, hollow: bool
) -> Shape:
    outer = np.asarray(corners)
    sides = len(outer)
    before = preceding(outer)
    along = outer - before
    lengths = np.sqrt((along**2).sum(axis=1))
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1) / lengths[:, None]
    angles = np.arctan2(normal[:, 0], normal[:, 1])
    distances = (normal * outer).sum(axis=1)
    size = float(np.sqrt(abs(area(outer))))
    walls = np.asarray(walls_of) if walls_of else np.full(sides, SOLID_WALL * reach_of(outer))
    overhang = np.asarray(overhangs) if overhangs else np.full(sides, BARE_FLANGE * size)
    if len(walls) != sides or len(overhang) != sides:
        raise NotStated(reason=f"a plan of {sides} sides wants {sides} walls and overhangs")
    inner = half_planes(angles, distances - walls)
    flange = half_planes(angles, distances + overhang)
    if not (_turns_left(outer) and _turns_left(inner) and _turns_left(flange)):
        raise NotStated(reason="the outline is not convex or the walls meet")
    hole = core if core > 0.0 else PLAIN_CORE
    controls = ring_controls(outer, inner, hole, flange, pieces_of(sides, hollow=hollow))
    return Shape(outer, inner, flange, angles, distances, controls)


def sides_of(shape: Shape, places: Sequence[Place]) -> Indices:
    """(places,) the side that each station lies on."""
    out = np.array([place.out for place in places]).reshape(-1, 3)
    facing = np.arctan2(out[:, 0], out[:, 2])
    return np.asarray(np.argmax(np.cos(shape.angles - facing[:, None]), axis=1))


def reach_of(corners: Floats) -> float:
    """Half of a plan's narrowest width [m]."""
    along = corners - preceding(corners)
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.linalg.norm(along, axis=1)[:, None]
    across = corners @ normal.T
    return float(0.5 * np.ptp(across, axis=0).min())


def _turns_left(corners: Floats) -> bool:
    edge = following(corners) - corners
    after = following(edge)
    return bool(np.all(edge[:, 0] * after[:, 1] - edge[:, 1] * after[:, 0] > 0.0))


@dataclass(frozen=True, slots=True)
class Pressed:
    """What of a design's underside the joint presses: its share, and how far its middle lies off the
    underside's [m].
    """

    share: float
    aside: float


def pressed_of(design: StudyDesign) -> Pressed:
    """All of it where no contact area is told."""
    if not design.joint.contact:
        return Pressed(1.0, 0.0)
    shape = shape_of(design)
    foot = shape.flange if design.overhang and design.base > 0.0 else shape.outer
    return _pressed(design.joint.contact, foot.tobytes())


@lru_cache(maxsize=64)
def _pressed(contact: tuple[Polygon, ...], foot_of: bytes) -> Pressed:
    foot = shapely.Polygon(np.frombuffer(foot_of).reshape(-1, 2))
    pressed = shapely.intersection(_region(contact), foot)
    aside = pressed.centroid.distance(foot.centroid) if pressed.area > 0.0 else 0.0
    return Pressed(pressed.area / foot.area, aside)


@lru_cache(maxsize=64)
def _region(contact: tuple[Polygon, ...]) -> shapely.Geometry:
    made = shapely.unary_union([shapely.Polygon(polygon.points) for polygon in contact])
    shapely.prepare(made)
    return made


@dataclass(frozen=True, slots=True)
class Storeys:
    """Layers of a design: levels (m + 1,) [m], constants (m, rings, 3) λ, µ [Pa] and density [kg/m³] (zero
    where empty), losses (m, rings) the materials' loss factors (not a number where not
    stated), and one letter for each layer: B base plate, N near it, M middle, L lid.
    """

    levels: Floats
    constants: Floats
    losses: Floats
    layout: str


def storeys_of(design: StudyDesign) -> Storeys:
    """The layers of a design. Raises `NotStated` for a material without a property or no height."""
    bottom, top = design.base, design.height - design.lid
    if top - bottom <= 0.0:
        raise NotStated(reason="base plate and lid leave no height between them")
    near = min(NEAR * design.yardstick, NEAR_MOST * (top - bottom))
    walls = _constants(design.wall)
    inside = [walls, walls] if not design.walls else [_constants(design.fill), _constants(design.fill)]
    body = np.zeros((RINGS, 3))
    body[WALL] = walls
    body[FILL], body[CORE] = inside
    if design.core > 0.0:
        body[CORE] = 0.0
    layers, letters, levels = [body, body], "NM", [bottom, bottom + near, top]
    lost = np.full(RINGS, _loss(design.wall))
    if design.walls:
        lost[[FILL, CORE]] = _loss(design.fill)
    losses = [lost, lost]
    if design.base > 0.0:
        plate = np.tile(_constants(design.base_material or design.wall), (RINGS, 1))
        plate[FLANGE] *= 1.0 if design.overhang else 0.0
        layers, letters, levels = [plate, *layers], "B" + letters, [0.0, *levels]
        losses = [np.full(RINGS, _loss(design.base_material or design.wall)), *losses]
    if design.lid > 0.0:
        lid = np.tile(_constants(design.lid_material or design.wall), (RINGS, 1))
        lid[FLANGE] = 0.0
        layers, letters, levels = [*layers, lid], letters + "L", [*levels, design.height]
        losses = [*losses, np.full(RINGS, _loss(design.lid_material or design.wall))]
    return Storeys(np.array(levels), np.array(layers), np.array(losses), letters)


def _loss(material: Material | None) -> float:
    if material is None:
        return 0.0
    return float("nan") if material.loss_factor is None else float(material.loss_factor)


def loss_factors(design: StudyDesign) -> tuple[float, float]:
    """Of joint and table, not a number where the joint's is not stated; the table damps as the joint does
    where its own is not.
    """
    joint, table = design.joint.loss_factor, design.table.loss_factor
    of_joint = float("nan") if joint is None else float(joint)
    return of_joint, of_joint if table is None else float(table)


def _constants(material: Material | None) -> Floats:
    if material is None:
        return np.zeros(3)
    first, shear = lame(material)
    return np.array([first, shear, stated(material.density, f"{material.path}.density")])


def body_of(design: StudyDesign, name: str = "study") -> BodyInputs:
    """The same column for the quick and the full model."""
    shape = shape_of(design)
    outline = _ring(shape.outer)
    inner = shape.inner
    low, high = design.base, design.height - design.lid

    def part(role: Role, material: Material, *pieces: Piece) -> Part:
        return Part(role.value, material.path, role, material, pieces)

    def piece(ring: Ring, start: float, end: float, weight: float = 1.0) -> Piece:
        return Piece(ring, Metre(start), Metre(end), weight, bounds=True)

    if not design.walls:
        parts = [part(Role.SOLID, design.wall, piece(outline, low, high))]
    else:
        cavity = _ring(inner)
        parts = [
            part(Role.PLATE, design.wall, piece(outline, low, high), piece(cavity, low, high, -1.0)),
        ]
        if design.fill is not None:
            pieces = [piece(cavity, low, high)]
            if design.core > 0.0:
                middle = shape.controls[3 * len(inner)]
                pieces.append(piece(_ring(middle + design.core * (inner - middle)), low, high, -1.0))
            parts.append(part(Role.FILL, design.fill, *pieces))
    if design.base > 0.0:
        foot = _ring(shape.flange) if design.overhang else outline
        parts.insert(0, part(Role.BASE_PLATE, design.base_material or design.wall, piece(foot, 0.0, low)))
    if design.lid > 0.0:
        parts.append(part(Role.LID, design.lid_material or design.wall, piece(outline, high, design.height)))
    return BodyInputs(
        name=name, parts=tuple(parts), width=Metre(design.yardstick), height=design.height,
        joint=design.joint, table=design.table, places=design.places,
    )  # fmt: skip


def mass_of(design: StudyDesign) -> Kilogram:
    """Of the column itself, from its outlines."""
    storeys, shape = storeys_of(design), shape_of(design)
    mesh = design.topology.mesh(shape.controls)
    by_ring = np.bincount(design.topology.region, weights=mesh.areas, minlength=RINGS)
    return Kilogram(float(np.diff(storeys.levels) @ storeys.constants[:, :, 2] @ by_ring))


def _ring(corners: Floats) -> Ring:
    return tuple((round(float(x), 9), round(float(z), 9)) for x, z in corners)
