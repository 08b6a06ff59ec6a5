"""Screws, dowels, glue and welds between pieces: `[[joints]]` becomes holes in both and what fills them."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Any

from orthostat import catalogue
from orthostat.base.dimensions import Metre
from orthostat.base.units import resolve
from orthostat.catalogue.labour import ALLOWANCES
from orthostat.document import column as documents
from orthostat.document.joining import Joints
from orthostat.document.reading import KeyPath
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names
from orthostat.meaning.seams import Line, lines_of
from orthostat.meaning.structure import Cuts, Structure
from orthostat.meaning.values import places, si
from orthostat.meaning.walls import contains
from orthostat.model.bodies import Body, Disc, Face, Point2, Polygon, Prism, Role
from orthostat.model.joining import CORNERS, Joiner, Joint, Seam

_BELONGS = {
    "thread": "screwed", "grade": "screwed", "hole": "screwed", "counterbore": "screwed",
    "head_below": "screwed", "thread_depth": "screwed", "drill_depth": "screwed", "torque": "screwed",
    "thread_friction": "screwed", "head_friction": "screwed", "length": "screwed dowelled",
    "count": "screwed dowelled", "spacing": "screwed dowelled", "end_distance": "screwed dowelled",
    "inset": "screwed dowelled", "diameter": "dowelled", "fit": "dowelled", "throat": "welded",
    "strength": "glued welded",
}  # fmt: skip
"""Key to the ways of joining that it belongs to."""


@dataclass(frozen=True, slots=True)
class Joined:
    """The seams of a body, what joins them, and what that cuts out of its pieces."""

    seams: tuple[Seam, ...] = ()
    joints: tuple[Joint, ...] = ()
    bodies: tuple[Body, ...] = ()
    cuts: Cuts = ()


@kept(16)
def joined(
    stated: tuple[Joints, ...],
    base_plate: documents.EndPlate | None,
    lid: documents.EndPlate | None,
    structure: Structure | None,
    faces: tuple[Face, ...],
    clamped: bool,  # noqa: FBT001  # what is kept is told by arguments in their order
    trued: Metre | None,
    names: Names,
) -> Joined:
    """What joins the pieces of a structure that is set down, if there is one; `clamped` where studs press it
    together from its top, `trued` what is taken off its faces later.
    """
    lines = [] if structure is None else lines_of(base_plate, lid, structure, faces, clamped=clamped)
    laying = _Laying(lines, () if structure is None else structure.bodies, faces, trued, names)
    joints = tuple(laying.joint(each, ("joints", k)) for k, each in enumerate(stated))
    return Joined(tuple(line.seam for line in lines), joints, tuple(laying.bodies), tuple(laying.cuts))


class _Laying:
    """Lays joints out one after another."""

    def __init__(
        self,
        lines: list[Line],
        pieces: tuple[Body, ...],
        faces: tuple[Face, ...],
        trued: Metre | None,
        names: Names,
    ) -> None:
        self.lines = lines
        self.pieces = {body.name: (index, body) for index, body in reversed(list(enumerate(pieces)))}
        self.faces = faces
        self.trued = trued
        self.names = names
        self.bodies: list[Body] = []
        self.cuts: list[tuple[int, Prism]] = []
        self._count = {"screw": 0, "dowel": 0}

    def joint(self, stated: Joints, path: KeyPath) -> Joint:
        faults = self.names.faults
        for key, ways in _BELONGS.items():
            if getattr(stated, key) is not None and stated.how not in ways.split():
                faults.add((*path, key), f"does not belong to a joint that is {stated.how}")
        numbers = {face.number for face in self.names.faces(stated.faces, self.faces, (*path, "faces"))}
        lines = [
            line
            for line in self.lines
            if line.seam.kind == stated.between and (line.seam.face is None or line.seam.face in numbers)
        ]
        if not lines:
            faults.add(
                (*path, "between"), f"this body has no seam of {stated.between}", f"`{stated.between}`"
            )
        grade = self.names.grade(stated.grade, (*path, "grade"))
        joiners: tuple[Joiner, ...] = ()
        missing: tuple[str, ...] = ()
        if stated.how in ("screwed", "dowelled") and lines:
            joiners, missing = self._joiners(stated, lines, path)
        return Joint(
            path=self.names.at(*path),
            kind=stated.between,
            how=stated.how,
            seams=tuple(line.seam for line in lines),
            joiners=joiners,
            thread=stated.thread,
            grade=grade,
            torque=si(stated.torque),
            thread_friction=si(stated.thread_friction),
            head_friction=si(stated.head_friction),
            throat=si(stated.throat),
            strength=si(stated.strength),
            missing=missing,
            note=stated.note or "",
        )

    def _joiners(
        self, stated: Joints, lines: list[Line], path: KeyPath
    ) -> tuple[tuple[Joiner, ...], tuple[str, ...]]:
        faults, screwed = self.names.faults, stated.how == "screwed"
        placed = bool(stated.at or stated.grid or stated.circle)
        by_row = stated.count is not None or stated.spacing is not None
        wanted = ["thread" if screwed else "diameter", "length"]
        if not placed and not by_row:
            wanted.append("count")
        if not placed and stated.end_distance is None:
            wanted.append("end_distance")
        missing = [self.names.at(*path, key) for key in wanted if getattr(stated, key) is None]
        if placed and stated.between == CORNERS:
            faults.add(path, "gives places in plan, which corners have not; give count and end_distance")
        if (placed and by_row) or (stated.count is not None and stated.spacing is not None):
            faults.add(path, "gives places twice; keep one of count, spacing, at, grid, circle")
        mitred = [line for line in lines if not line.square]
        if mitred and not placed:
            what = "a mitre" if stated.between == CORNERS else f"{mitred[0].seam.inner} as a whole"
            why = "has no edge to screw into square" if stated.between == CORNERS else "has no row along it"
            said = "say welded or glued" if stated.between == CORNERS else "give at, grid or circle"
            faults.add((*path, "how"), f"{what} {why}; {said}", f"`{stated.how}`")
            return (), ()
        thread = self.names.thread(stated.thread, (*path, "thread")) if stated.thread else None
        self.names.known_fit(stated.fit, float(si(stated.diameter) or 0.01), (*path, "fit"))
        if missing or (screwed and thread is None):
            return (), tuple(missing)
        size = self._sizes(stated, thread, path)
        if size is None:
            return (), ()
        rows = {id(line): _Row(line, size, self.names.at(*path)) for line in lines}
        return tuple(
            self._place(rows[id(line)], at, along)
            for line, at, along in self._spots(stated, lines, size, path, placed=placed)
        ), ()

    def _spots(
        self, stated: Joints, lines: list[Line], size: _Size, path: KeyPath, *, placed: bool
    ) -> list[tuple[Line, Point2, float | None]]:
        """Every place with the seam it belongs to and how far along that it stands."""
        if placed:
            return self._in_plan(stated, lines, path)
        found: list[tuple[Line, Point2, float | None]] = []
        for line in lines:
            length, end = line.length, si(stated.end_distance)
            room = length - 2.0 * end
            if room < -1e-9:
                self.names.faults.add(
                    (*path, "end_distance"), f"leaves nothing of {line.seam.name}",
                    f"`{stated.end_distance.text if stated.end_distance else ''}`",
                )  # fmt: skip
                continue
            count = stated.count or 1 + ceil(room / si(stated.spacing) - 1e-9)
            aside = self._aside(line, stated, size)
            for k in range(count):
                along = 0.5 * length if count == 1 else end + room * k / (count - 1)
                share = along / length
                x = line.start[0] + share * (line.end[0] - line.start[0]) + aside * line.across[0]
                y = line.start[1] + share * (line.end[1] - line.start[1]) + aside * line.across[1]
                found.append((line, (x, y), along))
        return found

    def _aside(self, line: Line, stated: Joints, size: _Size) -> float:
        """How far the row stands from the middle of the edge, toward its inner side."""
        if stated.inset is not None:
            return float(stated.inset.si) - 0.5 * line.width
        return line.lean * size.depths(line)[1]

    def _in_plan(
        self, stated: Joints, lines: list[Line], path: KeyPath
    ) -> list[tuple[Line, Point2, float | None]]:
        found: list[tuple[Line, Point2, float | None]] = []
        for at in places(stated):
            for line in lines:
                body = self.pieces[line.seam.inner][1]
                if any(isinstance(p.section, Polygon) and contains(p.section.points, at) for p in body.adds):
                    found.append((line, at, None))
                    break
            else:
                where = f"({at[0] * 1e3:.6g} mm, {at[1] * 1e3:.6g} mm)"
                self.names.faults.add((*path, "at"), "no wall stands at this place", where)
        return found

    def _sizes(self, stated: Joints, thread: Any, path: KeyPath) -> _Size | None:
        length = float(si(stated.length))
        if thread is None:
            diameter = float(si(stated.diameter))
            return _Size(length, diameter, diameter, diameter, stated.fit)
        try:
            head = catalogue.head(thread.name)
        except catalogue.UnknownRow:
            head = None
        if head is None or head.socket_head_diameter is None or head.socket_head_height is None:
            self.names.faults.add(
                (*path, "thread"), "has no socket head in the catalogue", f"`{thread.name}`"
            )
            return None
        recess = si(stated.counterbore) or head.counterbore_diameter
        hole = si(stated.hole) or thread.clearance_normal
        if recess is None or hole is None:
            key = "counterbore" if recess is None else "hole"
            self.names.faults.add((*path, key), f"is not in the catalogue for {thread.name}; state it")
            return None
        below = si(stated.head_below)
        if below is None:
            below = float(ALLOWANCES.row("head below its surface").length or 0.0)
            below += float(self.trued or 0.0)
        size = _Size(
            length,
            float(thread.nominal),
            float(hole),
            float(thread.tapping_drill or thread.internal_minor_diameter),
            thread=stated.thread,
            pitch=float(thread.pitch),
            recess=float(recess),
            head=float(head.socket_head_height),
            head_diameter=float(head.socket_head_diameter),
            below=float(below),
            thread_depth=si(stated.thread_depth),
            drill_depth=si(stated.drill_depth),
            step=(0.5 * resolve("mm").factor if thread.system == "metric" else resolve("in").factor / 32.0),
        )
        if size.recess < size.head_diameter:
            self.names.faults.add(
                (*path, "counterbore"), "is narrower than the head", f"`{stated.counterbore}`",
                f"{1e3 * size.head_diameter:.4g} mm or more",
            )  # fmt: skip
        return size

    def _place(self, row: _Row, at: Point2, along: float | None) -> Joiner:
        self._count[row.what] += 1
        joiner = row.joiner(f"joining {row.what} {self._count[row.what]}", at, along)
        self.bodies.append(row.body(joiner.name, at))
        outer, inner = (self.pieces[name][0] for name in (joiner.seam.outer, joiner.seam.inner))
        self.cuts += [(outer, prism) for prism in (joiner.counterbore, joiner.hole) if prism is not None]
        self.cuts.append((inner, joiner.bored))
        return joiner


class _Row:
    """Screws or dowels alike along one seam: all but where each stands."""

    def __init__(self, line: Line, size: _Size, path: str) -> None:
        self.line, self.size, self.path = line, size, path
        self.what = "dowel" if size.thread is None else "screw"
        self.seat = seat = size.seat(line.through)
        self.depth, bored = size.depths(line)
        sink, tip = line.through + line.gap, seat + size.length
        self.hole = self._span(size.hole, seat if size.thread else 0.0, line.through)
        self.counterbore = self._span(size.recess, 0.0, seat) if size.thread else None
        self.bored = self._span(size.drill, sink, sink + bored)
        self.adds = [self._span(size.diameter, seat, tip if size.thread is None else min(sink, tip))]
        if size.thread is not None:
            self.adds.insert(0, self._span(size.head_diameter, seat - size.head, seat))
            if tip > sink + 1e-9:
                self.adds.append(self._span(size.drill, sink, tip))

    def _span(self, diameter: float, start: float, stop: float) -> tuple[Metre, Metre, Metre]:
        """Radius, and both ends along the third axis of the seam's frame, for depths from the surface."""
        line = self.line
        low, high = sorted((line.surface - line.sign * start, line.surface - line.sign * stop))
        return Metre(0.5 * diameter), Metre(low), Metre(high)

    def _prism(self, at: Point2, span: tuple[Metre, Metre, Metre]) -> Prism:
        radius, low, high = span
        return Prism(Disc(at, radius), low, high, self.line.frame)

    def joiner(self, name: str, at: Point2, along: float | None) -> Joiner:
        line, size = self.line, self.size
        return Joiner(
            name=name,
            seam=line.seam,
            path=self.path,
            what=self.what,
            thread=size.thread,
            diameter=Metre(size.diameter),
            length=Metre(size.length),
            head_seat=Metre(self.seat),
            through=Metre(line.through),
            gap=Metre(line.gap),
            along=None if along is None else Metre(along),
            head_height=Metre(size.head),
            head_diameter=Metre(size.head_diameter),
            hole=self._prism(at, self.hole),
            counterbore=None if self.counterbore is None else self._prism(at, self.counterbore),
            bored=self._prism(at, self.bored),
            thread_depth=Metre(self.depth),
            fit=size.fit,
        )

    def body(self, name: str, at: Point2) -> Body:
        adds = tuple(self._prism(at, span) for span in self.adds)
        return Body(name, Role.SCREW, adds, material=catalogue.material("steel"), path=self.path)


@dataclass(frozen=True, slots=True)
class _Size:
    """The sizes of one screw or dowel [m]; a dowel has no head."""

    length: float
    diameter: float
    hole: float
    drill: float
    fit: str | None = None
    thread: str | None = None
    pitch: float = 0.0
    recess: float = 0.0
    head: float = 0.0
    head_diameter: float = 0.0
    below: float = 0.0
    thread_depth: float | None = None
    drill_depth: float | None = None
    step: float = 1e-4
    """Depths worked out are rounded up to this."""

    def seat(self, through: float) -> float:
        """Where the head bears below the surface; some of the covering piece is left under it."""
        return min(self.below + self.head, 0.9 * through)

    def depths(self, line: Line) -> tuple[float, float]:
        """Full thread and drilled depth in the second piece, stated or by rule."""
        reach = self.length - (line.through - self.seat(line.through)) - line.gap
        deep = max(reach, self.pitch, 1e-4)
        if self.thread is None:
            return deep, deep
        thread = self.thread_depth if self.thread_depth is not None else self._up(deep + self.pitch)
        out = float(ALLOWANCES.row("run-out of a tapped hole").share or 0.0) * self.pitch
        return thread, max(
            self.drill_depth if self.drill_depth is not None else self._up(thread + out), thread
        )

    def _up(self, length: float) -> float:
        """A length [m] rounded up to the step that the shop's drawings take."""
        return self.step * ceil(length / self.step - 1e-6)
