"""Pieces, cost and the build book of the demo column, warm."""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import orthostat
from benchmarks.timing import Comparison, report
from orthostat.analyses import cost, pieces
from orthostat.book import dxf, pdf, step

EXAMPLES = Path(__file__).parents[1] / "examples"


def squares() -> int:
    """A hundred thousand squares in plain Python: about 5 ms on a small server core."""
    return sum(number * number for number in range(100_000))


def main() -> int:
    """Measure and print."""
    opened = orthostat.open_shop(EXAMPLES / "saltmarsh").column("harbour")
    evaluation = opened.evaluate()
    given = evaluation.cost.inputs
    seeds = iter(range(10_000))
    parts = pieces.inputs_from(opened.model)
    folder = Path(tempfile.mkdtemp())
    pdf.book(evaluation, opened.revision, opened.system)

    def drawings() -> None:
        for part in evaluation.pieces.drawn:
            dxf.write(part, opened.system, folder)

    plain = "100,000 squares in plain Python"
    return report(
        [
            Comparison("pieces of the demo column", lambda: pieces.solve(parts), squares, plain, 9, 3.0),
            Comparison(
                "cost with 10,000 draws",
                lambda: cost.solve(replace(given, seed=next(seeds))),
                squares,
                plain,
                9,
                10.0,
            ),
            Comparison("DXF of every piece", drawings, squares, plain, 5, 200.0),
            Comparison(
                "build book of the demo column, warm",
                lambda: pdf.book(evaluation, opened.revision, opened.system),
                squares,
                plain,
                3,
                500.0,
            ),
            Comparison(
                "STEP and GLB, kernel started anew",
                lambda: step.write(evaluation, folder),
                squares,
                plain,
                3,
                1500.0,
            ),
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
