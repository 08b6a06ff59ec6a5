"""Reach agrees with a brute-force raster, within the raster's own pitch, on random scenes."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, sin

import numpy as np
import pytest

from orthostat.analyses import reach
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import COLUMN_ROLES, STATION_ROLES, Disc, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.model.stations import Cut, Station
from reach_compare import GRID, agree, raster_parts, travel
from reach_raster import Grid, machinable
from reach_scenes import column

PITCH = 0.005
RADIAL, AXIAL = Metre(0.0015), Metre(0.001)
CLEARANCES = reach.Clearances(RADIAL, AXIAL, Metre(0.0), AXIAL)


@pytest.mark.parametrize("batch", range(10))
def test_face_maps_lie_between_what_the_raster_is_sure_of_and_what_it_allows(batch: int) -> None:
    doubtful, total, partly = 0, 0, 0
    for seed in range(20 * batch, 20 * batch + 20):
        made = column(seed)
        rng = np.random.default_rng(seed + 10_000)
        face = made.faces[int(rng.integers(len(made.faces)))]
        loaded = bool(rng.random() < 0.7)
        tip = Metre(float(rng.choice([-0.0003, 0.0, rng.uniform(0.0, 0.05)])))
        tool = made.tools[0]
        answers = reach.solve(reach.inputs_from(made, CLEARANCES))
        found = answers.face_map(face.number, tool.name, tip, loaded=loaded).ground

        bodies = [*made.platforms, *made.bodies]
        if loaded:
            bodies += [b for s in made.stations if s.face != face.number for b in s.bodies]
        solids = []
        for body in bodies:
            assert body.role not in STATION_ROLES or body.face != face.number
            for prism in body.adds:
                reaching = max(c[0] * sin(face.angle) + c[2] * cos(face.angle) for c in corner_points(prism))
                solids.append((prism, body.role in COLUMN_ROLES and reaching <= face.distance + 1e-9))
        grid = Grid.over(*GRID, PITCH)
        answer = machinable(
            solids, face.angle, raster_parts(tool, made, CLEARANCES), face.distance + tip, tool.flat_radius,
            travel(made), grid, plunges=tool.plunges,
        )  # fmt: skip
        tally = agree(found.wanted, found.machinable, answer, grid, f"seed {seed}")
        doubtful, total = doubtful + tally.doubtful, total + tally.total
        partly += 0.02 < found.share < 0.98
    assert doubtful < 0.35 * total, "the raster is too coarse to be a check"
    assert partly >= 3, "the scenes are too easy to be a check"


@pytest.mark.parametrize("batch", range(3))
def test_milled_cuts_lie_between_what_the_raster_is_sure_of_and_what_it_allows(batch: int) -> None:
    """Cuts into parts with everything on the column, from the front and from the side."""
    partly = 0
    for seed in range(600 + 25 * batch, 625 + 25 * batch):
        made = column(seed)
        if not made.stations:
            continue
        rng = np.random.default_rng(seed)
        station = made.stations[int(rng.integers(len(made.stations)))]
        turn = float(rng.choice([0.0, 0.0, 0.5 * pi, -0.5 * pi, 0.4]))
        cut, angle, tip = _cut(made, station, turn, rng)
        made = replace(
            made, stations=tuple(replace(s, cuts=(cut,)) if s is station else s for s in made.stations)
        )
        found = reach.solve(reach.inputs_from(made, CLEARANCES)).cut(station.name, cut.name)
        assert found.task.tip == pytest.approx(tip)
        assert found.ground is not None
        assert cut.region is not None
        bodies = [*made.platforms, *made.bodies, *(b for s in made.stations for b in s.bodies)]
        solids = [
            (prism, b.station == station.name and b.role is Role.PART) for b in bodies for prism in b.adds
        ]
        grid = Grid.over(*GRID, PITCH)
        tool = made.tools[0]
        answer = machinable(
            solids, angle, raster_parts(tool, made, CLEARANCES), tip, tool.flat_radius, travel(made), grid,
            plunges=tool.plunges, removed=cut.region.points,
        )  # fmt: skip
        agree(found.ground.wanted, found.ground.machinable, answer, grid, f"seed {seed}")
        partly += 0.02 < found.share < 0.98
    assert partly >= 3, "the scenes are too easy to be a check"


def _cut(made: Column, station: Station, turn: float, rng: np.random.Generator) -> tuple[Cut, float, float]:
    """A region over the station's part in the view turned by `turn`, a little deep into it."""
    face = {f.number: f for f in made.faces}[station.face]
    part = next(b for b in station.bodies if b.role is Role.PART)
    out = face.distance + part.adds[0].high
    u, v = station.origin
    middle = (u * cos(turn) - out * sin(turn), v)
    plane = u * sin(turn) + out * cos(turn)
    bottom = plane - float(rng.uniform(0.0, 0.02)) - (face.distance if turn == 0.0 else 0.0)
    a, b = rng.uniform(0.01, 0.05, 2)
    ring = tuple((middle[0] + sx * a, middle[1] + sy * b) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
    cut = Cut(
        "c", "cuts.c", "face", "tool", Radian(turn), (), Polygon(ring), Metre(bottom + 0.02), Metre(bottom)
    )
    return cut, face.angle + turn, bottom + (face.distance if turn == 0.0 else 0.0)


def corner_points(prism: Prism) -> list[tuple[float, float, float]]:
    if isinstance(prism.section, Disc):
        (a, b), r = prism.section.centre, prism.section.radius
        points = tuple((a + r * cos(k * pi / 360), b + r * sin(k * pi / 360)) for k in range(720))
    else:
        points = prism.section.points
    return [prism.frame.point(a, b, level) for a, b in points for level in (prism.low, prism.high)]
