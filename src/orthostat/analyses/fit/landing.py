"""Does each screw, stud, pin and dowel meet a hole that it fits, and is the hole deep enough?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import hypot

from orthostat.base.dimensions import Metre
from orthostat.base.showing import show_both
from orthostat.catalogue.fasteners import thread
from orthostat.catalogue.tables import UnknownRow, normal_form
from orthostat.model.bodies import Hole, Point2
from orthostat.model.column import Column, Pin, Stud
from orthostat.model.machine import PalletHole, Platform
from orthostat.model.stations import Station

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


@lru_cache(maxsize=1024)
def thread_name(designation: str) -> str:
    """One name for a thread however it is written: the catalogue's, else the text in normal form."""
    try:
        return thread(designation).name
    except UnknownRow:
        return normal_form(designation)


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
    key = thread_name(stud.thread)
    fits = [hole for hole in _holes(platforms) if _takes_stud(hole, key)]
    return _landed(
        stud.name,
        stud.path,
        f"{stud.thread} thread",
        stud.at,
        fits,
        platforms,
        column,
        entered,
        stud.hole_diameter,
    )


def _takes_stud(hole: PalletHole, key: str) -> bool:
    """A tapped hole of the same thread, or a T-slot (whose nut brings the thread unless one is stated)."""
    if hole.kind == "slot":
        return hole.thread is None or thread_name(hole.thread) == key
    return hole.kind == "tapped" and hole.thread is not None and thread_name(hole.thread) == key


def _pin_landing(column: Column, pin: Pin) -> Landing:
    bottom = column.base_height - (pin.length_below or 0.0)
    platforms = _platforms(column, bottom)
    kind = "slot" if pin.kind == "key" else "bore"
    fit = (pin.fit_below or "").split("/")[0]
    fits = [hole for hole in _holes(platforms) if hole.kind == kind and _takes_pin(hole, pin.diameter, fit)]
    wanted = f"{show_both(pin.diameter, 'length')} {kind}" + (f" {fit}" if fit else "")
    return _landed(
        pin.name, pin.path, wanted, pin.at, fits, platforms, column, pin.length_below, pin.diameter
    )


def _takes_pin(hole: PalletHole, diameter: float, fit: str) -> bool:
    size = hole.width if hole.kind == "slot" else hole.diameter
    if size is None or abs(size - diameter) > SAME_SIZE:
        return False
    return not (fit and hole.fit) or hole.fit == fit


def _holes(platforms: Iterable[Platform]) -> list[PalletHole]:
    return [hole for platform in platforms for hole in platform.holes]


def _landed(
    name: str,
    path: str,
    wanted: str,
    at: Point2,
    fits: list[PalletHole],
    platforms: tuple[Platform, ...],
    column: Column,
    entered: Metre | None,
    size: Metre | None,
) -> Landing:
    missing = ""
    if not platforms:
        missing = f"{column.path}.pallet"
    elif not any(platform.holes_stated for platform in platforms):
        missing = f"{platforms[0].path}.holes"
    nearest = min(fits, key=lambda hole: _offset(hole, at), default=None)
    return Landing(
        name,
        path,
        wanted,
        None if nearest is None else Metre(_offset(nearest, at)),
        Metre(max(map(_size, platforms), default=1.0)),
        entered,
        None if nearest is None else nearest.depth,
        missing,
        None if size is None else Metre(0.5 * size),
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
    return tuple(
        landing
        for station in column.stations
        for landing in _station_landing(column, station, by_face.get(station.face), spans)
    )


def _station_landing(
    column: Column, station: Station, holes: list[Hole] | None, spans: dict[int, float]
) -> list[Landing]:
    missing = f"{column.path}.patterns" if holes is None else ""
    span = Metre(spans.get(station.face, 1.0))
    found = []
    for number, screw in enumerate(station.screws, 1):
        key = thread_name(screw.thread)
        fits = [hole for hole in holes or () if hole.thread is not None and thread_name(hole.thread) == key]
        name = f"station {station.name}, screw {number}"
        found.append(
            _on_face(
                name, station.path, f"{screw.thread} thread", screw.at, fits, span, screw.engagement, missing
            )
        )
    for number, dowel in enumerate(station.dowels, 1):
        bores = [
            hole
            for hole in holes or ()
            if hole.thread is None and abs(hole.diameter - dowel.diameter) <= SAME_SIZE
            and _same_fit(hole.fit, dowel.fit)
        ]  # fmt: skip
        name = f"station {station.name}, dowel {number}"
        wanted = f"{show_both(dowel.diameter, 'length')} bore"
        found.append(_on_face(name, station.path, wanted, dowel.at, bores, span, dowel.engagement, missing))
    return found


def _same_fit(hole: str | None, dowel: str | None) -> bool:
    """Whether the hole side of a dowel's fit (`H7` of `H7/m6`) is the hole's; unstated fits agree."""
    return hole is None or dowel is None or hole == dowel.split("/")[0]


def _on_face(
    name: str,
    path: str,
    wanted: str,
    at: Point2,
    fits: list[Hole],
    span: Metre,
    entered: Metre | None,
    missing: str,
) -> Landing:
    nearest = min(fits, key=lambda hole: hypot(hole.at[0] - at[0], hole.at[1] - at[1]), default=None)
    if nearest is None:
        return Landing(name, path, wanted, None, span, entered, None, missing)
    offset = Metre(hypot(nearest.at[0] - at[0], nearest.at[1] - at[1]))
    radius = Metre(0.5 * nearest.diameter)
    return Landing(name, path, wanted, offset, span, entered, nearest.depth, missing, radius)
