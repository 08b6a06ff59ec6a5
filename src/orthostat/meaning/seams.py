"""Where the pieces of the body meet: corners between side plates, walls on a base plate, under a lid."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import PLAN, Frame, face_frame
from orthostat.document import column as documents
from orthostat.meaning.structure import Structure
from orthostat.model.bodies import Body, Disc, Face, Point2, Polygon, Role
from orthostat.model.joining import BASE, CORNERS, LID, Seam

_NEAR = 1e-7
_CLEAR_GAP = 0.005
"""Pieces farther apart than this [m] do not meet."""


@dataclass(frozen=True)
class Line:
    """A seam with what is needed to put screws along it.

    Points are in `frame`'s first two axes, from `start` to `end`: the middle of the edge that is covered.
    Along the third axis the covering piece reaches from `surface` inward by `through`; `sign` is +1 where
    the heads look along the third axis, else -1.
    """

    seam: Seam
    frame: Frame
    start: Point2
    end: Point2
    surface: float
    sign: float
    through: float
    gap: float
    across: Point2
    """From the outer side of the covered edge to its inner side, one unit long."""
    width: float
    """Of the covered edge along `across`."""
    lean: float = 0.0
    """How fast a screw moves toward the outer side of the plate it goes into, for each unit of depth, over
    what the row is moved (0 where plates meet square)."""
    square: bool = True
    """Whether there is an edge to screw into: not at a mitre."""

    @property
    def length(self) -> float:
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])


def lines_of(
    base_plate: documents.EndPlate | None,
    lid: documents.EndPlate | None,
    structure: Structure,
    faces: tuple[Face, ...],
    *,
    clamped: bool,
) -> list[Line]:
    """Every seam of a body that is set down, corners first; `clamped` where studs bear on its top."""
    plates: dict[int | None, Body] = {
        body.face: body for body in structure.bodies if body.role is Role.PLATE and body.face
    }
    walls = [body for body in structure.bodies if body.role in (Role.PLATE, Role.SOLID)]
    found: list[Line] = []
    order = [face for face in faces if face.number in plates]
    for k, face in enumerate(order):
        after = order[(k + 1) % len(order)]
        if len(order) > 2 or k == 0:
            found.append(_corner(face, after, plates, structure))
    for plate, kind, role in ((base_plate, BASE, Role.BASE_PLATE), (lid, LID, Role.LID)):
        body = next((b for b in structure.bodies if b.role is role), None)
        if plate is None or body is None:
            continue
        if plate.fit == "between":
            found += _between(body, kind, order, plates, structure)
        else:
            found += [_across(body, kind, wall, faces, structure, clamped=clamped) for wall in walls]
    return found


def _corner(one: Face, other: Face, plates: dict[int | None, Body], structure: Structure) -> Line:
    """The seam between two neighbours: the plate that covers the other's edge goes first."""
    pair = [(one, plates[one.number]), (other, plates[other.number])]
    for (outer, cover), (inner, covered) in (pair, pair[::-1]):
        wall = structure.sides[outer.number - 1].wall or 0.0
        edge = _edge_on(covered, outer, outer.distance - wall)
        if edge is not None:
            return _cornered(outer, inner, cover, covered, edge, wall, structure)
    (outer, cover), (inner, covered) = pair
    shared = _shared(cover, covered)
    seam = Seam(f"corner of {cover.name} and {covered.name}", CORNERS, cover.name, covered.name,
                outer.number, inner.number, Metre(_tall(covered)), Metre(shared))  # fmt: skip
    frame = face_frame(Radian(outer.angle), outer.distance)
    low, high = _levels(covered)
    u = outer.u_high
    return Line(seam, frame, (u, low), (u, high), 0.0, 1.0, 0.0, 0.0, (1.0, 0.0), shared, square=False)


def _edge_on(body: Body, face: Face, distance: float) -> tuple[Point2, Point2] | None:
    """The edge of a plate's plan that lies in a plane of the face's direction, if the plate stops there."""
    frame = face_frame(Radian(face.angle), Metre(0.0))
    section = body.adds[0].section
    points = section.points if isinstance(section, Polygon) else ()
    depths = [x * frame.third[0] + z * frame.third[2] for x, z in points]
    if not depths or max(depths) > distance + _NEAR:
        return None
    on = [p for p, d in zip(points, depths, strict=True) if abs(d - distance) < _NEAR]
    return (on[0], on[-1]) if len(on) >= 2 else None


def _cornered(
    outer: Face, inner: Face, cover: Body, covered: Body, edge: tuple[Point2, Point2], wall: float,
    structure: Structure,
) -> Line:  # fmt: skip
    frame = face_frame(Radian(outer.angle), outer.distance)
    normal = face_frame(Radian(inner.angle), Metre(0.0)).third

    def out(p: Point2) -> float:
        return p[0] * normal[0] + p[1] * normal[2]

    far, near = sorted(edge, key=out)
    width = hypot(far[0] - near[0], far[1] - near[1])
    u_near, u_far = (_across_of(frame, p) for p in (near, far))
    low, high = _levels(covered)
    low, high = max(low, _levels(cover)[0]), min(high, _levels(cover)[1])
    thickness = structure.sides[inner.number - 1].wall or 0.0
    # A screw at depth D has moved by D * (n_outer . n_inner) from the inner plate's outer face.
    cosine = frame.third[0] * normal[0] + frame.third[2] * normal[2]
    middle = 0.5 * (u_near + u_far)
    seam = Seam(f"corner of {cover.name} and {covered.name}", CORNERS, cover.name, covered.name,
                outer.number, inner.number, Metre(high - low), Metre(width))  # fmt: skip
    step = (u_far - u_near) / width
    return Line(
        seam, frame, (middle, low), (middle, high), 0.0, 1.0, wall, 0.0, (step, 0.0), width,
        lean=0.0 if abs(cosine) < 1e-9 else -0.5 * cosine * width / thickness,
    )  # fmt: skip


def _across_of(frame: Frame, p: Point2) -> float:
    return (p[0] - frame.origin[0]) * frame.first[0] + (p[1] - frame.origin[2]) * frame.first[2]


def _levels(body: Body) -> tuple[float, float]:
    return min(p.low for p in body.adds), max(p.high for p in body.adds)


def _tall(body: Body) -> float:
    low, high = _levels(body)
    return high - low


def _shared(one: Body, other: Body) -> float:
    """Width of the contact of two mitred plates: the edge their plans share."""
    a, b = one.adds[0].section, other.adds[0].section
    if isinstance(a, Disc) or isinstance(b, Disc):
        return 0.0
    same = [p for p in a.points if any(hypot(p[0] - q[0], p[1] - q[1]) < _NEAR for q in b.points)]
    return hypot(same[0][0] - same[1][0], same[0][1] - same[1][1]) if len(same) == 2 else 0.0


def _across(
    plate: Body, kind: str, wall: Body, faces: tuple[Face, ...], structure: Structure, *, clamped: bool
) -> Line:
    """A wall that stands on a base plate or carries a lid; screws run upright."""
    low, high = plate.adds[0].low, plate.adds[0].high
    sign, surface = (-1.0, low) if kind == BASE else (1.0, high)
    face = next((f for f in faces if f.number == wall.face and wall.role is Role.PLATE), None)
    start, end, inward, width = _middle_line(wall, face, structure)
    seam = Seam(
        f"{wall.name} on the {plate.name}" if kind == BASE else f"{plate.name} on {wall.name}",
        kind, plate.name, wall.name, None if face is None else face.number,
        None if face is None else face.number,
        Metre(hypot(end[0] - start[0], end[1] - start[1])), Metre(width), clamped,
    )  # fmt: skip
    through = float(high - low)
    under, over = _levels(wall)
    gap = max(0.0, low - over if kind == LID else under - high)
    return Line(
        seam, PLAN, start, end, float(surface), sign, through, gap, inward, width, square=face is not None
    )


def _middle_line(wall: Body, face: Face | None, structure: Structure) -> tuple[Point2, Point2, Point2, float]:
    """The line half way through a plate, in plan, from its left end seen from outside; and inward."""
    if face is None:
        return (0.0, 0.0), (0.0, 0.0), (0.0, 0.0), 0.0
    frame = face_frame(Radian(face.angle), face.distance)
    thickness = structure.sides[face.number - 1].wall or 0.0
    section = wall.adds[0].section
    points = section.points if isinstance(section, Polygon) else ()
    flat = [(_across_of(frame, p), _out_of(frame, p)) for p in points]
    level, us = -0.5 * thickness, []
    for (a, wa), (b, wb) in zip(flat, [*flat[1:], flat[0]], strict=True):
        if (wa - level) * (wb - level) < 0.0:
            us.append(a + (b - a) * (level - wa) / (wb - wa))
    ends = [frame.point(u, 0.0, level) for u in (min(us), max(us))]
    inward = (0.0 - frame.third[0], 0.0 - frame.third[2])
    return (ends[0][0], ends[0][2]), (ends[1][0], ends[1][2]), inward, thickness


def _out_of(frame: Frame, p: Point2) -> float:
    return (p[0] - frame.origin[0]) * frame.third[0] + (p[1] - frame.origin[2]) * frame.third[2]


def _between(
    plate: Body, kind: str, order: list[Face], plates: dict[int | None, Body], structure: Structure
) -> list[Line]:
    """A base plate or lid that sits between the side plates; screws run through these into its edges."""
    prism = plate.adds[0]
    points = prism.section.points if isinstance(prism.section, Polygon) else ()
    found = []
    for face in order:
        frame = face_frame(Radian(face.angle), face.distance)
        wall = structure.sides[face.number - 1].wall or 0.0
        out = max(_out_of(frame, p) for p in points)
        us = [_across_of(frame, p) for p in points if abs(_out_of(frame, p) - out) < _NEAR]
        gap = -wall - out
        if len(us) < 2 or gap > _CLEAR_GAP:
            continue
        cover = plates[face.number]
        low, high = max(prism.low, _levels(cover)[0]), min(prism.high, _levels(cover)[1])
        middle = 0.5 * (low + high)
        seam = Seam(f"{cover.name} on the {plate.name}", kind, cover.name, plate.name, face.number, None,
                    Metre(max(us) - min(us)), Metre(high - low))  # fmt: skip
        found.append(
            Line(seam, frame, (min(us), middle), (max(us), middle), 0.0, 1.0, wall, max(0.0, gap),
                 (0.0, -1.0), high - low)
        )  # fmt: skip
    return found
