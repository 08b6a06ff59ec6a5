"""One edit of the demo column in a warm engine: reading it, and the answers of one subject or the picture."""

from __future__ import annotations

import sys
from functools import partial
from itertools import count
from pathlib import Path

from benchmarks.timing import Comparison, report
from orthostat.document.editing import Edit
from orthostat.web.asking import Ask, Design
from orthostat.web.worker import Engine

SHOP = Path(__file__).parents[1] / "examples" / "saltmarsh"
ASKED: dict[str, tuple[tuple[str, ...], float]] = {
    "fit": (("fit",), 4.0),
    "reach": (("reach",), 5.0),
    "hold": (("loads", "hold", "fixture"), 11.0),
    "pour": (("pour",), 5.0),
    "body, joining, making, cost": (("body", "joining", "making", "cost"), 14.0),
    "the picture": ((), 10.0),
}
"""Subjects, and the ratio that is promised."""
_HEIGHTS = (600.0 + 0.01 * step for step in count())


def squares() -> int:
    """A hundred thousand squares in plain Python: about 5 ms on a small server core."""
    return sum(number * number for number in range(100_000))


def edited(engine: Engine, shop: str, text: str, subjects: tuple[str, ...]) -> None:
    """Answer of the demo column at a height it never had."""
    design = Design(str(SHOP), "harbour", shop, text, (Edit("set", ("height",), next(_HEIGHTS)),))
    answer = engine.answer(Ask("findings" if subjects else "scene", design, subjects))
    if answer.broke or answer.problems:
        raise RuntimeError(answer.broke or str(answer.problems))


def main() -> int:
    """Measure and print."""
    shop, text = ((SHOP / name).read_text("utf-8") for name in ("shop.toml", "columns/harbour.toml"))
    engine = Engine()
    return report(
        [
            Comparison(
                f"{name}, after an edit of the height",
                partial(edited, engine, shop, text, subjects),
                squares,
                against="100,000 squares in plain Python (about 5 ms)",
                repeats=15,
                at_most=at_most,
            )
            for name, (subjects, at_most) in ASKED.items()
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
