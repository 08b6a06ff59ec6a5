"""What reach needs of a design: scenes, faces, tools, machine limits, clearances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from orthostat.analyses.reach.scene import TOUCH, Array, Scene, solids_of, vertices
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Body, Disc, Face, Polygon, Prism, Role, Section
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

    def __hash__(self) -> int:
        return hash((self.path, self.x_low, self.x_high, self.y_low, self.y_high, self.nose_far))

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
    """Everything `solve` needs. `bare` is the column on its pallet; `loaded` adds all stations.

    Here and below things are hashed by the little that commonly tells them apart: it is done often.
    """

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

    def __hash__(self) -> int:
        return hash((self.loaded, self.faces, self.tools, self.truing_depth))

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
    loaded = Scene((*bare, *on_it), chord)
    return Inputs(
        bare=loaded.first(len(bare)),
        loaded=loaded,
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
    doubtful = [(prism, body) for body in column.bodies if body.role in _HIDDEN for prism in body.adds]
    normals, out = _sides(column)
    furthest = _furthest([prism for prism, _ in doubtful], normals)
    standing_out = {
        id(body)
        for prism, body in (doubtful[k] for k in np.flatnonzero((furthest > out + TOUCH).any(axis=1)))
        if (vertices(prism, CHORD) @ normals.T > out + TOUCH).any()
    }
    kept = tuple(body for body in column.bodies if body.role not in _HIDDEN or id(body) in standing_out)
    if column.shape_of_body is not None:
        return kept
    block = Prism(column.outline, column.base_height, column.height)
    return (*kept, Body("column", Role.SOLID, (block,), path=column.path))


def _furthest(prisms: Sequence[Prism], normals: Array) -> Array:
    """How far the box around each prism, in the prism's own frame, goes along each normal [m]; (n, m)."""
    every = {id(prism.frame): prism.frame for prism in prisms}
    number = {key: k for k, key in enumerate(every)}
    of = [number[id(prism.frame)] for prism in prisms]
    vectors = [(each.origin, each.first, each.second, each.third) for each in every.values()]
    frames = (np.array(vectors).reshape(-1, 4, 3) @ normals.T)[of]
    ends = np.array([(*_extent(prism.section), prism.low, prism.high) for prism in prisms]).reshape(-1, 3, 2)
    low, high = ends[:, :, :1], ends[:, :, 1:]
    reach: Array = np.maximum(low * frames[:, 1:], high * frames[:, 1:]).sum(axis=1)
    return frames[:, 0] + reach


def _extent(section: Section) -> tuple[float, float, float, float]:
    if isinstance(section, Disc):
        (u, v), r = section.centre, section.radius
        return u - r, u + r, v - r, v + r
    us, vs = zip(*section.points, strict=True)
    return min(us), max(us), min(vs), max(vs)


def _sides(column: Column) -> tuple[Array, Array]:
    """Outward normals of the column's faces, foot and top, (n, 3), and how far out each stands [m]."""
    ring = np.array(column.outline.points)
    steps = np.roll(ring, -1, axis=0) - ring
    after = np.roll(steps, -1, axis=0)
    turn = np.sign(np.sum(steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0]))
    outward = turn * np.column_stack((steps[:, 1], -steps[:, 0])) / np.hypot(*steps.T)[:, None]
    normals = np.zeros((len(ring) + 2, 3))
    normals[:-2, ::2], normals[-2:, 1] = outward, (-1.0, 1.0)
    return normals, np.append(np.sum(ring * outward, axis=1), (-column.base_height, column.height))


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
