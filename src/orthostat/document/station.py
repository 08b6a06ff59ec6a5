"""Stations: what hangs on a face and what is cut there, as typed."""

from typing import Annotated, Literal

from pydantic import Field

from orthostat.document.parts import Faces, Name, Pair, Part, Placed, Polygon, Range, Text
from orthostat.document.quantities import (
    Angle,
    CuttingSpeed,
    Feed,
    Force,
    Length,
    Mass,
    Moment,
    PositiveRatio,
    Ratio,
    Size,
    Stress,
)


class Cylinder(Part):
    """A cylinder along one of the face's directions."""

    diameter: Size
    length: Size
    along: Literal["u", "v", "w"] = "w"


class Prism(Part):
    """A convex outline across the face, swept outward."""

    points: Polygon
    depth: Size


class Solid(Part):
    """One body of a station, placed from the station's origin; give one of the three shapes."""

    name: Name | None = None
    what: Literal["fixture", "part", "clamp"]
    box: Annotated[tuple[Size, Size, Size], Field()] | None = None
    """Across (u), up (v) and outward (w)."""
    cylinder: Cylinder | None = None
    prism: Prism | None = None
    at: Pair | None = None
    """Its middle across and up; the station's origin if left out."""
    stands_at: Length | None = None
    """Height of its foot over the face (w); on the face if left out."""
    material: Name | None = None
    mass: Mass | None = None


class Screws(Placed):
    """Screws of a fixture into the face."""

    thread: Name
    grade: Name | None = None
    engagement: Size | None = None
    torque: Moment | None = None
    preload: Force | None = None
    friction: Ratio | None = None
    """Of thread and head, least."""
    tightening: Name | None = None
    """A catalogue row of tightening methods."""
    scatter: PositiveRatio | None = None
    grip: Size | None = None
    """Thickness under the head; that of the fixture where it stands, if left out."""
    hole: Size | None = None
    """Clearance hole in the fixture; ISO 273 medium if left out."""


class Dowels(Placed):
    """Dowels of a fixture into the face."""

    diameter: Size
    fit: Name | None = None
    relieved: Annotated[bool, Field(strict=True)] = False
    engagement: Size | None = None
    """Length in the face's bore."""
    length_above: Size | None = None
    """Length pressed into the fixture."""
    shear_strength: Stress | None = None
    material: Name | None = None


class Region(Part):
    """What a mill must machine: ranges across and up, or a convex outline."""

    u: Annotated[Range, Field(min_length=2)] | None = None
    v: Annotated[Range, Field(min_length=2)] | None = None
    points: Polygon | None = None


class Cut(Placed):
    """One cut; places and region are seen from the spindle, from the station's origin."""

    name: Name | None = None
    kind: Literal["face", "shoulder", "slot", "drill", "bore", "tap", "thread"]
    tool: Name
    side: Literal["front", "left", "right"] | None = None
    """Of the station, seen from the front."""
    turn: Angle | None = None
    """Any other B angle away from the station's own face; +90 deg shows its right side."""
    region: Region | None = None
    top: Length
    """Height of the uncut surface over the station's origin, toward the spindle."""
    depth: Size
    speed: CuttingSpeed | None = None
    feed: Feed | None = None
    width: Size | None = None
    """Radial engagement."""
    pass_depth: Size | None = None
    start_diameter: Size | None = None
    material: Name | None = None
    tolerance: Size | None = None
    through: Annotated[bool, Field(strict=True)] = False
    feed_direction: Angle | None = None


class Fixture(Part):
    """What a station carries; may be named once in the shop or column and used by many stations."""

    bodies: tuple[Solid, ...] = ()
    screws: tuple[Screws, ...] = ()
    dowels: tuple[Dowels, ...] = ()
    friction: Ratio | None = None
    """Least friction between fixture and face."""
    cuts: tuple[Cut, ...] = ()
    note: Text | None = None


class Station(Fixture, Placed):
    """A fixture on one or more faces, at one or more places (u, v)."""

    name: Name
    faces: Faces
    fixture: Name | None = None
    """Name of a fixture of the column or shop that this station starts from."""
