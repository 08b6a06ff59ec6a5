"""Limits and fits of ISO 286-1 for holes and shafts to 250 mm."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from orthostat.base.dimensions import Metre
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table, UnknownRow
from orthostat.formulas import fits as formulas

SHAFT_BELOW = "defgh"
"""Letters whose shafts lie below the nominal size: the upper deviation is listed."""
SHAFT_ABOVE = "kmnp"
"""Letters whose shafts lie above it: the lower deviation is listed."""
_HOLE_CLASS = re.compile(r"(?:[ABCDEFGHJKMNPRSTUVXYZ]|CD|EF|FG|JS|Z[ABC])\s*(?:0|01|[1-9]|1[0-8])")
_CLASS = re.compile(r"\s*([A-Za-z]{1,2})\s*(\d{1,2})\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRange(Row):
    """Standard tolerances IT4 to IT11 and fundamental deviations of shafts for one range of sizes."""

    over: Metre
    up_to: Metre
    it4: Metre
    it5: Metre
    it6: Metre
    it7: Metre
    it8: Metre
    it9: Metre
    it10: Metre
    it11: Metre
    d: Metre
    e: Metre
    f: Metre
    g: Metre
    h: Metre
    k: Metre
    """For grades 4 to 7; zero in the others."""
    m: Metre
    n: Metre
    p: Metre


@dataclass(frozen=True, slots=True)
class Deviations:
    """Lower and upper limit deviation of a hole or shaft; `source` cites the standard."""

    symbol: str
    nominal: Metre
    lower: Metre
    upper: Metre
    source: str

    @property
    def least(self) -> Metre:
        """Lower limit of size."""
        return formulas.limit_of_size(nominal=self.nominal, deviation=self.lower)

    @property
    def greatest(self) -> Metre:
        """Upper limit of size."""
        return formulas.limit_of_size(nominal=self.nominal, deviation=self.upper)


@dataclass(frozen=True, slots=True)
class Fit:
    """A hole and a shaft of one nominal size."""

    hole: Deviations
    shaft: Deviations

    @property
    def greatest_clearance(self) -> Metre:
        """Negative where every pair interferes."""
        return formulas.greatest_clearance(hole_upper=self.hole.upper, shaft_lower=self.shaft.lower)

    @property
    def least_clearance(self) -> Metre:
        """Negative where the tightest pair interferes."""
        return formulas.least_clearance(hole_lower=self.hole.lower, shaft_upper=self.shaft.upper)

    @property
    def kind(self) -> str:
        """`clearance`, `transition` or `interference`."""
        if self.least_clearance >= 0:
            return "clearance"
        return "interference" if self.greatest_clearance <= 0 else "transition"


LIMITS = Table("limits", SizeRange)


def size_range(nominal: Metre) -> SizeRange:
    """The row of the size range that holds `nominal`; raises `UnknownRow` outside 0 to 250 mm."""
    for row in LIMITS:
        if row.over < nominal <= row.up_to:
            return row
    raise UnknownRow(LIMITS.name, f"{nominal * 1e3:g} mm", (LIMITS.names[0], LIMITS.names[-1]))


@lru_cache(maxsize=512)
def deviations(symbol: str, nominal: Metre) -> Deviations:
    """Limit deviations of a tolerance class such as `H7` (hole) or `m6` (shaft) at a nominal size.

    Raises:
        UnknownRow: a letter or grade that is not in the table, or a size outside it.
    """
    read = _CLASS.fullmatch(symbol)
    row = size_range(nominal)
    grade = int(read.group(2)) if read else 0
    letter = read.group(1) if read else ""
    if letter.lower() not in (*SHAFT_BELOW, *SHAFT_ABOVE, "js") or not 5 <= grade <= 11:
        raise UnknownRow(LIMITS.name, symbol, ("H7", "g6", "h6", "m6"))
    if letter not in (letter.lower(), letter.upper()):
        raise UnknownRow(LIMITS.name, symbol, (letter.upper() + str(grade), letter.lower() + str(grade)))
    tolerance = _tolerance(row, grade)
    if letter.lower() == "js":
        lower, upper = -0.5 * tolerance, 0.5 * tolerance
    elif letter.islower():
        lower, upper = _shaft(row, letter, grade, tolerance)
    else:
        lower, upper = _hole(row, letter.lower(), grade, tolerance, symbol)
    return Deviations(f"{letter}{grade}", nominal, Metre(lower), Metre(upper), row.citation)


def is_hole_class(symbol: str) -> bool:
    """Whether it is written as a tolerance class of a hole: a letter of ISO 286-1 and a grade from 01 to 18,
    whether or not our table has it.
    """
    return _HOLE_CLASS.fullmatch(symbol) is not None


def fit(symbol: str, nominal: Metre) -> Fit:
    """A fit such as `H7/m6` at a nominal size, hole first.

    Raises:
        UnknownRow: not a hole and a shaft, or either is unknown.
    """
    parts = symbol.split("/")
    if len(parts) != 2 or not parts[0].strip()[:1].isupper() or not parts[1].strip()[:1].islower():
        raise UnknownRow(LIMITS.name, symbol, ("H7/g6", "H7/h6", "H7/m6"))
    return Fit(deviations(parts[0], nominal), deviations(parts[1], nominal))


def _tolerance(row: SizeRange, grade: int) -> float:
    return float(getattr(row, f"it{grade}"))


def _shaft(row: SizeRange, letter: str, grade: int, tolerance: float) -> tuple[float, float]:
    listed = float(getattr(row, letter))
    if letter in SHAFT_BELOW:
        return listed - tolerance, listed
    if letter == "k" and grade > 7:
        listed = 0.0
    return listed, listed + tolerance


def _hole(row: SizeRange, letter: str, grade: int, tolerance: float, symbol: str) -> tuple[float, float]:
    listed = float(getattr(row, letter))
    if letter in SHAFT_BELOW:
        return -listed, -listed + tolerance
    if letter == "k" and grade > 8:
        raise UnknownRow(LIMITS.name, symbol, ("K6", "K7", "K8"))
    small = row.up_to <= 3e-3
    if letter == "n" and grade > 8 and not small:
        return -tolerance, 0.0
    special = not small and grade <= (7 if letter == "p" else 8)
    step = tolerance - _tolerance(row, grade - 1) if special else 0.0
    upper = formulas.upper_hole_deviation(shaft_deviation=Metre(listed), step=Metre(step))
    return upper - tolerance, upper
