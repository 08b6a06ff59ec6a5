"""A plain line chart: axes with round ticks, lines told apart by dash and label, limits, bands."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from orthostat.presentation import svg
from orthostat.presentation.svg import Element, Point

DASHES = (None, "6 3", "2 2", "8 3 2 3", "1 3", "10 4")
"""Dash patterns in the order lines are drawn, so that lines stay apart in black and white."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points in data units, named in the key above the chart.

    `dash` None takes the next pattern.
    """

    name: str
    points: tuple[Point, ...]
    dash: str | None = None
    colour: str = svg.INK
    width: float = 1.4


@dataclass(frozen=True, slots=True)
class Limit:
    """A horizontal or vertical limit with its words.

    `side` hatches what lies beyond (`above`, `below` or empty).
    """

    at: float
    words: str
    vertical: bool = False
    side: str = ""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart in data units; axis ranges are taken from the data where not given."""

    title: str
    x_words: str
    y_words: str
    lines: tuple[Line, ...]
    limits: tuple[Limit, ...] = ()
    x_range: tuple[float, float] | None = None
    y_range: tuple[float, float] | None = None
    width: float = 620.0
    height: float = 360.0
    description: str = ""

    def render(self) -> str:
        """The chart as SVG text."""
        return svg.document(
            self.width,
            self.height,
            *_elements(self),
            title=self.title,
            description=self.description or self.title,
        )


def ticks(low: float, high: float, count: int = 6) -> list[float]:
    """Round values within low..high, about `count` of them, on steps of 1, 2 or 5 times ten to a whole."""
    if not high > low:
        return [low]
    raw = (high - low) / max(count, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * m for m in (1.0, 2.0, 5.0, 10.0) if power * m >= raw * (1.0 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def _range(values: Sequence[float], given: tuple[float, float] | None) -> tuple[float, float]:
    if given is not None:
        return given
    finite = [v for v in values if math.isfinite(v)]
    low, high = (min(finite), max(finite)) if finite else (0.0, 1.0)
    if high - low < 1e-12 * max(abs(high), abs(low), 1e-300):
        pad = max(abs(high), 1.0) * 0.5
        return low - pad, high + pad
    pad = 0.06 * (high - low)
    bottom = 0.0 if low >= 0.0 and low < 0.5 * high else low - pad
    return bottom, high + pad


def _elements(chart: Chart) -> list[Element]:
    x_limits = [limit.at for limit in chart.limits if limit.vertical]
    y_limits = [limit.at for limit in chart.limits if not limit.vertical]
    xs = [p[0] for each in chart.lines for p in each.points]
    x_low, x_high = (min(xs), max(xs)) if xs and chart.x_range is None else _range(xs, chart.x_range)
    if x_limits and chart.x_range is None:
        x_low, x_high = min(x_low, *x_limits), max(x_high, *x_limits)
    if not x_high > x_low:
        x_low, x_high = x_low - 0.5, x_high + 0.5
    y_low, y_high = _range([p[1] for each in chart.lines for p in each.points] + y_limits, chart.y_range)
    left, right, bottom = 74.0, chart.width - 20.0, chart.height - 52.0
    named = _rows(chart, right - left)
    top = 44.0 + _ROW * (len(named) - 1)

    def place(p: Point) -> Point:
        x = left + (p[0] - x_low) / (x_high - x_low) * (right - left)
        y = bottom - (p[1] - y_low) / (y_high - y_low) * (bottom - top)
        return x, min(max(y, top - 4000.0), bottom + 4000.0)

    parts = [svg.text((left, 22.0), chart.title, size=13.0, bold=True)]
    parts += _axes(chart, place, (x_low, x_high), (y_low, y_high), (left, right, top, bottom))
    drawn: list[Element] = []
    words: list[Element] = []
    for limit in chart.limits:
        *lines, label = _limit(limit, place, (x_low, x_high), (y_low, y_high))
        drawn += lines
        words.append(label)
    for index, each in enumerate(chart.lines):
        dash = each.dash if each.dash is not None else DASHES[index % len(DASHES)]
        points = [place(p) for p in each.points if math.isfinite(p[0]) and math.isfinite(p[1])]
        drawn.append(
            svg.polyline(
                points, stroke=each.colour, width=each.width, stroke_dasharray=dash, stroke_linejoin="round"
            )
        )
    parts.append(svg.window((left, top), (right, bottom), *drawn, *words))  # no curve runs over the words
    parts += _names(chart, named, right, top)
    return parts


def _axes(
    chart: Chart,
    place: Callable[[Point], Point],
    x_range: tuple[float, float],
    y_range: tuple[float, float],
    box: tuple[float, float, float, float],
) -> list[Element]:
    left, right, top, bottom = box
    parts: list[Element] = []
    x_ticks, y_ticks = ticks(*x_range, count=7), ticks(*y_range, count=5)
    for value in x_ticks:
        x = place((value, y_range[0]))[0]
        parts.append(svg.line((x, top), (x, bottom), stroke=svg.HAIRLINE, width=0.4))
        parts.append(
            svg.text((x, bottom + 15.0), tick_text(value, x_ticks), size=10.0, anchor="middle", mono=True)
        )
    for value in y_ticks:
        y = place((x_range[0], value))[1]
        parts.append(svg.line((left, y), (right, y), stroke=svg.HAIRLINE, width=0.4))
        parts.append(
            svg.text((left - 7.0, y + 3.5), tick_text(value, y_ticks), size=10.0, anchor="end", mono=True)
        )
    parts.append(svg.line((left, bottom), (right, bottom)))
    parts.append(svg.line((left, top), (left, bottom)))
    parts.append(svg.text((right, bottom + 34.0), chart.x_words, size=11.0, anchor="end", fill=svg.QUIET))
    parts.append(svg.text((left, top - 8.0), chart.y_words, size=11.0, fill=svg.QUIET))
    return parts


def _limit(
    limit: Limit, place: Callable[[Point], Point], x_range: tuple[float, float], y_range: tuple[float, float]
) -> list[Element]:
    """What is drawn of a limit, its words last."""
    if limit.vertical:
        a, b = place((limit.at, y_range[0])), place((limit.at, y_range[1]))
        far_x = x_range[1] if limit.side == "above" else x_range[0]
        far = place((far_x, y_range[0]))
        label = svg.text((a[0] + 4.0, b[1] + 12.0), limit.words, size=10.0, fill=svg.RUST, halo=True)
    else:
        a, b = place((x_range[0], limit.at)), place((x_range[1], limit.at))
        far = place((x_range[0], y_range[1] if limit.side == "above" else y_range[0]))
        label = svg.text(
            (b[0] - 4.0, b[1] - 4.0), limit.words, size=10.0, anchor="end", fill=svg.RUST, halo=True
        )
    parts = []
    if limit.side:
        parts.append(svg.group(svg.rectangle(b, far, fill=svg.HATCH_BLOCKED, stroke=None), opacity="0.35"))
    return [*parts, svg.line(a, b, stroke=svg.RUST, width=1.2), label]


_ROW = 16.0
"""Height of a row of the key."""
_SIGN = 42.0
"""Width of a line's sign in the key, with what stands clear of it."""


def _length(words: str) -> float:
    return 6.4 * len(words) + 8.0


def _rows(chart: Chart, width: float) -> list[list[int]]:
    """Which lines each row of the key names, the lowest row first, which leaves room for the axis' words."""
    rows: list[list[int]] = [[]]
    left = width - _length(chart.y_words)
    for index in range(len(chart.lines) - 1, -1, -1):
        needed = _length(chart.lines[index].name) + _SIGN
        if needed > left and (rows[-1] or len(rows) == 1):
            rows.append([])
            left = width
        rows[-1].append(index)
        left -= needed
    return rows


def _names(chart: Chart, rows: list[list[int]], right: float, top: float) -> list[Element]:
    parts: list[Element] = []
    for number, row in enumerate(rows):
        x, y = right, top - 8.0 - _ROW * number
        for index in row:
            each = chart.lines[index]
            x -= _length(each.name)
            parts.append(svg.text((x, y), each.name, size=10.5))
            parts.append(
                svg.line(
                    (x - 30.0, y - 4.0),
                    (x - 6.0, y - 4.0),
                    stroke=each.colour,
                    width=each.width,
                    stroke_dasharray=each.dash if each.dash is not None else DASHES[index % len(DASHES)],
                )
            )
            x -= _SIGN
    return parts


def tick_text(value: float, values: Sequence[float]) -> str:
    """A tick's words with as many decimals as the ticks' step needs."""
    step = min((abs(b - a) for a, b in itertools.pairwise(values)), default=abs(value) or 1.0)
    largest = max((abs(v) for v in values), default=0.0)
    if largest >= 1e6 or (0.0 < largest < 1e-3):
        return f"{value:.3g}"
    decimals = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0.0 else 0
    return f"{value:.{decimals}f}"
