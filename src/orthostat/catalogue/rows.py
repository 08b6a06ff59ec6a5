"""What every catalogue row carries: its name, its source, and honest marks; and how one is built.

A row class is a frozen dataclass deriving from `Row`. Its fields are typed with the unit types of
`base.dimensions`, and the head of the table file must say the same units, so that a file and a
class cannot drift apart in silence.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, NewType, TypeVar, Union, get_args, get_origin, get_type_hints

from orthostat.base.references import COMMON_PRACTICE, FROM_MEMORY
from orthostat.base.si import SI_UNITS

ESTIMATE = "estimate"
MARKS = ("", FROM_MEMORY, COMMON_PRACTICE, ESTIMATE)
"""A mark says what a source alone does not: the value was not looked up, or has no source."""


class RowRefused(ValueError):
    """A row or table head breaks a rule; the text says where, what was read and what is allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The fields of every row. `source` is `reference key, where in it`."""

    name: str
    source: str
    mark: str = ""
    """One of `MARKS`; empty where the value was read from the source or a copy of its table."""
    checked: str = ""
    """A second work the values were compared with (`reference key, where`)."""
    note: str = ""
    names: tuple[str, ...] = ()
    """Other names that find this row."""

    @property
    def citation(self) -> str:
        """The source followed by its mark, if any: what a reader must know to trust the value."""
        return cite(self.source, self.mark)


def cite(source: str, mark: str) -> str:
    """`source, mark`; the source alone when it carries no mark or is that mark itself."""
    return source if not mark or mark in source else f"{source}, {mark}"


AnyRow = TypeVar("AnyRow", bound=Row)


def field_types(cls: Any) -> Mapping[str, Any]:
    """The fields of a row class with their resolved types."""
    return _field_types(cls)


@cache
def _field_types(cls: Any) -> Mapping[str, Any]:
    hints = get_type_hints(cls)
    return {field.name: hints[field.name] for field in dataclasses.fields(cls)}


def unit_of(kind: Any) -> str | None:
    """The SI unit of a field type, looking through `| None`, tuples and mappings; `None` for text."""
    if isinstance(kind, NewType):
        return SI_UNITS[str(kind.__name__)]
    for argument in get_args(kind):
        unit = unit_of(argument)
        if unit is not None:
            return unit
    return None


def field_units(cls: Any) -> Mapping[str, str]:
    """Every dimensioned field of a row class, and of the dataclasses nested in it, with its unit."""
    return _field_units(cls)


@cache
def _field_units(cls: Any) -> Mapping[str, str]:
    units: dict[str, str] = {}
    for name, kind in field_types(cls).items():
        unit = unit_of(kind)
        if unit is not None:
            units[name] = unit
        for part in _nested(kind):
            units.update(field_units(part))
    return units


def _nested(kind: Any) -> tuple[type, ...]:
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return (kind,)
    return tuple(part for argument in get_args(kind) for part in _nested(argument))


def check_units(cls: type, head: Mapping[str, Any], where: str) -> None:
    """Refuse a table head whose units are not the SI units of the row class's fields.

    Raises:
        RowRefused: an unknown field, or a unit other than the SI unit of its type.
    """
    allowed = field_units(cls)
    for field, unit in head.items():
        if field not in allowed:
            raise RowRefused(f"{where}: [units] names {field!r}; allowed: {', '.join(sorted(allowed))}")
        if unit != allowed[field]:
            raise RowRefused(f"{where}: [units] {field} reads {unit!r}; allowed: {allowed[field]!r}")


def build(
    cls: type[AnyRow], name: str, data: Mapping[str, Any], head: Mapping[str, Any], where: str
) -> AnyRow:
    """Make one row from its TOML table.

    Raises:
        RowRefused: no source, an unknown key or mark, a number that is not finite, or a
            dimensioned field without a unit in the table's head.
    """
    here = f"{where}: {name}"
    source = data.get("source")
    if not isinstance(source, str) or not source.strip():
        raise RowRefused(f"{here}: a row without a source does not load; write source = 'key, where in it'")
    if data.get("mark", "") not in MARKS:
        raise RowRefused(f"{here}: mark reads {data['mark']!r}; allowed: {', '.join(MARKS[1:])}")
    return _fill(cls, {"name": name, **data}, head, here)


AnyPart = TypeVar("AnyPart")


def _fill(cls: type[AnyPart], data: Mapping[str, Any], head: Mapping[str, Any], where: str) -> AnyPart:
    types = field_types(cls)
    values: dict[str, Any] = {}
    for key, read in data.items():
        if key not in types:
            raise RowRefused(f"{where}: unknown key {key!r}; allowed: {', '.join(sorted(types))}")
        if unit_of(types[key]) is not None and key not in head:
            raise RowRefused(f"{where}: {key} has no unit in the table's [units]")
        values[key] = _convert(types[key], read, head, f"{where}.{key}")
    try:
        return cls(**values)
    except TypeError as missing:
        raise RowRefused(f"{where}: {missing}") from missing


def _convert(kind: Any, read: Any, head: Mapping[str, Any], where: str) -> Any:
    if get_origin(kind) in (Union, _UnionType):
        (kind,) = (option for option in get_args(kind) if option is not type(None))
    origin, arguments = get_origin(kind), get_args(kind)
    if origin is tuple:
        if isinstance(read, dict):  # TOML table -> pairs, so that rows stay hashable
            return tuple(
                (key, _convert(get_args(arguments[0])[1], value, head, where)) for key, value in read.items()
            )
        if arguments[-1] is not Ellipsis and len(arguments) != len(read):
            raise RowRefused(f"{where}: read {len(read)} values; allowed: {len(arguments)}")
        kinds = [arguments[0]] * len(read) if arguments[-1] is Ellipsis else arguments
        return tuple(_convert(each, value, head, where) for each, value in zip(kinds, read, strict=True))
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return _fill(kind, read, head, where)
    if isinstance(kind, NewType) or kind is float:
        if isinstance(read, bool) or not isinstance(read, int | float) or not math.isfinite(read):
            raise RowRefused(f"{where}: read {read!r}; allowed: a finite number")
        return float(read)
    if not isinstance(read, kind):
        raise RowRefused(f"{where}: read {read!r}; allowed: {kind.__name__}")
    return read


_UnionType = type(int | None)
