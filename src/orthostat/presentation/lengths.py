"""Lengths as a drawing writes them: the unit said once, no figure lost."""

from __future__ import annotations

from orthostat.base.showing import System
from orthostat.base.units import resolve

DECIMALS = {"metric": 3, "inch": 4}
"""Decimals of mm or inch that a drawing needs."""
UNIT = {"metric": "mm", "inch": "in"}


def bare(length: float, system: System) -> str:
    """A length [m] as a number of mm or inches, without trailing zeros: `25.4`, `0.375`."""
    value = length / resolve(UNIT[system]).factor
    text = f"{value:.{DECIMALS[system]}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def length_text(length: float, system: System) -> str:
    """A length with its unit: `25.4 mm`."""
    return f"{bare(length, system)} {UNIT[system]}"
