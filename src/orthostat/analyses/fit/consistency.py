"""The column's parts and stations among themselves, in one result."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.fit.clashes import Clearance, clearances
from orthostat.analyses.fit.inside import (
    HoleDepth,
    Room,
    lips_in_cavity,
    pattern_clearances,
    pattern_depths,
    sleeves_clear,
    studs_on_plates,
    tubes_in_cavity,
)
from orthostat.analyses.fit.joints import joiner_clearances
from orthostat.analyses.fit.landing import Landing, station_landings
from orthostat.analyses.fit.on_face import stations_on_faces
from orthostat.analyses.fit.solve import Inputs
from orthostat.analyses.fit.standing import Foot, foot_on_platform


@dataclass(frozen=True, slots=True)
class Consistency:
    """Whether the body makes sense by itself, whatever the machine: lengths in metres, column frame."""

    clearances: tuple[Clearance, ...]
    tubes: tuple[Room, ...]
    studs: tuple[Room, ...]
    sleeves: tuple[Room, ...]
    depths: tuple[HoleDepth, ...]
    holes: tuple[Room, ...]
    lips: tuple[Room, ...]
    joiners: tuple[Room, ...]
    stations: tuple[Room, ...]
    foot: Foot | None
    landings: tuple[Landing, ...]
    """Screws and dowels of the stations over the faces' holes."""


def solve_consistency(inputs: Inputs) -> Consistency:
    """Measure one column. Never raises for what is not stated; the checks do."""
    column, solids = inputs.column, inputs.solids
    return Consistency(
        clearances=clearances(column, solids),
        tubes=tubes_in_cavity(column),
        studs=studs_on_plates(column),
        sleeves=sleeves_clear(column),
        depths=pattern_depths(column),
        holes=pattern_clearances(column),
        lips=lips_in_cavity(column),
        joiners=joiner_clearances(column),
        stations=stations_on_faces(column),
        foot=foot_on_platform(column),
        landings=station_landings(column),
    )
