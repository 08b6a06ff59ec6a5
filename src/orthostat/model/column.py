"""The column as one frozen value, with everything it stands on and carries."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Metre, Newton, NewtonMetre, Pascal, Radian, Ratio
from orthostat.base.frames import b_facing
from orthostat.model.bodies import Body, Face, Point2, Polygon
from orthostat.model.joining import Joint, Seam
from orthostat.model.machine import Machine, Platform
from orthostat.model.materials import Material
from orthostat.model.pouring import Pour
from orthostat.model.stations import FacePattern, Station
from orthostat.model.tools import Bench, Tool


@dataclass(frozen=True, slots=True)
class Stud:
    """A stud or screw that clamps the column down; heights are y above the pallet top [m]."""

    name: str
    path: str
    at: Point2
    """(x, z) [m]."""
    thread: str
    grade: str | None
    bottom: Metre
    """Lower end (negative: in the pallet)."""
    seat: Metre
    """Height of the surface the washer or head bears on."""
    seat_on: str
    """`top`, `base plate`, `cleat` or `height`."""
    engagement: Metre | None = None
    hole_diameter: Metre | None = None
    sleeve_outside: Metre | None = None
    sleeve_inside: Metre | None = None
    sleeve_material: Material | None = None
    washer_outside: Metre | None = None
    washer_inside: Metre | None = None
    washer_thickness: Metre | None = None
    washer_material: Material | None = None
    torque: NewtonMetre | None = None
    preload: Newton | None = None
    """Stated mean preload, where torque is not how it is tightened."""
    thread_friction: Ratio | None = None
    head_friction: Ratio | None = None
    nut_factor: Ratio | None = None
    tightening: str | None = None
    """Name of a catalogue row of tightening methods (gives the scatter)."""
    scatter: Ratio | None = None
    material: Material | None = None


@dataclass(frozen=True, slots=True)
class Pin:
    """A locating pin or key between column and what it stands on."""

    name: str
    path: str
    at: Point2
    diameter: Metre
    kind: str
    """`round`, `relieved` or `key`."""
    direction: Radian | None
    """For a relieved pin or key: the plan direction in which it locates, from +x toward +z."""
    fit_below: str | None
    fit_above: str | None
    """Fit in what it stands on and in the column, such as `H7/m6` and `H7/g6`."""
    length_below: Metre | None
    length_above: Metre | None
    hole_below: Metre | None = None
    hole_above: Metre | None = None
    shear_strength: Pascal | None = None
    material: Material | None = None


@dataclass(frozen=True, slots=True)
class Fastening:
    """How a riser or an intermediate base is itself held on what is under it."""

    path: str
    studs: tuple[Stud, ...] = ()
    pins: tuple[Pin, ...] = ()
    contact: tuple[Polygon, ...] = ()
    """Where it touches, in plan (x, z); its whole underside when left empty."""
    friction: Ratio | None = None


@dataclass(frozen=True, slots=True)
class Tube:
    """A void former in the fill: round (`outside` diameter) or polygonal outline, (x, z) plan."""

    name: str
    path: str
    at: Point2
    outside: Metre | None
    wall: Metre | None
    outline: Polygon | None
    material: Material | None
    bottom: Metre
    top: Metre
    sealed_foot: bool | None
    closed_bottom: bool
    stuffed: bool


@dataclass(frozen=True, slots=True)
class Anchor:
    """A bar from a plate into the fill."""

    face: int
    at: Point2
    """(u, v) [m]."""
    diameter: Metre
    length: Metre
    """Into the fill from the plate's inner surface."""
    head_diameter: Metre | None
    path: str


@dataclass(frozen=True, slots=True)
class BodyShape:
    """How the column's walls are made."""

    kind: str
    """`filled`, `hollow`, `cored` or `solid`."""
    corners: str
    """`butt`, `alternate` or `mitred`."""
    thicknesses: tuple[Metre, ...]
    """Wall thickness behind each face, in face order; empty for a solid."""
    bottom: Metre
    top: Metre
    """Height range of the walls."""
    inner: Polygon | None
    """The cavity's plan (x, z), before tubes and sleeves."""
    bonded: bool | None = None


@dataclass(frozen=True, slots=True)
class Column:
    """Everything the analyses need about one design."""

    name: str
    path: str
    shape: str
    """`square`, `slab`, `triangle`, `hexagon` or `polygon`."""
    outline: Polygon
    """Plan of the side faces (x, z) in the column frame (its position and turn applied)."""
    height: Metre
    """Top of the column above the pallet top (riser included)."""
    base_height: Metre
    """Underside of the column above the pallet top: 0, or what base and riser add."""
    faces: tuple[Face, ...]
    shape_of_body: BodyShape | None
    bodies: tuple[Body, ...]
    """The column's own pieces (roles in COLUMN_ROLES and FASTENING_ROLES)."""
    platforms: tuple[Body, ...]
    """Pallet (below y = 0), intermediate base and riser (above it) as bodies."""
    studs: tuple[Stud, ...]
    pins: tuple[Pin, ...]
    tubes: tuple[Tube, ...]
    anchors: tuple[Anchor, ...]
    patterns: tuple[FacePattern, ...]
    stations: tuple[Station, ...]
    machine: Machine | None
    pallet: Platform | None
    base: Platform | None
    riser: Platform | None
    tools: tuple[Tool, ...]
    truing_depth: Metre | None = None
    truing_tools: tuple[str, ...] | None = None
    """Tools that may true the faces; `None` for every mill of the shop."""
    base_contact: tuple[Polygon, ...] = ()
    """Where the column touches what it stands on, in plan (x, z)."""
    fill_material: Material | None = None
    joint_friction: Ratio | None = None
    """Least friction between the column and what it stands on, where stated."""
    pour: Pour | None = None
    """How the fill is cast; `None` where there is no fill."""
    base_flatness: Metre | None = None
    """How far the column's underside may be out of flat."""
    base_fastening: Fastening | None = None
    """What holds the intermediate base on the pallet."""
    riser_fastening: Fastening | None = None
    """What holds the riser on what is under it."""
    seams: tuple[Seam, ...] = ()
    """Where pieces of the body meet; empty for one that is made in one piece."""
    bench: Bench | None = None
    """What the shop makes holes with off the machine."""
    joints: tuple[Joint, ...] = ()
    """What joins them, as far as it is stated."""

    def b_of(self, angle: Radian) -> Radian:
        """Where B stands, in [0, 2π), when the direction `angle` faces the spindle; +B clockwise from above
        (ISO 841) where no machine is stated.
        """
        return b_facing(angle) if self.machine is None else self.machine.b_of(angle)
