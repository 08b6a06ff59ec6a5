"""Small shapes that several documents share: places, faces, outlines, prices, plates of a base.

Modules of document parts do without `from __future__ import annotations`: pydantic wants annotations as
objects, and turning some six hundred texts into objects would take a while at every start.
"""

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints
from pydantic_core import PydanticCustomError

from orthostat.document.quantities import Angle, Length, Mass, Price, Size

Name = Annotated[str, StringConstraints(min_length=1, max_length=120, strict=True)]
Text = Annotated[str, StringConstraints(max_length=20_000, strict=True)]
Whole = Annotated[int, Field(strict=True, ge=0, le=10_000)]
Positive = Annotated[int, Field(strict=True, ge=1, le=10_000)]


class Part(BaseModel):
    """Base of every document part: frozen, no unknown keys, every key optional unless said."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


def _pair(raw: Any) -> Any:
    if not isinstance(raw, list) or len(raw) != 2:
        raise PydanticCustomError("pair", 'two lengths are wanted, such as ["40 mm", "120 mm"]')
    return raw


Pair = Annotated[tuple[Length, Length], BeforeValidator(_pair)]
"""Two lengths: a point across and up, or (x, z) in plan, or a range low to high."""


def one_or_more(raw: Any) -> Any:
    """A quantity that stands alone as a list of one."""
    return [raw] if isinstance(raw, str | int | float) and not isinstance(raw, bool) else raw


Range = Annotated[tuple[Length, ...], BeforeValidator(one_or_more), Field(min_length=1, max_length=2)]
"""One length (shared equally on both sides of zero) or the two ends, low first."""


class QuotedPrice(Part):
    """A price with its range and the day it was quoted."""

    low: Price | None = None
    likely: Price
    high: Price | None = None
    date: dt.date | None = None
    note: Text | None = None


def _price(raw: Any) -> Any:
    return {"likely": raw} if isinstance(raw, str | int | float) and not isinstance(raw, bool) else raw


PriceOf = Annotated[QuotedPrice, BeforeValidator(_price)]
"""A price as one text, or a table with `low`, `likely`, `high` and `date`."""


class Grid(Part):
    """A rectangular grid of places."""

    across: Positive = 1
    up: Positive = 1
    pitch: Annotated[tuple[Size, ...], BeforeValidator(one_or_more), Field(min_length=1, max_length=2)]
    """One pitch, or pitch across and pitch up."""
    middle: Pair
    """Place of the grid's middle."""


class Circle(Part):
    """Places on a bolt circle."""

    diameter: Size
    count: Positive
    start: Angle | None = None
    """Angle of the first place, from +Z toward +X in plan, from up toward the right on a face."""
    middle: Pair | None = None


def _points(raw: Any) -> Any:
    if isinstance(raw, list) and len(raw) == 2 and not any(isinstance(item, list) for item in raw):
        return [raw]
    return raw


Points = Annotated[tuple[Pair, ...], BeforeValidator(_points), Field(max_length=2_000)]
"""One point or a list of points."""


class Placed(Part):
    """Where things stand: `at` (one place or a list), a `grid`, or a `circle`; they add up."""

    at: Points = ()
    grid: Grid | None = None
    circle: Circle | None = None


def _faces(raw: Any) -> Any:
    if isinstance(raw, bool):
        raise PydanticCustomError("faces", 'faces are numbers from 1, or "all", "long" or "ends"')
    if isinstance(raw, int):
        return [raw]
    if isinstance(raw, str):
        if raw not in ("all", "long", "ends"):
            raise PydanticCustomError("faces", 'faces are numbers from 1, or "all", "long" or "ends"')
        return raw
    return raw


Faces = Annotated[Literal["all", "long", "ends"] | tuple[Positive, ...], BeforeValidator(_faces)]
"""A face number, a list of them, or `all`, `long` (all but the ends of a slab), `ends`."""

Polygon = Annotated[tuple[Pair, ...], Field(min_length=3, max_length=200)]
"""Corners of a convex outline in order."""


class Outline(Part):
    """A plan outline: width (x) and depth (z), a diameter, or corner points."""

    width: Size | None = None
    depth: Size | None = None
    diameter: Size | None = None
    points: Polygon | None = None


class PlatformHole(Placed):
    """One kind of hole in a pallet's top, at the places given in plan (x, z)."""

    kind: Literal["tapped", "bore", "slot"]
    thread: Name | None = None
    diameter: Size | None = None
    fit: Name | None = None
    """Of a bore: its tolerance class, such as `H7`."""
    depth: Size | None = None
    direction: Literal["x", "z"] | None = None
    """Of a T-slot."""
    width: Size | None = None
    """Of a T-slot: the narrow opening."""
    length: Size | None = None
    """Of a T-slot, about its place; the whole platform if left out."""


class Platform(Outline):
    """Something flat the column stands on: pallet, intermediate base or riser."""

    thickness: Size | None = None
    material: Name | None = None
    mass: Mass | None = None
    holes: tuple[PlatformHole, ...] | None = None
    """Holes and slots of its top; leave the key out if they are not known, [] if there are none."""
    note: Text | None = None
