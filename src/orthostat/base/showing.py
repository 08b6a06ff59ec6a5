"""SI values as text for people: three significant figures, in the shop's system of units.

Where a value and its limit would round to the same text though they differ, both get more figures.
"""

from __future__ import annotations

import math
import re
from functools import cache, lru_cache
from typing import Literal

from orthostat.base.units import KINDS, resolve

System = Literal["metric", "inch"]
_FROM = {"GPa": 0.999, "Msi": 0.999}
"""From how many of a unit it is shown, where not from a tenth: strengths are spoken of in MPa and ksi."""
_BARE = {"1": "", "percent": "%", "degC": "°C", "degF": "°F", "deg": "°"}
_NOTHING = 1e-12
"""SI values below this are rounding of nothing, in every kind of quantity."""


@lru_cache(maxsize=4096)
def show(value: float | None, kind: str, system: System = "metric", figures: int = 3) -> str:
    """`0.03175, "length"` as `31.8 mm`; `None` as a dash."""
    number, unit = show_parts(value, kind, system, figures)
    if unit in ("%", "°"):
        return number + unit
    return f"{number} {unit}".strip()


def show_both(value: float | None, kind: str, system: System = "metric", figures: int = 3) -> str:
    """The shop's system first, the other in brackets where it differs: `31.8 mm (1.25 in)`."""
    own = show(value, kind, system, figures)
    other = show(value, kind, "inch" if system == "metric" else "metric", figures)
    return own if value is None or own == other else f"{own} ({other})"


def show_pair(value: float, limit: float, kind: str, system: System = "metric") -> tuple[str, str]:
    """Value and limit in one unit, with enough figures (3 to 6) to be told apart when they differ."""
    unit = _display_unit(max(abs(value), abs(limit)), kind, system)
    for figures in range(3, 7):
        texts = (_in_unit(value, unit, kind, figures), _in_unit(limit, unit, kind, figures))
        if texts[0] != texts[1] or value == limit:
            break
    return tuple(f"{text}{_joined(unit)}" for text in texts)  # type: ignore[return-value]  # two texts in, two out


def show_parts(
    value: float | None, kind: str, system: System = "metric", figures: int = 3
) -> tuple[str, str]:
    """Number and unit apart, for tables that set the unit in a column of its own."""
    if value is None:
        return "–", ""
    unit = _display_unit(abs(value), kind, system)
    return _in_unit(value, unit, kind, figures), _printed(unit)


@cache
def _printed(unit: str) -> str:
    """A unit as it is printed: `kg*m^2` as `kg·m²`, `um` as `µm`."""
    if unit in _BARE:
        return _BARE[unit]
    signs = unit.replace("*", "·").replace("^2", "²").replace("^3", "³").replace("^4", "⁴")
    return re.sub(r"\bu(m|in)\b", r"µ\1", signs)


def _joined(unit: str) -> str:
    bare = _printed(unit)
    return bare if bare in ("%", "°", "") else f" {bare}"


def _display_unit(size: float, kind: str, system: System) -> str:
    units = KINDS[kind].metric if system == "metric" else KINDS[kind].inch
    for unit in reversed(units[1:]):
        if size >= _FROM.get(unit, 0.0999) * _factor(unit, kind):
            return unit
    return units[0] if size > 0.0 or len(units) == 1 else units[1]


@cache
def _factor(unit: str, kind: str) -> float:
    factor = resolve(unit).factor
    for other, read_as in KINDS[kind].also:
        if resolve(unit).dimension == resolve(other).dimension:
            return factor / resolve(other).factor * resolve(read_as).factor
    return factor


def _in_unit(value: float, unit: str, kind: str, figures: int) -> str:
    if not math.isfinite(value):
        return "∞" if value > 0 else "-∞" if value < 0 else "not a number"
    offset = 0.0 if KINDS[kind].difference else resolve(unit).offset
    scaled = (value - offset) / _factor(unit, kind)
    if abs(value) < _NOTHING:
        scaled = 0.0
    text = round_to_figures(scaled, figures)
    return text.removesuffix(".0") if unit == "deg" else text


def round_to_figures(number: float, figures: int) -> str:
    """A number with `figures` significant figures, without exponent between 1e-4 and 1e7."""
    if number == 0.0:
        return "0"
    plain = f"{number:.{figures - 1}e}"
    exponent = int(plain.rpartition("e")[2])
    if not -5 < exponent < 7:
        return plain
    text = f"{number:.{max(0, figures - 1 - exponent)}f}"
    if exponent >= figures:
        text = f"{round(number, figures - 1 - exponent):.0f}"
    return text
