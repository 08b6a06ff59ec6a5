"""The column's own pieces: plates or casting, base plate, lid and lip, cleats, fill."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import cos, sin
from typing import Generic, TypeVar

from orthostat.base.dimensions import Metre
from orthostat.document import column as documents
from orthostat.document.quantities import Typed
from orthostat.document.reading import KeyPath
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names
from orthostat.meaning.plan import Side, outline_polygon, support, turned_about, turned_all
from orthostat.meaning.walls import (
    Outline,
    contains,
    inner_outline,
    offset_outline,
    outer_outline,
    plate_outlines,
    ring_outlines,
)
from orthostat.model.bodies import Body, Disc, Point2, Polygon, Prism, Role

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Heights:
    """Levels above the pallet top [m]: underside, walls, top; and where the cavity lies."""

    foot: float
    wall_bottom: float
    wall_top: float
    top: float
    cavity_bottom: float
    cavity_top: float


@dataclass(frozen=True, eq=False)
class Structure:
    """The column's own pieces before anything is cut into them; told by which it is, not by what it holds."""

    sides: tuple[Side, ...]
    outer: Outline
    inner: Outline | None
    heights: Heights
    bodies: tuple[Body, ...]
    cavity: Polygon | None

    def plan_of(self, role: Role) -> Polygon | None:
        """The plan of the piece of this role."""
        sections = [body.adds[0].section for body in self.bodies if body.role is role]
        return sections[0] if sections and isinstance(sections[0], Polygon) else None

    def first_of(self, role: Role) -> int | None:
        """Index of the first piece of this role."""
        return next((index for index, body in enumerate(self.bodies) if body.role is role), None)

    def cuts(self, prism: Prism, roles: Iterable[Role]) -> Cuts:
        """What `prism` (vertical) cuts out of every body of these roles whose pieces hold it."""
        wanted, middle, found = set(roles), centre_of(prism.section), []
        for index, body in enumerate(self.bodies):
            if body.role not in wanted:
                continue
            for piece in body.adds:
                low, high = max(prism.low, piece.low), min(prism.high, piece.high)
                if high - low > 1e-9 and piece.frame == prism.frame and _holds(piece, middle):
                    found.append((index, Prism(prism.section, low, high, prism.frame)))
        return found


Cuts = Sequence[tuple[int, Prism]]
"""What is cut out of which body of a structure."""


@dataclass(frozen=True, slots=True)
class Fitted(Generic[Item]):
    """Things that stand in a structure: their bodies, and what these cut out of it."""

    items: tuple[Item, ...] = ()
    bodies: tuple[Body, ...] = ()
    cuts: Cuts = ()

    def set_down(self, turn: float, shift: Point2) -> Fitted[Item]:
        """Bodies and cuts after the column is turned and set down."""
        if turn == 0.0 and shift == (0.0, 0.0):
            return self
        return Fitted(
            self.items,
            tuple(placed(body, turn, shift) for body in self.bodies),
            tuple((index, _placed(cut, turn, shift)) for index, cut in self.cuts),
        )


def with_cuts(bodies: Sequence[Body], *cuts: Cuts) -> tuple[Body, ...]:
    """Bodies with all that is cut out of them, in this order."""
    out_of: dict[int, list[Prism]] = {}
    for each in cuts:
        for index, cut in each:
            out_of.setdefault(index, []).append(cut)
    return tuple(
        replace(body, cuts=(*body.cuts, *out_of[index])) if index in out_of else body
        for index, body in enumerate(bodies)
    )


@dataclass
class _Making:
    """Pieces under construction, in the column's own plan."""

    sides: tuple[Side, ...]
    outer: Outline
    inner: Outline | None
    heights: Heights
    bodies: list[Body] = field(default_factory=list)
    cavity: Polygon | None = None


def _levels(
    body: documents.Body | None,
    base: documents.EndPlate | None,
    lid: documents.Lid | None,
    height: float,
    foot: float,
) -> Heights:
    """Where base plate, walls, cavity and lid lie."""
    top = foot + height
    base_top = foot + (base.thickness.si if base else 0.0)
    lid_bottom = top - (lid.thickness.si if lid else 0.0)
    wall_bottom = base_top if base and base.fit == "across" else foot
    wall_top = lid_bottom if lid and lid.fit == "across" else top
    floor = body.floor.si if body and body.floor else 0.0
    roof = body.roof.si if body and body.roof else 0.0
    return Heights(
        foot, wall_bottom, wall_top, top, max(base_top, wall_bottom + floor), min(lid_bottom, wall_top - roof)
    )


@kept(16)
def structure_of(
    body: documents.Body | None,
    base_plate: documents.EndPlate | None,
    lid: documents.Lid | None,
    height: Typed,
    sides: tuple[Side, ...],
    foot: float,
    names: Names,
) -> Structure | None:
    """Plates, casting or solid, base plate, lid and fill; `None` when they can't be laid out."""
    faults = names.faults
    outer = outer_outline(sides)
    if outer is None:
        faults.add(("plan",), "closes up; the faces do not bound a column")
        return None
    heights = _levels(body, base_plate, lid, height.si, foot)
    if heights.cavity_top - heights.cavity_bottom < 1e-6:
        faults.add(("height",), "leaves nothing between base plate and lid", f"`{height.text}`")
        return None
    inner = None
    if body and body.kind != "solid" and all(side.wall for side in sides):
        inner = inner_outline(sides)
        if inner is None:
            faults.add(
                ("body",), "has walls that meet in the middle; make the plates thinner or the column wider"
            )
            return None
    made = _Making(sides, outer, inner, heights)
    made.bodies += _walls(body, made, names)
    _end_plate(base_plate, "base plate", Role.BASE_PLATE, ("base_plate",), made, names)
    _end_plate(lid, "lid", Role.LID, ("lid",), made, names)
    _lip(lid, made, names)
    _fill(body, made, names)
    return Structure(sides, outer, inner, made.heights, tuple(made.bodies), made.cavity)


@lru_cache(maxsize=16)
def structure_set_down(own: Structure, turn: float, shift: Point2) -> Structure:
    """The structure after the column is turned and set down; its outlines and cavity stay in the own plan."""
    return replace(own, bodies=tuple(placed(body, turn, shift) for body in own.bodies))


def _end_outline(
    plate: documents.EndPlate, structure: _Making, path: KeyPath, names: Names
) -> Polygon | None:
    """The plan of a base plate or lid, in the column's own plan."""
    sides = structure.sides
    if plate.fit == "between":
        gap = plate.clearance.si if plate.clearance else 0.0
        points = None
        if structure.inner is not None:
            points = offset_outline(sides, [-(side.wall or 0.0) - gap for side in sides])
        if points is None:
            names.faults.add((*path, "fit"), "has no side plates to sit between")
            return None
        return Polygon(points)
    outline, radius = outline_polygon(plate, path, names.faults)
    if radius is not None:
        names.faults.add(
            (*path, "diameter"),
            "round end plates are not supported; give width and depth, points or overhang",
        )
    if outline is not None:
        if plate.overhang is not None:
            names.faults.add((*path, "overhang"), "does not go with an outline of its own; keep one")
        return outline
    points = offset_outline(sides, [plate.overhang.si if plate.overhang else 0.0] * len(sides))
    return None if points is None else Polygon(points)


def _walls(body: documents.Body | None, made: _Making, names: Names) -> list[Body]:
    heights = made.heights
    low, high = Metre(heights.wall_bottom), Metre(heights.wall_top)
    if body is None:
        return [
            Body(
                "column envelope", Role.SOLID, (Prism(Polygon(made.outer), low, high),), path=names.at("body")
            )
        ]
    material = names.material(body.material, ("body", "material"))
    whole = Prism(Polygon(made.outer), low, high)
    if body.kind == "solid":
        return [Body("solid", Role.SOLID, (whole,), material=material, path=names.at("body"))]
    if made.inner is None:
        return [Body("column envelope", Role.SOLID, (whole,), path=names.at("body", "plate"))]
    pieces = plate_outlines(made.sides, "mitred" if body.kind == "cored" else body.corners)
    if body.kind != "cored":
        return [
            Body(
                f"{'end plate' if side.is_end else 'plate'} {k}",
                Role.PLATE,
                (Prism(Polygon(piece), low, high),),
                material=material,
                face=k,
                path=names.at("body"),
            )
            for k, (side, piece) in enumerate(zip(made.sides, pieces, strict=True), 1)
        ]
    walls = [Prism(Polygon(piece), low, high) for piece in pieces]
    cavity = Polygon(made.inner)
    if heights.cavity_bottom > heights.wall_bottom:
        walls.append(Prism(cavity, low, Metre(heights.cavity_bottom)))
    if heights.cavity_top < heights.wall_top:
        walls.append(Prism(cavity, Metre(heights.cavity_top), high))
    return [Body("casting", Role.PLATE, tuple(walls), material=material, path=names.at("body"))]


def _end_plate(
    plate: documents.EndPlate | None, name: str, role: Role, path: KeyPath, made: _Making, names: Names
) -> None:
    if plate is None:
        return
    outline = _end_outline(plate, made, path, names)
    if outline is None:
        return
    foot, top = made.heights.foot, made.heights.top
    low, high = (
        (foot, foot + plate.thickness.si) if role is Role.BASE_PLATE else (top - plate.thickness.si, top)
    )
    material = names.material(plate.material, (*path, "material"))
    made.bodies.append(
        Body(
            name,
            role,
            (Prism(outline, Metre(low), Metre(high)),),
            material=material,
            path=names.at(*path),
        )
    )


def _lip(lid: documents.Lid | None, made: _Making, names: Names) -> None:
    if lid is None or lid.lip is None:
        return
    lip = lid.lip
    if made.inner is None or lid.fit == "between":
        names.faults.add(
            ("lid", "lip"), "has no cavity to register in; a lip needs plates and a lid that lies across them"
        )
        return
    high = made.heights.cavity_top
    low = high - lip.depth.si
    if low <= made.heights.cavity_bottom:
        names.faults.add(
            ("lid", "lip", "depth"), "reaches to the bottom of the cavity", f"`{lip.depth.text}`"
        )
        return
    gap = lip.clearance.si if lip.clearance else 0.0
    pieces = _lip_pieces(lip, gap, made.sides)
    if pieces is None:
        names.faults.add(("lid", "lip"), "does not fit the cavity; make it narrower")
        return
    for index, body in enumerate(made.bodies):
        if body.role is Role.LID:
            prisms = tuple(Prism(Polygon(piece), Metre(low), Metre(high)) for piece in pieces)
            made.bodies[index] = replace(body, adds=(*body.adds, *prisms))
    if lip.width is None:
        made.heights = replace(made.heights, cavity_top=low)


def _lip_pieces(lip: documents.Lip, gap: float, sides: tuple[Side, ...]) -> list[Outline] | None:
    if lip.width is None:
        plug = offset_outline(sides, [-(side.wall or 0.0) - gap for side in sides])
        return None if plug is None else [plug]
    try:
        return ring_outlines(sides, -gap, -gap - lip.width.si)
    except ValueError:
        return None


def _fill(body: documents.Body | None, made: _Making, names: Names) -> None:
    if body is None or body.kind != "filled":
        if body is not None and body.fill is not None:
            names.faults.add(("body", "fill"), f"does not belong to a {body.kind} body")
        return
    if made.inner is None:
        return
    made.cavity = Polygon(made.inner)
    low, high = Metre(made.heights.cavity_bottom), Metre(made.heights.cavity_top)
    lip_cuts = tuple(
        replace(prism, high=Metre(min(prism.high, high)))
        for lid in made.bodies
        if lid.role is Role.LID
        for prism in lid.adds[1:]
        if prism.low < high - 1e-9
    )
    material = names.material(body.fill, ("body", "fill"))
    made.bodies.append(
        Body(
            "fill",
            Role.FILL,
            (Prism(made.cavity, low, high),),
            lip_cuts,
            material,
            path=names.at("body", "fill"),
        )
    )


def _holds(piece: Prism, middle: Point2) -> bool:
    """Whether a vertical piece holds a place in plan."""
    if isinstance(piece.section, Disc):
        (x, z), r = piece.section.centre, piece.section.radius
        return (middle[0] - x) ** 2 + (middle[1] - z) ** 2 < r * r
    return contains(piece.section.points, middle)


def centre_of(section: Disc | Polygon) -> Point2:
    """A point well inside a convex section."""
    if isinstance(section, Disc):
        return section.centre
    count = len(section.points)
    return (sum(p[0] for p in section.points) / count, sum(p[1] for p in section.points) / count)


def placed(body: Body, turn: float, shift: Point2) -> Body:
    """A body of the own plan after the column is turned and set down (vertical prisms only)."""
    return replace(
        body,
        adds=tuple(_placed(p, turn, shift) for p in body.adds),
        cuts=tuple(_placed(p, turn, shift) for p in body.cuts),
    )


def _placed(prism: Prism, turn: float, shift: Point2) -> Prism:
    section = prism.section
    if isinstance(section, Disc):
        placed_disc = Disc(turned_about(section.centre, turn, shift), section.radius)
        return Prism(placed_disc, prism.low, prism.high, prism.frame)
    return Prism(placed_polygon(section, turn, shift), prism.low, prism.high, prism.frame)


def placed_polygon(polygon: Polygon, turn: float, shift: Point2) -> Polygon:
    """A polygon of the own plan after the column is turned and set down."""
    return Polygon(turned_all(polygon.points, turn, shift))


def flush(outline: Polygon | None, side: Side) -> bool:
    """Whether an end plate's edge lies in the plane of a side (or there is no end plate)."""
    reach = support(outline, None, side.angle)
    return reach is None or abs(reach - side.distance) < 1e-6


def across_range(outer: Sequence[Point2], side: Side) -> tuple[float, float]:
    """Where a side begins and ends across (u), in the own plan."""
    on = [
        x * cos(side.angle) - z * sin(side.angle)
        for x, z in outer
        if abs(x * sin(side.angle) + z * cos(side.angle) - side.distance) < 1e-7
    ]
    return min(on), max(on)
