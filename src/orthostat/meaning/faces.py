"""Faces and what is cut into them: hole patterns, pockets, anchors behind them, tubes in the fill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import chain
from typing import NamedTuple

from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import Frame, face_frame
from orthostat.document import column as documents
from orthostat.document.reading import KeyPath
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names
from orthostat.meaning.plan import convex_polygon, turned_about
from orthostat.meaning.structure import Fitted, Structure, across_range, flush, placed_polygon
from orthostat.meaning.values import places, point, si
from orthostat.meaning.walls import Outline, contains
from orthostat.model.bodies import Body, Disc, Face, Hole, Point2, Polygon, Prism, Role
from orthostat.model.column import Anchor, Tube
from orthostat.model.materials import Material
from orthostat.model.stations import FacePattern


@lru_cache(maxsize=16)
def own_faces(structure: Structure) -> tuple[Face, ...]:
    """Faces in the own plan. Where base plate or lid lie flush they belong to the face."""
    base, lid = structure.plan_of(Role.BASE_PLATE), structure.plan_of(Role.LID)
    heights = structure.heights
    made = []
    for k, side in enumerate(structure.sides, 1):
        low, high = across_range(structure.outer, side)
        v_low = heights.foot if flush(base, side) else heights.wall_bottom
        v_high = heights.top if flush(lid, side) else heights.wall_top
        name = f"end {k}" if side.is_end else f"face {k}"
        made.append(
            Face(
                k,
                name,
                side.angle,
                Metre(side.distance),
                Metre(low),
                Metre(high),
                Metre(v_low),
                Metre(v_high),
                side.is_end,
            )
        )
    return tuple(made)


def set_down(face: Face, turn: float, shift: Point2) -> Face:
    """A face after the column is turned and set down at its position."""
    frame = face_frame(Radian(face.angle + turn), Metre(0.0))
    out = shift[0] * frame.third[0] + shift[1] * frame.third[2]
    across = shift[0] * frame.first[0] + shift[1] * frame.first[2]
    return replace(
        face,
        angle=face.angle + turn,
        distance=Metre(face.distance + out),
        u_low=Metre(face.u_low + across),
        u_high=Metre(face.u_high + across),
    )


class Wall(NamedTuple):
    """One side of the body that is set down, as far as what is made in it depends on it."""

    number: int
    is_end: bool
    angle: float
    distance: Metre
    thickness: float | None

    @property
    def frame(self) -> Frame:
        return face_frame(Radian(self.angle), self.distance)


class Walls(NamedTuple):
    """All sides, and which bodies of the structure holes from there are made in. No height is among this, so
    that what is made in the faces stays where the column is made taller.
    """

    sides: tuple[Wall, ...]
    plates: tuple[tuple[int, int | None, Outline], ...]
    """Index, face and plan of each plate."""
    solid: int | None
    fill: int | None
    hollow: bool
    cavity: bool

    def plate_at(self, x: float, z: float, number: int) -> int | None:
        """Index of the plate that holds a place in plan under a face; else of the face's own."""
        if len(self.plates) <= 1:
            return self.plates[0][0] if self.plates else None
        holding = (index for index, _, plan in self.plates if plan and contains(plan, (x, z)))
        own = (index for index, face, _ in self.plates if face == number)
        return next(chain(holding, own), None)


def walls_of(structure: Structure, faces: tuple[Face, ...]) -> Walls:
    """The sides of a structure that is set down."""
    return Walls(
        tuple(
            Wall(face.number, face.is_end, face.angle, face.distance, side.wall)
            for face, side in zip(faces, structure.sides, strict=True)
        ),
        tuple(
            (k, body.face, section.points if isinstance(section := body.adds[0].section, Polygon) else ())
            for k, body in enumerate(structure.bodies)
            if body.role is Role.PLATE
        ),
        structure.first_of(Role.SOLID),
        structure.first_of(Role.FILL),
        structure.inner is not None,
        structure.cavity is not None,
    )


class _Sinking:
    """Gathers what is cut from the faces inward."""

    def __init__(self, walls: Walls) -> None:
        self._walls = walls
        self.cuts: list[tuple[int, Prism]] = []
        self._plates: dict[tuple[int, float, float], int | None] = {}
        """The plate by side, place across and depth: holes above one another are in the same one."""

    def sink(self, wall: Wall, frame: Frame, sections: Sequence[Disc | Polygon], depth: float) -> None:
        """Cut from a face inward: the wall as far as it goes, then the fill behind it."""
        solid = wall.thickness is None or not self._walls.hollow
        in_wall = depth if solid else min(depth, wall.thickness or 0.0)
        for section in sections:
            index = self._walls.solid if solid else self._plate(wall, frame, section, -0.5 * in_wall)
            if index is not None:
                self.cuts.append((index, Prism(section, Metre(-in_wall), Metre(0.0), frame)))
            if not solid and depth > in_wall + 1e-9 and self._walls.cavity and self._walls.fill is not None:
                self.cuts.append((self._walls.fill, Prism(section, Metre(-depth), Metre(-in_wall), frame)))

    def _plate(self, wall: Wall, frame: Frame, section: Disc | Polygon, level: float) -> int | None:
        a, b = section.centre if isinstance(section, Disc) else section.points[0]
        key = (wall.number, a, level)
        if key not in self._plates:
            x, _, z = frame.point(a, b, level)
            self._plates[key] = self._walls.plate_at(x, z, wall.number)
        return self._plates[key]


@kept(16)
def patterns_of(
    stated: tuple[documents.Pattern, ...], walls: Walls, v_shift: float, names: Names
) -> Fitted[FacePattern]:
    """The holes of every face; bores in plates (and in the fill behind, where deeper)."""
    by_face: dict[int, list[Hole]] = {}
    sinking = _Sinking(walls)
    for index, pattern in enumerate(stated):
        path: KeyPath = ("patterns", index)
        _check(pattern, path, names)
        spots = places(pattern)
        if not spots:
            names.faults.add(path, "is nowhere; give at, grid or circle")
        diameter = _drilled(pattern, path, names)
        if diameter is None:
            continue
        holes = [_hole(pattern, (u, v + v_shift), diameter, path, names) for u, v in spots]
        bores = [Disc(hole.at, Metre(0.5 * (hole.insert_diameter or hole.diameter))) for hole in holes]
        for wall in names.faces(pattern.faces, walls.sides, (*path, "faces")):
            if holes:
                by_face.setdefault(wall.number, []).extend(holes)
            sinking.sink(wall, wall.frame, bores, float(pattern.depth.si))
    made = (FacePattern(face, tuple(holes), names.at("patterns")) for face, holes in sorted(by_face.items()))
    return Fitted(tuple(made), (), tuple(sinking.cuts))


def _check(pattern: documents.Pattern, path: KeyPath, names: Names) -> None:
    if pattern.thread is None and pattern.diameter is None:
        names.faults.add(path, "is neither thread nor bore; give thread, or diameter of a dowel bore")
    if pattern.thread is not None and pattern.diameter is not None:
        names.faults.add(path, "gives both thread and diameter; keep one")
    if pattern.diameter is not None:
        names.known_hole(pattern.fit, float(pattern.diameter.si), (*path, "fit"))
    elif pattern.fit is not None:
        names.faults.add((*path, "fit"), "is of a bore; a thread has none", f"`{pattern.fit}`")


def _drilled(pattern: documents.Pattern, path: KeyPath, names: Names) -> float | None:
    if pattern.thread is not None:
        thread = names.thread(pattern.thread, (*path, "thread"))
        return None if thread is None else float(thread.tapping_drill or thread.internal_minor_diameter)
    return None if pattern.diameter is None else float(pattern.diameter.si)


def _hole(pattern: documents.Pattern, at: Point2, diameter: float, path: KeyPath, names: Names) -> Hole:
    insert = pattern.insert
    return Hole(
        at,
        pattern.thread,
        Metre(diameter),
        Metre(pattern.depth.si),
        Metre(insert.diameter.si) if insert else None,
        Metre(insert.length.si) if insert else None,
        pattern.fit,
        names.at(*path),
    )


@kept(16)
def pockets_of(
    stated: tuple[documents.Pockets, ...], walls: Walls, v_shift: float, names: Names
) -> Fitted[None]:
    """Recesses from outside into plates (and fill)."""
    sinking = _Sinking(walls)
    for index, pocket in enumerate(stated):
        path: KeyPath = ("pockets", index)
        round_, square = (
            pocket.diameter is not None,
            pocket.width is not None or pocket.height is not None,
        )
        if round_ == square or (square and (pocket.width is None or pocket.height is None)):
            names.faults.add(path, "give either diameter, or width and height")
            continue
        sections: list[Disc | Polygon] = []
        for u, v in places(pocket):
            at = (u, v + v_shift)
            if pocket.diameter is not None:
                sections.append(Disc(at, Metre(0.5 * pocket.diameter.si)))
            else:
                a, b = 0.5 * (si(pocket.width) or 0.0), 0.5 * (si(pocket.height) or 0.0)
                sections.append(
                    Polygon(((u - a, at[1] - b), (u + a, at[1] - b), (u + a, at[1] + b), (u - a, at[1] + b)))
                )
        for wall in names.faces(pocket.faces, walls.sides, (*path, "faces")):
            sinking.sink(wall, wall.frame, sections, float(pocket.depth.si))
    return Fitted((), (), tuple(sinking.cuts))


@kept(16)
def anchors_of(
    stated: tuple[documents.Anchors, ...], walls: Walls, v_shift: float, names: Names
) -> Fitted[Anchor]:
    """Bars from the plates into the fill."""
    made: list[Anchor] = []
    bodies: list[Body] = []
    for index, group in enumerate(stated):
        path: KeyPath = ("anchors", index)
        if not walls.cavity:
            names.faults.add(path, "there is no fill to anchor in; body.kind must be filled and have plates")
            return Fitted()
        material = names.material(group.material, (*path, "material"))
        spots = places(group)
        if not spots:
            names.faults.add(path, "is nowhere; give at, grid or circle")
        written, diameter, length = names.at(*path), Metre(group.diameter.si), Metre(group.length.si)
        sections = [Disc((u, v + v_shift), Metre(0.5 * diameter)) for u, v in spots]
        for wall in names.faces(group.faces, walls.sides, (*path, "faces")):
            inside, frame = wall.thickness or 0.0, wall.frame
            for section in sections:
                made.append(
                    Anchor(wall.number, section.centre, diameter, length, si(group.head_diameter), written)
                )
                bar = Prism(section, Metre(-inside - length), Metre(-inside), frame)
                name = f"anchor {len(made)}"
                bodies.append(
                    Body(name, Role.ANCHOR, (bar,), material=material, face=wall.number, path=written)
                )
    cuts = () if walls.fill is None else tuple((walls.fill, body.adds[0]) for body in bodies)
    return Fitted(tuple(made), tuple(bodies), cuts)


@kept(16)
def tubes_of(
    stated: tuple[documents.Tube, ...], structure: Structure, turn: float, shift: Point2, names: Names
) -> Fitted[Tube]:
    """Void formers and the room they take from the fill, set down."""
    tubes: list[Tube] = []
    bodies: list[Body] = []
    cuts: list[tuple[int, Prism]] = []
    heights = structure.heights
    for index, tube in enumerate(stated):
        path: KeyPath = ("tubes", index)
        if any(tube.name == other.name for other in stated[:index]):
            names.faults.add((*path, "name"), "another tube has this name already", f"`{tube.name}`")
        outline = _tube_outline(tube, path, names)
        if structure.cavity is None:
            names.faults.add(
                path, "there is no fill for a void tube; body.kind must be filled and have plates"
            )
            return Fitted()
        if outline is None:
            continue
        low = heights.foot + tube.bottom.si if tube.bottom else heights.cavity_bottom
        high = heights.foot + tube.top.si if tube.top else heights.cavity_top
        if high <= low:
            names.faults.add(path, "ends below its foot")
            continue
        material = names.material(tube.material, (*path, "material"))
        at = point(tube.at)
        tubes.append(
            Tube(
                tube.name,
                names.at("tubes", index),
                at,
                si(tube.outside),
                si(tube.wall),
                outline if isinstance(outline, Polygon) else None,
                material,
                Metre(low),
                Metre(high),
                tube.sealed_foot,
                tube.closed_bottom,
                tube.stuffed,
            )
        )
        whole = Prism(outline, Metre(low), Metre(high))
        cuts += structure.cuts(whole, (Role.FILL,))
        bodies += _tube_body(tube, outline, whole, material, names.at("tubes", index))
    placed = (_placed_tube(tube, turn, shift) for tube in tubes)
    return Fitted(tuple(placed), tuple(bodies), tuple(cuts)).set_down(turn, shift)


def _tube_outline(tube: documents.Tube, path: KeyPath, names: Names) -> Disc | Polygon | None:
    ways = [tube.outside is not None, tube.width is not None, tube.points is not None]
    if sum(ways) != 1:
        names.faults.add(path, "give its outline once", allowed="outside (round), width (square) or points")
        return None
    at = point(tube.at)
    if tube.outside is not None:
        return Disc(at, Metre(0.5 * tube.outside.si))
    if tube.width is not None:
        a = 0.5 * tube.width.si
        return Polygon(
            ((at[0] - a, at[1] - a), (at[0] + a, at[1] - a), (at[0] + a, at[1] + a), (at[0] - a, at[1] + a))
        )
    points = [(at[0] + p[0].si, at[1] + p[1].si) for p in tube.points or ()]
    return convex_polygon(points, (*path, "points"), names.faults)


def _tube_body(
    tube: documents.Tube, outline: Disc | Polygon, whole: Prism, material: Material | None, path: str
) -> list[Body]:
    """The tube's wall; nothing is known of its mass when the wall is not stated."""
    if tube.wall is None:
        return []
    wall = tube.wall.si
    if isinstance(outline, Disc):
        hollow: Disc | Polygon | None = (
            Disc(outline.centre, Metre(outline.radius - wall)) if outline.radius > wall else None
        )
    else:
        import shapely

        inside = shapely.Polygon(outline.points).buffer(-wall, join_style="mitre")
        hollow = None if inside.is_empty else Polygon(tuple((x, z) for x, z in inside.exterior.coords[:-1]))
    cuts = () if hollow is None else (replace(whole, section=hollow),)
    return [Body(tube.name, Role.VOID_FORMER, (whole,), cuts, material, path=path)]


def _placed_tube(tube: Tube, turn: float, shift: Point2) -> Tube:
    """A tube after the column is turned and set down."""
    outline = None if tube.outline is None else placed_polygon(tube.outline, turn, shift)
    return replace(tube, at=turned_about(tube.at, turn, shift), outline=outline)
