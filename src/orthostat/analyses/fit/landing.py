"""Does each screw, stud, pin and dowel meet a hole that it fits, and is the hole deep enough?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import hypot

from orthostat.base.dimensions import Metre
from orthostat.base.showing import show_both
from orthostat.catalogue.fasteners import thread
from orthostat.catalogue.tables import UnknownRow, normal_form
from orthostat.model.bodies import Hole, Point2
from orthostat.model.column import Column, Pin, Stud
from orthostat.model.machine import PalletHole, Platform
from orthostat.model.stations import Dowel, Screw, Station

ROUND = 1e-9
"""Offsets below this [m] are rounding."""
SAME_SIZE = 1e-5
"""Nominal diameters that differ by less than this [m] are the same size."""


@dataclass(frozen=True, slots=True)
class Landing:
    """One fastener or pin over the nearest hole that fits it.

    `offset` [m] is the distance to that hole's axis (across a slot, to its middle line), `None` where no
    hole of the right kind exists; `entered` and `depth` are how far it goes in and how deep the hole is.
    """

    name: str
    path: str
    wanted: str
    """What it needs, such as `M16 thread`."""
    offset: Metre | None
    span: Metre
    """Size of what carries the holes: the distance taken where no hole fits."""
    entered: Metre | None = None
    depth: Metre | None = None
    missing: str = ""
    """Key path, where the holes are not described at all."""
    radius: Metre | None = None
    """Half the hole's or pin's size: farther off than this, no tolerance helps."""
    entry_key: str = ""
    """Key path that states how far it goes in."""


@dataclass(frozen=True, slots=True)
class _Needs:
    """One fastener or pin: what it is, where it stands, what hole it needs."""

    name: str
    path: str
    wanted: str
    at: Point2
    entered: Metre | None
    entry_key: str
    size: Metre | None


@lru_cache(maxsize=1024)
def thread_name(designation: str) -> str:
    """One name for a thread however it is written: the catalogue's, else the text in normal form."""
    try:
        return thread(designation).name
    except UnknownRow:
        return normal_form(designation)


@lru_cache(maxsize=1024)
def nominal_diameter(designation: str) -> float:
    """Nominal diameter of a thread [m]; 0 for one that the catalogue does not know."""
    try:
        return thread(designation).nominal
    except UnknownRow:
        return 0.0


def column_landings(column: Column) -> tuple[Landing, ...]:
    """Studs and pins on the holes of the platform they end in."""
    studs = tuple(_stud_landing(column, stud) for stud in column.studs)
    return studs + tuple(_pin_landing(column, pin) for pin in column.pins)


def _platforms(column: Column, bottom: float) -> tuple[Platform, ...]:
    """The riser for what ends in it, else pallet and base; empty when none is described."""
    if column.riser is not None and bottom >= 0.0:
        return (column.riser,)
    return tuple(platform for platform in (column.pallet, column.base) if platform is not None)


def _stud_landing(column: Column, stud: Stud) -> Landing:
    platforms = _platforms(column, stud.bottom)
    surface = column.base_height if column.riser in platforms else 0.0
    entered = None if stud.engagement is None else Metre(surface - stud.bottom)
    needs = _Needs(
        stud.name, stud.path, f"{stud.thread} thread", stud.at, entered, f"{stud.path}.engagement",
        stud.hole_diameter,
    )  # fmt: skip
    key = thread_name(stud.thread)
    return _on_platform(
        needs, [hole for hole in _holes(platforms) if _takes_stud(hole, key)], platforms, column
    )


def _takes_stud(hole: PalletHole, key: str) -> bool:
    """A tapped hole of the same thread, or a T-slot it goes into (any T-nut, unless a thread is stated)."""
    if hole.kind == "slot":
        wide = hole.width is None or hole.width > nominal_diameter(key) - SAME_SIZE
        return wide and (hole.thread is None or thread_name(hole.thread) == key)
    return hole.kind == "tapped" and hole.thread is not None and thread_name(hole.thread) == key


def _pin_landing(column: Column, pin: Pin) -> Landing:
    platforms = _platforms(column, column.base_height - (pin.length_below or 0.0))
    kind = "slot" if pin.kind == "key" else "bore"
    fit = (pin.fit_below or "").split("/")[0]
    wanted = f"{show_both(pin.diameter, 'length')} {kind}" + (f" {fit}" if fit else "")
    needs = _Needs(
        pin.name, pin.path, wanted, pin.at, pin.length_below, f"{pin.path}.length_below", pin.diameter
    )
    fits = [hole for hole in _holes(platforms) if hole.kind == kind and _takes_pin(hole, pin.diameter, fit)]
    return _on_platform(needs, fits, platforms, column)


def _takes_pin(hole: PalletHole, diameter: float, fit: str) -> bool:
    size = hole.width if hole.kind == "slot" else hole.diameter
    if size is None or abs(size - diameter) > SAME_SIZE:
        return False
    return not (fit and hole.fit) or hole.fit == fit


def _holes(platforms: Iterable[Platform]) -> list[PalletHole]:
    return [hole for platform in platforms for hole in platform.holes]


def _on_platform(
    needs: _Needs, fits: list[PalletHole], platforms: tuple[Platform, ...], column: Column
) -> Landing:
    missing = ""
    if not platforms:
        missing = f"{column.path}.pallet"
    elif not any(platform.holes_stated for platform in platforms):
        missing = f"{platforms[0].path}.holes"
    nearest = min(fits, key=lambda hole: _offset(hole, needs.at), default=None)
    offset = None if nearest is None else _offset(nearest, needs.at)
    span = max(map(_size, platforms), default=1.0)
    return _landed(needs, offset, None if nearest is None else nearest.depth, span, missing)


def _landed(needs: _Needs, offset: float | None, depth: Metre | None, span: float, missing: str) -> Landing:
    return Landing(
        name=needs.name,
        path=needs.path,
        wanted=needs.wanted,
        offset=None if offset is None else Metre(0.0 if offset < ROUND else offset),
        span=Metre(span),
        entered=needs.entered,
        depth=depth,
        missing=missing,
        radius=None if needs.size is None else Metre(0.5 * needs.size),
        entry_key=needs.entry_key,
    )


def _offset(hole: PalletHole, at: Point2) -> float:
    """Distance from a place to the hole's axis, or to the nearest place a T-nut can take in a slot."""
    x, z = at[0] - hole.at[0], at[1] - hole.at[1]
    if hole.kind != "slot" or hole.direction is None:
        return hypot(x, z)
    size = hypot(*hole.direction)
    a, b = hole.direction[0] / size, hole.direction[1] / size
    along, across = x * a + z * b, z * a - x * b
    past = 0.0 if hole.length is None else max(0.0, abs(along) - 0.5 * hole.length)
    return hypot(past, across)


def _size(platform: Platform) -> float:
    if platform.outline is not None:
        xs, zs = zip(*platform.outline.points, strict=True)
        return hypot(max(xs) - min(xs), max(zs) - min(zs))
    return 2.0 * platform.radius if platform.radius is not None else 1.0


def station_landings(column: Column) -> tuple[Landing, ...]:
    """Screws and dowels of every station on the pattern of its face."""
    by_face: dict[int, list[Hole]] = {}
    for pattern in column.patterns:
        by_face.setdefault(pattern.face, []).extend(pattern.holes)
    spans = {face.number: hypot(face.width, face.v_high - face.v_low) for face in column.faces}
    found = []
    for station in column.stations:
        holes, span = by_face.get(station.face, []), spans.get(station.face, 1.0)
        missing = "" if station.face in by_face else f"{column.path}.patterns"
        for number, screw in enumerate(station.screws, 1):
            fits = _threads(holes, screw.thread)
            found.append(_on_face(_screw_needs(station, number, screw), fits, span, missing))
        for number, dowel in enumerate(station.dowels, 1):
            found.append(_on_face(_dowel_needs(station, number, dowel), _bores(holes, dowel), span, missing))
    return tuple(found)


def _screw_needs(station: Station, number: int, screw: Screw) -> _Needs:
    return _Needs(
        f"station {station.name}, screw {number}", station.path, f"{screw.thread} thread", screw.at,
        screw.engagement, f"{station.path}.screws.engagement", None,
    )  # fmt: skip


def _dowel_needs(station: Station, number: int, dowel: Dowel) -> _Needs:
    return _Needs(
        f"station {station.name}, dowel {number}",
        station.path,
        f"{show_both(dowel.diameter, 'length')} bore",
        dowel.at,
        dowel.engagement,
        f"{station.path}.dowels.engagement",
        dowel.diameter,
    )


def _threads(holes: Iterable[Hole], thread_wanted: str) -> list[Hole]:
    key = thread_name(thread_wanted)
    return [hole for hole in holes if hole.thread is not None and thread_name(hole.thread) == key]


def _bores(holes: Iterable[Hole], dowel: Dowel) -> list[Hole]:
    """Plain bores of the dowel's size whose fit is the hole side of the dowel's; unstated fits agree."""
    fit = None if dowel.fit is None else dowel.fit.split("/")[0]
    return [
        hole
        for hole in holes
        if hole.thread is None
        and abs(hole.diameter - dowel.diameter) <= SAME_SIZE
        and (hole.fit is None or fit is None or hole.fit == fit)
    ]


def _on_face(needs: _Needs, fits: list[Hole], span: float, missing: str) -> Landing:
    """The nearest of the holes that fit; a screw's own size is taken from its hole."""
    if not fits:
        return _landed(needs, None, None, span, missing)
    x, y = needs.at
    nearest = min(fits, key=lambda hole: hypot(hole.at[0] - x, hole.at[1] - y))
    sized = needs if needs.size is not None else replace(needs, size=nearest.diameter)
    return _landed(sized, hypot(nearest.at[0] - x, nearest.at[1] - y), nearest.depth, span, missing)
