"""Whether stations stand on the column at all: a fixture may reach over an edge, but not hang in the air."""

from __future__ import annotations

from collections.abc import Iterator

from orthostat.analyses.fit.inside import Room
from orthostat.base.dimensions import Metre
from orthostat.formulas.polygons import polygon_moments
from orthostat.model.bodies import Face, Point2
from orthostat.model.column import Column
from orthostat.model.stations import Station


def stations_on_faces(column: Column) -> tuple[Room, ...]:
    """The room from each station's outermost point to the edge of its face, negative beyond it.

    Points are its screws, its dowels and the middle of its foot (of the station itself, where no fixture has
    a foot): what stands on a face presses on it there.
    """
    faces = {face.number: face for face in column.faces}
    found = []
    for station in column.stations:
        face = faces.get(station.face)
        if face is not None:
            gap, what = min((_inside(point, face), what) for what, point in _points(station))
            size = Metre(min(face.width, face.v_high - face.v_low))
            found.append(
                Room(f"{what} of {station.name}", f"the edge of {face.name}", gap, size, station.path)
            )
    return tuple(found)


def _points(station: Station) -> Iterator[tuple[str, Point2]]:
    if station.footprint is None:
        yield "origin", station.origin
    else:
        foot = polygon_moments(station.footprint.points)
        yield "middle of the foot", (foot.a, foot.b)
    yield from ((f"screw {number}", screw.at) for number, screw in enumerate(station.screws, 1))
    yield from ((f"dowel {number}", dowel.at) for number, dowel in enumerate(station.dowels, 1))


def _inside(point: Point2, face: Face) -> Metre:
    u, v = point
    return Metre(min(u - face.u_low, face.u_high - u, v - face.v_low, face.v_high - v))
