"""The pour: quick answers, and the cure of the section against a fixed-step run of the same accuracy."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import numpy as np

from benchmarks.timing import Comparison, report
from orthostat.analyses.pour import Inputs, Result, inputs_from, solve
from orthostat.analyses.pour.cup import calibrated
from orthostat.analyses.pour.filling import fill_stuff
from orthostat.analyses.pour.heat import HORIZON, element_size
from orthostat.analyses.pour.kinetics import Kinetics
from orthostat.analyses.pour.march import History, march
from orthostat.analyses.pour.section import Section, films, section
from orthostat.base.dimensions import Kelvin, Second
from orthostat.base.findings import stated
from pours import poured

ROOM = Kelvin(293.15)
SAME_ACCURACY = Second(168.0)
"""Fixed step whose set time is as far from a run with a twentieth of the tolerance as the adapted
run's: 11 s of 3 h (its peak is 0.01 K off, the adapted run's 0.005 K)."""


def squares() -> int:
    """A hundred thousand squares in plain Python: about 5 ms on a small server core."""
    return sum(number * number for number in range(100_000))


def meshed(inputs: Inputs, result: Result) -> Section:
    """The demo section, meshed and assembled."""
    mix = result.known_mix()
    stuff = fill_stuff(inputs, mix, mix.used.likely)
    heat = stuff.resin_mass * kinetics(inputs).heat
    return section(inputs, stuff, heat, films(inputs), size=element_size(inputs))


def kinetics(inputs: Inputs) -> Kinetics:
    """The demo resin's kinetics, calibrated on its cup test once."""
    return calibrated(stated(inputs.pour.resin, "pour.resin")).kinetics


def cured(cut: Section, inputs: Inputs, fixed: Second | None = None) -> History:
    """A week of cure."""
    start = np.full(len(cut.body.capacity), float(ROOM))
    start[cut.fill_nodes] = 295.15
    return march(cut.body, kinetics(inputs), start, room=ROOM, until=HORIZON, fixed_step=fixed)


def main() -> int:
    """Measure and print."""
    inputs = inputs_from(poured())
    result = solve(inputs)
    cut = meshed(inputs, result)
    return report(
        [
            Comparison(
                "warm volumes, gaps, mix, shopping list and form (20 ms wanted)",
                lambda: solve(inputs),
                squares,
                against="100,000 squares in plain Python",
                repeats=51,
                at_most=4.0,
            ),
            Comparison(
                "cure of the demo section, mesh included (peak within 1 % of the rise; 1 s wanted)",
                lambda: cured(meshed(inputs, result), inputs),
                squares,
                against="100,000 squares in plain Python",
                repeats=9,
                at_most=200.0,
            ),
            Comparison(
                "cure of the demo section, steps adapted",
                lambda: cured(cut, inputs),
                lambda: cured(cut, inputs, SAME_ACCURACY),
                against="fixed steps of the same accuracy",
                repeats=3,
                at_most=0.2,
            ),
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
