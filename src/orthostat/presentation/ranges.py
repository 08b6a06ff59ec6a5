"""Low, likely and high of a few quantities as bars, each on its own scale."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.showing import System, show
from orthostat.presentation import svg

WIDTH, ROW, TOP = 460.0, 44.0, 34.0


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
        *(
            svg.text((at, level + 20.0), show(value, bar.kind, system), size=9.5, anchor="middle", mono=True)
            for at, value in ((low, bar.low), (likely, bar.likely), (high, bar.high))
        ),
    ]
