"""What the hold analysis takes for a stud or screw, a pin and the joint they make: frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.loads.inputs import Span
from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    Newton,
    NewtonMetre,
    Pascal,
    PascalPerMetre,
    PerKelvin,
    Ratio,
    SquareMetre,
)
from orthostat.base.frames import Vector
from orthostat.model.bodies import Point2, Polygon


@dataclass(frozen=True, slots=True)
class Thread:
    """Sizes of a thread that the bolting formulas need (basic profile)."""

    name: str
    nominal: Metre
    pitch: Metre
    pitch_diameter: Metre
    minor_diameter: Metre
    """Of the internal thread, D1."""
    root_area: SquareMetre
    stress_area: SquareMetre


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of what a stud clamps, from the washer down. `area` is set where the whole wall
    section carries and no cone forms (a stud in the open inside of a hollow column).
    """

    name: str
    thickness: Metre
    modulus: Pascal | None
    expansion: PerKelvin | None
    creeps: bool = False
    area: SquareMetre | None = None
    path: str = ""
    """Of its material, or of the key that would name one."""

    def key(self, name: str) -> str:
        """Document key path that would state a property of its material."""
        return f"{self.path}.{name}" if self.path.startswith("materials.") else self.path


@dataclass(frozen=True, slots=True)
class Fastener:
    """A stud or screw as it stands in a joint; what was not stated is `None`.

    `at` is in the joint's plane [m]; `missing` names the key paths of what is absent by field.
    """

    name: str
    path: str
    at: Point2
    thread: Thread | None
    grade: str | None
    yield_strength: Pascal | None
    proof_stress: Pascal | None
    engaged: Metre | None
    """Length of thread in what it screws into; zero or less when it does not reach."""
    free_length: Metre | None
    """From the first engaged thread to the nut."""
    modulus: Pascal | None
    shear_modulus: Pascal | None
    expansion: PerKelvin | None
    torque: NewtonMetre | None
    preload: Newton | None
    thread_friction: Ratio | None
    head_friction: Ratio | None
    nut_factor: Ratio | None
    scatter: Ratio | None
    bearing_outside: Metre | None
    """Outside diameter of the nut's or head's own bearing face."""
    washer_outside: Metre | None
    washer_thickness: Metre | None
    hole: Metre | None
    layers: tuple[Layer, ...] | None
    available_diameter: Metre | None
    """Width that the pressure cone can spread to."""
    seat_limit: Pascal | None
    """Surface pressure that what is under the washer can bear."""
    seat_path: str
    mating_modulus: Pascal | None
    mating_shear: Pascal | None
    """Shear strength of what it screws into."""
    mating_path: str
    stud_shear: Pascal | None = None
    """Shear strength of the stud's own thread."""
    twisted: bool = True
    """Whether tightening turns it, so that friction in the thread twists it."""
    nut: bool = True
    interfaces: int = 1
    """Joint faces between nut and thread, for embedding."""
    bonded_expansions: tuple[PerKelvin, ...] = ()
    """How the fill may grow where plates are bonded to it: as the plates, as plates and fill together."""
    grade_fault: str = ""
    thread_fault: str = ""

    def key(self, field: str) -> str:
        """Document key path of one of its fields; a fixture's screw has fewer of them than a stud."""
        return f"{self.path}.{field if self.nut else _SCREW_KEYS.get(field, field)}"


_SCREW_KEYS = {
    "thread_friction": "friction",
    "head_friction": "friction",
    "washer": "thread",
    "seat": "grip",
    "material": "grade",
}


@dataclass(frozen=True, slots=True)
class Dowel:
    """A pin or key in a joint's plane. `directions` are those it locates in (unit vectors)."""

    name: str
    path: str
    at: Point2
    directions: tuple[Point2, ...]
    diameter: Metre
    removable_play: tuple[Metre, Metre] | None
    """(least, greatest) diametral play in the part that comes off; negative is interference."""
    fixed_play: tuple[Metre, Metre] | None
    """The same in what stays."""
    length_above: Metre | None
    length_below: Metre | None
    shear_strength: Pascal | None
    bearing_above: Pascal | None
    """Bearing strength of the part above."""
    bearing_below: Pascal | None
    round: bool = True


@dataclass(frozen=True, slots=True)
class Embedding:
    """Depth that each kind of surface beds in."""

    thread: Metre
    seat: Metre
    interface: Metre


@dataclass(frozen=True, slots=True)
class Plane:
    """Where a joint lies in the column frame: origin [m] and its axes x, y (out of the joint), z."""

    origin: Vector
    x: Vector
    y: Vector
    z: Vector


@dataclass(frozen=True, slots=True)
class Losses:
    """What a joint takes off the preload of all its studs."""

    embedding: Embedding
    creep: Span
    temperature: KelvinDifference | None
    """Half range of temperature the joint sees after tightening."""
    temperature_path: str


@dataclass(frozen=True, slots=True)
class Joint:
    """One interface of the stack: a patch, what presses it together, and what locates it."""

    name: str
    path: str
    plane: Plane
    pieces: tuple[Polygon, ...] | None
    """Convex pieces of the patch in the joint's plane; `None` when it is not stated."""
    pieces_path: str
    fasteners: tuple[Fastener, ...]
    fasteners_path: str
    dowels: tuple[Dowel, ...]
    friction: Ratio | None
    """Least friction."""
    friction_note: str
    friction_path: str
    contact: Span
    """Contact stiffness per area, low, likely, high [Pa/m]."""
    losses: Losses
    flatness: Metre | None
    flatness_path: str
    dowels_path: str
    """Of the list that its pins or dowels stand in, or would stand in."""
    hole_paths: tuple[str, str]
    """What would state what the wall of a pin's hole bears, above and below."""
    thin: Ratio | None = None
    """Characteristic bending length of the base over the reach from the studs; under 1 it is not rigid."""

    @property
    def contact_stiffness(self) -> PascalPerMetre:
        return PascalPerMetre(self.contact.likely)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Factors and shares wanted, from the shop or from the catalogue's practice rows."""

    slip_steady: Ratio
    slip_reversing: Ratio
    lift: Ratio
    utilisation: Ratio
    """Share of yield allowed while tightening."""
    source: str
