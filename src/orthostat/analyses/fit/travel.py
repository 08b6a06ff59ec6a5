"""What each cut asks of the machine's travels: where the spindle axis, the nose and the table must go.

The face that is cut looks at the spindle, so X is u and Y is v whichever way B counts; only the angle that
is reported depends on the sense. A mill must bring its centre to within its flat radius of each side of the
region's box; corners, and what stands in the way, are the reach analysis' question.
"""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.fit.envelope import tool_named
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import SAME_ANGLE, whole_turn
from orthostat.model.bodies import Face
from orthostat.model.column import Column
from orthostat.model.stations import Cut, Station
from orthostat.model.tools import Tool


@dataclass(frozen=True, slots=True)
class CutTravel:
    """The travel that one cut needs, in machine coordinates with the cut's view turned to the spindle.

    The spindle axis must come at or below `x_low` and at or above `x_high` [m]: for holes the outermost
    places, for milling the region's ends less the flat radius, so `x_low` may exceed `x_high`. `y_low`,
    `y_high` likewise, above the pallet top. `tip_near`, `tip_far` are the tip's distance from the B axis
    at the deepest and the first point of the cut.
    """

    name: str
    path: str
    station: str
    face: int
    angle: Radian
    """Angle of the face or turned view about the B axis, from 0 to a full turn."""
    tool: str
    x_low: Metre | None
    x_high: Metre | None
    y_low: Metre | None
    y_high: Metre | None
    tip_near: Metre
    tip_far: Metre
    gauge_length: Metre | None
    missing: str = ""
    """Key path of what keeps X and Y from being known."""


def cut_travels(column: Column) -> tuple[CutTravel, ...]:
    """The travel that every cut of every station needs."""
    faces = {face.number: face for face in column.faces}
    return tuple(
        _travel(column, station, faces[station.face], cut)
        for station in column.stations
        if station.face in faces
        for cut in station.cuts
    )


def _travel(column: Column, station: Station, face: Face, cut: Cut) -> CutTravel:
    tool = tool_named(column, cut.tool)
    plane = face.distance if abs(cut.turn) < SAME_ANGLE else 0.0
    points = cut.places if cut.region is None else cut.region.points
    short, missing = _short_of_ends(cut, tool)
    ends: tuple[Metre | None, Metre | None, Metre | None, Metre | None] = (None, None, None, None)
    if points and short is not None:
        us, vs = zip(*points, strict=True)
        ends = (
            Metre(min(us) + short), Metre(max(us) - short), Metre(min(vs) + short), Metre(max(vs) - short)
        )  # fmt: skip
    elif not points:
        missing = f"{cut.path}.at"
    return CutTravel(
        cut.name, cut.path, station.name, face.number, whole_turn(face.angle + cut.turn), cut.tool, *ends,
        Metre(plane + min(cut.top, cut.bottom)), Metre(plane + max(cut.top, cut.bottom)),
        None if tool is None else tool.gauge_length, missing,
    )  # fmt: skip


def _short_of_ends(cut: Cut, tool: Tool | None) -> tuple[float | None, str]:
    """How far short of the outermost points the tool's centre may stop."""
    if cut.region is None:
        return 0.0, ""
    if tool is None:
        return None, f"tools.{cut.tool}"
    return float(tool.flat_radius), ""


@dataclass(frozen=True, slots=True)
class Index:
    """An angle about the B axis that the table must stop at, and for what."""

    angle: Radian
    subject: str


def index_angles(column: Column, travels: tuple[CutTravel, ...]) -> tuple[Index, ...]:
    """The angles of the faces and of the turned cuts, each once, in order of the angle."""
    found: dict[int, Index] = {}
    for face in column.faces:
        _note(found, Index(whole_turn(face.angle), f"face {face.number}"))
    for travel in travels:
        _note(found, Index(travel.angle, f"station {travel.station}, {travel.name}"))
    return tuple(sorted(found.values(), key=lambda one: one.angle))


def _note(found: dict[int, Index], index: Index) -> None:
    found.setdefault(round(index.angle / SAME_ANGLE), index)


def off_step(angle: Radian, step: Radian) -> Radian:
    """Least angle by which a position misses a whole number of index steps; 0 for a free table (step 0)."""
    if step == 0.0:
        return Radian(0.0)
    return Radian(abs(angle - round(angle / step) * step))
