"""Standing free and being lifted: tilt that topples the column, foot on its platform, piece by piece."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from orthostat.analyses.fit.sections import inset, point_inset
from orthostat.analyses.solids import Group, Piece, Solids
from orthostat.base.dimensions import Kilogram, Metre, Radian
from orthostat.base.findings import NotStated
from orthostat.formulas.polygons import convex_hull
from orthostat.formulas.stability import tipping_angle
from orthostat.model.bodies import STATION_ROLES, Disc, Polygon, Role
from orthostat.model.column import Column
from orthostat.model.machine import Platform


@dataclass(frozen=True, slots=True)
class Tip:
    """The tilt at which the free-standing column topples; `None` with what is missing."""

    case: str
    angle: Radian | None
    to_edge: Metre | None = None
    height: Metre | None = None
    missing: tuple[str, ...] = ()
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Lift:
    """Pieces that are alike, each lifted by itself."""

    name: str
    count: int
    path: str
    mass: Kilogram | None
    missing: str = ""


@dataclass(frozen=True, slots=True)
class Foot:
    """How far the foot stays inside the platform's outline [m]; negative: it overhangs."""

    platform: str
    path: str
    inset: Metre | None


NOT_LIFTED = frozenset({Role.FILL, Role.PALLET, Role.INTERMEDIATE_BASE})
"""What nobody lifts in one piece: poured in place, or moved by the machine."""


def tips(column: Column, solids: Solids) -> tuple[Tip, ...]:
    """The bare column, fully dressed, and with one face only: each on its own foot, without studs."""
    foot = foot_hull(column)
    if column.shape_of_body is None:
        return (
            Tip("the column", None, missing=(f"{column.path}.body",), reason="its walls are not described"),
        )
    cases = [solids.bare]
    if solids.faces:
        cases += [solids.dressed, *(face.alone for face in solids.faces)]
    return tuple(_tip(group, foot, column) for group in cases)


def foot_hull(column: Column) -> Polygon | None:
    """Convex hull of the places where the column touches what it stands on, in plan."""
    points = convex_hull([point for patch in column.base_contact for point in patch.points])
    return Polygon(points) if len(points) > 2 else None


def _tip(group: Group, foot: Polygon | None, column: Column) -> Tip:
    if foot is None:
        return Tip(
            group.name,
            None,
            missing=(f"{column.path}.base_plate",),
            reason="where it stands is not described",
        )
    try:
        x, y, z = group.centre
    except NotStated as gap:
        return Tip(group.name, None, missing=gap.missing, reason=gap.reason)
    to_edge = Metre(point_inset((x, z), foot))
    height = Metre(y - column.base_height)
    if height <= 0.0:
        return Tip(group.name, None, reason="its centre of gravity lies below its foot")
    return Tip(group.name, tipping_angle(to_edge=to_edge, height=height), to_edge, height)


def lifts(column: Column, solids: Solids) -> tuple[Lift, ...]:
    """Every piece that a person may pick up, like ones together; a casting counts as one piece.

    Fastenings and form tubes weigh grams and are left out; fill, pallet and base are not lifted by hand.
    """
    cast = column.shape_of_body is not None and column.shape_of_body.kind == "cored"
    own = [piece for piece in solids.own if piece.body.role in _LIFTED]
    walls = [piece for piece in own if cast and piece.body.role is Role.PLATE]
    others = [piece for piece in own if piece not in walls]
    found: list[Lift] = [_casting(walls)] if walls else []
    return (*found, *_alike((*others, *solids.risen, *_stations_pieces(solids))))


_LIFTED = frozenset({Role.PLATE, Role.SOLID, Role.BASE_PLATE, Role.LID, Role.CLEAT})


def _stations_pieces(solids: Solids) -> tuple[Piece, ...]:
    return tuple(piece for piece in solids.carried if piece.body.role in STATION_ROLES)


def _casting(walls: list[Piece]) -> Lift:
    missing = next((piece.missing for piece in walls if piece.moments is None), "")
    mass = None if missing else Kilogram(sum(piece.mass for piece in walls))
    return Lift("the casting", 1, walls[0].body.path, mass, missing)


def _alike(pieces: Iterable[Piece]) -> tuple[Lift, ...]:
    """Pieces of the same role and mass (to a gram) as one row, in order of first appearance."""
    groups: dict[tuple[Role, int | str], list[Piece]] = {}
    for piece in pieces:
        if piece.body.role in NOT_LIFTED:
            continue
        weight: int | str = piece.missing if piece.moments is None else round(piece.mass * 1000.0)
        groups.setdefault((piece.body.role, weight), []).append(piece)
    return tuple(
        Lift(
            alike[0].body.name, len(alike), alike[0].body.path,
            None if alike[0].moments is None else alike[0].mass, alike[0].missing,
        )
        for alike in groups.values()
    )  # fmt: skip


def foot_on_platform(column: Column) -> Foot | None:
    """How far the column's foot stays on what it stands on: the riser, else the base, else the pallet.

    `None` when the column stands on nothing described or its foot is not described.
    """
    platform = column.riser or column.base or column.pallet
    foot = foot_hull(column)
    if platform is None or foot is None:
        return None
    within = platform_outline(platform)
    return Foot(platform.name, platform.path, None if within is None else Metre(inset(foot, within)))


def platform_outline(platform: Platform) -> Polygon | Disc | None:
    """The plan of a platform, polygon or round about the B axis; `None` when not stated."""
    if platform.outline is not None:
        return platform.outline
    return None if platform.radius is None else Disc((0.0, 0.0), platform.radius)
