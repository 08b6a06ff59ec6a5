"""What clamps and locates one thing on another, as typed: studs, washers, sleeves, pins, keys."""

from typing import Literal

from orthostat.document.parts import Name, Part, Placed, Platform
from orthostat.document.quantities import (
    Angle,
    Force,
    Length,
    Moment,
    PositiveRatio,
    Ratio,
    Size,
    Stress,
)


class Sleeve(Part):
    """A tube round a stud that keeps the fill off it."""

    outside: Size
    inside: Size
    material: Name | None = None


class Washer(Part):
    """The washer under a nut or head."""

    outside: Size
    inside: Size | None = None
    thickness: Size
    material: Name | None = None


class Studs(Placed):
    """Studs or screws that clamp the column to what it stands on; places are plan (x, z)."""

    name: Name | None = None
    thread: Name
    grade: Name | None = None
    seat: Literal["top", "base plate", "cleat"] | Length = "top"
    """Where nut or head bears; a length is a height above the column's underside."""
    engagement: Size | None = None
    """Thread engaged in the pallet."""
    hole: Size | None = None
    """Clearance hole; ISO 273 medium if left out."""
    sleeve: Sleeve | None = None
    washer: Washer | None = None
    torque: Moment | None = None
    preload: Force | None = None
    thread_friction: PositiveRatio | None = None
    head_friction: PositiveRatio | None = None
    nut_factor: PositiveRatio | None = None
    tightening: Name | None = None
    """A catalogue row of tightening methods."""
    scatter: PositiveRatio | None = None
    material: Name | None = None


class Pins(Placed):
    """Locating pins or keys between column and pallet; places are plan (x, z)."""

    name: Name | None = None
    diameter: Size
    """Of the pin; of a key, its width."""
    kind: Literal["round", "relieved", "key"] = "round"
    direction: Angle | None = None
    """Relieved pin or key: the plan direction it locates in, from +x toward +z."""
    fit_below: Name | None = None
    fit_above: Name | None = None
    length_below: Size | None = None
    length_above: Size | None = None
    shear_strength: Stress | None = None
    material: Name | None = None


class Raised(Platform):
    """A platform that is itself held down on what is under it: an intermediate base, a riser."""

    studs: tuple[Studs, ...] = ()
    """What clamps it; a `seat` of "top" is its own top face."""
    pins: tuple[Pins, ...] = ()
    friction: Ratio | None = None
    """Least friction under it."""
