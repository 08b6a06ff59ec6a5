"""A column of the model as a design of a study, or why it is none.

What a study leaves out is small beside the section: holes, anchors, sleeves, lips and a tube's own wall.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from orthostat.analyses.stiffness.build import Part, Piece
from orthostat.analyses.stiffness.column_inputs import body_turn, turned_point
from orthostat.analyses.stiffness.inputs import BodyInputs
from orthostat.analyses.stiffness.section import Floats, Ring
from orthostat.analyses.stiffness.study.design import StudyDesign, shape_of
from orthostat.analyses.stiffness.study.model import OutsideStudy
from orthostat.analyses.stiffness.study.topology import half_planes
from orthostat.base.dimensions import Metre, Ratio
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Role
from orthostat.model.column import Column

ALIKE = 0.01
"""Areas and thicknesses that differ by less than this share count as the same."""
OFF_CENTRE = 0.1
"""A void nearer to the middle than this share of the yardstick counts as central."""


def study_design(column: Column, body: BodyInputs) -> StudyDesign:
    """The design, with the joint, table and stations of the body's inputs, plates bonded to the fill.

    Raises `OutsideStudy` with every reason why a study can't stand for this column, and `NotStated` where
    the joint is not known.
    """
    shape = column.shape_of_body
    if shape is None or body.joint is None:
        raise NotStated(column.path, reason="a study needs the column's walls and its joint")
    turn = body_turn(column)
    count = len(column.outline.points)
    # faces go round with growing angle, a study's sides the other way, both from the first face
    corners = tuple(turned_point(*column.outline.points[(-j - 1) % count], turn) for j in range(count))
    walls = tuple(shape.thicknesses[-j % count] for j in range(count)) if shape.thicknesses else ()
    reasons: list[str] = []
    main = _of(body, Role.SOLID if shape.kind == "solid" else Role.PLATE, reasons)
    fill = _of(body, Role.FILL, reasons) if shape.kind == "filled" else None
    base = _plate(body, Role.BASE_PLATE, reasons)
    lid = _plate(body, Role.LID, reasons)
    if main is None:
        raise NotStated(column.path, reason="the column has no walls")
    bottom = column.base_height
    plain = StudyDesign(
        corners=corners, height=Metre(column.height - bottom), wall=main.material, joint=body.joint,
        walls=walls, fill=fill.material if fill else None,
        base=Metre(base.thickness if base else 0.0), base_material=base.part.material if base else None,
        lid=Metre(lid.thickness if lid else 0.0), lid_material=lid.part.material if lid else None,
        table=body.table, places=body.places,
    )  # fmt: skip
    if bottom:
        reasons.append("a column that does not stand at the height it is counted from")
    core, overhang = _core(column, plain, reasons), _overhang(plain, base, reasons)
    _lid_as_large(plain, lid, reasons)
    if reasons:
        raise OutsideStudy(tuple(reasons))
    return replace(plain, core=core, overhang=overhang)


@dataclass(frozen=True, slots=True)
class _Plate:
    part: Part
    outline: Ring
    thickness: float


def _of(body: BodyInputs, role: Role, reasons: list[str]) -> Part | None:
    """The part of a role; all of one material."""
    found = [part for part in body.parts if part.role is role]
    if len({part.material for part in found}) > 1:
        reasons.append(f"a {role.value} of several materials")
    return found[0] if found else None


def _plate(body: BodyInputs, role: Role, reasons: list[str]) -> _Plate | None:
    part = _of(body, role, reasons)
    if part is None:
        return None
    pieces = sorted((p for p in part.pieces if p.weight > 0.0), key=_volume)
    largest = pieces[-1]
    return _Plate(part, largest.outline, largest.high - largest.low)


def _volume(piece: Piece) -> float:
    return float(shapely.Polygon(piece.outline).area) * (piece.high - piece.low)


def _core(column: Column, plain: StudyDesign, reasons: list[str]) -> Ratio:
    """The void of the tubes as a share of the cavity."""
    if not column.tubes or plain.fill is None:
        return Ratio(0.0)
    shape = shape_of(plain)
    middle = shape.controls[3 * len(shape.inner)]
    total, turn = 0.0, body_turn(column)
    for tube in column.tubes:
        x, z = turned_point(*tube.at, turn)
        if np.linalg.norm(np.array([x, z]) - middle) > OFF_CENTRE * plain.yardstick or len(column.tubes) > 1:
            reasons.append("tubes away from the middle")
            return Ratio(0.0)
        if tube.outline is not None:
            total += float(shapely.Polygon(tube.outline.points).area)
        else:
            total += 0.25 * np.pi * float(tube.outside or 0.0) ** 2
    return Ratio(float(np.sqrt(total / shapely.Polygon(shape.inner).area)))


def _overhang(plain: StudyDesign, base: _Plate | None, reasons: list[str]) -> tuple[Metre, ...]:
    if base is None:
        return ()
    shape = shape_of(plain)
    foot = np.asarray(base.outline)
    reach = _reach(foot, shape.angles)
    beyond = reach - shape.distances
    fitted = shapely.Polygon(half_planes(shape.angles, reach))
    own = shapely.Polygon(base.outline).area
    if float(beyond.min()) < -ALIKE * plain.yardstick:
        reasons.append("a base plate smaller than the plan")
        return ()
    if not fitted.is_valid or abs(fitted.area / own - 1.0) > ALIKE:
        reasons.append("a base plate whose sides are not those of the plan")
        return ()
    if float(beyond.max()) < ALIKE * plain.yardstick:
        return ()
    return tuple(Metre(float(o)) for o in beyond)


def _lid_as_large(plain: StudyDesign, lid: _Plate | None, reasons: list[str]) -> None:
    whole = shapely.Polygon(plain.corners).area
    if lid is not None and abs(shapely.Polygon(lid.outline).area / whole - 1.0) > ALIKE:
        reasons.append("a lid smaller than the plan")


def _reach(corners: Floats, angles: Floats) -> Floats:
    """(n,) how far an outline reaches in the directions of the sides' normals [m]."""
    normals = np.stack([np.sin(angles), np.cos(angles)])
    return np.asarray((corners @ normals).max(axis=0))
