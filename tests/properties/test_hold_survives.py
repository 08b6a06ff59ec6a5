"""Whatever is left out of a design, loads, hold and the tightening sheet come out, never an exception."""

import random
from dataclasses import fields, replace
from typing import Any

import pytest

import columns
from orthostat.base.findings import Verdict
from orthostat.evaluation import Evaluation
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from orthostat.presentation.chapters import chapters_of


def thinned(made: Any, keep: tuple[str, ...], numbers: random.Random) -> Any:
    """A third of what may be left out is left out."""
    left_out = {
        field.name: None
        for field in fields(made)
        if field.name not in keep and "None" in str(field.type) and numbers.random() < 0.35
    }
    return replace(made, **left_out)


def vague(numbers: random.Random) -> Column:
    make = numbers.choice([columns.square_filled, columns.slab, columns.hexagon, columns.triangle])
    made: Column = make()
    stations = tuple(
        replace(
            station,
            cuts=tuple(thinned(cut, ("name", "path", "kind", "tool"), numbers) for cut in station.cuts),
            screws=tuple(thinned(screw, ("at", "thread"), numbers) for screw in station.screws),
            dowels=tuple(thinned(dowel, ("at", "diameter"), numbers) for dowel in station.dowels),
            footprint=station.footprint if numbers.random() < 0.7 else None,
        )
        for station in made.stations
    )
    machine = None if numbers.random() < 0.2 else thinned(made.machine, ("name", "path"), numbers)
    return replace(
        made,
        stations=stations,
        studs=tuple(thinned(stud, ("name", "path", "at", "thread"), numbers) for stud in made.studs),
        tools=tuple(thinned(tool, ("name", "path", "kind", "steps"), numbers) for tool in made.tools),
        bodies=tuple(
            replace(body, material=None) if numbers.random() < 0.2 else body for body in made.bodies
        ),
        base_contact=() if numbers.random() < 0.2 else made.base_contact,
        machine=machine,
    )


@pytest.mark.parametrize("seed", range(12))
def test_a_design_with_gaps_is_still_answered(seed: int) -> None:
    evaluation = Evaluation(vague(random.Random(seed)), Limits())
    for subject in ("loads", "hold", "fixture"):
        for found in evaluation.findings(only=subject):
            open_rows = [row for row in found.rows if row.verdict is Verdict.UNKNOWN]
            assert all(row.why for row in open_rows)
    for slug in ("loads", "hold", "tightening"):
        assert list(chapters_of(evaluation, "metric", only=slug))
