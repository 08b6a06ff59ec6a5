"""What reach needs of a design: scenes, faces, tools, machine limits, clearances."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import chain

import numpy as np
import shapely

from orthostat.analyses.reach.scene import TOUCH, Scene, solids_of, vertices
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Body, Face, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.model.machine import HeadBox, HeadCylinder, Machine, Magazine
from orthostat.model.stations import Station
from orthostat.model.tools import CutterKind, Tool

TRUING_KINDS = frozenset({CutterKind.FACE_MILL, CutterKind.END_MILL})

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
    unseen: tuple[str, ...] = ()
    """Key paths of obstacles under the column that nobody stated."""

    @property
    def head_stated(self) -> bool:
        return bool(self.head_cylinders or self.head_boxes)

    @property
    def travel_gaps(self) -> tuple[str, ...]:
        """Key paths of the travel limits that nobody stated."""
        keys = (
            ("x", self.x_low, self.x_high),
            ("spindle_height", self.y_low, self.y_high),
            ("nose_to_b", self.nose_near, self.nose_far),
        )
        return tuple(f"{self.path}.{key}" for key, low, high in keys if low is None or high is None)

    @property
    def head_key(self) -> str:
        """Key path that would state the head."""
        return f"{self.path}.head_cylinders"


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
    outline: Polygon
    """Plan of the column's side faces (x, z), for a riser as wide as it."""
    base_height: Metre
    """Height of the column's underside."""
    chord: Metre = CHORD
    truing_tools: tuple[str, ...] | None = None
    """Tools that may true the faces; `None` for every mill."""

    @property
    def truing_mills(self) -> tuple[Tool, ...]:
        """The mills that may true the faces."""
        allowed = self.truing_tools
        mills = (tool for tool in self.tools if tool.kind in TRUING_KINDS)
        return tuple(tool for tool in mills if allowed is None or tool.name in allowed)


def inputs_from(column: Column, clearances: Clearances, chord: Metre = CHORD) -> Inputs:
    """What reach needs of a column, with the clearances the shop states or the catalogue's."""
    machine = column.machine
    bare = solids_of((*column.platforms, *outer_bodies(column)))
    on_it = solids_of(body for station in column.stations for body in station.bodies)
    return Inputs(
        bare=Scene(bare, chord),
        loaded=Scene((*bare, *on_it), chord),
        faces=column.faces,
        stations=column.stations,
        tools=column.tools,
        limits=replace(
            Limits(f"{column.path}.machine") if machine is None else limits_of(machine),
            unseen=_unseen(column),
        ),
        magazine=Magazine() if machine is None else machine.magazine,
        clearances=clearances,
        truing_depth=column.truing_depth,
        truing_path=f"{column.path}.truing.depth",
        outline=column.outline,
        base_height=column.base_height,
        chord=chord,
        truing_tools=column.truing_tools,
    )


def _unseen(column: Column) -> tuple[str, ...]:
    """Key paths of what would be an obstacle under the column, had it been stated."""
    gaps = [f"{column.path}.pallet"] if column.pallet is None and not column.platforms else []
    for platform in (column.pallet, column.base, column.riser):
        if platform is not None and platform.outline is None and platform.radius is None:
            gaps.append(f"{platform.path}.outside")
        if platform is not None and platform is not column.pallet and platform.thickness is None:
            gaps.append(f"{platform.path}.thickness")
    return tuple(gaps)


_HIDDEN = frozenset({Role.FILL, Role.VOID_FORMER, Role.SLEEVE, Role.ANCHOR, Role.INSERT, Role.SCREW})


def outer_bodies(column: Column) -> tuple[Body, ...]:
    """The column's bodies but for those that walls, base and lid hide: nothing can touch them.

    A column of which only plan and height are known is taken as a block.
    """
    outline = shapely.Polygon(column.outline.points).buffer(TOUCH, join_style="mitre")
    doubtful = [body for body in column.bodies if body.role in _HIDDEN]
    corners = [[vertices(prism, CHORD) for prism in body.adds] for body in doubtful]
    points = np.concatenate([np.zeros((0, 3)), *chain.from_iterable(corners)])
    shapely.prepare(outline)
    inside = shapely.contains_xy(outline, points[:, 0], points[:, 2])
    inside &= (points[:, 1] >= column.base_height - TOUCH) & (points[:, 1] <= column.height + TOUCH)
    count = [sum(map(len, each)) for each in corners]
    ends = np.cumsum([0, *count])
    hidden = {id(body) for body, a, b in zip(doubtful, ends[:-1], ends[1:], strict=True) if inside[a:b].all()}
    kept = tuple(body for body in column.bodies if id(body) not in hidden)
    if column.shape_of_body is not None:
        return kept
    block = Prism(column.outline, column.base_height, column.height)
    return (*kept, Body("column", Role.SOLID, (block,), path=column.path))


def limits_of(machine: Machine) -> Limits:
    """The part of a machine that limits reach."""
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
