"""Quantities as typed: what is read, what is refused, and agreement with pint's own registry."""

from __future__ import annotations

import math
import re

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orthostat.base.showing import round_to_figures, show, show_pair
from orthostat.base.units import KINDS, UnitFault, parse, resolve
from orthostat.base.units_table import known_units

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1 1/4 in", "length", 0.03175),
        ("1-1/4 in", "length", 0.03175),
        ('1 1/4"', "length", 0.03175),
        ("5/8 in", "length", 0.015875),
        (".5 in", "length", 0.0127),
        ("2 ft 3 1/2 in", "length", 0.6985),
        ("-2 ft 3 in", "length", -0.6858),
        ("31.75 mm", "length", 0.03175),
        ("40 N*m", "moment", 40.0),
        ("40 N·m", "moment", 40.0),
        ("85 ft*lbf", "moment", 85 * 1.3558179483314004),
        ("85 ft*lb", "moment", 85 * 1.3558179483314004),
        ("20 degC", "temperature", 293.15),
        ("68 °F", "temperature", 293.15),
        ("18 degF", "temperature difference", 10.0),
        ("1500 rpm", "rotation speed", 1500 * 2 * math.pi / 60),
        ("25 1/s", "frequency", 25.0),
        ("0.006 in/rev", "feed per turn", 0.006 * 0.0254),
        ("12 %", "share", 0.12),
        ("0.12", "share", 0.12),
        ("7.10 USD/lb", "price per mass", 7.10 / 0.45359237),
        ("-3 mm", "length", -0.003),
        ("1e3 kg", "mass", 1000.0),
    ],
)
def test_what_machinists_type_is_read(text: str, kind: str, expected: float) -> None:
    assert parse(text, kind).si == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "part"),
    [
        ("12", "length", "no unit"),
        ("12 kg", "length", "not a unit of length"),
        ("40 N", "moment", "not a unit of moment"),
        ("1 5/4 in", "length", "fraction below one"),
        ("1/0 in", "length", "zero below the line"),
        ("1/2/3 in", "length", "does not start with a number"),
        ("3..5 mm", "length", "does not start with a number"),
        ("12,5 mm", "length", "decimal point"),
        ("nan mm", "length", "finite"),
        ("inf mm", "length", "finite"),
        ("-Infinity mm", "length", "finite"),
        ("1e999 mm", "length", "too large"),
        ("abc", "length", "does not start with a number"),
        ("", "length", "does not start with a number"),
        ("12 furlongs", "length", "not a unit we know; write for instance `12 mm` or `12 in`"),
        ("0.5 G", "acceleration", "`12 m/s^2` or `12 ft/s^2`"),
        ("9 EUR/foo", "price per mass", "`12 EUR/kg` or `12 USD/lb`"),
        ("12 __import__('os')", "length", "not a unit we know"),
        ("9" * 300 + " mm", "length", "too long"),
        ("5", "money", "12 EUR"),
        ("5 XYZ", "money", "ISO 4217"),
        ("5 kg", "price per mass", "no currency"),
        ("0.1 mm", "feed per turn", "not a unit of feed per turn"),
    ],
)
def test_what_is_no_quantity_says_why(text: str, kind: str, part: str) -> None:
    with pytest.raises(UnitFault, match=re.escape(part)):
        parse(text, kind)


def test_a_bare_number_takes_the_default_unit() -> None:
    assert parse("12", "length", "mm").si == pytest.approx(0.012)
    assert parse("1/2", "length", "in").si == pytest.approx(0.0127)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_never_a_crash(text: str) -> None:
    for kind in ("length", "moment", "money", "ratio", "temperature"):
        try:
            value = parse(text, kind).si
        except UnitFault:
            continue
        assert math.isfinite(value)


@pytest.mark.parametrize(
    "unit",
    [
        "inch",
        "foot",
        "thou",
        "pound",
        "ounce",
        "force_pound",
        "psi",
        "ksi",
        "foot * force_pound",
        "horsepower",
        "gallon",
        "quart",
        "fluid_ounce",
        "pound / inch ** 3",
        "degree",
        "bar",
        "standard_gravity",
        "kip",
        "metric_ton",
        "liter",
        "kilogram * meter ** 2",
        "arcminute",
        "atm / atm",
    ],
)
def test_our_units_agree_with_pints_own_registry(unit: str) -> None:
    ours = {
        "force_pound": "lbf",
        "foot * force_pound": "ft*lbf",
        "pound / inch ** 3": "lb/in^3",
        "fluid_ounce": "floz",
        "metric_ton": "t",
        "kilogram * meter ** 2": "kg*m^2",
        "standard_gravity": "g0",
        "atm / atm": "",
    }.get(unit, unit)
    theirs = PINT.Quantity(1.0, unit).to_base_units()
    assert resolve(ours).factor == pytest.approx(theirs.magnitude, rel=1e-12)


def test_the_table_of_known_units_is_what_pint_says() -> None:
    for text, found in known_units().items():
        assert resolve(text) == found, text


@given(st.sampled_from(sorted(KINDS)), st.floats(min_value=1e-6, max_value=1e6))
def test_what_is_shown_reads_back(kind: str, value: float) -> None:
    if KINDS[kind].money or kind in ("temperature", "temperature difference"):
        return
    for system in ("metric", "inch"):
        text = show(value, kind, system, figures=12)
        if KINDS[kind].si == "" and text.endswith("%"):
            continue
        assert parse(text, kind).si == pytest.approx(value, rel=1e-9), text


def test_three_figures_and_more_where_value_and_limit_would_look_alike() -> None:
    assert show(0.0317512, "length") == "31.8 mm"
    assert show(0.0317512, "length", "inch") == "1.25 in"
    assert show(5e-9 * 0.0254 / 4.4482216152605, "compliance", "inch") == "0.00500 µin/lbf"
    assert show_pair(0.80002, 0.8, "length") == ("800.02 mm", "800.00 mm")
    assert round_to_figures(0.00999, 2) == "0.010"
    assert round_to_figures(999.6, 3) == "1000"
