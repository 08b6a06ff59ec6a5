"""Every row of every table loads, and every source leads to a work in the bibliography."""

import dataclasses
from collections.abc import Iterator
from importlib import resources
from typing import Any

import pytest

from orthostat.base import dimensions
from orthostat.base.si import SI_UNITS
from orthostat.catalogue import Row, Table, UnknownRow, names, reference, table
from orthostat.catalogue.register import tables
from orthostat.catalogue.rows import MARKS, field_units
from orthostat.validation import all_cases

ALL = [pytest.param(each, id=name) for name, each in tables().items()]


def sources_of(row: Any) -> Iterator[str]:
    """`source`, `checked` and the per-property `sources` of a row and of what is nested in it."""
    for field in dataclasses.fields(row):
        value = getattr(row, field.name)
        if field.name in ("source", "checked") and value:
            yield value
        elif field.name == "sources":
            yield from dict(value).values()
        elif isinstance(value, tuple):
            for part in value:
                if dataclasses.is_dataclass(part):
                    yield from sources_of(part)


@pytest.mark.parametrize("found", ALL)
def test_every_row_loads_and_every_source_is_in_the_bibliography(found: Table[Row]) -> None:
    assert found.names
    for row in found:
        for source in (each for text in sources_of(row) for each in text.split(";")):
            assert reference(source.strip()).title, f"{found.file}: {row.name}: {source}"


@pytest.mark.parametrize("found", ALL)
def test_every_row_is_hashable_and_frozen(found: Table[Row]) -> None:
    for row in found:
        hash(row)
        with pytest.raises(dataclasses.FrozenInstanceError):
            row.source = "other"  # type: ignore[misc]


@pytest.mark.parametrize("found", ALL)
def test_every_property_mark_is_one_of_the_honest_words(found: Table[Row]) -> None:
    for row in found:
        for mark in dict(getattr(row, "marks", ())).values():
            assert mark in MARKS


def test_every_toml_file_in_the_room_is_read_by_a_table() -> None:
    files = {
        file.name for file in resources.files("orthostat.catalogue").iterdir() if file.name.endswith(".toml")
    }
    assert files - {"references.toml"} == {f"{name}.toml" for name in tables()}


@pytest.mark.parametrize("found", ALL)
def test_the_head_of_every_file_names_the_unit_of_every_field_used(found: Table[Row]) -> None:
    for row in found:  # a row with a field that has no unit in the head is refused
        assert set(field_units(type(row))) >= set(found.units)


def test_every_unit_type_has_its_si_unit() -> None:
    declared = {name for name, value in vars(dimensions).items() if hasattr(value, "__supertype__")}
    assert set(SI_UNITS) == declared, "add the unit type to orthostat/base/si.py"


def test_every_validation_case_names_a_work_or_says_that_there_is_none() -> None:
    for case in all_cases():
        for source in case.source.split(";"):
            assert reference(source.strip()).title, case.name


def test_an_unknown_table_says_which_there_are() -> None:
    with pytest.raises(UnknownRow, match="materials"):
        table("materia")
    with pytest.raises(UnknownRow):
        names("nothing")


def test_an_unknown_work_says_the_nearest() -> None:
    with pytest.raises(UnknownRow, match="en-1561"):
        reference("en-1562, annex A")
