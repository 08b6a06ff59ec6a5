"""The column and what stands around it as extruded outlines, ready to be drawn in three dimensions.

Bodies are sums of prisms: where cuts run along a prism they are taken out of its outline, layer by
layer; where they run across it (holes in a face) their mouths are listed to be drawn dark. No mesh
is cut, so this takes milliseconds.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin

from shapely.geometry import Polygon as Area
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from orthostat.base.frames import Frame
from orthostat.model.bodies import COLUMN_ROLES, STANDS_ON_ROLES, STATION_ROLES, Body, Disc, Prism
from orthostat.model.column import Column
from orthostat.presentation.svg import rings_of

CHORDS = 32
"""Sides that a circle is drawn with."""
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
    pieces = [piece for body in bodies for piece in _pieces(body)]
    centre, radius = _sphere(pieces)
    return Scene(
        tuple(pieces),
        tuple(_mark(column, index) for index in range(len(column.faces))),
        centre,
        radius,
        _swing(column),
        _envelope(column),
        _words(column),
    )


def _pieces(body: Body) -> list[Piece]:
    by_frame: dict[Frame, list[Prism]] = defaultdict(list)
    for prism in body.adds:
        by_frame[prism.frame].append(prism)
    found = []
    for frame, adds in by_frame.items():
        along = [cut for cut in body.cuts if cut.frame == frame]
        found.append(_piece(body, _kind(body), frame, _layers(adds, along)))
    across = [cut for cut in body.cuts if cut.frame not in by_frame]
    if not _hidden(body):
        found += [
            _piece(body, "mouth", cut.frame, (_mouth(cut, cut.high), _mouth(cut, cut.low))) for cut in across
        ]
    return found


def _hidden(body: Body) -> bool:
    return body.role.value in ("fill", "void former")


def _kind(body: Body) -> str:
    if body.role in COLUMN_ROLES:
        return "column"
    if body.role in STANDS_ON_ROLES:
        return "stands on"
    return "station" if body.role in STATION_ROLES else "fastening"


def _piece(body: Body, kind: str, frame: Frame, layers: tuple[Layer, ...]) -> Piece:
    first, second, third = frame.first, frame.second, frame.third
    if _left_handed(frame):
        second = (-second[0], -second[1], -second[2])
        layers = tuple(_mirrored(layer) for layer in layers)
    axes = (*first, *second, *third, *frame.origin)
    return Piece(
        body.name, kind, body.role.value, body.face, body.station or "", body.path, _rounded(axes), layers
    )


def _left_handed(frame: Frame) -> bool:
    (a, b, c), (d, e, f), (g, h, i) = frame.first, frame.second, frame.third
    return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g) < 0.0


def _mirrored(layer: Layer) -> Layer:
    return Layer(layer.low, layer.high, tuple(tuple((x, -y) for x, y in ring) for ring in layer.rings))


def _layers(adds: list[Prism], cuts: list[Prism]) -> tuple[Layer, ...]:
    levels = sorted({round(level, 7) for prism in (*adds, *cuts) for level in (prism.low, prism.high)})
    low, high = min(prism.low for prism in adds), max(prism.high for prism in adds)
    levels = [level for level in levels if low - 1e-7 <= level <= high + 1e-7]
    found: list[Layer] = []
    before: BaseGeometry | None = None
    for bottom, top in pairwise(levels):
        middle = 0.5 * (bottom + top)
        area = unary_union([_area(prism) for prism in adds if prism.low < middle < prism.high])
        gone = [_area(prism) for prism in cuts if prism.low < middle < prism.high]
        if gone:
            area = area.difference(unary_union(gone))
        if before is not None and before.equals(area):
            found = [Layer(each.low, top, each.rings) if each.high == bottom else each for each in found]
            continue
        before = area
        found += _outlines(area, bottom, top)
    return tuple(found)


def _outlines(area: BaseGeometry, low: float, high: float) -> list[Layer]:
    parts = getattr(area, "geoms", [area])
    layers = []
    for part in parts:
        rings = rings_of(part)
        if rings:
            layers.append(Layer(low, high, tuple(tuple(_rounded_point(p) for p in r[:-1]) for r in rings)))
    return layers


def _area(prism: Prism) -> Area:
    return Area(_ring(prism))


def _ring(prism: Prism) -> list[tuple[float, float]]:
    section = prism.section
    if isinstance(section, Disc):
        (x, y), r = section.centre, section.radius
        steps = [2.0 * pi * step / CHORDS for step in range(CHORDS)]
        return [(x + r * cos(angle), y + r * sin(angle)) for angle in steps]
    return list(section.points)


def _mouth(cut: Prism, level: float) -> Layer:
    return Layer(level - _MOUTH, level + _MOUTH, (tuple(_rounded_point(point) for point in _ring(cut)),))


def _rounded_point(point: tuple[float, float]) -> tuple[float, float]:
    return (round(point[0], 6), round(point[1], 6))


def _rounded(numbers: Numbers) -> Numbers:
    return tuple(round(number, 7) for number in numbers)


def _sphere(pieces: list[Piece]) -> tuple[Numbers, float]:
    points = []
    for piece in pieces:
        a = piece.axes
        for layer in piece.layers:
            for level in (layer.low, layer.high):
                points += [
                    tuple(a[9 + k] + x * a[k] + y * a[3 + k] + level * a[6 + k] for k in range(3))
                    for x, y in layer.rings[0]
                ]
    if not points:
        return (0.0, 0.0, 0.0), 0.5
    low = [min(point[k] for point in points) for k in range(3)]
    high = [max(point[k] for point in points) for k in range(3)]
    centre = tuple(0.5 * (a + b) for a, b in zip(low, high, strict=True))
    radius = 0.5 * sum((b - a) ** 2 for a, b in zip(low, high, strict=True)) ** 0.5
    return _rounded(centre), round(radius, 6)


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


def _words(column: Column) -> str:
    from orthostat.base.showing import show_both

    stands = column.pallet.name if column.pallet is not None else "no stated pallet"
    stations = f"{len(column.stations)} station{'' if len(column.stations) == 1 else 's'}"
    return (
        f"A {column.shape} column with {len(column.faces)} faces, top at "
        f"{show_both(column.height, 'length')} over the pallet, on {stands}, with {stations}, "
        f"{len(column.studs)} studs and {len(column.pins)} pins."
    )
