"""What reach needs of a design: scenes, faces, tools, machine limits, clearances."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.reach.scene import Scene, solids_of
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Face
from orthostat.model.column import Column
from orthostat.model.machine import HeadBox, HeadCylinder, Machine, Magazine
from orthostat.model.stations import Station
from orthostat.model.tools import Tool

CHORD = Metre(5e-6)
"""Bound on the error of drawing one circle with chords. Two circles can stand behind a boundary (a round
body and a round tool), so that boundaries are within 0.01 mm, always to the safe side."""


@dataclass(frozen=True, slots=True)
class Clearances:
    """Room wanted between what must not touch, apart from what a cutting edge may graze.

    `radial`, `axial` [m] hold for shank, holder, nose and head; `cutting_radial` and
    `cutting_axial` for the cutting part against everything but what is being cut. A cutter may run
    along an obstacle, so its radial clearance is normally zero; its tip plane keeps the axial one.
    """

    radial: Metre
    axial: Metre
    cutting_radial: Metre
    cutting_axial: Metre
    source: str = ""


@dataclass(frozen=True, slots=True)
class Limits:
    """The machine as reach sees it; `None` where not stated."""

    path: str
    x_low: Metre | None = None
    x_high: Metre | None = None
    y_low: Metre | None = None
    y_high: Metre | None = None
    nose_near: Metre | None = None
    nose_far: Metre | None = None
    head_cylinders: tuple[HeadCylinder, ...] = ()
    head_boxes: tuple[HeadBox, ...] = ()
    clockwise: bool = True
    b_step: Radian | None = None

    @property
    def head_stated(self) -> bool:
        return bool(self.head_cylinders or self.head_boxes)

    @property
    def travel_gaps(self) -> tuple[str, ...]:
        """Key paths of the travel limits that nobody stated."""
        names = ("x_low", "x_high", "y_low", "y_high", "nose_near", "nose_far")
        return tuple(f"{self.path}.{name}" for name in names if getattr(self, name) is None)


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything `solve` needs. `bare` is the column on its pallet; `loaded` adds all stations."""

    bare: Scene
    loaded: Scene
    faces: tuple[Face, ...]
    stations: tuple[Station, ...]
    tools: tuple[Tool, ...]
    limits: Limits
    magazine: Magazine
    clearances: Clearances
    truing_depth: Metre | None
    truing_path: str
    column: Column
    """For the inverse answers, which move bodies."""
    chord: Metre = CHORD


def inputs_from(column: Column, clearances: Clearances, chord: Metre = CHORD) -> Inputs:
    """What reach needs of a column, with the clearances the shop states or the catalogue's."""
    machine = column.machine
    bare = solids_of((*column.platforms, *column.bodies))
    on_it = solids_of(body for station in column.stations for body in station.bodies)
    return Inputs(
        bare=Scene(bare, chord),
        loaded=Scene((*bare, *on_it), chord),
        faces=column.faces,
        stations=column.stations,
        tools=column.tools,
        limits=limits_of(machine),
        magazine=Magazine() if machine is None else machine.magazine,
        clearances=clearances,
        truing_depth=column.truing_depth,
        truing_path=f"{column.path}.truing_depth",
        column=column,
        chord=chord,
    )


def limits_of(machine: Machine | None) -> Limits:
    """The part of a machine that limits reach."""
    if machine is None:
        return Limits("machine")
    return Limits(
        machine.path,
        machine.x_low,
        machine.x_high,
        machine.y_low,
        machine.y_high,
        machine.nose_near,
        machine.nose_far,
        machine.head_cylinders,
        machine.head_boxes,
        machine.b_positive_clockwise,
        machine.b_step,
    )
