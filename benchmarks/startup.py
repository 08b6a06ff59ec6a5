"""How long a person waits before anything is worked out: help, and the first check after a start."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from benchmarks.timing import Comparison, python, report


def main() -> int:
    """Measure the command line of the installed package in a new demo shop."""
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        python("-m", "orthostat", "new", str(shop))()
        column = min((shop / "columns").glob("*.toml")).stem
        return report(
            [
                Comparison(
                    "help",
                    python("-m", "orthostat", "--help"),
                    python("-c", "pass"),
                    against="python -c pass",
                    at_most=3.0,
                ),
                _cold(
                    "cold check of the fit of one demo column", ("--only", "fit"), shop, column, at_most=4.0
                ),
                _cold("cold check, quick answers", ("--quick",), shop, column),
                _cold("cold check, every answer", (), shop, column, repeats=3),
            ]
        )


def _cold(
    name: str,
    options: tuple[str, ...],
    shop: Path,
    column: str,
    *,
    at_most: float | None = None,
    repeats: int = 9,
) -> Comparison:
    return Comparison(
        name,
        # A finding that fails is an answer too.
        python("-m", "orthostat", "check", str(shop), column, *options, allowed=(0, 1)),
        python("-c", "import numpy, pydantic"),
        against='python -c "import numpy, pydantic"',
        repeats=repeats,
        at_most=at_most,
    )


if __name__ == "__main__":
    sys.exit(main())
