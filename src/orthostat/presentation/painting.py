"""What may be laid over the picture of the column: faces painted in numbered bands, and the tool at a cut.

Everything is worked out here; whoever draws it only places points and tints them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from orthostat.base.showing import System, show, show_parts
from orthostat.presentation.blocks import Block
from orthostat.presentation.chart import tick_text, ticks

GRAIN = 1e-4
"""Positions are whole multiples of this [m]."""
RAMP = ("#fbf3dc", "#f4dfa9", "#ebc468", "#d7a02c", "#ab7615", "#71490b")
"""One hue from light to dark, so that the order can be read without colour."""

Whole = tuple[int, ...]
Numbers = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Chosen:
    """What somebody wants to see."""

    paint: str = ""
    """`reach`, `movement`, `mode`, or nothing."""
    of: str = ""
    """The tool; the cut (see `cut_key`) or the station; the number of the mode."""
    loaded: bool = False
    """Whether the other faces carry their stations while reach is asked about."""
    cut: str = ""
    """The cut at which the tool stands (see `cut_key`)."""
    place: int | None = None
    """Which of the cut's places; `None` for the tightest."""


@dataclass(frozen=True, slots=True)
class Option:
    """One thing that can be chosen."""

    value: str
    words: str
    group: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """One step of a legend."""

    number: int
    words: str
    shade: str
    hatched: bool = False


@dataclass(frozen=True, slots=True)
class FaceArea:
    """Part of a face in one band: rings of (u, v) in grains; `axes` as those of a scene's piece."""

    band: int
    axes: Numbers
    rings: tuple[Whole, ...]


@dataclass(frozen=True, slots=True)
class Surface:
    """The body's outside in bands, flat lists in grains: points, and how far each is drawn moved.

    bands: corners of the triangles of each band. lines: ends of the lines between bands. rims: ends of edges.
    """

    points: Whole
    moved: Whole
    bands: tuple[Whole, ...]
    lines: Whole
    rims: Whole


@dataclass(frozen=True, slots=True)
class Label:
    """A number standing on the surface: where, which way it looks, how far it is drawn moved (grains)."""

    text: str
    at: Whole
    outward: Numbers
    moved: Whole = (0, 0, 0)


@dataclass(frozen=True, slots=True)
class Painting:
    """Faces painted in numbered bands, with the same numbers in words."""

    kind: str
    title: str
    bands: tuple[Band, ...]
    blocks: tuple[Block, ...]
    """What it shows, in sentences and a table."""
    areas: tuple[FaceArea, ...] = ()
    hatch: Whole = ()
    """Ends of strokes in grains."""
    surface: Surface | None = None
    labels: tuple[Label, ...] = ()
    drawn: str = ""
    """How much too large movement is drawn."""
    swings: bool = False
    """Whether it moves to and fro."""


@dataclass(frozen=True, slots=True)
class Picture:
    """All that was asked for, and all that could be."""

    tools: tuple[Option, ...]
    moves: tuple[Option, ...]
    modes: tuple[Option, ...]
    cuts: tuple[Option, ...]
    painting: Painting | None = None
    tool: ToolShown | None = None
    unknown: tuple[str, ...] = ()
    """Why something that was asked for is not there."""


@dataclass(frozen=True, slots=True)
class ToolPart:
    """A cylinder (`radius`) or a box (`low`, `high` across the axis), `start` to `end` over the tip [m]."""

    name: str
    start: float
    end: float
    radius: float | None
    low: Numbers
    high: Numbers


@dataclass(frozen=True, slots=True)
class ToolShown:
    """The tool at a cut: in the machine's frame, with the column turned by `turn` about Y [rad]."""

    title: str
    turn: float
    tip: Numbers
    parts: tuple[ToolPart, ...]
    near: tuple[str, ...]
    """Names of the pieces that come nearest."""
    verdict: str
    room: str
    """What comes nearest along the cut, in a few words."""
    places: tuple[str, ...]
    place: int
    blocks: tuple[Block, ...]


def cut_key(station: str, cut: str) -> str:
    """What a cut of a station is chosen by; its document path may be shared with other stations."""
    return f"{station}\n{cut}"


def shades(count: int) -> tuple[str, ...]:
    """So many steps of the ramp, light to dark, spread over all of it."""
    if count == 1:
        return (RAMP[2],)
    return tuple(RAMP[round(k * (len(RAMP) - 1) / (count - 1))] for k in range(count))


def levels(largest: float, kind: str, system: System, count: int = 5) -> tuple[list[float], list[str]]:
    """Round levels of a quantity between zero and its largest value, in SI, and the bands' words."""
    text, unit = show_parts(largest, kind, system, 6)
    shown = float(text)
    if not shown > 0.0:
        return [], [f"0 {unit}".strip()]
    steps = [each for each in ticks(0.0, shown, count) if each > 0.0]
    while len(steps) > 1 and steps[-1] > shown - 0.3 * steps[0]:  # no sliver of a last band
        steps.pop()
    ends = [0.0, *steps]
    joined = unit if unit in ("%", "°") else f" {unit}".rstrip()
    words = [f"{tick_text(low, ends)} to {tick_text(high, ends)}{joined}" for low, high in pairwise(ends)]
    words.append(f"{tick_text(ends[-1], ends)} to {show(largest, kind, system)}")
    return [each * largest / shown for each in steps], words


def grains(values: Sequence[float]) -> Whole:
    """Lengths [m] as whole grains."""
    return tuple(round(value / GRAIN) for value in values)
