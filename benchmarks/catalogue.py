"""What the catalogue costs: reading every table and building every row, beside bare TOML reading."""

from __future__ import annotations

import sys
import tomllib

from benchmarks.timing import Comparison, report
from orthostat.catalogue.materials import material
from orthostat.catalogue.register import tables
from orthostat.catalogue.tables import ROOM, Table


def main() -> int:
    """Measure reading, and a warm look-up beside a look-up in a dictionary."""
    texts = {name: (ROOM / f"{name}.toml").read_text("utf-8") for name in tables()}
    classes = {name: found.row_class for name, found in tables().items()}
    known = {"aluminium 6061-T651": material("6061")}

    def read_all() -> int:
        return sum(len(list(Table(name, classes[name], text))) for name, text in texts.items())

    def parse_all() -> int:
        return sum(len(tomllib.loads(text)["rows"]) for text in texts.values())

    return report(
        [
            Comparison(
                "read, check and build every row", read_all, parse_all, against="tomllib.loads", at_most=2.5
            ),
            Comparison(
                "10,000 warm look-ups of a material",
                lambda: [material("6061") for _ in range(10_000)],
                lambda: [known["aluminium 6061-T651"] for _ in range(10_000)],
                against="dict",
            ),
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
