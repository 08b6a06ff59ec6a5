"""`columns/NAME.toml`: one design, from the pallet up."""

from typing import Annotated, Literal

from pydantic import Field

from orthostat.document.casting import Pour
from orthostat.document.fastening import Pins, Raised, Studs
from orthostat.document.joining import Joints
from orthostat.document.parts import (
    Faces,
    Name,
    Outline,
    Pair,
    Part,
    Placed,
    Polygon,
    Text,
)
from orthostat.document.quantities import (
    Angle,
    Length,
    Ratio,
    Size,
    Thickness,
)
from orthostat.document.shop import Units
from orthostat.document.station import Fixture, Station


class Plan(Part):
    """The outline of the side faces. A regular plan takes one of the four sizes."""

    shape: Literal["square", "slab", "triangle", "hexagon", "polygon"]
    across_flats: Size | None = None
    """Square, hexagon: distance between opposite faces."""
    face_width: Size | None = None
    """Regular plans: width of one face."""
    face_distance: Size | None = None
    """Regular plans: centre to face."""
    stand_off: Length | None = None
    """Faces this far outside the pallet's edge (negative: inside); needs the pallet's plan."""
    width: Size | None = None
    """Slab: across its long faces."""
    thickness: Size | None = None
    """Slab: between its long faces."""
    points: Polygon | None = None
    """Polygon: corners (x, z) in order."""


class Body(Part):
    """How the walls are made."""

    kind: Literal["filled", "hollow", "cored", "solid"]
    material: Name | None = None
    plate: Size | None = None
    """Thickness of every plate (or wall of a casting)."""
    end_plate: Size | None = None
    """Slab: thickness of the two ends, where it differs."""
    plates: tuple[Size, ...] | None = None
    """Thickness behind each face in turn, where they differ."""
    corners: Literal["butt", "alternate", "mitred"] = "butt"
    """`butt`: each plate covers the next one's edge; `alternate`: faces 1, 3, … run through."""
    floor: Size | None = None
    """Cored casting: thickness of its closed bottom."""
    roof: Size | None = None
    """Cored casting: thickness of its closed top."""
    fill: Name | None = None
    """Material of the fill."""
    bonded: Annotated[bool, Field(strict=True)] | None = None
    """Whether plates stay bonded to the fill; both are reported if left out."""


class EndPlate(Outline):
    """A base plate or lid: flush with the faces, or with an overhang, or an outline of its own."""

    thickness: Size
    material: Name | None = None
    overhang: Thickness | None = None
    fit: Literal["across", "between"] = "across"
    """`across`: side plates stand on it (or it lies on them); `between`: it sits between them."""
    clearance: Thickness | None = None
    """`between`: gap to the side plates."""


class Lip(Part):
    """The register of a lid that keeps the sides square."""

    depth: Size
    width: Size | None = None
    """Of the ring; a full plug if left out."""
    clearance: Thickness | None = None


class Lid(EndPlate):
    """The lid, with its register lip."""

    lip: Lip | None = None


class Cleats(Placed):
    """Blocks at the foot of faces, for bolting down; `at` gives u along the face and v of the foot."""

    faces: Faces
    width: Size
    height: Size
    out: Size
    """How far it stands out from the face."""
    material: Name | None = None


class Anchors(Placed):
    """Bars from plates into the fill; places are on the face (u, v)."""

    faces: Faces = "all"
    diameter: Size
    length: Size
    """Into the fill, from the plate's inner side."""
    head_diameter: Size | None = None
    material: Name | None = None


class Tube(Part):
    """A void former in the fill: round, square (`width`) or any convex outline."""

    name: Name
    at: Pair | None = None
    outside: Size | None = None
    """Outside diameter of a round tube."""
    width: Size | None = None
    """Outside width of a square tube."""
    points: Polygon | None = None
    wall: Size | None = None
    material: Name | None = None
    bottom: Length | None = None
    """Height of its foot above the column's underside; on the base plate if left out."""
    top: Length | None = None
    sealed_foot: Annotated[bool, Field(strict=True)] | None = None
    closed_bottom: Annotated[bool, Field(strict=True)] = False
    stuffed: Annotated[bool, Field(strict=True)] = False


class Pockets(Placed):
    """Recesses cut into faces; places are on the face (u, v)."""

    faces: Faces
    depth: Size
    width: Size | None = None
    height: Size | None = None
    diameter: Size | None = None


class Insert(Part):
    """A threaded insert or a bush pressed into the plate."""

    diameter: Size
    length: Size


class Pattern(Placed):
    """Holes machined into faces for fixtures to come and go; places are (u, v)."""

    faces: Faces
    thread: Name | None = None
    """A tapped hole; leave out for a dowel bore."""
    diameter: Size | None = None
    """Of a dowel bore."""
    fit: Name | None = None
    """Of a dowel bore: its tolerance class, such as `H7`."""
    depth: Size
    insert: Insert | None = None


class Truing(Part):
    """Cutting the faces true on their own machine."""

    depth: Size | None = None
    """Stock taken off each face."""
    tools: tuple[Name, ...] | None = None
    """Tools that may do it; every mill of the shop if left out."""


class Pads(Placed):
    """Pads that the column stands on: round (`diameter`) or square (`width`, `depth`)."""

    diameter: Size | None = None
    width: Size | None = None
    depth: Size | None = None


class Foot(Part):
    """How the underside touches, where it is not a full face."""

    rim: Size | None = None
    """Width of a rim round the underside that alone touches."""
    pads: Pads | None = None


class Riser(Raised):
    """A block under the column."""


class Column(Part):
    """One design. Six lines make a start; every key more answers more questions."""

    name: Text | None = None
    note: Text | None = None
    units: Units | None = None
    machine: Name | None = None
    pallet: Name | None = None
    base: Name | None = None
    """Intermediate base that stays on the pallet."""
    height: Size
    """From the column's underside to its top, base plate and lid included."""
    turn: Angle | None = None
    """Angle of face 1, from +Z toward +X at B = 0."""
    position: Pair | None = None
    """Column axis (x, z) from the B axis."""
    v_from: Literal["pallet top", "column foot"] = "pallet top"
    """What heights v are measured from, where a base or riser lies between."""
    plan: Plan
    body: Body | None = None
    base_plate: EndPlate | None = None
    lid: Lid | None = None
    riser: Riser | None = None
    foot: Foot | None = None
    cleats: tuple[Cleats, ...] = ()
    studs: tuple[Studs, ...] = ()
    pins: tuple[Pins, ...] = ()
    joints: tuple[Joints, ...] = ()
    anchors: tuple[Anchors, ...] = ()
    tubes: tuple[Tube, ...] = ()
    pockets: tuple[Pockets, ...] = ()
    patterns: tuple[Pattern, ...] = ()
    fixtures: dict[Name, Fixture] = {}
    stations: tuple[Station, ...] = ()
    truing: Truing = Truing()
    pour: Pour | None = None
    joint_friction: Ratio | None = None
    """Least friction between the column and what it stands on."""
    base_flatness: Thickness | None = None
    """How far the column's underside may be out of flat."""
    build: dict[Name, Text] = {}
    """Free notes for the build book."""
