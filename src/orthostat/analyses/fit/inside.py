"""Body consistency in plan and depth: what must lie inside something, or keep clear of something.

Each answer is a `Room`: the gap that is left, negative when the rule is broken by that much.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import cos, sin
from typing import NamedTuple

import numpy as np

from orthostat.analyses.fit.clashes import (
    box_gaps,
    nearest_of_each,
    overlapping_or_nearest,
    prism_gap,
)
from orthostat.analyses.fit.sections import inset
from orthostat.analyses.fit.separation import separations
from orthostat.analyses.solids.extents import prism_extents
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import PLAN, Frame, face_frame
from orthostat.formulas.polygons import convex_hull
from orthostat.model.bodies import COLUMN_ROLES, Disc, Hole, Point2, Polygon, Prism, Role, Section
from orthostat.model.column import Anchor, Column, Stud, Tube

LEVEL = 1e-6
"""Heights nearer than this [m] are the same level."""


@dataclass(frozen=True, slots=True)
class Room:
    """The room one thing has inside or beside another [m], and the size it is judged by."""

    subject: str
    beside: str
    gap: Metre
    size: Metre
    path: str = ""


def tubes_in_cavity(column: Column) -> tuple[Room, ...]:
    """Each void tube within the cavity's plan; nothing where there is no cavity or no tube."""
    inner = None if column.shape_of_body is None else column.shape_of_body.inner
    if inner is None:
        return ()
    return tuple(
        Room(tube.name, "the cavity's wall", Metre(inset(section, inner)), _size(section), tube.path)
        for tube in column.tubes
        for section in _tube_sections(tube)
    )


def _tube_sections(tube: Tube) -> tuple[Section, ...]:
    if tube.outline is not None:
        return (tube.outline,)
    return () if tube.outside is None else (Disc(tube.at, Metre(0.5 * tube.outside)),)


def _size(section: Section) -> Metre:
    if isinstance(section, Disc):
        return Metre(2.0 * section.radius)
    first, second = zip(*section.points, strict=True)
    return Metre(max(max(first) - min(first), max(second) - min(second)))


def studs_on_plates(column: Column) -> tuple[Room, ...]:
    """Each stud's hole and washer within the plate it seats on; a stud over nothing has no room at all."""
    return tuple(room for stud in column.studs for room in _stud_on_plate(column, stud))


def _stud_on_plate(column: Column, stud: Stud) -> list[Room]:
    circles = [("hole", stud.hole_diameter), ("washer", stud.washer_outside)]
    tops = [
        _top_face(prism, stud.seat)
        for body in column.bodies
        if body.role in _SEATS
        for prism in body.adds
    ]  # fmt: skip
    under = [section for section in tops if section is not None]
    found = []
    for what, diameter in circles:
        if diameter is not None:
            disc = Disc(stud.at, Metre(0.5 * diameter))
            room = max((inset(disc, section) for section in under), default=-diameter)
            seat = "the plate's edge" if under else "a plate (there is none at its seat's height)"
            found.append(Room(f"{what} of {stud.name}", seat, Metre(room), Metre(diameter), stud.path))
    return found


_SEATS = COLUMN_ROLES - {Role.SLEEVE, Role.VOID_FORMER, Role.ANCHOR, Role.INSERT, Role.SCREW}


def _top_face(prism: Prism, height: float) -> Section | None:
    """The level top face of a prism, in plan, if it lies at `height`; else `None`."""
    if abs(prism_extents(prism).y_high - height) > LEVEL:
        return None
    if abs(prism.frame.third[1]) > 1.0 - LEVEL:
        return plan_section(prism)
    if isinstance(prism.section, Disc):
        return None
    corners = (
        prism.frame.point(a, b, end) for a, b in prism.section.points for end in (prism.low, prism.high)
    )
    face = convex_hull([(x, z) for x, y, z in corners if abs(y - height) < LEVEL])
    return Polygon(face) if len(face) > 2 else None


def plan_section(prism: Prism) -> Section:
    """The section of an upright prism in plan coordinates (x, z)."""
    section = prism.section
    if prism.frame == PLAN:
        return section
    points = [section.centre] if isinstance(section, Disc) else section.points
    seen = [(x, z) for x, _, z in (prism.frame.point(a, b, 0.0) for a, b in points)]
    return Disc(seen[0], section.radius) if isinstance(section, Disc) else Polygon(tuple(seen))


def sleeves_clear(column: Column) -> tuple[Room, ...]:
    """Each stud's sleeve (or hole) in the cavity: within the walls, and its nearest neighbour."""
    shape = column.shape_of_body
    if shape is None or shape.inner is None:
        return ()
    bars = tuple(
        (f"{_passage(stud)} of {stud.name}", bar, stud.path)
        for stud in column.studs
        if (bar := _stud_bar(column, stud)) is not None
    )
    return _bars_clear(bars, (*_tube_prisms(column.tubes), *_anchor_prisms(column)), shape.inner)


@lru_cache(maxsize=16)
def _bars_clear(
    bars: tuple[tuple[str, Prism, str], ...], others: tuple[tuple[str, Prism], ...], inner: Polygon
) -> tuple[Room, ...]:
    neighbours = [
        [*others, *((other, prism) for other, prism, _ in bars[number + 1 :])] for number in range(len(bars))
    ]
    bounds = [
        [prism_gap(bar, prism) for _, prism in beside]
        for (_, bar, _), beside in zip(bars, neighbours, strict=True)
    ]
    nearest = nearest_of_each(
        bounds,
        lambda pairs: separations([(bars[number][1], neighbours[number][k][1]) for number, k in pairs]),
    )
    found = []
    for (name, bar, path), beside, (place, gap) in zip(bars, neighbours, nearest, strict=True):
        size = _size(bar.section)
        found.append(Room(name, "the cavity's wall", Metre(inset(bar.section, inner)), size, path))
        if beside:
            found.append(Room(name, beside[place][0], Metre(gap), size, path))
    return tuple(found)


def _stud_bar(column: Column, stud: Stud) -> Prism | None:
    """The room a stud takes in the cavity: its sleeve, else its hole; `None` if it does not go through."""
    shape = column.shape_of_body
    diameter = stud.sleeve_outside or stud.hole_diameter
    if shape is None or diameter is None or stud.seat < shape.bottom + LEVEL:
        return None
    if _beside_the_walls(column, stud.at, 0.5 * diameter):
        return None
    return Prism(Disc(stud.at, Metre(0.5 * diameter)), shape.bottom, min(stud.seat, shape.top))


def _beside_the_walls(column: Column, at: Point2, radius: float) -> bool:
    """Whether a hole is wholly outside one of the faces, as where its nut bears on a cleat."""
    x, z = at
    return any(
        x * sin(face.angle) + z * cos(face.angle) - radius > face.distance - LEVEL for face in column.faces
    )


def _tube_prisms(tubes: Iterable[Tube]) -> list[tuple[str, Prism]]:
    return [
        (tube.name, Prism(section, tube.bottom, tube.top))
        for tube in tubes
        for section in _tube_sections(tube)
    ]


def _anchor_prisms(column: Column) -> list[tuple[str, Prism]]:
    return [(f"anchor of face {anchor.face}", _anchor_prism(column, anchor)) for anchor in column.anchors]


def _anchor_prism(column: Column, anchor: Anchor) -> Prism:
    """The anchor in its face's frame, from the plate's inner surface inward, at its widest."""
    wall = wall_behind(column, anchor.face) or 0.0
    widest = max(anchor.diameter, anchor.head_diameter or 0.0)
    return Prism(
        Disc(anchor.at, Metre(0.5 * widest)),
        Metre(-wall - anchor.length),
        Metre(-wall),
        _frame(column, anchor.face),
    )


def wall_behind(column: Column, face: int) -> Metre | None:
    """Thickness of the wall behind a face; `None` for a solid or an unknown face."""
    shape = column.shape_of_body
    numbers = [one.number for one in column.faces]
    if shape is None or not shape.thicknesses or face not in numbers:
        return None
    place = numbers.index(face)
    return shape.thicknesses[place] if place < len(shape.thicknesses) else None


def _frame(column: Column, number: int) -> Frame:
    face = next(face for face in column.faces if face.number == number)
    return _face_frame(Radian(face.angle), face.distance)


_face_frame = lru_cache(maxsize=256)(face_frame)


@dataclass(frozen=True, slots=True)
class HoleDepth:
    """The deepest hole of a face's pattern against the wall behind it."""

    face: int
    path: str
    depth: Metre
    wall: Metre


def pattern_depths(column: Column) -> tuple[HoleDepth, ...]:
    """For each pattern on a filled column: its deepest hole or insert, and the plate's thickness."""
    if column.shape_of_body is None or column.shape_of_body.kind != "filled":
        return ()
    return tuple(
        HoleDepth(pattern.face, pattern.path, Metre(max(map(_hole_depth, pattern.holes))), wall)
        for pattern in column.patterns
        if pattern.holes and (wall := wall_behind(column, pattern.face)) is not None
    )


def _hole_depth(hole: Hole) -> float:
    return max(hole.depth, hole.insert_length or 0.0)


def other_holes(column: Column) -> list[tuple[str, Prism]]:
    """Holes of faces, studs and pins, and anchors: what a hole between plates must stay clear of."""
    known = {face.number for face in column.faces}
    found = [
        (f"hole {number} of face {pattern.face}", _hole_prism(column, pattern.face, hole))
        for pattern in column.patterns
        if pattern.face in known
        for number, hole in enumerate(pattern.holes, 1)
    ]
    for pin in column.pins:
        high = column.base_height + (pin.length_above or 0.0)
        if high > column.base_height:
            disc = Disc(pin.at, Metre(0.5 * (pin.hole_above or pin.diameter)))
            found.append((f"bore of {pin.name}", Prism(disc, column.base_height, Metre(high))))
    return [*found, *_anchor_prisms(column), *_stud_holes(column)]


def pattern_clearances(column: Column) -> tuple[Room, ...]:
    """Room between each face hole and anchors, sleeves, stud holes and other face holes.

    Every pair that meets; where none does, the nearest.
    """
    known = {face.number for face in column.faces}
    holes = tuple(
        HoleBeside(
            f"hole {number} of face {pattern.face}",
            pattern.path,
            _hole_prism(column, pattern.face, hole),
            Metre(2.0 * _hole_radius(hole)),
        )
        for pattern in column.patterns
        if pattern.face in known
        for number, hole in enumerate(pattern.holes, 1)
    )
    return rooms_beside(holes, (*_anchor_prisms(column), *_stud_holes(column)))


class HoleBeside(NamedTuple):
    """A hole that must stay clear of others: its name, its key path, its room, the size it is judged by."""

    name: str
    path: str
    prism: Prism
    size: Metre
    owner: str = ""
    """What it is made for: holes for the same thing may meet."""


@lru_cache(maxsize=32)
def rooms_beside(holes: tuple[HoleBeside, ...], others: tuple[tuple[str, Prism], ...]) -> tuple[Room, ...]:
    """Every pair that meets, a hole and another one or one of `others`; where none does, the nearest."""
    if not holes:
        return ()
    prisms = [hole.prism for hole in holes] + [prism for _, prism in others]
    names = [hole.name for hole in holes] + [name for name, _ in others]
    gaps = box_gaps([prism_extents(prism)[:6] for prism in prisms], len(holes))
    owners = np.array([hole.owner for hole in holes])
    gaps[:, : len(holes)][(owners[:, None] == owners) & (owners != "")] = np.inf
    pairs = overlapping_or_nearest(
        gaps, lambda pairs: separations([(prisms[i], prisms[j]) for i, j in pairs])
    )
    return tuple(Room(names[i], names[j], Metre(gap), holes[i].size, holes[i].path) for i, j, gap in pairs)


def _hole_prism(column: Column, face: int, hole: Hole) -> Prism:
    return Prism(
        Disc(hole.at, _hole_radius(hole)), Metre(-_hole_depth(hole)), Metre(0.0), _frame(column, face)
    )


def _hole_radius(hole: Hole) -> Metre:
    return Metre(0.5 * max(hole.diameter, hole.insert_diameter or 0.0))


def _stud_holes(column: Column) -> list[tuple[str, Prism]]:
    found = []
    for stud in column.studs:
        diameter = max(stud.sleeve_outside or 0.0, stud.hole_diameter or 0.0)
        if diameter > 0.0 and stud.seat > column.base_height:
            disc = Disc(stud.at, Metre(0.5 * diameter))
            found.append((f"{_passage(stud)} of {stud.name}", Prism(disc, column.base_height, stud.seat)))
    return found


def _passage(stud: Stud) -> str:
    """What a stud passes through the column in."""
    return "hole" if stud.sleeve_outside is None else "sleeve"


def lips_in_cavity(column: Column) -> tuple[Room, ...]:
    """Each lip of a lid that reaches below the walls' top, inside the cavity."""
    shape = column.shape_of_body
    if shape is None or shape.inner is None:
        return ()
    return tuple(
        Room(
            f"lip of {body.name}",
            "the walls",
            Metre(inset(plan_section(prism), shape.inner)),
            _size(prism.section),
            body.path,
        )
        for body in column.bodies
        if body.role is Role.LID
        for prism in body.adds
        if prism_extents(prism).y_low < shape.top - LEVEL
    )
