"""How far the load reaches: about the B axis, upward, in plan; and where tool tips wait while B turns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from orthostat.analyses.fit.sections import sides_of
from orthostat.analyses.solids import Piece, support
from orthostat.base.dimensions import CubicMetre, Metre, Radian
from orthostat.base.frames import turned
from orthostat.formulas.polygons import polygon_moments
from orthostat.model.bodies import Body, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.model.tools import Tool


class Outermost(NamedTuple):
    """How far one body reaches, and where it belongs."""

    body: str
    face: int | None
    station: str | None
    path: str
    reach: Metre

    @property
    def place(self) -> str:
        """The body with its station and face, for a sentence; what its name already says is not repeated."""
        said = self.body
        if self.station is not None and self.station not in said:
            said += f", station {self.station}"
        if self.face is not None and f"face {self.face}" not in said:
            said += f", face {self.face}"
        return said


@dataclass(frozen=True, slots=True)
class Beyond:
    """How far the load reaches toward one side of a plan envelope, and where that side is."""

    side: int
    """Counted from 1 in the order of the envelope's corners."""
    outermost: Outermost
    limit: Metre
    """Distance of the side from the B axis along its normal."""
    b: Radian | None = None
    """Where B stands; `None` for any angle."""


@dataclass(frozen=True, slots=True)
class ToolAtRest:
    """One tool assembly and its length; where its tip waits follows from the machine's Z."""

    name: str
    path: str
    gauge_length: Metre | None


def radii(pieces: tuple[Piece, ...]) -> tuple[Outermost, ...]:
    """Largest radius about the B axis of every body, largest first."""
    found = (_outermost(piece.body, piece.extents.radius) for piece in pieces)
    return tuple(sorted(found, key=lambda one: -one.reach))


def tops(pieces: tuple[Piece, ...]) -> tuple[Outermost, ...]:
    """Highest point above the pallet top of every body, highest first."""
    found = (_outermost(piece.body, piece.extents.y_high) for piece in pieces)
    return tuple(sorted(found, key=lambda one: -one.reach))


def door_sides(pieces: tuple[Piece, ...]) -> tuple[Outermost, ...]:
    """Largest |x| at B = 0 of every body, largest first."""
    found = (_outermost(p.body, Metre(max(-p.extents.x_low, p.extents.x_high))) for p in pieces)
    return tuple(sorted(found, key=lambda one: -one.reach))


def beyond(
    pieces: tuple[Piece, ...], envelope: Polygon, turns: tuple[Radian, ...] | None
) -> tuple[Beyond, ...]:
    """The outermost body toward each side of a convex plan envelope, with B at each of `turns`.

    Without `turns` the load is taken as the circle that it sweeps, which bounds every angle.
    """
    if turns is None:
        widest = radii(pieces)[:1]
        sides = enumerate(sides_of(envelope), 1)
        return tuple(Beyond(number, one, side.offset) for number, side in sides for one in widest)
    found = []
    for turn in turns:
        for number, (a, b, offset) in enumerate(sides_of(seen_at(envelope, turn)), 1):
            reach, body = max(
                ((plan_support(piece, a, b), piece.body) for piece in pieces), key=lambda pair: pair[0]
            )
            found.append(Beyond(number, _outermost(body, reach), Metre(offset), turn))
    return tuple(found)


def seen_at(envelope: Polygon, b: Radian) -> Polygon:
    """An envelope of the machine as it lies about the column while the table stands at B."""
    return Polygon(tuple(turned(x, z, Radian(-b)) for x, z in envelope.points))


def outline_piece(column: Column) -> Piece:
    """The column's own outline over its height, for extents: what is known before any body is described."""
    prism = Prism(column.outline, column.base_height, column.height)
    body = Body("the column", Role.SOLID, (prism,), path=f"{column.path}.plan")
    volume = polygon_moments(column.outline.points).area * (column.height - column.base_height)
    return Piece(body, CubicMetre(volume), None, f"{column.path}.body")


def plan_support(piece: Piece, x: float, z: float) -> Metre:
    """Largest x·X + z·Z over a body's adds for a unit plan direction (x, z) [m]."""
    box = piece.extents
    if z == 0.0:
        return Metre(x * (box.x_high if x > 0.0 else box.x_low))
    if x == 0.0:
        return Metre(z * (box.z_high if z > 0.0 else box.z_low))
    return max(support(prism, (x, 0.0, z)) for prism in piece.body.adds)


def resting_tools(column: Column) -> tuple[ToolAtRest, ...]:
    """Every tool assembly of the shop, longest first, those of unknown length last."""
    tools = sorted(column.tools, key=lambda tool: -(tool.gauge_length or 0.0))
    return tuple(ToolAtRest(tool.name, tool.path, tool.gauge_length) for tool in tools)


def tool_named(column: Column, name: str) -> Tool | None:
    """The shop's tool of that name, or `None`."""
    return next((tool for tool in column.tools if tool.name == name), None)


def _outermost(body: Body, reach: Metre) -> Outermost:
    return Outermost(body.name, body.face, body.station, body.path, reach)
