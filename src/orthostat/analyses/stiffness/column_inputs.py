"""From the model's column to the stiffness analysis' inputs; pure, and one place for every assumption."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from math import cos, pi, sin

import numpy as np
import shapely

from orthostat.analyses.solids import Moments, body_moments
from orthostat.analyses.stiffness.build import Part, Piece
from orthostat.analyses.stiffness.inputs import (
    QUICK,
    UNSTATED_CLIMATE,
    BodyInputs,
    Bond,
    Climate,
    CutForce,
    Fineness,
    JointSprings,
    Milling,
    Place,
    RigidMass,
    Table,
)
from orthostat.analyses.stiffness.section import Ring
from orthostat.base.dimensions import Kilogram, Metre, Radian, SquareMetre
from orthostat.base.findings import NotStated, stated
from orthostat.base.frames import Vector
from orthostat.model.bodies import COLUMN_ROLES, Body, Disc, Face, Point2, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.model.machine import Platform
from orthostat.model.stations import Station

BOUNDING_SHARE = 0.12
"""Outlines smaller than this share of the body's width are spread over the triangles they touch."""
DISC_SIDES = 16
"""Sides of the polygon of equal area that stands for a disc."""
SMEARED = frozenset({Role.ANCHOR, Role.SLEEVE, Role.INSERT, Role.VOID_FORMER})
"""Roles whose outlines never bound triangles (a form tube bounds through the hole it leaves in the fill)."""


def body_inputs(
    column: Column,
    *,
    joint: JointSprings | None,
    cuts: tuple[CutForce, ...] = (),
    millings: tuple[Milling, ...] = (),
    climate: Climate = UNSTATED_CLIMATE,
    fineness: Fineness = QUICK,
    sliding: bool = False,
    memory: float | None = None,
    verify_count: bool = False,
    loaded: bool = True,
) -> BodyInputs:
    """The analysis' inputs for a column as the model has it.

    `cuts` and `millings` come from the loads (see `cut_forces`); `joint` from the hold-down. `loaded`
    hangs the stations' fixtures and parts on their patches.
    Raises `NotStated` where the column has no faces or no solid body.
    """
    turn = body_turn(column)
    width = yardstick(column)
    return BodyInputs(
        name=column.name,
        parts=parts_of(column, width=width, turn=turn),
        width=width,
        height=Metre(column.height - column.base_height),
        joint=_turned_joint(joint, column, turn),
        table=table_of(column),
        places=tuple(place_of(column, station, turn, loaded=loaded) for station in column.stations),
        faces=tuple(top_strip(column, face, turn) for face in column.faces),
        cuts=cuts,
        millings=millings,
        bonds=_bonds(column),
        climate=climate,
        sliding=sliding,
        fineness=fineness,
        memory=memory,
        verify_count=verify_count,
    )


def body_turn(column: Column) -> Radian:
    """Angle of the first face [rad], by which the body's frame is turned."""
    if not column.faces:
        raise NotStated(f"{column.path}.faces", reason="the column has no faces")
    return Radian(column.faces[0].angle)


def yardstick(column: Column) -> Metre:
    """Side of the square as large as the column's outline [m], by which mesh sizes are told."""
    return Metre(float(shapely.Polygon(column.outline.points).area) ** 0.5)


def turned_point(x: float, z: float, turn: float) -> Point2:
    """A plan point of the column frame in the body's frame: face 0's normal (sin θ, cos θ) goes to +z."""
    c, s = cos(turn), sin(turn)
    return (x * c - z * s, x * s + z * c)


def turned_vector(vector: Vector, turn: float) -> Vector:
    """A vector or point of the column frame in the body's frame."""
    x, z = turned_point(vector[0], vector[2], turn)
    return (x, vector[1], z)


def parts_of(column: Column, *, width: Metre, turn: Radian) -> tuple[Part, ...]:
    """The column's own bodies as parts of weighted prisms. Raises `NotStated` for one without material
    or thickness.

    Screws and dowels between plates fill the holes made for them: both are left out.
    """
    parts = []
    filled = {
        prism
        for joint in column.joints
        for each in joint.joiners
        for prism in (each.hole, each.counterbore, each.bored)
    }
    for body in column.bodies:
        if body.role in COLUMN_ROLES and body.role is not Role.SCREW:
            material = stated(body.material, body.material_key)
            if any(prism.high - prism.low <= 0.0 for prism in body.adds):
                raise NotStated(body.path, reason=f"{body.name} has no thickness")
            pieces = [
                _piece(prism, weight, width, turn, body.role)
                for weight, prisms in ((1.0, body.adds), (-1.0, body.cuts))
                for prism in prisms
                if prism not in filled
            ]
            whole = tuple(piece for piece in pieces if piece)
            parts.append(Part(body.name, body.path, body.role, material, whole, body.face))
    if not parts:
        raise NotStated(column.path, reason="the column has no bodies")
    return tuple(parts)


@lru_cache(maxsize=1024)
def _piece(prism: Prism, weight: float, width: float, turn: float, role: Role) -> Piece | None:
    """The last are kept: most edits leave most prisms alone."""
    if prism.high - prism.low <= 0.0:
        return None
    if abs(prism.frame.third[1]) > 0.999:
        return _upright(prism, weight, width, turn, role)
    return _across(prism, weight, turn)


def _upright(prism: Prism, weight: float, width: float, turn: float, role: Role) -> Piece:
    section, frame = prism.section, prism.frame
    ends = sorted(frame.point(0.0, 0.0, c)[1] for c in (prism.low, prism.high))
    if isinstance(section, Disc):
        x, _, z = frame.point(*section.centre, 0.0)
        outline = _rounded(_disc_corners(turned_point(x, z, turn), section.radius))
        large = 2.0 * section.radius >= BOUNDING_SHARE * width
    else:
        corners = [frame.point(a, b, 0.0) for a, b in section.points]
        outline = _rounded(turned_point(x, z, turn) for x, _, z in corners)
        large = weight > 0 or _narrowness(list(section.points)) >= BOUNDING_SHARE * width
    return Piece(outline, Metre(ends[0]), Metre(ends[1]), weight, bounds=large and role not in SMEARED)


def _disc_corners(centre: Point2, radius: float) -> list[Point2]:
    """A polygon of the disc's area."""
    reach = radius * (pi / (0.5 * DISC_SIDES * sin(2.0 * pi / DISC_SIDES))) ** 0.5
    angles = [2.0 * pi * (k + 0.5) / DISC_SIDES for k in range(DISC_SIDES)]
    return [(centre[0] + reach * cos(a), centre[1] + reach * sin(a)) for a in angles]


def _rounded(points: Iterable[Point2]) -> Ring:
    """To a tenth of a micrometre, so that a turned column gives the very same outline."""
    return tuple((round(x, 7) + 0.0, round(z, 7) + 0.0) for x, z in points)


def _narrowness(points: list[Point2]) -> float:
    box = shapely.Polygon(points).minimum_rotated_rectangle
    corners = np.asarray(box.exterior.coords)
    return float(min(np.linalg.norm(corners[1] - corners[0]), np.linalg.norm(corners[2] - corners[1])))


def _across(prism: Prism, weight: float, turn: float) -> Piece | None:
    """A prism along a face's normal as the plan rectangle and height range that hold it, thinned to its
    own volume. `None` where its frame is neither upright nor that of a face.
    """
    frame, section = prism.frame, prism.section
    if abs(frame.third[1]) > 1e-6 or abs(frame.second[1]) < 0.999:
        return None
    if isinstance(section, Disc):
        (cu, cv), r = section.centre, section.radius
        bounds, area = (cu - r, cv - r, cu + r, cv + r), pi * r * r
    else:
        polygon = shapely.Polygon(section.points)
        bounds, area = polygon.bounds, polygon.area
    u0, v0, u1, v1 = bounds
    plan = [
        frame.point(u, 0.0, w)
        for u, w in ((u0, prism.low), (u1, prism.low), (u1, prism.high), (u0, prism.high))
    ]
    ends = sorted(frame.point(0.0, v, 0.0)[1] for v in (v0, v1))
    outline = _rounded(turned_point(x, z, turn) for x, _, z in plan)
    thinned = weight * area / ((u1 - u0) * (v1 - v0))
    return Piece(outline, Metre(ends[0]), Metre(ends[1]), thinned, bounds=False)


def place_of(column: Column, station: Station, turn: Radian, *, loaded: bool) -> Place:
    """A station as a patch on its face; a station without a footprint uses its bodies' place on the face.

    Raises `NotStated` where neither is known.
    """
    face = next(f for f in column.faces if f.number == station.face)
    angle = face.angle - turn
    s, c = sin(angle), cos(angle)
    patch = station.footprint or _footprint_of(station, face.angle)
    if patch is None:
        raise NotStated(f"{station.path}.bodies", reason="no body of the kind fixture stands on the face")
    masses = tuple(_rigid(body, turn) for body in station.bodies) if loaded else ()
    return Place(
        station.name,
        station.path,
        station.face,
        (s * face.distance, 0.0, c * face.distance),
        (c, 0.0, -s),
        (s, 0.0, c),
        patch,
        tuple(mass for mass in masses if mass),
    )


def _footprint_of(station: Station, angle: float) -> Polygon | None:
    """The hull, on the face, of the station's prisms that lie along its normal."""
    points: list[Point2] = []
    for body in station.bodies:
        for prism in body.adds:
            if isinstance(prism.section, Polygon) and abs(prism.frame.third[0] - sin(angle)) < 1e-6:
                points.extend(prism.section.points)
    if len(points) < 3:
        return None
    hull = shapely.MultiPoint(points).convex_hull
    return Polygon(tuple((float(x), float(y)) for x, y in hull.exterior.coords[:-1]))


def _rigid(body: Body, turn: float) -> RigidMass | None:
    volume = body_moments(body)
    if body.mass is not None:
        moments = volume.times(body.mass / volume.total)
    elif body.material is not None and body.material.density is not None:
        moments = volume.times(body.material.density)
    else:
        raise NotStated(body.material_key, reason=f"{body.name}: its mass is not stated")
    return rigid_of(moments, turn) if moments.total > 0.0 else None


def rigid_of(moments: Moments, turn: float) -> RigidMass:
    """Mass moments of the column frame as a rigid mass in the body's frame."""
    c, s = cos(turn), sin(turn)
    rotation = np.array([[c, 0.0, -s], [0.0, 1.0, 0.0], [s, 0.0, c]])
    tensor = rotation @ np.asarray(moments.inertia) @ rotation.T
    x, y, z = rotation @ np.asarray(moments.centre)
    order = ((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0))
    xx, yy, zz, xy, yz, zx = (float(tensor[k]) for k in order)
    return RigidMass(Kilogram(moments.total), (float(x), float(y), float(z)), (xx, yy, zz, xy, yz, zx))


def table_of(column: Column) -> Table:
    """What the machine's table was stated to give; nothing where there is no machine."""
    machine = column.machine
    if machine is None:
        return Table(unstated=(f"{column.path}.machine",))
    loss, loss_path = machine.table_loss_factor, f"{machine.path}.table_loss_factor"
    if loss is not None and not 0.0 <= loss < 1.0:
        raise NotStated(loss_path, reason="a loss factor lies between 0 and 1")
    named = (
        ("table_stiffness", machine.table_stiffness),
        ("table_tilt_stiffness", machine.table_tilt_stiffness),
        ("table_turn_stiffness", machine.table_turn_stiffness),
    )
    return Table(
        machine.table_stiffness,
        machine.table_tilt_stiffness,
        machine.table_turn_stiffness,
        loss,
        tuple(f"{machine.path}.{key}" for key, value in named if value is None),
        loss_path,
    )


def _turned_joint(joint: JointSprings | None, column: Column, turn: float) -> JointSprings | None:
    """The joint in the body's frame; where it names no contact area, the column's whole underside."""
    if joint is None:
        return None
    contact = joint.contact or column.base_contact
    return replace(
        joint,
        contact=tuple(Polygon(tuple(turned_point(x, z, turn) for x, z in p.points)) for p in contact),
        studs=tuple(replace(stud, at=turned_point(*stud.at, turn)) for stud in joint.studs),
    )


def platform_area(platform: Platform) -> SquareMetre:
    """Plan area of a platform [m²]. Raises `NotStated` without outline or radius."""
    if platform.radius is not None:
        return SquareMetre(pi * platform.radius**2)
    if platform.outline is None:
        raise NotStated(f"{platform.path}.outline")
    return SquareMetre(float(shapely.Polygon(platform.outline.points).area))


def top_strip(column: Column, face: Face, turn: Radian, *, share: float = 0.15) -> Place:
    """The highest part of a face as a place without mass, the width of the face and `share` of its height."""
    angle = face.angle - turn
    s, c = sin(angle), cos(angle)
    low = face.v_high - share * (face.v_high - face.v_low)
    patch = Polygon(
        ((face.u_low, low), (face.u_high, low), (face.u_high, face.v_high), (face.u_low, face.v_high))
    )
    origin = (s * face.distance, 0.0, c * face.distance)
    return Place(f"top of {face.name}", column.path, face.number, origin, (c, 0.0, -s), (s, 0.0, c), patch)


def _bonds(column: Column) -> tuple[Bond, ...]:
    made = []
    for face in column.faces:
        anchors = [anchor for anchor in column.anchors if anchor.face == face.number]
        if not anchors:
            continue
        rows = Counter(round(anchor.at[1], 6) for anchor in anchors)
        gaps = [b - a for a, b in pairwise(sorted(rows))]
        body = next((b for b in column.bodies if b.role is Role.ANCHOR and b.face == face.number), None)
        steel = body.material if body else None
        fill = column.fill_material
        made.append(
            Bond(
                face=face.number,
                count=len(anchors),
                diameter=min(anchor.diameter for anchor in anchors),
                length=min(anchor.length for anchor in anchors),
                spacing=Metre(max(gaps)) if gaps else None,
                per_row=min(rows.values()),
                shear_strength=steel.shear_strength if steel else None,
                bearing_limit=fill.bearing_limit if fill else None,
                path=anchors[0].path,
                shear_path=f"{steel.path if steel else anchors[0].path}.shear_strength",
                bearing_path=f"{fill.path if fill else column.path}.bearing_limit",
            )
        )
    return tuple(made)
