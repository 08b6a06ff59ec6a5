"""Text with units at the edges, SI floats inside; the only place with a conversion factor.

Built on pint with our own short list of units (`units.txt`). Spellings met every day are resolved
ahead of time in `units_known.json` (made by `python -m orthostat.base.units_table`, compared with
pint by a test), so that pint is only imported for the others.
"""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from typing import Any, NamedTuple

Dimension = str
"""Canonical text of a dimension, such as `[length]*[time]^-2`; empty for a pure number."""


class Resolved(NamedTuple):
    """A unit in SI: value_SI = value * factor + offset."""

    factor: float
    offset: float
    dimension: Dimension


class UnitFault(ValueError):
    """A text that is no quantity of the kind wanted; the message says what was wrong."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its SI unit, other dimensions accepted (with the factor that brings them to
    SI), and the units it is shown in.
    """

    name: str
    si: str
    metric: tuple[str, ...]
    """Display units, smallest first; a value is shown in the largest one it reaches."""
    inch: tuple[str, ...]
    also: tuple[tuple[str, str], ...] = ()
    """Units of other dimensions that are accepted, each with the unit it is read as."""
    difference: bool = False
    money: bool = False


def _kind(name: str, si: str, metric: str, inch: str, **more: Any) -> Kind:
    return Kind(name, si, tuple(metric.split(" ")), tuple(inch.split(" ")), **more)


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        _kind("length", "m", "um mm", "in"),
        _kind("area", "m^2", "mm^2 m^2", "in^2 ft^2"),
        _kind("volume", "m^3", "cm^3 L m^3", "in^3 gal ft^3"),
        _kind("second moment of area", "m^4", "mm^4", "in^4"),
        _kind("angle", "rad", "deg", "deg"),
        _kind("time", "s", "s min h day", "s min h day"),
        _kind("frequency", "Hz", "Hz", "Hz"),
        _kind("speed", "m/s", "m/min", "ft/min"),
        _kind("feed rate", "m/s", "mm/min", "in/min"),
        _kind("feed per turn", "m/rev", "mm/rev", "in/rev"),
        _kind("feed per tooth", "m/tooth", "mm/tooth", "in/tooth"),
        _kind("acceleration", "m/s^2", "m/s^2", "ft/s^2"),
        _kind("rotation speed", "rad/s", "rpm", "rpm", also=(("rev/s", "turn_angle/s"),)),
        _kind("angular acceleration", "rad/s^2", "rad/s^2", "rad/s^2", also=(("rev/s^2", "turn_angle/s^2"),)),
        _kind("mass", "kg", "g kg", "oz lb"),
        _kind("mass rate", "kg/s", "kg/min", "lb/min"),
        _kind("density", "kg/m^3", "kg/m^3", "lb/in^3"),
        _kind("moment of inertia", "kg*m^2", "kg*m^2", "lb*ft^2"),
        _kind("force", "N", "N kN", "lbf"),
        _kind("moment", "N*m", "N*m", "in*lbf ft*lbf", also=(("ft*lb", "ft*lbf"),)),
        _kind("pressure", "Pa", "Pa kPa MPa GPa", "psi ksi Msi"),
        _kind("pressure per length", "Pa/m", "MPa/mm", "psi/in"),
        _kind("stiffness", "N/m", "N/mm N/um", "lbf/in"),
        _kind("compliance", "m/N", "um/N um/kN", "uin/lbf"),
        _kind("tilt stiffness", "N*m/rad", "N*m/rad kN*m/rad", "in*lbf/rad ft*lbf/rad"),
        _kind("viscosity", "Pa*s", "Pa*s", "Pa*s"),
        _kind("power", "W", "W kW", "hp"),
        _kind("energy", "J", "J kJ", "ft*lbf"),
        _kind("specific energy", "J/kg", "kJ/kg", "Btu/lb"),
        _kind("molar energy", "J/mol", "kJ/mol", "kJ/mol"),
        _kind("specific heat", "J/(kg*K)", "J/(kg*K)", "J/(kg*K)"),
        _kind("conductivity", "W/(m*K)", "W/(m*K)", "W/(m*K)"),
        _kind("heat transfer", "W/(m^2*K)", "W/(m^2*K)", "W/(m^2*K)"),
        _kind("temperature", "K", "degC", "degF"),
        _kind("temperature difference", "K", "K", "degF", difference=True),
        _kind("expansion", "1/K", "um/(m*K)", "um/(m*K)"),
        _kind("rate", "1/s", "1/s", "1/s"),
        _kind("ratio", "", "1", "1"),
        _kind("share", "", "percent", "percent"),
        _kind("count", "", "1", "1"),
        _kind("money", "currency", "currency", "currency", money=True),
        _kind("price per mass", "currency/kg", "currency/kg", "currency/lb", money=True),
        _kind("price per length", "currency/m", "currency/m", "currency/ft", money=True),
        _kind("price per area", "currency/m^2", "currency/m^2", "currency/ft^2", money=True),
        _kind("price per volume", "currency/m^3", "currency/L", "currency/gal", money=True),
        _kind("price per piece", "currency/piece", "currency/piece", "currency/piece", money=True),
        _kind("price per kit", "currency/kit", "currency/kit", "currency/kit", money=True),
        _kind("price per bag", "currency/bag", "currency/bag", "currency/bag", money=True),
        _kind("money rate", "currency/s", "currency/h", "currency/h", money=True),
    )
}
"""Every kind of quantity the documents and findings speak of."""

CURRENCIES = frozenset(
    [
        "AED",
        "ARS",
        "AUD",
        "BGN",
        "BRL",
        "CAD",
        "CHF",
        "CLP",
        "CNY",
        "COP",
        "CZK",
        "DKK",
        "EUR",
        "GBP",
        "HKD",
        "HUF",
        "IDR",
        "ILS",
        "INR",
        "ISK",
        "JPY",
        "KRW",
        "MXN",
        "MYR",
        "NOK",
        "NZD",
        "PEN",
        "PHP",
        "PLN",
        "RON",
        "RSD",
        "SEK",
        "SGD",
        "THB",
        "TRY",
        "TWD",
        "UAH",
        "USD",
        "VND",
        "ZAR",
    ]
)
"""ISO 4217 codes that prices may be written in."""

_SYMBOLS = str.maketrans(
    {"²": "^2", "³": "^3", "⁴": "^4", "·": "*", "⋅": "*", "×": "*", "µ": "u", "μ": "u", "″": "in", '"': "in",
     "′": "ft", "\u00a0": " ", "−": "-", "%": "percent"}
)  # fmt: skip
_TEMPERATURES = {
    "degC": Resolved(1.0, 273.15, "[temperature]"),
    "degF": Resolved(5.0 / 9.0, 273.15 - 32.0 * 5.0 / 9.0, "[temperature]"),
}
_NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?:(?P<whole>\d+)(?:\s+|-)(?P<top>\d+)\s*/\s*(?P<bottom>\d+)   # 1 1/4 or 1-1/4
     |(?P<top_only>\d+)\s*/\s*(?P<bottom_only>\d+)                 # 5/8
     |(?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))           # 31.75, .5, 2e3
    (?![\d.,/])\s*""",
    re.VERBOSE,
)


@lru_cache(maxsize=4096)
def resolve(unit: str) -> Resolved:
    """SI factor, offset and dimension of a unit text such as `ft*lbf`.

    Raises `UnitFault` for a unit nobody knows.
    """
    text = unit.strip().translate(_SYMBOLS)
    text = re.sub(r"°\s*([CF])", r"deg\1", text).replace("°", "deg")
    if text in _TEMPERATURES:
        return _TEMPERATURES[text]
    known = _known().get(text)
    return Resolved(*known) if known else resolve_with_pint(text)


def resolve_with_pint(text: str) -> Resolved:
    """As `resolve`, always through pint."""
    from tokenize import TokenError

    import pint

    if text == "":
        return Resolved(1.0, 0.0, "")
    try:
        # A temperature inside a compound unit is a difference: W/(m*degF).
        plain = re.sub(r"\bdegC\b", "K", text)
        plain = re.sub(r"\bdegF\b", "(5/9*K)", plain)
        one = _registry().Quantity(1.0, "") * _registry().parse_expression(plain)
        base = one.to_base_units()
        return Resolved(float(base.magnitude), 0.0, _dimension_text(base.dimensionality))
    except (
        pint.errors.PintError,
        TokenError,
        SyntaxError,
        AttributeError,
        TypeError,
        ValueError,
        AssertionError,
    ) as fault:
        raise UnitFault(f"`{text}` is not a unit we know") from fault
    except (ArithmeticError, RecursionError, MemoryError) as fault:
        raise UnitFault(f"`{text[:40]}` is not a unit we know") from fault


def dimension_of(kind: str) -> Dimension:
    """The dimension of a kind's SI unit."""
    return resolve(KINDS[kind].si).dimension


def unit_of(kind: str) -> str:
    """The SI unit text of a kind, for machine-read output; `1` for a pure number."""
    return KINDS[kind].si or "1"


class Parsed(NamedTuple):
    """What a text said: SI value, the unit as typed, the currency code if it is money."""

    si: float
    unit: str
    currency: str | None


def parse(text: str, kind: str, default_unit: str | None = None) -> Parsed:
    """Read `text` as a quantity of `kind`.

    `1 1/4 in`, `31.75 mm`, `2 ft 3 1/2 in`, `40 N*m`, `7.10 USD/kg`. A number without a unit needs
    `default_unit`, except for pure numbers. Raises `UnitFault` with one sentence on what is wrong.
    """
    wanted = KINDS[kind]
    if len(text) > 200:
        raise UnitFault("far too long for a quantity")
    value, rest = _leading_number(text)
    unit = rest.strip()
    if not unit:
        unit = default_unit or ""
        if not unit and resolve(wanted.si).dimension:
            raise UnitFault(f"has no unit; write one, such as `{example(kind)}`")
    currency, bare = _split_currency(unit) if wanted.money else (None, unit)
    if wanted.money and currency is None:
        raise UnitFault(f"names no currency; write it as `{example(kind)}`")
    if kind == "length" and (feet := re.fullmatch(r"(ft|feet|foot|'|′)\s+(.*\d.*)", bare)):
        inches = parse(feet[2], "length")
        sign = -1.0 if value < 0 else 1.0
        return Parsed(value * resolve("ft").factor + sign * inches.si, "ft", None)
    try:
        found = resolve(_tick(bare) if kind == "length" else bare)
    except UnitFault:
        raise UnitFault(
            f"`{unit[:40]}` is not a unit we know; write for instance {_examples(kind)}"
        ) from None
    return Parsed(_to_si(value, found, wanted, unit), unit, currency)


def example(kind: str) -> str:
    """A quantity of this kind as one would type it, for messages."""
    return _typed(KINDS[kind].metric[-1], "EUR")


def _examples(kind: str) -> str:
    """One in metric and one in inch units where they differ."""
    both = (example(kind), _typed(KINDS[kind].inch[-1], "USD"))
    return " or ".join(f"`{each}`" for each in dict.fromkeys(both))


def _typed(unit: str, currency: str) -> str:
    unit = unit.replace("currency", currency).replace("percent", "%")
    return "0.5" if unit == "1" else f"12 {unit}"


def _tick(unit: str) -> str:
    return "ft" if unit.strip() == "'" else unit


def _to_si(value: float, found: Resolved, wanted: Kind, typed: str) -> float:
    if found.dimension == resolve(wanted.si).dimension:
        offset = 0.0 if wanted.difference else found.offset
        result = value * found.factor + offset
    else:
        for other, read_as in wanted.also:
            reference = resolve(other)
            if found.dimension == reference.dimension:
                result = value * found.factor / reference.factor * resolve(read_as).factor
                break
        else:
            raise UnitFault(
                f"`{typed or 'no unit'}` is not a unit of {wanted.name}; "
                f"write for instance {_examples(wanted.name)}"
            )
    if not math.isfinite(result):
        raise UnitFault("is too large to be a number")
    return result


def _leading_number(text: str) -> tuple[float, str]:
    if re.match(r"\s*[+-]?\s*(nan|inf)", text, re.IGNORECASE):
        raise UnitFault("is not a finite number")
    if re.match(r"\s*[+-]?\s*\d+,\d", text):
        raise UnitFault("has a comma in its number; write a decimal point and no thousands separator")
    match = _NUMBER.match(text.translate(_SYMBOLS))
    if match is None:
        raise UnitFault("does not start with a number such as `31.75` or `1 1/4`")
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["decimal"] is not None:
        value = float(match["decimal"])
    else:
        whole = float(match["whole"] or 0)
        top, bottom = (
            (match["top"], match["bottom"]) if match["top"] else (match["top_only"], match["bottom_only"])
        )
        if int(bottom) == 0:
            raise UnitFault("has a fraction with a zero below the line")
        if match["whole"] and int(top) >= int(bottom):
            raise UnitFault(
                f"has the fraction {top}/{bottom} after a whole number; a fraction below one is meant there"
            )
        value = whole + float(top) / float(bottom)
    if not math.isfinite(value):
        raise UnitFault("is too large to be a number")
    return sign * value, text.translate(_SYMBOLS)[match.end() :]


def _split_currency(unit: str) -> tuple[str | None, str]:
    found = re.search(r"\b([A-Z]{3})\b", unit)
    if found is None:
        return None, unit
    if found[1] not in CURRENCIES:
        raise UnitFault(f"`{found[1]}` is not a currency we know; use an ISO 4217 code such as EUR or USD")
    return found[1], unit[: found.start()] + "currency" + unit[found.end() :]


@cache
def _known() -> dict[str, list[Any]]:
    text = resources.files("orthostat.base").joinpath("units_known.json").read_text(encoding="utf-8")
    table: dict[str, list[Any]] = json.loads(text)
    return table


@cache
def _registry() -> Any:
    import pint

    with resources.as_file(resources.files("orthostat.base").joinpath("units.txt")) as path:
        return pint.UnitRegistry(str(path), autoconvert_offset_to_baseunit=False)


def _dimension_text(dimensionality: Any) -> Dimension:
    powers = sorted((str(name), float(power)) for name, power in dimensionality.items() if power)
    return "*".join(name if power == 1.0 else f"{name}^{power:g}" for name, power in powers)
