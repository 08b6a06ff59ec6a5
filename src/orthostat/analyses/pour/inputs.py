"""What casting a fill depends on: the cavity and everything that stands in it, and the pour."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import zip_longest
from math import cos, hypot, pi, sin

from orthostat.base.dimensions import Kilogram, Metre, Newton, Radian
from orthostat.base.findings import NotStated, stated
from orthostat.base.frames import PLAN, Vector, face_frame
from orthostat.model.bodies import Body, Disc, Point2, Polygon, Prism, Role
from orthostat.model.column import Column, Stud, Tube
from orthostat.model.materials import Material
from orthostat.model.pouring import Pour


@dataclass(frozen=True, slots=True)
class Plate:
    """One wall of the form: its plan (x, z), height range and material."""

    name: str
    path: str
    face: int | None
    outline: Polygon
    bottom: Metre
    top: Metre
    thickness: Metre
    normal: Point2
    """Outward, in plan (x, z)."""
    material: Material | None


@dataclass(frozen=True, slots=True)
class Former:
    """A tube or sleeve that stands in the cavity and keeps the fill out."""

    name: str
    path: str
    kind: str
    """`tube` or `sleeve`."""
    section: Disc | Polygon
    """Outside, in plan (x, z)."""
    wall: Metre | None
    bottom: Metre
    top: Metre
    material: Material | None
    stuffed: bool = False
    sealed_foot: bool | None = None
    closed_bottom: bool = False
    damp: bool | None = None
    wall_row: str | None = None
    """Name of a row of the catalogue's tube walls."""
    hold_down: Newton | None = None

    @property
    def perimeter(self) -> Metre:
        """Outside perimeter [m]."""
        if isinstance(self.section, Disc):
            return Metre(2.0 * pi * self.section.radius)
        points = self.section.points
        return Metre(
            sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(points, points[1:] + points[:1], strict=True))
        )

    @property
    def mass(self) -> Kilogram | None:
        """Mass of the wall [kg], where wall and density are stated."""
        if self.wall is None or self.material is None or self.material.density is None:
            return None
        middle = self.perimeter - (
            2.0 * pi * self.wall * 0.5 if isinstance(self.section, Disc) else 4.0 * self.wall
        )
        return Kilogram(self.material.density * middle * self.wall * (self.top - self.bottom))


@dataclass(frozen=True, slots=True)
class Bar:
    """An anchor in the fill: a level bar from a plate's inner surface."""

    name: str
    path: str
    face: int
    start: Vector
    """Middle of its root on the plate's inner surface (x, y, z) [m]."""
    direction: Vector
    diameter: Metre
    length: Metre
    head_diameter: Metre | None

    @property
    def end(self) -> Vector:
        """Middle of its tip (x, y, z) [m]."""
        x, y, z = (s + self.length * d for s, d in zip(self.start, self.direction, strict=True))
        return (x, y, z)


@dataclass(frozen=True, slots=True)
class Inputs:
    """A form to be filled, and how. Heights are y above the pallet top [m]."""

    path: str
    """Of the column's document."""
    cavity: Polygon
    """Plan (x, z) inside the plates."""
    bottom: Metre
    top: Metre
    """Height range of the fill."""
    plates: tuple[Plate, ...]
    formers: tuple[Former, ...]
    bars: tuple[Bar, ...]
    pour: Pour
    column_height: Metre
    truing_depth: Metre | None = None
    fill: Material | None = None
    """The fill's own material where the document states one (a measured modulus, say)."""
    lip: tuple[Prism, ...] = ()
    """What of the lid reaches into the fill, put on while the mix is wet."""


def inputs_from(column: Column) -> Inputs:
    """The inputs of one column. Raises `NotStated` where it has no fill, or nothing is said of pouring it."""
    fills = [body for body in column.bodies if body.role is Role.FILL and body.adds]
    if not fills or column.shape_of_body is None or column.shape_of_body.inner is None:
        raise NotStated(reason="the column has no fill to pour")
    prism = max((add for body in fills for add in body.adds), key=lambda add: add.high - add.low)
    if prism.frame != PLAN or not isinstance(prism.section, Polygon):
        raise NotStated(reason="the fill is not an upright prism")
    pour = stated(column.pour, f"{column.path}.pour")
    bottom = Metre(min(add.low for body in fills for add in body.adds))
    top = Metre(max(add.high for body in fills for add in body.adds))
    return Inputs(
        path=column.path,
        cavity=prism.section,
        bottom=bottom,
        top=top,
        plates=tuple(_plate(body, column) for body in column.bodies if body.role is Role.PLATE),
        formers=(
            *(_tube(tube, pour, bottom, top) for tube in column.tubes),
            *(_sleeve(stud, bottom, top) for stud in column.studs if stud.sleeve_outside is not None),
        ),
        bars=_bars(column),
        pour=pour,
        column_height=Metre(column.height - column.base_height),
        truing_depth=column.truing_depth,
        fill=column.fill_material,
        lip=tuple(
            replace(add, high=Metre(min(add.high, top)))
            for body in column.bodies
            if body.role is Role.LID
            for add in body.adds
            if add.frame == PLAN and add.low < top - 1e-9
        ),
    )


def plan_at(prism: Prism, height: Metre) -> Polygon | Disc | None:
    """The plan (x, z) of a prism cut at a height; `None` where it is not there.

    Upright prisms give their own section; those of a face frame give the rectangle of their width at
    that height by their depth (for a disc, its chord).
    """
    frame = prism.frame
    if abs(frame.third[1]) > 0.5:
        low, high = sorted((frame.point(0, 0, prism.low)[1], frame.point(0, 0, prism.high)[1]))
        if not low <= height <= high:
            return None
        if isinstance(prism.section, Disc):
            x, _, z = frame.point(*prism.section.centre, prism.low)
            return Disc((x, z), prism.section.radius)
        return Polygon(
            tuple((p[0], p[2]) for p in (frame.point(a, b, prism.low) for a, b in prism.section.points))
        )
    span = _chord(prism.section, height - frame.origin[1])
    if span is None:
        return None
    corners = [
        frame.point(u, 0.0, w)
        for u, w in ((span[0], prism.low), (span[1], prism.low), (span[1], prism.high), (span[0], prism.high))
    ]
    return Polygon(tuple((p[0], p[2]) for p in corners))


def _chord(section: Disc | Polygon, v: float) -> tuple[float, float] | None:
    if isinstance(section, Disc):
        off = v - section.centre[1]
        if abs(off) >= section.radius:
            return None
        half = (section.radius**2 - off**2) ** 0.5
        return (section.centre[0] - half, section.centre[0] + half)
    crossings = []
    points = section.points
    for (u0, v0), (u1, v1) in zip(points, points[1:] + points[:1], strict=True):
        if (v0 - v) * (v1 - v) < 0.0:
            crossings.append(u0 + (u1 - u0) * (v - v0) / (v1 - v0))
        elif v0 == v:
            crossings.append(u0)
    return (
        (min(crossings), max(crossings)) if len(crossings) > 1 and max(crossings) > min(crossings) else None
    )


def _plate(body: Body, column: Column) -> Plate:
    prism = max(body.adds, key=lambda add: add.high - add.low if abs(add.frame.third[1]) > 0.5 else 1e9)
    if abs(prism.frame.third[1]) > 0.5:
        bottom, top = sorted((prism.frame.point(0, 0, prism.low)[1], prism.frame.point(0, 0, prism.high)[1]))
    else:
        heights = [b + prism.frame.origin[1] for _, b in _outline(prism.section)]
        bottom, top = min(heights), max(heights)
    outline = plan_at(prism, Metre(0.5 * (bottom + top)))
    if not isinstance(outline, Polygon):
        raise NotStated(body.path, reason=f"{body.name} is not a flat plate")
    face = next((each for each in column.faces if each.number == body.face), None)
    normal = (0.0, 0.0) if face is None else (sin(face.angle), cos(face.angle))
    depth = [p[0] * normal[0] + p[1] * normal[1] for p in outline.points]
    shape = column.shape_of_body
    index = None if face is None else column.faces.index(face)
    known = shape.thicknesses if shape is not None else ()
    thickness = known[index] if index is not None and index < len(known) else max(depth) - min(depth)
    return Plate(
        body.name,
        body.path,
        body.face,
        outline,
        Metre(bottom),
        Metre(top),
        Metre(thickness),
        normal,
        body.material,
    )


def _outline(section: Disc | Polygon) -> tuple[Point2, ...]:
    if isinstance(section, Polygon):
        return section.points
    (u, v), r = section.centre, section.radius
    return ((u - r, v - r), (u + r, v - r), (u + r, v + r), (u - r, v + r))


def _tube(tube: Tube, pour: Pour, bottom: Metre, top: Metre) -> Former:
    stock = next((each for each in pour.tubes if each.name == tube.name), None)
    section: Disc | Polygon
    if tube.outside is not None:
        section = Disc(tube.at, Metre(0.5 * tube.outside))
    else:
        section = stated(tube.outline, f"{tube.path}.outside")
    return Former(
        name=tube.name,
        path=tube.path,
        kind="tube",
        section=section,
        wall=tube.wall,
        bottom=Metre(max(bottom, tube.bottom)),
        top=Metre(min(top, tube.top)),
        material=tube.material,
        stuffed=tube.stuffed,
        sealed_foot=tube.sealed_foot,
        closed_bottom=tube.closed_bottom,
        damp=None if stock is None else stock.damp,
        wall_row=None if stock is None else stock.material,
        hold_down=None if stock is None else stock.hold_down,
    )


def _sleeve(stud: Stud, bottom: Metre, top: Metre) -> Former:
    outside = stated(stud.sleeve_outside, f"{stud.path}.sleeve")
    wall = None if stud.sleeve_inside is None else Metre(0.5 * (outside - stud.sleeve_inside))
    section = Disc(stud.at, Metre(0.5 * outside))
    return Former(
        f"sleeve of {stud.name}", stud.path, "sleeve", section, wall, bottom, top, stud.sleeve_material
    )


def _bars(column: Column) -> tuple[Bar, ...]:
    bars = []
    thicknesses = column.shape_of_body.thicknesses if column.shape_of_body is not None else ()
    by_number = {
        face.number: (face, face_frame(Radian(face.angle), face.distance), thickness)
        for face, thickness in zip_longest(column.faces, thicknesses[: len(column.faces)])
    }
    for count, anchor in enumerate(column.anchors, 1):
        face, frame, wall = by_number[anchor.face]
        if wall is None:
            raise NotStated(anchor.path, reason="an anchor's plate has no stated thickness")
        start = frame.point(anchor.at[0], anchor.at[1], -wall)
        inward = (-frame.third[0], -frame.third[1], -frame.third[2])
        name = f"anchor {count} on {face.name}"
        bars.append(
            Bar(
                name,
                anchor.path,
                anchor.face,
                start,
                inward,
                anchor.diameter,
                anchor.length,
                anchor.head_diameter,
            )
        )
    return tuple(bars)
