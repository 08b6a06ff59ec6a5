"""Faces and what is cut into them: hole patterns, pockets, anchors behind them, tubes in the fill."""

from __future__ import annotations

from dataclasses import replace

from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import face_frame
from orthostat.document import column as documents
from orthostat.document.reading import KeyPath
from orthostat.meaning.names import Names
from orthostat.meaning.plan import convex_polygon
from orthostat.meaning.stations import Stage
from orthostat.meaning.structure import Structure, across_range, flush, placed_polygon
from orthostat.meaning.values import places, point, si
from orthostat.meaning.walls import contains
from orthostat.model.bodies import Body, Disc, Face, Hole, Point2, Polygon, Prism, Role
from orthostat.model.column import Anchor, Tube
from orthostat.model.materials import Material
from orthostat.model.stations import FacePattern


def own_faces(structure: Structure, base: Polygon | None, lid: Polygon | None) -> tuple[Face, ...]:
    """Faces in the own plan. Where base plate or lid lie flush they belong to the face."""
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


class FaceWork:
    """Cuts holes and pockets into plates, and sets anchors behind them."""

    def __init__(self, structure: Structure, stage: Stage, names: Names) -> None:
        self.structure = structure
        self.stage = stage
        self.names = names
        self.bodies: list[Body] = []
        self._of_role = {
            role: [i for i, body in enumerate(structure.bodies) if body.role is role] for role in Role
        }
        self._frames = {face.number: face_frame(Radian(face.angle), face.distance) for face in stage.faces}
        self._cuts: dict[int, list[Prism]] = {}
        """What is still to be cut out of each body of the structure."""
        self._plates: dict[tuple[float, float, int], list[int]] = {}
        """Which plates a place in plan under a face lies in."""

    def patterns(self, stated: tuple[documents.Pattern, ...]) -> tuple[FacePattern, ...]:
        """The holes of every face; bores in plates (and in the fill behind, where deeper)."""
        by_face: dict[int, list[Hole]] = {}
        for index, pattern in enumerate(stated):
            path: KeyPath = ("patterns", index)
            self._check(pattern, path)
            spots = places(pattern)
            if not spots:
                self.names.faults.add(path, "is nowhere; give at, grid or circle")
            diameter = self._drilled(pattern, path)
            if diameter is None:
                continue
            for face in self.stage.chosen(pattern.faces, (*path, "faces")):
                for u, v in spots:
                    hole = self._hole(pattern, (u, v + self.stage.v_shift), diameter, path)
                    by_face.setdefault(face.number, []).append(hole)
                    bore = hole.insert_diameter or hole.diameter
                    self._sink(face, Disc(hole.at, Metre(0.5 * bore)), hole.depth)
        self._cut_all()
        return tuple(
            FacePattern(face, tuple(holes), self.names.at("patterns"))
            for face, holes in sorted(by_face.items())
        )

    def _check(self, pattern: documents.Pattern, path: KeyPath) -> None:
        if pattern.thread is None and pattern.diameter is None:
            self.names.faults.add(
                path, "is neither thread nor bore; give thread, or diameter of a dowel bore"
            )
        if pattern.thread is not None and pattern.diameter is not None:
            self.names.faults.add(path, "gives both thread and diameter; keep one")
        if pattern.diameter is not None:
            self.names.known_hole(pattern.fit, float(pattern.diameter.si), (*path, "fit"))
        elif pattern.fit is not None:
            self.names.faults.add((*path, "fit"), "is of a bore; a thread has none", f"`{pattern.fit}`")

    def _drilled(self, pattern: documents.Pattern, path: KeyPath) -> float | None:
        if pattern.thread is not None:
            thread = self.names.thread(pattern.thread, (*path, "thread"))
            return None if thread is None else float(thread.tapping_drill or thread.internal_minor_diameter)
        return None if pattern.diameter is None else float(pattern.diameter.si)

    def _hole(self, pattern: documents.Pattern, at: Point2, diameter: float, path: KeyPath) -> Hole:
        insert = pattern.insert
        return Hole(
            at,
            pattern.thread,
            Metre(diameter),
            Metre(pattern.depth.si),
            Metre(insert.diameter.si) if insert else None,
            Metre(insert.length.si) if insert else None,
            pattern.fit,
            self.names.at(*path),
        )

    def pockets(self, stated: tuple[documents.Pockets, ...]) -> None:
        """Recesses from outside into plates (and fill)."""
        for index, pocket in enumerate(stated):
            path: KeyPath = ("pockets", index)
            round_, square = (
                pocket.diameter is not None,
                pocket.width is not None or pocket.height is not None,
            )
            if round_ == square or (square and (pocket.width is None or pocket.height is None)):
                self.names.faults.add(path, "give either diameter, or width and height")
                continue
            for face in self.stage.chosen(pocket.faces, (*path, "faces")):
                for u, v in places(pocket):
                    at = (u, v + self.stage.v_shift)
                    if pocket.diameter is not None:
                        section: Disc | Polygon = Disc(at, Metre(0.5 * pocket.diameter.si))
                    else:
                        a, b = 0.5 * (si(pocket.width) or 0.0), 0.5 * (si(pocket.height) or 0.0)
                        section = Polygon(
                            ((u - a, at[1] - b), (u + a, at[1] - b), (u + a, at[1] + b), (u - a, at[1] + b))
                        )
                    self._sink(face, section, Metre(pocket.depth.si))
        self._cut_all()

    def anchors(self, stated: tuple[documents.Anchors, ...]) -> tuple[Anchor, ...]:
        """Bars from the plates into the fill."""
        made: list[Anchor] = []
        for index, group in enumerate(stated):
            path: KeyPath = ("anchors", index)
            if self.structure.cavity is None:
                self.names.faults.add(
                    path, "there is no fill to anchor in; body.kind must be filled and have plates"
                )
                return ()
            material = self.names.material(group.material, (*path, "material"))
            spots = places(group)
            if not spots:
                self.names.faults.add(path, "is nowhere; give at, grid or circle")
            for face in self.stage.chosen(group.faces, (*path, "faces")):
                for u, v in spots:
                    anchor = Anchor(
                        face.number,
                        (u, v + self.stage.v_shift),
                        Metre(group.diameter.si),
                        Metre(group.length.si),
                        None if group.head_diameter is None else Metre(group.head_diameter.si),
                        self.names.at("anchors", index),
                    )
                    made.append(anchor)
                    self._anchor_body(anchor, len(made), face, material)
        self._cut_all()
        return tuple(made)

    def _anchor_body(self, anchor: Anchor, number: int, face: Face, material: Material | None) -> None:
        wall = self.structure.sides[face.number - 1].wall or 0.0
        frame = self._frames[face.number]
        bar = Prism(
            Disc(anchor.at, Metre(0.5 * anchor.diameter)), Metre(-wall - anchor.length), Metre(-wall), frame
        )
        self._add_cut(Role.FILL, bar, face)
        self.bodies.append(
            Body(
                f"anchor {number}", Role.ANCHOR, (bar,), material=material, face=face.number, path=anchor.path
            )
        )

    def _sink(self, face: Face, section: Disc | Polygon, depth: Metre) -> None:
        """Cut from a face inward: the wall as far as it goes, then the fill behind it."""
        frame = self._frames[face.number]
        wall = self.structure.sides[face.number - 1].wall
        solid = wall is None or self.structure.inner is None
        in_wall = float(depth) if solid else min(float(depth), wall or 0.0)
        self._add_cut(
            Role.SOLID if solid else Role.PLATE, Prism(section, Metre(-in_wall), Metre(0.0), frame), face
        )
        if not solid and depth > in_wall + 1e-9 and self.structure.cavity is not None:
            self._add_cut(Role.FILL, Prism(section, Metre(-depth), Metre(-in_wall), frame), face)

    def _add_cut(self, role: Role, cut: Prism, face: Face) -> None:
        """Add a cut to the body of this role that holds its middle (faces are set down already)."""
        bodies = self.structure.bodies
        found = self._of_role[role]
        if role is Role.PLATE and len(found) > 1:
            centre = cut.section.centre if isinstance(cut.section, Disc) else cut.section.points[0]
            x, _, z = cut.frame.point(centre[0], centre[1], 0.5 * (cut.low + cut.high))
            key = (x, z, face.number)  # holes above one another are in the same plate
            if key not in self._plates:
                holding = [
                    i
                    for i in found
                    if isinstance(s := bodies[i].adds[0].section, Polygon) and contains(s.points, (x, z))
                ]
                self._plates[key] = holding or [i for i in found if bodies[i].face == face.number]
            found = self._plates[key]
        if found:
            self._cuts.setdefault(found[0], []).append(cut)

    def _cut_all(self) -> None:
        bodies = self.structure.bodies
        for index, cuts in self._cuts.items():
            bodies[index] = replace(bodies[index], cuts=(*bodies[index].cuts, *cuts))
        self._cuts.clear()


def tubes_of(
    stated: tuple[documents.Tube, ...], structure: Structure, names: Names
) -> tuple[tuple[Tube, ...], list[Body]]:
    """Void formers in the own plan, and the room they take from the fill."""
    tubes: list[Tube] = []
    bodies: list[Body] = []
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
            return (), []
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
        structure.cut(whole, (Role.FILL,))
        bodies += _tube_body(tube, outline, whole, material, names.at("tubes", index))
    return tuple(tubes), bodies


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


def placed_tube(tube: Tube, turn: float, shift: Point2, at: Point2) -> Tube:
    """A tube after the column is turned and set down; `at` is its place by then."""
    outline = None if tube.outline is None else placed_polygon(tube.outline, turn, shift)
    return replace(tube, at=at, outline=outline)
