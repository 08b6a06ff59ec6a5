"""Bodies: straight prisms and cylinders in local frames, added and cut, with a material."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from orthostat.base.dimensions import Kilogram, Metre
from orthostat.base.frames import PLAN, Frame
from orthostat.model.materials import Material

Point2 = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Disc:
    """A full circle in the local plane: centre [m], radius [m]."""

    centre: Point2
    radius: Metre


@dataclass(frozen=True, slots=True)
class Polygon:
    """A convex polygon in the local plane: vertices in order (either turn) [m]."""

    points: tuple[Point2, ...]


Section = Disc | Polygon


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex section swept along the third axis of `frame` from `low` to `high` [m].

    Hashed once: what is known of a body is looked up by its prisms, hundreds of them after every edit.
    """

    section: Section
    low: Metre
    high: Metre
    frame: Frame = PLAN
    _hash: int = field(default=0, init=False, repr=False, compare=False)

    def __hash__(self) -> int:
        if not self._hash:
            made = hash((self.section, self.low, self.high, self.frame.origin)) or 1
            object.__setattr__(self, "_hash", made)
        return self._hash


class Role(str, Enum):
    """What a body is for; rooms choose by role, never by name."""

    PLATE = "plate"
    """A side or end plate, or the wall of a casting."""
    SOLID = "solid"
    BASE_PLATE = "base plate"
    LID = "lid"
    CLEAT = "cleat"
    FILL = "fill"
    VOID_FORMER = "void former"
    """The wall of a form tube; what it encloses is empty."""
    SLEEVE = "sleeve"
    ANCHOR = "anchor"
    STUD = "stud"
    WASHER = "washer"
    NUT = "nut"
    """A nut, or the head of a screw."""
    PIN = "pin"
    SCREW = "screw"
    """A screw or dowel that joins two pieces of the column."""
    INSERT = "insert"
    FIXTURE = "fixture"
    PART = "part"
    CLAMP = "clamp"
    PALLET = "pallet"
    INTERMEDIATE_BASE = "intermediate base"
    RISER = "riser"


COLUMN_ROLES = frozenset(
    {
        Role.PLATE, Role.SOLID, Role.BASE_PLATE, Role.LID, Role.CLEAT, Role.FILL, Role.VOID_FORMER,
        Role.SLEEVE, Role.ANCHOR, Role.INSERT, Role.SCREW,
    }
)  # fmt: skip
"""Bodies that belong to the column itself: what is lifted when the bare column is lifted."""
FASTENING_ROLES = frozenset({Role.STUD, Role.WASHER, Role.NUT, Role.PIN})
STATION_ROLES = frozenset({Role.FIXTURE, Role.PART, Role.CLAMP})
STANDS_ON_ROLES = frozenset({Role.PALLET, Role.INTERMEDIATE_BASE, Role.RISER})


@dataclass(frozen=True, slots=True)
class Body:
    """One named piece: the union of `adds` less `cuts`.

    `adds` do not overlap one another; `cuts` lie inside `adds`, and those that cross one another do so along
    one axis, as a pocket and the holes in it (the consistency findings say when a design breaks this).
    `mass` overrides density times volume where the document states it.
    """

    name: str
    role: Role
    adds: tuple[Prism, ...]
    cuts: tuple[Prism, ...] = ()
    material: Material | None = None
    mass: Kilogram | None = None
    face: int | None = None
    """Number of the face it stands on or is the plate of."""
    station: str | None = None
    path: str = ""
    """Document key path it comes from, for messages."""
    _hash: int = field(default=0, init=False, repr=False, compare=False)

    def __hash__(self) -> int:
        """Hashed once, as a prism is."""
        if not self._hash:
            # Of numbers alone, as hashes of text differ from process to process; == tells the rest apart.
            made = hash((self.adds, self.cuts)) or 1
            object.__setattr__(self, "_hash", made)
        return self._hash

    @property
    def material_key(self) -> str:
        """Key path that states its material (a fill's own key names it)."""
        return self.path if self.role is Role.FILL else f"{self.path}.material"

    def property_key(self, name: str) -> str:
        """Key path that would state a property of its material: the material itself, where none is named."""
        return self.material_key if self.material is None else f"{self.material.path}.{name}"


@dataclass(frozen=True, slots=True)
class Face:
    """A side of the column that can carry work.

    Outward normal at `angle` about y; the plane lies `distance` from the B axis; `u_low..u_high`
    and `v_low..v_high` [m] bound it in face coordinates (u = 0 at the foot of the B axis' normal,
    v = 0 at the pallet top).
    """

    number: int
    """Counted from 1, going round with growing angle."""
    name: str
    angle: float
    distance: Metre
    u_low: Metre
    u_high: Metre
    v_low: Metre
    v_high: Metre
    is_end: bool = False

    @property
    def width(self) -> Metre:
        return Metre(self.u_high - self.u_low)

    @property
    def u_middle(self) -> Metre:
        return Metre(0.5 * (self.u_low + self.u_high))


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole on a face's own pattern or at a station: (u, v) [m], for a thread or a dowel."""

    at: Point2
    thread: str | None
    """Thread designation such as `M12`; `None` for a plain or dowel bore."""
    diameter: Metre
    depth: Metre
    insert_diameter: Metre | None = None
    insert_length: Metre | None = None
    fit: str | None = None
    path: str = field(default="", compare=False)
