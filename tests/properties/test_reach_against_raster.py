"""Reach agrees with a brute-force raster, within the raster's own pitch, on random scenes."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from orthostat.analyses import reach
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import COLUMN_ROLES, STATION_ROLES, Disc, Prism
from orthostat.model.column import Column
from orthostat.model.tools import Tool
from reach_raster import Grid, Part, machinable
from reach_scenes import column

PITCH = 0.005
RADIAL, AXIAL = Metre(0.0015), Metre(0.001)
CLEARANCES = reach.Clearances(RADIAL, AXIAL, Metre(0.0), AXIAL)


def parts(tool: Tool, made: Column) -> list[Part]:
    machine = made.machine
    assert machine is not None
    assert tool.gauge_length is not None
    steps = [
        Part(s.start, s.end, s.radius, cuts=s.cuts, radial=0.0 if s.cuts else RADIAL, axial=AXIAL)
        for s in tool.steps
    ]
    g = tool.gauge_length
    heads = [
        Part(g + c.start, g + c.end, c.radius, radial=RADIAL, axial=AXIAL) for c in machine.head_cylinders
    ]
    boxes = [
        Part(
            g + b.start, g + b.end, None, (b.x_low, b.y_low), (b.x_high, b.y_high), radial=RADIAL, axial=AXIAL
        )
        for b in machine.head_boxes
    ]
    return steps + heads + boxes


@pytest.mark.parametrize("batch", range(10))
def test_ground_lies_between_what_the_raster_is_sure_of_and_what_it_allows(batch: int) -> None:
    doubtful, total, partly = 0, 0, 0
    for seed in range(20 * batch, 20 * batch + 20):
        made = column(seed)
        rng = np.random.default_rng(seed + 10_000)
        face = made.faces[int(rng.integers(len(made.faces)))]
        loaded = bool(rng.random() < 0.7)
        tip = Metre(float(rng.choice([-0.0003, 0.0, rng.uniform(0.0, 0.05)])))
        tool, machine = made.tools[0], made.machine
        assert machine is not None
        found = reach.solve(reach.inputs_from(made, CLEARANCES)).face_map(
            face.number, tool.name, tip, loaded=loaded
        )

        bodies = [*made.platforms, *made.bodies]
        if loaded:
            bodies += [b for s in made.stations if s.face != face.number for b in s.bodies]
        solids = []
        for body in bodies:
            assert body.role not in STATION_ROLES or body.face != face.number
            for prism in body.adds:
                reaching = max(
                    c[0] * np.sin(face.angle) + c[2] * np.cos(face.angle) for c in corner_points(prism)
                )
                solids.append((prism, body.role in COLUMN_ROLES and reaching <= face.distance + 1e-9))
        grid = Grid.over(-0.42, -0.14, 0.42, 0.8, PITCH)
        assert machine.x_low is not None
        assert machine.y_low is not None
        assert machine.x_high is not None
        assert machine.y_high is not None
        travel = (machine.x_low, machine.y_low, machine.x_high, machine.y_high)
        answer = machinable(
            solids, face.angle, parts(tool, made), face.distance + tip, tool.flat_radius, travel, grid,
            plunges=tool.plunges,
        )  # fmt: skip
        x, y = np.meshgrid(grid.x, grid.y)
        on_face = (x > face.u_low) & (x < face.u_high) & (y > face.v_low) & (y < face.v_high)
        shapely.prepare(found.ground.machinable)
        exact = shapely.contains_xy(found.ground.machinable, x, y)
        edge = shapely.distance(
            shapely.points(x[on_face], y[on_face]), shapely.boundary(found.ground.machinable)
        )
        clear = np.zeros_like(on_face)
        clear[on_face] = np.isnan(edge) | (edge > 2e-5)
        missed = on_face & clear & answer.sure & ~exact
        dreamt = on_face & clear & exact & ~answer.possible
        assert not missed.any(), f"seed {seed}: {missed.sum()} cells are reached and were not seen"
        assert not dreamt.any(), f"seed {seed}: {dreamt.sum()} cells are out of reach and were claimed"
        doubtful += int((on_face & answer.possible & ~answer.sure).sum())
        total += int(on_face.sum())
        partly += 0.02 < found.ground.share < 0.98
    assert doubtful < 0.35 * total, "the raster is too coarse to be a check"
    assert partly >= 3, "the scenes are too easy to be a check"


def corner_points(prism: Prism) -> list[tuple[float, float, float]]:
    if isinstance(prism.section, Disc):
        (a, b), r = prism.section.centre, prism.section.radius
        turns = np.linspace(0.0, 2.0 * np.pi, 720)
        points = tuple((a + r * float(np.cos(t)), b + r * float(np.sin(t))) for t in turns)
    else:
        points = prism.section.points
    return [prism.frame.point(a, b, level) for a, b in points for level in (prism.low, prism.high)]
