"""The joint: 60 load cases, the whole chapter of one column, and slip against a brute-force search."""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import count
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import columns
from benchmarks.timing import Comparison, report
from orthostat.analyses import hold, loads, solids
from orthostat.analyses.hold.slip import Programme
from orthostat.base.dimensions import KelvinDifference, Ratio
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from unit.hold.kinematics import grid_search

_SWINGS = (KelvinDifference(8.0 + 1e-5 * step) for step in count())
"""A joint keeps what it has found: each time it is asked at a swing it never had."""
_WANTED = hold.Wanted(Ratio(1.2), Ratio(1.8), Ratio(1.2), Ratio(0.9), "limits")


def _limits() -> Limits:
    return Limits(temperature_change=next(_SWINGS))


def squares() -> int:
    """A hundred thousand squares in plain Python: about 5 ms on a small server core."""
    return sum(number * number for number in range(100_000))


def full_column() -> Column:
    """A filled column of four stations whose screws are all stated."""
    made = columns.square_filled()
    return replace(
        made,
        stations=tuple(
            replace(
                station,
                screws=tuple(replace(screw, tightening="torque wrench") for screw in station.screws),
            )
            for station in made.stations
        ),
    )


def sixty_loads() -> tuple[hold.Joint, tuple[hold.LoadSet, ...]]:
    """One joint of that column under ten cuts of six random cases each."""
    column = full_column()
    masses = solids.solve(solids.inputs_from(column))
    inputs = hold.inputs_from(column, _limits(), masses, loads.solve(loads.inputs_from(column, masses)))
    random = np.random.default_rng(1)
    sets = tuple(
        hold.LoadSet(
            f"cut {k}",
            f"cuts[{k}]",
            random.normal(size=(6, 6)) * np.array([2e3, 1e3, 2e3, 400.0, 200.0, 400.0]),
            tuple(f"case {i}" for i in range(6)),
            reversing=True,
            steady=None,
        )
        for k in range(10)
    )
    return inputs.joints[0].joint, sets


def slip_problem() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ninety-six points with random limits, and a load."""
    random = np.random.default_rng(2)
    return (
        random.uniform(-0.15, 0.15, (96, 2)),
        random.uniform(50.0, 400.0, 96),
        np.array([900.0, 500.0, 120.0]),
    )


def main() -> int:
    """Measure and print."""
    column = full_column()
    masses = solids.solve(solids.inputs_from(column))
    forces = loads.solve(loads.inputs_from(column, masses))
    joint, sets = sixty_loads()
    at, limit, load = slip_problem()
    programme = Programme(at)
    zero = np.zeros(len(at))
    return report(
        [
            Comparison(
                "one joint under 60 load cases, after an edit",
                lambda: hold.solve_joint(
                    replace(joint, losses=replace(joint.losses, temperature=next(_SWINGS))),
                    sets,
                    np.zeros((0, 2)),
                    _WANTED,
                ),
                squares,
                against="100,000 squares in plain Python (about 5 ms)",
                repeats=15,
                at_most=2.5,
            ),
            Comparison(
                "all joints of a column with four fixtures and eight cuts, after an edit",
                lambda: hold.solve(hold.inputs_from(column, _limits(), masses, forces)),
                squares,
                against="100,000 squares in plain Python (about 5 ms)",
                repeats=9,
                at_most=8.0,
            ),
            Comparison(
                "slip of 96 points as a cone programme",
                lambda: programme.solve(limit, zero, steady=np.zeros(3), growing=load),
                lambda: grid_search(at, limit, load),
                against="a grid over rigid motions that is good to 1e-4",
                repeats=5,
                at_most=0.02,
            ),
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
