"""Side by side: the same envelope made otherwise, on the same joint with the same stations and cuts."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from orthostat.analyses.stiffness.build import Part, Piece
from orthostat.analyses.stiffness.column_inputs import body_turn, turned_point
from orthostat.analyses.stiffness.inputs import BodyInputs
from orthostat.analyses.stiffness.section import Ring
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated
from orthostat.base.showing import show_both
from orthostat.model.bodies import COLUMN_ROLES, Body, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.model.materials import Material


@dataclass(frozen=True, slots=True)
class Variant:
    """A way to make the column: walls of one material, filled or not, with or without a lid."""

    name: str
    wall: Material
    fill: Material | None
    lid: bool
    kind: str = ""
    """The way it is made, whether or not it has a lid, such as `welded steel`."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """What all variants share: plan, heights, wall, base plate and lid [m]; plan in the body's frame."""

    outline: Ring
    bottom: Metre
    top: Metre
    wall: Metre
    base: Metre
    lid: Metre


def usual_variants(
    *, iron: Material, steel: Material, aluminium: Material, fill: Material | None
) -> tuple[Variant, ...]:
    """Cored grey iron, welded steel, hollow and filled aluminium, each with and without lid."""
    kinds: list[tuple[str, Material, Material | None]] = [
        ("cored grey iron", iron, None),
        ("welded steel", steel, None),
        ("hollow aluminium", aluminium, None),
    ]
    if fill is not None:
        kinds.append(("filled aluminium", aluminium, fill))
    return tuple(
        Variant(name + ("" if lid else ", open top"), wall, filling, lid, name)
        for name, wall, filling in kinds
        for lid in (True, False)
    )


def envelope_of(column: Column) -> Envelope:
    """The column's envelope. A wall that the design does not have is a tenth of its yardstick.

    Raises `NotStated` without faces.
    """
    turn = body_turn(column)
    outline = tuple(turned_point(x, z, turn) for x, z in column.outline.points)
    yard = float(shapely.Polygon(outline).area) ** 0.5
    shape = column.shape_of_body
    walls = [float(t) for t in shape.thicknesses if t > 0.0] if shape else []
    wall = min(sum(walls) / len(walls) if walls else 0.1 * yard, 0.4 * yard)
    base = _thickness(column, Role.BASE_PLATE) or wall
    lid = _thickness(column, Role.LID) or wall
    return Envelope(outline, column.base_height, column.height, Metre(wall), Metre(base), Metre(lid))


def variant_bodies(column: Column, envelope: Envelope, variant: Variant) -> tuple[Body, ...]:
    """The column's bodies with its own pieces replaced by the variant's, whose masses are those of
    `variant_inputs`; studs, nuts and pins stay. Raises `NotStated` where walls meet.
    """
    low, high = _between(envelope, variant)
    cavity = Polygon(_cavity(column.outline.points, envelope.wall))
    path = f"{column.path}.body"

    def slab(name: str, role: Role, start: Metre, end: Metre) -> Body:
        return Body(name, role, (Prism(column.outline, start, end),), (), variant.wall, path=path)

    walls = Body(
        "walls", Role.PLATE, (Prism(column.outline, low, high),), (Prism(cavity, low, high),), variant.wall,
        path=path,
    )  # fmt: skip
    made = [slab("base plate", Role.BASE_PLATE, envelope.bottom, low), walls]
    if variant.fill is not None:
        made.append(Body("fill", Role.FILL, (Prism(cavity, low, high),), (), variant.fill, path=path))
    if variant.lid:
        made.append(slab("lid", Role.LID, high, envelope.top))
    return (*made, *(body for body in column.bodies if body.role not in COLUMN_ROLES))


def _between(envelope: Envelope, variant: Variant) -> tuple[Metre, Metre]:
    """Height range of the walls."""
    top = envelope.top - (envelope.lid if variant.lid else 0.0)
    return Metre(envelope.bottom + envelope.base), Metre(top)


def _cavity(outline: Ring, wall: Metre) -> Ring:
    inner = shapely.Polygon(outline).buffer(-wall, join_style="mitre")
    if inner.is_empty or inner.geom_type != "Polygon":
        raise NotStated(reason=f"walls of {show_both(wall, 'length')} leave no cavity")
    return tuple((float(x), float(z)) for x, z in inner.exterior.coords[:-1])


def _thickness(column: Column, role: Role) -> float | None:
    heights = [prism.high - prism.low for body in column.bodies if body.role is role for prism in body.adds]
    return max(heights, default=None)


def variant_inputs(body: BodyInputs, envelope: Envelope, variant: Variant) -> BodyInputs:
    """The body's inputs with its parts replaced by the variant's. Raises `NotStated` where walls meet."""
    cavity = _cavity(envelope.outline, envelope.wall)
    low, high = _between(envelope, variant)

    def slab(name: str, role: Role, start: Metre, end: Metre) -> Part:
        return Part(name, "", role, variant.wall, (Piece(envelope.outline, start, end, 1.0, bounds=True),))

    walls = Part(
        "walls",
        "",
        Role.PLATE,
        variant.wall,
        (
            Piece(envelope.outline, low, high, 1.0, bounds=True),
            Piece(cavity, low, high, -1.0, bounds=True),
        ),
    )
    parts = [slab("base plate", Role.BASE_PLATE, envelope.bottom, low), walls]
    if variant.fill is not None:
        parts.append(Part("fill", "", Role.FILL, variant.fill, (Piece(cavity, low, high, 1.0, bounds=True),)))
    if variant.lid:
        parts.append(slab("lid", Role.LID, high, envelope.top))
    joint = body.joint and replace(body.joint, studs=())
    return replace(body, name=variant.name, parts=tuple(parts), joint=joint, bonds=(), sliding=False)
