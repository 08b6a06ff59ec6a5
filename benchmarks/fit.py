"""Solids and fit: one column that changed a little, and many columns in one process."""

from __future__ import annotations

import sys
from itertools import count
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import columns
from benchmarks.timing import Comparison, report
from orthostat.analyses import fit, solids
from orthostat.analyses.fit.consistency import Consistency, solve_consistency
from orthostat.model.column import Column

_HEIGHTS = (0.4 + 1e-6 * step for step in count())


def work(column: Column) -> tuple[fit.Fit, Consistency]:
    """Solids and fit of one column, nothing kept between calls but what single prisms gave."""
    inputs = fit.inputs_from(column, solids.solve(solids.inputs_from(column)))
    return fit.solve(inputs), solve_consistency(inputs)


def squares() -> int:
    """A hundred thousand squares in plain Python: about 5 ms on a small server core."""
    return sum(number * number for number in range(100_000))


def many(number: int) -> None:
    """As many columns, each of another height, so that no two share their plates."""
    for _ in range(number):
        work(columns.square_filled(height=next(_HEIGHTS)))


def main() -> int:
    """Measure and print."""
    column = columns.square_filled()
    return report(
        [
            Comparison(
                "warm solids and fit of one column (48 bodies, 112 prisms)",
                lambda: work(column),
                squares,
                against="100,000 squares in plain Python",
                repeats=101,
                at_most=1.0,
            ),
            Comparison(
                "1,000 new columns in one process",
                lambda: many(1000),
                lambda: many(100),
                against="100 new columns",
                repeats=3,
                at_most=13.0,
            ),
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
