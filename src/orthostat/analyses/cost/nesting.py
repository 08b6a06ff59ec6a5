"""Whole bars and plates for the pieces that are sawn from them, by rules that a saw can follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from orthostat.base.dimensions import Metre

_ROUNDING = 1e-9


def bars_needed(lengths: Sequence[tuple[Metre, int]], *, bar: Metre, kerf: Metre) -> int:
    """Whole bars for pieces (length [m], count) with a kerf between: first fit, longest first.

    A piece longer than the bar counts as one bar.
    """
    left: list[float] = []
    for length in sorted((each for each, count in lengths for _ in range(count)), reverse=True):
        place = next((i for i, room in enumerate(left) if room >= length - _ROUNDING), None)
        if place is None:
            left.append(bar)
            place = len(left) - 1
        left[place] -= length + kerf
    return len(left)


@dataclass
class _Shelf:
    deep: float
    left: float


@dataclass
class _Sheet:
    """A plate sawn right across into shelves, each shelf into pieces."""

    length: float
    room: float
    kerf: float
    lying: bool
    """Whether a new shelf is begun with the piece's long side along it."""
    shelves: list[_Shelf] = field(default_factory=list)

    def takes(self, a: float, b: float) -> bool:
        """Place a piece of a × b, either way round, if there is room."""
        for run, deep in ((a, b), (b, a)):
            for shelf in self.shelves:
                if deep <= shelf.deep + _ROUNDING and run <= shelf.left + _ROUNDING:
                    shelf.left -= run + self.kerf
                    return True
        for run, deep in ((a, b), (b, a)) if self.lying else ((b, a), (a, b)):
            if run <= self.length + _ROUNDING and deep <= self.room + _ROUNDING:
                self.shelves.append(_Shelf(deep, self.length - run - self.kerf))
                self.room -= deep + self.kerf
                return True
        return False


def sheets_needed(
    pieces: Sequence[tuple[Metre, Metre, int]], *, length: Metre, width: Metre, kerf: Metre
) -> int:
    """Whole plates of length × width for rectangles (length [m], width [m], count).

    Shelves, widest piece first, with shelves along the plate or across it and pieces begun lying or
    standing: the best of the four. Never fewer than the area asks for. A piece that fits no plate
    counts as one.
    """
    sizes = sorted(((max(p, q), min(p, q)) for p, q, count in pieces for _ in range(count)), reverse=True)
    ways = [(length, width, lying) for lying in (True, False)] + [
        (width, length, lying) for lying in (True, False)
    ]
    return min(_sheets(sizes, along, across, kerf, lying=lying) for along, across, lying in ways)


def _sheets(
    sizes: list[tuple[Metre, Metre]], along: Metre, across: Metre, kerf: Metre, *, lying: bool
) -> int:
    sheets: list[_Sheet] = []
    for a, b in sizes:
        if any(sheet.takes(a, b) for sheet in sheets):
            continue
        sheets.append(_Sheet(along, across, kerf, lying))
        sheets[-1].takes(a, b)
    return len(sheets)
