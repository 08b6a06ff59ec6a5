"""What each cut of a body is: a tapped hole, a bore for a pin, a clearance hole for a stud, a pocket."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from math import hypot

from orthostat.base.dimensions import Metre
from orthostat.base.frames import face_frame
from orthostat.model.bodies import Body, Disc, Face, Hole, Point2, Polygon, Prism
from orthostat.model.column import Anchor, Pin
from orthostat.model.joining import Joiner
from orthostat.model.stations import FacePattern

SAME = 1e-7
"""Two places closer than this [m] are one place."""


class FeatureKind(str, Enum):
    """What a feature is, in the words of a hole table."""

    TAPPED = "tapped hole"
    BORE = "bore"
    PIN_BORE = "pin bore"
    CLEARANCE = "clearance hole"
    DOWEL_BORE = "dowel bore"
    HOLE = "hole"
    POCKET = "pocket"
    ANCHOR = "anchor place"


@dataclass(frozen=True, slots=True)
class Purpose:
    """What a cut is for, as the document says it; `call` is the words beside the diameter."""

    kind: FeatureKind
    thread: str | None = None
    fit: str | None = None
    insert_diameter: Metre | None = None
    insert_length: Metre | None = None
    path: str = ""
    recess: Metre | None = None
    """Diameter of the counterbore for a head, at the end where the hole enters."""
    recess_depth: Metre | None = None
    thread_depth: Metre | None = None
    """Full thread, where it is less than the drilled depth."""


@dataclass(frozen=True, slots=True)
class Feature:
    """One hole or pocket of a view, in the view's own plane from its datum corner [m]."""

    label: str
    """Letter of its kind and size, number within it: `A3`."""
    purpose: Purpose
    at: Point2
    diameter: Metre | None
    """`None` for a pocket that is not round."""
    outline: tuple[Point2, ...]
    """Corners of a pocket that is not round, from the datum; empty for a hole."""
    depth: Metre
    through: bool
    edge: Metre
    """From the feature's rim to the nearest edge of the outline; negative where it breaks out."""
    hidden: bool = False
    """On the far side of the piece."""

    @property
    def kind(self) -> FeatureKind:
        return self.purpose.kind

    @property
    def widest(self) -> Metre:
        """Diameter of its widest part on the surface; 0 for a pocket that is not round."""
        return Metre(max(self.diameter or 0.0, self.purpose.recess or 0.0))

    @property
    def is_tapped(self) -> bool:
        return self.kind is FeatureKind.TAPPED

    @property
    def is_anchor(self) -> bool:
        return self.kind is FeatureKind.ANCHOR

    @property
    def letter(self) -> str:
        """Letters of the label: holes that share them are alike."""
        return self.label.rstrip("0123456789")


@dataclass(frozen=True, slots=True)
class Passage:
    """Where a stud passes."""

    at: Point2
    thread: str
    path: str


@dataclass(frozen=True)
class Register:
    """Where the document puts holes, pins, studs and anchors, to say what a cut is for."""

    faces: tuple[Face, ...]
    patterns: tuple[FacePattern, ...]
    studs: tuple[Passage, ...]
    pins: tuple[Pin, ...]
    anchors: tuple[Anchor, ...]
    joiners: tuple[Joiner, ...]

    @cached_property
    def joined(self) -> dict[Prism, Joiner]:
        """Every cut that a screw or dowel between pieces makes."""
        return {
            prism: joiner
            for joiner in self.joiners
            for prism in (joiner.counterbore, joiner.hole, joiner.bored)
            if prism is not None
        }

    def face_of(self, body: Body) -> Face | None:
        """The face that a body is the plate of or stands on."""
        return next((face for face in self.faces if face.number == body.face), None)

    def passes(self, cut: Prism) -> bool:
        """Whether a cut is a screw's or dowel's way through the piece that covers the other's edge."""
        joiner = self.joined.get(cut)
        return joiner is not None and cut != joiner.bored

    def kind_of(self, cut: Prism) -> object:
        """What a cut is for, wherever the document says it."""
        what = self.purpose(cut)
        return (
            *(what.kind, what.thread, what.fit, what.insert_diameter, what.insert_length),
            *(what.recess, what.recess_depth, what.thread_depth, self.is_part(cut), self.passes(cut)),
        )

    def is_part(self, cut: Prism) -> bool:
        """Whether a cut is the narrow part of a counterbored hole, told with its recess."""
        joiner = self.joined.get(cut)
        return joiner is not None and joiner.counterbore is not None and cut == joiner.hole

    def purpose(self, cut: Prism) -> Purpose:
        """What a cut is for; a plain hole or pocket where the document says nothing of it."""
        if (joiner := self.joined.get(cut)) is not None:
            return _joint_purpose(joiner, cut)
        if isinstance(cut.section, Polygon):
            return Purpose(FeatureKind.POCKET)
        if abs(cut.frame.third[1]) < 0.5:
            hole = self._face_hole(cut, cut.section)
            return Purpose(FeatureKind.HOLE) if hole is None else _face_purpose(hole)
        return self._upright(cut.section)

    @cached_property
    def _face_holes(self) -> dict[tuple[float, ...], Hole]:
        """Every hole of the faces' patterns by its mouth in the column frame and its diameter."""
        found: dict[tuple[float, ...], Hole] = {}
        for pattern in self.patterns:
            face = next((each for each in self.faces if each.number == pattern.face), None)
            if face is not None:
                frame = face_frame(face.angle, face.distance)  # type: ignore[arg-type]  # its angle is in radian
                for hole in pattern.holes:
                    found.setdefault((*frame.point(*hole.at, 0.0), hole.diameter), hole)
        return found

    @cached_property
    def _rounded_holes(self) -> dict[tuple[float, ...], Hole]:
        """The same, in steps of SAME: those of nearly all cuts are found so, the others one by one."""
        return {_steps(place): hole for place, hole in reversed(self._face_holes.items())}

    def _face_hole(self, cut: Prism, disc: Disc) -> Hole | None:
        place = (*cut.frame.point(*disc.centre, cut.high), 2.0 * disc.radius)
        return self._rounded_holes.get(_steps(place)) or next(
            (
                hole
                for other, hole in self._face_holes.items()
                if all(abs(p - q) < SAME for p, q in zip(place, other, strict=True))
            ),
            None,
        )

    def _upright(self, disc: Disc) -> Purpose:
        for pin in self.pins:
            bore = pin.hole_above if pin.hole_above is not None else pin.diameter
            if close(pin.at, disc.centre) and abs(bore - 2 * disc.radius) < SAME:
                return Purpose(FeatureKind.PIN_BORE, fit=hole_fit(pin.fit_above), path=pin.path)
        for stud in self.studs:
            if close(stud.at, disc.centre):
                return Purpose(FeatureKind.CLEARANCE, thread=stud.thread, path=stud.path)
        return Purpose(FeatureKind.HOLE)


def _joint_purpose(joiner: Joiner, cut: Prism) -> Purpose:
    if joiner.what == "dowel":
        return Purpose(FeatureKind.DOWEL_BORE, fit=hole_fit(joiner.fit), path=joiner.path)
    if cut == joiner.bored:
        return Purpose(
            FeatureKind.TAPPED, thread=joiner.thread, path=joiner.path, thread_depth=joiner.thread_depth
        )
    recess = joiner.counterbore
    width = 2.0 * recess.section.radius if recess and isinstance(recess.section, Disc) else None
    return Purpose(
        FeatureKind.CLEARANCE,
        thread=joiner.thread,
        path=joiner.path,
        recess=None if width is None else Metre(width),
        recess_depth=joiner.head_seat,
    )


def _face_purpose(hole: Hole) -> Purpose:
    if hole.thread is None:
        return Purpose(FeatureKind.BORE, fit=hole_fit(hole.fit), path=hole.path)
    return Purpose(
        FeatureKind.TAPPED,
        thread=hole.thread,
        insert_diameter=hole.insert_diameter,
        insert_length=hole.insert_length,
        path=hole.path,
    )


def hole_fit(fit: str | None) -> str | None:
    """The hole's part of a fit: `H7` of `H7/m6`."""
    return None if fit is None else fit.split("/")[0].strip()


def _steps(place: tuple[float, ...]) -> tuple[float, ...]:
    return tuple([round(each / SAME) for each in place])


def close(a: Point2, b: Point2) -> bool:
    """Whether two plan points are one."""
    return hypot(a[0] - b[0], a[1] - b[1]) < SAME


def anchors_of(body: Body, anchors: tuple[Anchor, ...]) -> tuple[Anchor, ...]:
    """Anchors that stand on the inner side of a plate."""
    return tuple(each for each in anchors if body.face is not None and each.face == body.face)
