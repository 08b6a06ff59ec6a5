"""The column and what stands around it as extruded outlines, ready to be drawn in three dimensions.

Bodies are sums of prisms: where cuts run along a prism they are taken out of its outline, layer by
layer; where they run across it (holes in a face) their mouths are listed to be drawn dark. No mesh
is cut, so this takes milliseconds. Every piece is drawn about a point of its own, so that alike pieces
are one shape at several places: worked out once, sent once.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from math import acos, ceil, cos, pi, sin

import numpy as np
from shapely.geometry import Polygon as Area
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from orthostat.base.frames import Frame
from orthostat.base.showing import show_both
from orthostat.model.bodies import (
    COLUMN_ROLES,
    STANDS_ON_ROLES,
    STATION_ROLES,
    Body,
    Disc,
    Polygon,
    Prism,
    Role,
    Section,
)
from orthostat.model.column import Column
from orthostat.presentation.svg import rings_of

CHORDS = (12, 32)
"""Fewest and most sides that a circle is drawn with."""
_SAG = 0.0002
"""How far a drawn side may lie inside the circle between those [m]."""
_UP = (0.0, 1.0, 0.0)
_SPECK = 1e-10
"""Area below which an outline is what rounding left over, and not drawn [m²]."""
_MOUTH = 0.0004
"""How far over its face the mouth of a hole is drawn [m]."""

Numbers = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Layer:
    """An outline with holes swept between two heights of its frame [m]."""

    low: float
    high: float
    rings: tuple[tuple[tuple[float, float], ...], ...]
    """Outer ring first, then the rings of its holes."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One body in one frame; `axes` are the frame's three directions, right-handed, then its origin [m]."""

    name: str
    kind: str
    """`column`, `stands on`, `station`, `fastening` or `mouth`."""
    role: str
    face: int | None
    station: str
    path: str
    axes: Numbers
    layers: tuple[Layer, ...]
    """Alike pieces hold the same object."""
    inside: bool = False
    """Whether what surrounds it hides it from everywhere: it is seen only where that is see-through."""


@dataclass(frozen=True, slots=True)
class FaceMark:
    """Where a face's name stands: its middle and outward direction [m]."""

    number: int
    name: str
    at: Numbers
    outward: Numbers


@dataclass(frozen=True, slots=True)
class Scene:
    """All pieces, what can be laid over them, and what it shows in words."""

    pieces: tuple[Piece, ...]
    faces: tuple[FaceMark, ...]
    centre: Numbers
    """Middle of what is drawn [m]."""
    radius: float
    """Of the sphere about it [m]."""
    swing: tuple[float, float] | None
    """Radius and height of the machine's swing [m]."""
    envelope: tuple[float, float, float, float, float, float] | None
    """Where the spindle's nose can be: x, y, z low and high from the B axis [m]."""
    words: str


def scene_of(column: Column) -> Scene:
    """The scene of one design."""
    bodies = [*column.platforms, *column.bodies]
    for station in column.stations:
        bodies += station.bodies
    drawn = [_drawn_of(body) for body in bodies]
    centre, radius = _sphere([box for _, box in drawn if box is not None])
    return Scene(
        tuple(piece for pieces, _ in drawn for piece in pieces),
        tuple(_mark(column, index) for index in range(len(column.faces))),
        centre,
        radius,
        _swing(column),
        _envelope(column),
        words_of(column),
    )


_Box = tuple[tuple[float, ...], tuple[float, ...]]
"""Lowest and highest corner [m]."""


@lru_cache(maxsize=1024)
def _drawn_of(body: Body) -> tuple[tuple[Piece, ...], _Box | None]:
    """The pieces of a body and the box about them: kept, as an edit leaves most bodies as they were."""
    pieces = _pieces(body)
    return tuple(pieces), _box(pieces)


def _pieces(body: Body) -> list[Piece]:
    by_frame: dict[Frame, list[Prism]] = defaultdict(list)
    for prism in body.adds:
        by_frame[prism.frame].append(prism)
    found = []
    for frame, adds in by_frame.items():
        along = [cut for cut in body.cuts if cut.frame == frame]
        at = _about(adds[0])
        layers = _layers(_seen_from(at, adds), _seen_from(at, along), _hand(frame))
        found.append(_piece(body, _kind(body), frame, at, layers))
    across = [] if _hidden(body) else [cut for cut in body.cuts if cut.frame not in by_frame]
    for cut in across:
        at = _about(cut)
        layers = _mouths(*_seen_from(at, [cut]), _hand(cut.frame))
        found.append(_piece(body, "mouth", cut.frame, at, layers))
    return found


def _inside(body: Body) -> bool:
    """Whether it is an anchor or screw that ends behind the face it is set in from: holes across a plate are
    not cut out of what is drawn, so the plate covers it.
    """
    return body.role in (Role.ANCHOR, Role.SCREW) and all(
        prism.frame.second == _UP and prism.high <= 1e-9 for prism in body.adds
    )


def _hidden(body: Body) -> bool:
    return body.role.value in ("fill", "void former")


def _kind(body: Body) -> str:
    if body.role in COLUMN_ROLES:
        return "column"
    if body.role in STANDS_ON_ROLES:
        return "stands on"
    return "station" if body.role in STATION_ROLES else "fastening"


def _piece(
    body: Body, kind: str, frame: Frame, at: tuple[float, float, float], layers: tuple[Layer, ...]
) -> Piece:
    hand = _hand(frame)
    a, b, c = frame.second
    axes = (*frame.first, hand * a, hand * b, hand * c, *frame.third, *frame.point(*at))
    return Piece(
        body.name,
        kind,
        body.role.value,
        body.face,
        body.station or "",
        body.path,
        _rounded(axes),
        layers,
        _inside(body),
    )


def _hand(frame: Frame) -> float:
    """1 for a right-handed frame, -1 for one whose second axis is turned over to be drawn."""
    (a, b, c), (d, e, f), (g, h, i) = frame.first, frame.second, frame.third
    spat = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    return -1.0 if spat < 0.0 else 1.0


Swept = tuple[Section, float, float]
"""A section between two heights [m]."""


def _about(prism: Prism) -> tuple[float, float, float]:
    """The point in a prism's own frame that it is drawn about [m]."""
    section = prism.section
    x, y = section.centre if isinstance(section, Disc) else section.points[0]
    return (x, y, prism.low)


def _seen_from(at: tuple[float, float, float], prisms: list[Prism]) -> tuple[Swept, ...]:
    """Prisms about a point of their frame, to the nanometre: alike ones come out the same."""
    x, y, level = at
    return tuple(
        (_moved(prism.section, x, y), round(prism.low - level, 9), round(prism.high - level, 9))
        for prism in prisms
    )


def _moved(section: Section, x: float, y: float) -> Section:
    if isinstance(section, Disc):
        return Disc((round(section.centre[0] - x, 9), round(section.centre[1] - y, 9)), section.radius)
    return Polygon(tuple((round(a - x, 9), round(b - y, 9)) for a, b in section.points))


@lru_cache(maxsize=2048)
def _layers(adds: tuple[Swept, ...], cuts: tuple[Swept, ...], hand: float) -> tuple[Layer, ...]:
    levels = sorted({round(level, 7) for _, *ends in (*adds, *cuts) for level in ends})
    bottom_end, top_end = min(low for _, low, _ in adds), max(high for _, _, high in adds)
    levels = [level for level in levels if bottom_end - 1e-7 <= level <= top_end + 1e-7]
    found: list[Layer] = []
    before: BaseGeometry | None = None
    for bottom, top in pairwise(levels):
        middle = 0.5 * (bottom + top)
        area = unary_union([_area(section) for section, low, high in adds if low < middle < high])
        gone = [_area(section) for section, low, high in cuts if low < middle < high]
        if gone:
            area = area.difference(unary_union(gone))
        if before is not None and before.equals(area):
            found = [Layer(each.low, top, each.rings) if each.high == bottom else each for each in found]
            continue
        before = area
        found += _outlines(area, bottom, top, hand)
    return tuple(found)


def _outlines(area: BaseGeometry, low: float, high: float, hand: float) -> list[Layer]:
    parts = getattr(area, "geoms", [area])
    layers = []
    for part in parts:
        rings = rings_of(part)
        if rings and part.area > _SPECK:
            layers.append(Layer(low, high, tuple(_drawn(ring[:-1], hand) for ring in rings)))
    return layers


@lru_cache(maxsize=512)
def _mouths(cut: Swept, hand: float) -> tuple[Layer, ...]:
    section, low, high = cut
    rings = (_drawn(_ring(section), hand),)
    return tuple(Layer(round(end - _MOUTH, 7), round(end + _MOUTH, 7), rings) for end in (high, low))


def _area(section: Section) -> Area:
    return Area(_ring(section))


def _ring(section: Section) -> list[tuple[float, float]]:
    if isinstance(section, Disc):
        (x, y), r = section.centre, section.radius
        return [(x + r * c, y + r * s) for c, s in _circle(chords(r))]
    return list(section.points)


def chords(radius: float) -> int:
    """How many sides a circle is drawn with: a multiple of four, so that it is as wide as it is high."""
    fewest, most = CHORDS
    sides = pi / acos(1.0 - _SAG / radius) if radius > _SAG else fewest
    return min(most, max(fewest, 4 * ceil(0.25 * sides)))


@cache
def _circle(sides: int) -> list[tuple[float, float]]:
    return [(cos(2.0 * pi * step / sides), sin(2.0 * pi * step / sides)) for step in range(sides)]


def _drawn(ring: list[tuple[float, float]], hand: float) -> tuple[tuple[float, float], ...]:
    """To the micrometre, turned over where the frame is."""
    return tuple((round(x, 6), round(hand * y, 6)) for x, y in ring)


def _rounded(numbers: Numbers) -> Numbers:
    return tuple(round(number, 7) for number in numbers)


def _box(pieces: list[Piece]) -> _Box | None:
    seen = [
        points @ np.array(piece.axes).reshape(4, 3)
        for piece in pieces
        if len(points := _corners(piece.layers))
    ]
    if not seen:
        return None
    points = np.concatenate(seen)
    return tuple(points.min(axis=0)), tuple(points.max(axis=0))


@lru_cache(maxsize=512)
def _corners(layers: tuple[Layer, ...]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Points of the outer rings at both ends, each with a one for the frame's origin."""
    points = [
        (x, y, level, 1.0) for layer in layers for level in (layer.low, layer.high) for x, y in layer.rings[0]
    ]
    made = np.array(points).reshape(-1, 4)
    made.flags.writeable = False
    return made


def _sphere(boxes: list[_Box]) -> tuple[Numbers, float]:
    """About all there is: the middle of its box, half the box's diagonal."""
    if not boxes:
        return (0.0, 0.0, 0.0), 0.5
    low = np.min([each[0] for each in boxes], axis=0)
    high = np.max([each[1] for each in boxes], axis=0)
    centre = tuple(float(each) for each in 0.5 * (low + high))
    return _rounded(centre), round(0.5 * float(np.linalg.norm(high - low)), 6)


def _mark(column: Column, index: int) -> FaceMark:
    face = column.faces[index]
    s, c = sin(face.angle), cos(face.angle)
    u, v, w = face.u_middle, column.height, face.distance
    return FaceMark(
        face.number, face.name, _rounded((u * c + w * s, v, w * c - u * s)), _rounded((s, 0.0, c))
    )


def _swing(column: Column) -> tuple[float, float] | None:
    machine = column.machine
    if machine is None or machine.swing_diameter is None:
        return None
    height = machine.height_limit if machine.height_limit is not None else column.height
    return (round(0.5 * machine.swing_diameter, 6), round(height, 6))


def _envelope(column: Column) -> tuple[float, float, float, float, float, float] | None:
    machine = column.machine
    if machine is None:
        return None
    ends = (
        machine.x_low,
        machine.x_high,
        machine.y_low,
        machine.y_high,
        machine.nose_near,
        machine.nose_far,
    )
    if any(end is None for end in ends):
        return None
    low_x, high_x, low_y, high_y, near, far = (round(float(end or 0.0), 6) for end in ends)
    return (low_x, high_x, low_y, high_y, near, far)


def words_of(column: Column) -> str:
    """What the scene shows, in a sentence."""
    stands = column.pallet.name if column.pallet is not None else "no stated pallet"
    stations = f"{len(column.stations)} station{'' if len(column.stations) == 1 else 's'}"
    return (
        f"A {column.shape} column with {len(column.faces)} faces, top at "
        f"{show_both(column.height, 'length')} over the pallet, on {stands}, with {stations}, "
        f"{len(column.studs)} studs and {len(column.pins)} pins."
    )
