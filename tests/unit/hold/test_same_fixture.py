"""A fixture that is as it was gives the joint it gave, wherever its station hangs."""

from dataclasses import replace

import pytest

import columns
from orthostat.analyses import hold, loads, solids
from orthostat.base.dimensions import Metre
from orthostat.base.findings import known
from orthostat.base.frames import Vector
from orthostat.model.bodies import Point2, Polygon
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from orthostat.model.stations import Station
from tightened import with_tightened_screws

_UP = 0.0371


def _at(point: Point2) -> Point2:
    return point[0], point[1] + _UP


def _raised(station: Station) -> Station:
    """The same station higher on its face, its bodies too."""

    def up(origin: Vector) -> Vector:
        return origin[0], origin[1] + _UP, origin[2]

    return replace(
        station,
        origin=_at(station.origin),
        bodies=tuple(
            replace(
                body,
                adds=tuple(
                    replace(prism, frame=replace(prism.frame, origin=up(prism.frame.origin)))
                    for prism in body.adds
                ),
            )
            for body in station.bodies
        ),
        footprint=None
        if station.footprint is None
        else Polygon(tuple(_at(point) for point in station.footprint.points)),
        screws=tuple(replace(screw, at=_at(screw.at), grip=Metre(0.03)) for screw in station.screws),
        dowels=tuple(replace(dowel, at=_at(dowel.at)) for dowel in station.dowels),
        cuts=tuple(
            replace(
                cut,
                places=tuple(_at(point) for point in cut.places),
                region=None
                if cut.region is None
                else Polygon(tuple(_at(point) for point in cut.region.points)),
            )
            for cut in station.cuts
        ),
    )


def _held(column: Column) -> hold.Hold:
    masses = solids.solve(solids.inputs_from(column))
    forces = loads.solve(loads.inputs_from(column, masses))
    return hold.solve(hold.inputs_from(column, Limits(), masses, forces))


def test_a_station_that_is_moved_up_its_face_keeps_its_joint() -> None:
    made = with_tightened_screws(columns.square_filled())
    raised = replace(made, stations=tuple(_raised(station) for station in made.stations))
    before, after = _held(made).fixtures, _held(raised).fixtures
    assert len(before) == len(made.stations) > 0
    for was, now in zip(before, after, strict=True):
        assert was.joint.plane.origin[1] + _UP == pytest.approx(now.joint.plane.origin[1])
        assert replace(was.joint, plane=now.joint.plane) == now.joint
        assert known(was.result.factors)[0].slip == known(now.result.factors)[0].slip
