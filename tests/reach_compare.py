"""Setting an answer of reach beside the raster's: the tool as the raster sees it, and the verdict."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from orthostat.analyses.reach import Clearances
from orthostat.model.column import Column
from orthostat.model.tools import Tool
from reach_raster import Answer, Grid, Part

GRID = (-0.42, -0.14, 0.42, 0.8)


@dataclass(frozen=True)
class Tally:
    """Cells wanted, and those that the raster leaves open."""

    total: int
    doubtful: int


def raster_parts(tool: Tool, made: Column, kept: Clearances) -> list[Part]:
    """Steps, nose and head with the room that each keeps."""
    machine = made.machine
    assert machine is not None
    assert tool.gauge_length is not None
    g = tool.gauge_length
    steps = [
        Part(s.start, s.end, s.radius, cuts=s.cuts, radial=0.0 if s.cuts else kept.radial, axial=kept.axial)
        for s in tool.steps
    ]
    heads = [Part(g + c.start, g + c.end, c.radius) for c in machine.head_cylinders]
    heads += [
        Part(g + b.start, g + b.end, None, (b.x_low, b.y_low), (b.x_high, b.y_high))
        for b in machine.head_boxes
    ]
    return steps + [replace(head, radial=kept.radial, axial=kept.axial) for head in heads]


def travel(made: Column) -> tuple[float, float, float, float]:
    """The axis rectangle: x_low, y_low, x_high, y_high."""
    machine = made.machine
    assert machine is not None
    ends = (machine.x_low, machine.y_low, machine.x_high, machine.y_high)
    assert None not in ends
    return tuple(float(end) for end in ends if end is not None)  # type: ignore[return-value]  # four ends


def agree(
    wanted: shapely.Geometry, machinable: shapely.Geometry, answer: Answer, grid: Grid, name: str
) -> Tally:
    """Fails where ground is missed that the raster is sure of, or claimed that it rules out."""
    x, y = np.meshgrid(grid.x, grid.y)
    shapely.prepare(wanted)
    shapely.prepare(machinable)
    inside = shapely.contains_xy(wanted, x, y)
    exact = shapely.contains_xy(machinable, x, y)
    edge = shapely.distance(shapely.points(x[inside], y[inside]), shapely.boundary(machinable))
    clear = np.zeros_like(inside)
    clear[inside] = np.isnan(edge) | (edge > 2e-5)
    missed = inside & clear & answer.sure & ~exact
    dreamt = inside & clear & exact & ~answer.possible
    assert not missed.any(), f"{name}: {missed.sum()} cells are reached and were not seen"
    assert not dreamt.any(), f"{name}: {dreamt.sum()} cells are out of reach and were claimed"
    return Tally(int(inside.sum()), int((inside & answer.possible & ~answer.sure).sum()))
