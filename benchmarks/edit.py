"""One edit of the demo column in a warm engine: reading it, and the answers of one subject or the picture."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial
from itertools import count
from pathlib import Path

from benchmarks.timing import Comparison, report
from orthostat.document.editing import Edit
from orthostat.web.asking import Ask, Design
from orthostat.web.worker import Engine

SHOP = Path(__file__).parents[1] / "examples" / "saltmarsh"
_HOLD = ("loads", "hold", "fixture")
ASKED: tuple[tuple[tuple[str, ...], str, float], ...] = (
    (("fit",), "height", 2.0),
    (("reach",), "height", 3.0),
    (_HOLD, "height", 6.0),
    (_HOLD, "width", 8.0),
    (_HOLD, "station", 6.0),
    (("pour",), "height", 2.0),
    (("body", "joining", "making", "cost"), "height", 14.0),
    ((), "height", 10.0),
)
"""Subjects (none: the picture), what is edited, and the ratio that is promised."""
EDITS: dict[str, Callable[[float], Edit]] = {
    "height": lambda more: Edit("set", ("height",), 600.0 + more),
    "width": lambda more: Edit("set", ("plan", "across_flats"), 350.0 + 50.0 * more),
    "station": lambda more: Edit("set", ("stations", 0, "at"), [0.0, 300.0 + 50.0 * more]),
}
"""The last two by half a millimetre each time, as one types."""
_STEPS = (0.01 * step for step in count())


def squares() -> int:
    """A hundred thousand squares in plain Python: about 5 ms on a small server core."""
    return sum(number * number for number in range(100_000))


def edited(engine: Engine, shop: str, text: str, subjects: tuple[str, ...], what: str) -> None:
    """Answer of the demo column as it never was."""
    design = Design(str(SHOP), "harbour", shop, text, (EDITS[what](next(_STEPS)),))
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
                f"{', '.join(subjects) or 'the picture'}, after an edit of the {what}",
                partial(edited, engine, shop, text, subjects, what),
                squares,
                against="100,000 squares in plain Python (about 5 ms)",
                repeats=15,
                at_most=at_most,
            )
            for subjects, what, at_most in ASKED
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
