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
                Comparison(
                    "cold check of one demo column",
                    # A finding that fails is an answer too.
                    python("-m", "orthostat", "check", str(shop), column, allowed=(0, 1)),
                    python("-c", "import numpy, pydantic"),
                    against='python -c "import numpy, pydantic"',
                    at_most=4.0,
                ),
            ]
        )


if __name__ == "__main__":
    sys.exit(main())
