"""Small steps from typed fields to SI values."""

from __future__ import annotations

from itertools import pairwise
from math import cos, radians, sin
from typing import Any

from orthostat.base.dimensions import Metre
from orthostat.document.parts import Placed, QuotedPrice
from orthostat.document.quantities import Typed
from orthostat.document.reading import KeyPath
from orthostat.meaning.faults import Faults
from orthostat.model.bodies import Point2
from orthostat.model.prices import Price


def si(typed: Typed | None) -> Any:
    """The SI value of a quantity that may be left out: a float of the field's unit type, or `None`."""
    return None if typed is None else typed.si


def ends(span: tuple[Typed, ...] | None) -> tuple[Metre | None, Metre | None]:
    """Both ends of a range in SI; a single length is shared equally about zero."""
    if span is None:
        return None, None
    if len(span) == 1:
        return Metre(-0.5 * span[0].si), Metre(0.5 * span[0].si)
    return span[0].si, span[1].si


def point(pair: tuple[Typed, Typed] | None) -> Point2:
    """A pair of lengths in SI; the origin if left out."""
    return (0.0, 0.0) if pair is None else (pair[0].si, pair[1].si)


def places(placed: Placed) -> tuple[Point2, ...]:
    """All places of a `Placed` part: `at`, then the grid row by row from below, then the circle."""
    found = [point(pair) for pair in placed.at]
    if grid := placed.grid:
        pitches = [pitch.si for pitch in grid.pitch]
        across, up = pitches[0], pitches[-1]
        middle = point(grid.middle)
        found += [
            (middle[0] + (i - 0.5 * (grid.across - 1)) * across, middle[1] + (j - 0.5 * (grid.up - 1)) * up)
            for j in range(grid.up)
            for i in range(grid.across)
        ]
    if circle := placed.circle:
        middle = point(circle.middle)
        start = circle.start.si if circle.start else 0.0
        angles = [start + radians(360.0 / circle.count) * i for i in range(circle.count)]
        radius = 0.5 * circle.diameter.si
        found += [(middle[0] + radius * sin(a), middle[1] + radius * cos(a)) for a in angles]
    return tuple(found)


def price(quoted: QuotedPrice | None) -> Price | None:
    """A price with its range; a low or high end left out equals the likely price."""
    if quoted is None:
        return None
    likely = quoted.likely
    low, high = quoted.low or likely, quoted.high or likely
    per = likely.kind.removeprefix("price per ") if likely.kind != "money" else "piece"
    per = {"mass": "kg", "length": "m", "area": "m^2", "volume": "m^3"}.get(per, per)
    day = quoted.date.isoformat() if quoted.date else None
    return Price(low.si, likely.si, high.si, likely.currency or "", per, day)


def in_order(quoted: QuotedPrice | None, path: KeyPath, faults: Faults) -> QuotedPrice | None:
    """The price; ends the wrong way round or in several currencies are noted."""
    if quoted is None:
        return None
    ends = [each for each in (quoted.low, quoted.likely, quoted.high) if each is not None]
    if any(a.si > b.si for a, b in pairwise(ends)):
        faults.add(path, "must rise from low to likely to high", ", ".join(f"`{e.text}`" for e in ends))
    if len({(each.currency, each.kind) for each in ends}) > 1:
        faults.add(path, "mixes currencies or units; state one price in one of each")
    return quoted
