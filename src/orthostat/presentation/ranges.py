"""Low, likely and high of a few quantities as bars, each on its own scale."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.showing import System, show
from orthostat.presentation import svg

WIDTH, ROW, TOP = 460.0, 46.0, 38.0
NUMBER = 9.5
"""Size of the numbers; a letter of the monospaced face is 0.6 of it wide."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One quantity with its range, in SI, and its kind."""

    name: str
    low: float
    likely: float
    high: float
    kind: str


def range_picture(title: str, bars: tuple[Bar, ...], system: System, words: str) -> str:
    """The bars as SVG text: a hairline from zero, a block from low to high, a tick at the likely value."""
    drawn = [svg.text((12.0, 20.0), title, bold=True)]
    for k, bar in enumerate(bars):
        drawn += _bar(bar, TOP + k * ROW, system)
    return svg.document(WIDTH, TOP + ROW * len(bars) + 8.0, *drawn, title=title, description=words)


def _bar(bar: Bar, top: float, system: System) -> list[svg.Element]:
    left, right, level = 160.0, WIDTH - 60.0, top + 12.0
    scale = (right - left) / max(bar.high, 1e-30)
    low, likely, high = (left + scale * value for value in (bar.low, bar.likely, bar.high))
    return [
        svg.text((12.0, level + 4.0), bar.name, size=10.5),
        svg.line((left, level), (right, level), stroke=svg.HAIRLINE),
        svg.line((left, level - 6.0), (left, level + 6.0), stroke=svg.QUIET),
        svg.rectangle((low, level - 5.0), (high, level + 5.0), fill=svg.SHADE, stroke=svg.QUIET, width=0.5),
        svg.line((likely, level - 8.0), (likely, level + 8.0), width=1.5),
        *_numbers(
            [
                (at, show(value, bar.kind, system))
                for at, value in ((low, bar.low), (likely, bar.likely), (high, bar.high))
            ],
            level,
        ),
    ]


def _numbers(ends: list[tuple[float, str]], level: float) -> list[svg.Element]:
    """Low and high below the bar, likely between them where it has room, else above."""
    low, likely, high = ends
    apart = not _touch(low, high)
    below = apart and not _touch(low, likely) and not _touch(likely, high)
    return [
        svg.text((at, level + 20.0 if down else level - 11.0), words, size=NUMBER, anchor=anchor, mono=True)
        for (at, words), down, anchor in (
            (low, True, "middle" if apart else "end"),
            (likely, below, "middle"),
            (high, True, "middle" if apart else "start"),
        )
    ]


def _touch(left: tuple[float, str], right: tuple[float, str]) -> bool:
    letters = 0.5 * (len(left[1]) + len(right[1])) + 1.0
    return abs(right[0] - left[0]) < letters * 0.6 * NUMBER
