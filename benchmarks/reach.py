"""What reach costs: a hexagon with 24 stations and 40 tools, and one face against the brute-force raster."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import SimpleNamespace

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import columns
from orthostat.analyses import reach
from orthostat.base.dimensions import Metre
from orthostat.base.kept import Kept
from orthostat.checks import reach as checks
from orthostat.model.bodies import COLUMN_ROLES, Body, Polygon, Prism
from orthostat.model.column import Column
from orthostat.model.stations import Cut, Station
from orthostat.model.tools import Tool
from reach_raster import Grid, Part, machinable

WANTED = 0.6
"""All maps and findings of the large scene [s]. It runs on one thread, so its processor time is what it takes
on an idle machine; that is what is judged, and the wall-clock time is printed beside it."""
RASTER = 100.0
"""Least ratio of the raster's time at 0.25 mm pitch to one map's."""
CLEARANCES = reach.Clearances(Metre(0.002), Metre(0.001), Metre(0.0), Metre(0.001))


def scene(stations: int = 4, tools: int = 40) -> Column:
    """A hexagon with `stations` on each face and `tools` made from three kinds."""
    made = columns.hexagon(height=0.6)
    heights = [0.08 + 0.44 * k / max(stations - 1, 1) for k in range(stations)]
    placed = tuple(_small(s, k, v) for s in made.stations for k, v in enumerate(heights))
    kinds = columns.tools()
    shelf = tuple(_variant(kinds[k % 3], k) for k in range(tools))
    return replace(made, stations=placed, tools=shelf)


def _variant(tool: Tool, number: int) -> Tool:
    by = 1.0 + 0.01 * (number // 3)
    steps = tuple(replace(step, radius=Metre(step.radius * by)) for step in tool.steps)
    name = tool.name if number < 3 else f"{tool.name}.{number}"
    return replace(
        tool, name=name, path=f"tools.{name}", steps=steps, flat_radius=Metre(tool.flat_radius * by),
        largest_radius=Metre(tool.largest_radius * by),
    )  # fmt: skip


def _small(station: Station, number: int, v: float) -> Station:
    """The station made a third as high and moved to height v."""
    origin_v = station.origin[1]

    def place(at: tuple[float, float]) -> tuple[float, float]:
        return at[0], v + (at[1] - origin_v) / 3.0

    def body(given: Body) -> Body:
        adds = tuple(
            Prism(Polygon(tuple(place(p) for p in prism.section.points)), prism.low, prism.high, prism.frame)
            for prism in given.adds
            if isinstance(prism.section, Polygon)
        )
        return replace(given, name=f"{given.name} {number}", adds=adds, station=f"{station.name}.{number}")

    def cut(given: Cut) -> Cut:
        region = None if given.region is None else Polygon(tuple(place(p) for p in given.region.points))
        return replace(given, region=region, places=tuple(place(p) for p in given.places))

    return replace(
        station, name=f"{station.name}.{number}", origin=(station.origin[0], v),
        bodies=tuple(map(body, station.bodies)), cuts=tuple(map(cut, station.cuts)), screws=(), dowels=(),
    )  # fmt: skip


def everything(made: Column) -> int:
    """All face maps and all findings, from nothing."""
    forget()
    answers = reach.solve(reach.inputs_from(made, CLEARANCES))
    maps = sum(len(row) for row in answers.overview)
    evaluation = SimpleNamespace(reach=answers, column=made)
    rules = (checks.truing, checks.cuts, checks.holder, checks.head, checks.turn_clear, checks.changer)
    return maps + sum(len(rule.measure(evaluation) or ()) for rule in rules)  # type: ignore[arg-type, misc]


def forget() -> None:
    """Empty every cache of the room, so that a run starts cold."""
    for name, module in list(sys.modules.items()):
        if name.startswith("orthostat.analyses.reach"):
            for value in vars(module).values():
                if isinstance(value, Kept):
                    value.forget()
                elif hasattr(value, "cache_clear"):
                    value.cache_clear()


def best_of(times: int, work: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    """Least wall-clock time of a few runs [s], or another clock's."""
    taken = []
    for _ in range(times):
        started = clock()
        work()
        taken.append(clock() - started)
    return min(taken)


def one_map(made: Column) -> float:
    """One cold map of one bare face at the truing depth; its share."""
    forget()
    answers = reach.solve(reach.inputs_from(made, CLEARANCES))
    return answers.face_map(1, made.tools[0].name).ground.share


def raster_map(made: Column, pitch: float) -> float:
    """The same map by brute force, the grid kept to the face and the cutter round it; its sure share."""
    face, tool, machine = made.faces[0], made.tools[0], made.machine
    if machine is None or tool.gauge_length is None:
        raise ValueError("the scene states a machine and gauge lengths")
    kept = CLEARANCES
    parts = [
        Part(s.start, s.end, s.radius, cuts=s.cuts, radial=0.0 if s.cuts else kept.radial, axial=kept.axial)
        for s in tool.steps
    ]
    g = tool.gauge_length
    parts += [
        Part(g + c.start, g + c.end, c.radius, radial=kept.radial, axial=kept.axial)
        for c in machine.head_cylinders
    ]
    parts += [
        Part(
            g + b.start,
            g + b.end,
            None,
            (b.x_low, b.y_low),
            (b.x_high, b.y_high),
            radial=kept.radial,
            axial=kept.axial,
        )
        for b in machine.head_boxes
    ]
    bodies = [*made.platforms, *made.bodies]
    solids = [(prism, body.role in COLUMN_ROLES) for body in bodies for prism in body.adds]
    room = tool.largest_radius + 0.01
    grid = Grid.over(face.u_low - room, face.v_low - room, face.u_high + room, face.v_high + room, pitch)
    assert machine.x_low is not None
    assert machine.y_low is not None
    assert machine.x_high is not None
    assert machine.y_high is not None
    travel = (machine.x_low, machine.y_low, machine.x_high, machine.y_high)
    answer = machinable(
        solids,
        face.angle,
        parts,
        face.distance - (made.truing_depth or 0.0),
        tool.flat_radius,
        travel,
        grid,
        plunges=tool.plunges,
    )
    return float(answer.sure.mean())


def main() -> int:
    """Print times, the ratio to the raster, and growth with tools and stations."""
    large = scene()
    seconds = best_of(5, partial(everything, large))
    ours = best_of(5, partial(one_map, large))
    theirs = best_of(1, partial(raster_map, large, 0.00025))
    cpu = best_of(3, partial(everything, large), time.process_time)
    growth = {
        "tools 20 to 40": cpu / best_of(3, partial(everything, scene(4, 20)), time.process_time),
        "stations 12 to 24": cpu / best_of(3, partial(everything, scene(2, 40)), time.process_time),
    }
    everything(large)
    changed = replace(large, tools=(*large.tools[:-1], _variant(large.tools[-1], 7)))
    started = time.perf_counter()
    after = reach.solve(reach.inputs_from(changed, CLEARANCES))
    count = sum(len(row) for row in after.overview) + len(after.cuts)
    one_changed = time.perf_counter() - started
    inside = cpu <= WANTED and theirs / ours >= RASTER
    print(
        json.dumps(
            {
                "large scene": {
                    "stations": len(large.stations), "tools": len(large.tools), "faces": len(large.faces),
                    "processor_seconds": cpu, "wall_seconds": seconds, "at_most": WANTED,
                },
                "one map": {
                    "seconds": ours, "raster 0.25 mm seconds": theirs, "ratio": theirs / ours,
                    "at_least": RASTER,
                },
                "growth": growth,
                "one tool changed": {"seconds": one_changed, "answers": count},
                "inside": inside,
            },
            indent=2,
        )
    )  # fmt: skip
    return 0 if inside else 1


if __name__ == "__main__":
    sys.exit(main())
