"""Every table of the catalogue by name: each `Table` in a module of this room, found by itself."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping
from functools import cache
from typing import Any

from orthostat.catalogue.tables import Table, UnknownRow


@cache
def tables() -> Mapping[str, Table[Any]]:
    """Table name -> table."""
    package = importlib.import_module("orthostat.catalogue")
    found: dict[str, Table[Any]] = {}
    for module in sorted(each.name for each in pkgutil.iter_modules(package.__path__)):
        for value in vars(importlib.import_module(f"orthostat.catalogue.{module}")).values():
            if isinstance(value, Table):
                found[value.name] = value
    return found


def table(name: str) -> Table[Any]:
    """One table; raises `UnknownRow` (of the table `catalogue`) with the tables there are."""
    try:
        return tables()[name]
    except KeyError:
        raise UnknownRow("catalogue", name, tuple(tables())) from None


def names(table_name: str) -> tuple[str, ...]:
    """The first name of every row of a table, in file order."""
    return table(table_name).names
