"""Pieces of a column: which bodies are made, which are alike, how they are drawn and cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import cos, hypot, sin

import shapely

from orthostat.analyses.pieces.features import Letters, anchor_marks, features_of
from orthostat.analyses.pieces.holes import Feature, Passage, Register, anchors_of
from orthostat.analyses.pieces.views import View, beside, view_of
from orthostat.base.dimensions import Metre
from orthostat.base.frames import Frame, Vector, face_frame
from orthostat.formulas.polygons import sides
from orthostat.model.bodies import Body, Disc, Face, Point2, Prism, Role, Section
from orthostat.model.column import Column
from orthostat.model.materials import Material

MADE_ROLES = (Role.BASE_PLATE, Role.PLATE, Role.SOLID, Role.CLEAT, Role.LID)
"""Bodies that get a drawing, in the order they are wanted at the bench."""
CUT_ROLES = (Role.SLEEVE, Role.VOID_FORMER, Role.ANCHOR)
"""Bodies that are sawn to length from bar or tube and need no drawing."""

UP: Vector = (0.0, 1.0, 0.0)
DOWN: Vector = (0.0, -1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Inputs:
    """Bodies of the column itself and where the document puts holes."""

    bodies: tuple[Body, ...]
    register: Register


def inputs_from(column: Column) -> Inputs:
    """The inputs of one column."""
    return Inputs(
        column.bodies,
        Register(
            column.faces,
            column.patterns,
            tuple(Passage(stud.at, stud.thread, stud.path) for stud in column.studs),
            column.pins,
            column.anchors,
            tuple(joiner for joint in column.joints for joiner in joint.joiners),
        ),
    )


@dataclass(frozen=True, slots=True)
class Part:
    """A piece to make: one drawing for all bodies that are alike."""

    number: int
    """Position on the cut list, from 1."""
    name: str
    bodies: tuple[Body, ...]
    views: tuple[View, ...]
    """Views with holes first; the last one shows the thickness. Empty for bar and tube."""
    features: tuple[tuple[Feature, ...], ...]
    """Holes of each view, as seen in it."""
    size: tuple[Metre, Metre, Metre]
    """Length, width, thickness, falling; for bar and tube: length, then both outside measures, falling."""
    is_round: bool
    wall: Metre | None = None
    """Thickness of a tube's wall."""

    @property
    def role(self) -> Role:
        return self.bodies[0].role

    @property
    def material(self) -> Material | None:
        return self.bodies[0].material

    @property
    def path(self) -> str:
        return self.bodies[0].path

    @property
    def count(self) -> int:
        return len(self.bodies)

    @property
    def is_cast(self) -> bool:
        """Whether it is the walls of a casting, bought as one raw piece."""
        return self.role is Role.PLATE and self.bodies[0].face is None

    @property
    def holes(self) -> tuple[Feature, ...]:
        """Every hole once: those seen on the far side of a view belong to another one."""
        return tuple(f for view in self.features for f in view if not f.hidden)


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """What `solve` gives."""

    parts: tuple[Part, ...]

    @property
    def drawn(self) -> tuple[Part, ...]:
        """Parts with a drawing of their own."""
        return tuple(part for part in self.parts if part.views)

    @property
    def sawn(self) -> tuple[Part, ...]:
        """Lengths of bar and tube."""
        return tuple(part for part in self.parts if not part.views)


def solve(inputs: Inputs) -> Pieces:
    """Parts in cut-list order, bodies that are alike gathered."""
    made: list[Part] = []
    for role in (*MADE_ROLES, *CUT_ROLES):
        for part in _gathered([body for body in inputs.bodies if body.role is role], inputs.register):
            made.append(replace(part, number=len(made) + 1, name=_name(part.bodies)))
    return Pieces(tuple(made))


def _gathered(bodies: list[Body], register: Register) -> list[Part]:
    """One part for bodies that are alike: as they lie in the column, turned to their face, or once drawn."""
    turned: dict[object, list[Body]] = {}
    for body in bodies:
        turned.setdefault(_turned(body, register), []).append(body)
    alike: dict[object, list[Part]] = {}
    for same in turned.values():
        part = _drawn(same[0], register) if same[0].role in MADE_ROLES else _sawn(same[0])
        alike.setdefault(_likeness(part), []).append(replace(part, bodies=tuple(same)))
    return [
        replace(parts[0], bodies=tuple(body for body in bodies if any(body in part.bodies for part in parts)))
        for parts in alike.values()
    ]


def _turned(body: Body, register: Register) -> object:
    """What is the same of two bodies that one drawing serves wherever they stand; others are told apart."""
    face = register.face_of(body)
    if face is None or body.role is not Role.PLATE:
        return body
    frame = face_frame(face.angle, face.distance)  # type: ignore[arg-type]  # as stored by the model
    adds = frozenset(_in(frame, add) for add in body.adds)
    cuts = frozenset((_in(frame, cut), register.kind_of(cut)) for cut in body.cuts)
    anchors = frozenset((each.at, each.diameter) for each in anchors_of(body, register.anchors))
    return body.material, body.mass, adds, cuts, len(body.cuts), anchors


def _in(frame: Frame, prism: Prism) -> object:
    """A prism as it lies in a frame, to where places are one: convex corners tell the order by themselves."""
    section = prism.section
    corners, radius = (
        ((section.centre,), section.radius) if isinstance(section, Disc) else (section.points, None)
    )
    if prism.frame == frame:
        return frozenset(corners), prism.low, prism.high, radius
    ends = [prism.frame.point(*corner, end) for corner in corners for end in (prism.low, prism.high)]
    return frozenset(tuple(round(each, 7) + 0.0 for each in frame.local(*end)) for end in ends), radius


def _name(bodies: tuple[Body, ...]) -> str:
    names = [body.name for body in bodies]
    if len(names) == 1:
        return names[0]
    stems = {name.rsplit(" ", 1)[0] for name in names}
    numbers = [name.rsplit(" ", 1)[-1] for name in names]
    if len(stems) == 1 and all(each.isdigit() for each in numbers):
        stem = stems.pop()
        values = [int(each) for each in numbers]
        run = values == list(range(values[0], values[0] + len(values)))
        return (
            f"{stem}s {numbers[0]} to {numbers[-1]}"
            if run and len(values) > 2
            else f"{stem}s {', '.join(numbers)}"
        )
    return ", ".join(names) if len(names) <= 4 else f"{names[0]} and {len(names) - 1} more"


def _likeness(part: Part) -> object:
    """What two parts share when one drawing serves both: views, holes, material."""
    body = part.bodies[0]
    views = tuple(
        (
            _rounded(ring for ring in view.outline),
            round(view.depth, 7),
            tuple(sorted(_hole_key(f) for f in holes)),
        )
        for view, holes in zip(part.views, part.features, strict=True)
    )
    return (body.role, body.material, body.mass, tuple(round(s, 7) for s in part.size), part.wall, views)


def _rounded(rings: Iterable[tuple[Point2, ...]]) -> object:
    """Rings as sets of corners: where a ring starts does not matter, and convex order follows."""
    return tuple(frozenset((round(x, 7) + 0.0, round(y, 7) + 0.0) for x, y in ring) for ring in rings)


def _hole_key(feature: Feature) -> tuple[object, ...]:
    x, y = feature.at
    purpose = feature.purpose
    place = (round(x, 7) + 0.0, round(y, 7) + 0.0)
    size = (round(feature.diameter or 0.0, 8), round(feature.depth, 8))
    return (
        *place,
        feature.kind.value,
        *size,
        feature.through,
        purpose.thread or "",
        purpose.fit or "",
        round(purpose.insert_diameter or 0.0, 8),
        round(purpose.recess or 0.0, 8),
        round(purpose.thread_depth or 0.0, 8),
        feature.hidden,
    )


def _sawn(body: Body) -> Part:
    prism = body.adds[0]
    wide, narrow = _across(prism.section)
    wall = None
    if body.cuts:
        wall = Metre(0.5 * (narrow - _across(body.cuts[0].section)[1]))
    size = (Metre(prism.high - prism.low), Metre(wide), Metre(narrow))
    return Part(0, body.name, (body,), (), (), size, isinstance(prism.section, Disc), wall)


def _across(section: Section) -> tuple[float, float]:
    """The two sides of the least rectangle with a side along an edge that holds a convex section, falling."""
    if isinstance(section, Disc):
        return 2.0 * section.radius, 2.0 * section.radius
    boxes = []
    for a, b, _ in sides(section.points):
        along = [p[0] * b - p[1] * a for p in section.points]
        beside = [p[0] * a + p[1] * b for p in section.points]
        boxes.append((max(along) - min(along), max(beside) - min(beside)))
    best = min(boxes, key=lambda box: box[0] * box[1])
    return max(best), min(best)


def _drawn(body: Body, register: Register) -> Part:
    face = register.face_of(body)
    main = (sin(face.angle), 0.0, cos(face.angle)) if face and body.role is Role.PLATE else UP
    directions: list[tuple[str, Vector]] = [
        ("from outside" if main is not UP else "from above", _exact(main))
    ]
    directions += [each for each in _entries(body, register) if not _parallel(each[1], directions)]
    views, features = [], []
    letters = Letters()
    anchors = anchors_of(body, register.anchors) if body.role is Role.PLATE else ()
    for name, direction in directions:
        view = view_of(body, direction, name, along=_along_edge(name, face))
        found = features_of(body, view, register, letters)
        if anchors and _parallel(direction, directions[:1]):
            found += anchor_marks(view, anchors, register, letters)
        views.append(view)
        features.append(tuple(found))
    upright = main is not UP
    side = beside(body, views[0], "from above" if upright else "edge on", upright=upright)
    if not any(_parallel(looked.frame.third, [("", side.frame.third)]) for looked in views):
        views.append(side)
        features.append(())
    return Part(0, body.name, (body,), tuple(views), tuple(features), _size(views[0]), is_round=False)


def _exact(v: Vector) -> Vector:
    return tuple(0.0 if abs(c) < 1e-15 else c for c in v)  # type: ignore[return-value]  # three in, three out


def _size(view: View) -> tuple[Metre, Metre, Metre]:
    """Length, width, thickness of the smallest block, one edge of the outline along it."""
    box = shapely.Polygon(view.outline[0]).minimum_rotated_rectangle
    a, b, c = list(box.exterior.coords)[:3]
    plan: list[float] = sorted(
        (hypot(b[0] - a[0], b[1] - a[1]), hypot(c[0] - b[0], c[1] - b[1])), reverse=True
    )
    # A rotated rectangle no smaller than the upright one only adds rounding.
    upright: list[float] = sorted((view.width, view.height), reverse=True)
    if upright[0] * upright[1] <= plan[0] * plan[1] * (1.0 + 1e-6):
        plan = upright
    length, width, thickness = sorted((plan[0], plan[1], view.depth), reverse=True)
    return Metre(length), Metre(width), Metre(thickness)


def _entries(body: Body, register: Register) -> list[tuple[str, Vector]]:
    """Directions that holes enter from: faces in order, then above and below."""
    found: dict[Vector, str] = {}
    top = max(prism.high for prism in body.adds if abs(prism.frame.third[1]) > 0.5)
    own = register.face_of(body)
    for cut in body.cuts:
        if register.is_part(cut):
            continue
        if abs(cut.frame.third[1]) < 0.5:
            side = _side_edge(cut, own) if own is not None and body.role is Role.PLATE else None
            if side is not None:
                found.setdefault(_exact(cut.frame.third), side)
                continue
            face = next((f for f in register.faces if _faces(cut, f.angle, f.distance)), None)
            name = f"face {face.number}" if face else "from the side"
            if face and face.name not in (name, str(face.number)):
                name = f"{name} ({face.name})"
            found.setdefault(_exact(cut.frame.third), name)
        elif cut.high > top - 1e-9:
            found.setdefault(UP, "from above" if own is None or body.role is not Role.PLATE else "top edge")
        else:
            found.setdefault(
                DOWN, "from below" if own is None or body.role is not Role.PLATE else "bottom edge"
            )
    return [(name, direction) for direction, name in found.items()]


def _along_edge(name: str, face: Face | None) -> Vector | None:
    """What points to the right in the view of a plate's edge: the edge itself, drawn lying down."""
    if face is None or not name.endswith("edge"):
        return None
    return UP if name in ("left edge", "right edge") else face_frame(face.angle, face.distance).first  # type: ignore[arg-type]  # as stored by the model


def _side_edge(cut: Prism, own: Face) -> str | None:
    """The edge of a plate that a hole enters, as seen from outside; `None` for one through its face."""
    frame = face_frame(own.angle, own.distance)  # type: ignore[arg-type]  # as stored by the model
    across = sum(p * q for p, q in zip(cut.frame.third, frame.first, strict=True))
    out = sum(p * q for p, q in zip(cut.frame.third, frame.third, strict=True))
    if out > 1.0 - 1e-9 or abs(across) < 0.1:
        return None
    return "right edge" if across > 0.0 else "left edge"


def _faces(cut: Prism, angle: float, distance: float) -> bool:
    frame = face_frame(angle, distance)  # type: ignore[arg-type]  # as stored by the model
    return all(abs(p - q) < 1e-9 for p, q in zip(cut.frame.third, frame.third, strict=True))


def _parallel(direction: Vector, others: list[tuple[str, Vector]]) -> bool:
    return any(all(abs(p - q) < 1e-9 for p, q in zip(direction, other, strict=True)) for _, other in others)
