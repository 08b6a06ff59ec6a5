"""Names that may be meant in an entry field: the shop's own, then the catalogue's."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from orthostat.web.form import LISTS


def name_lists(shop: Mapping[str, Any], column: Mapping[str, Any] | None = None) -> dict[str, list[str]]:
    """List name to names, for every list that entry fields ask for."""
    found: dict[str, list[str]] = {}
    for name in sorted(set(LISTS.values())):
        own = [*_names(shop.get(name)), *_names((column or {}).get(name))]
        found[name] = list(dict.fromkeys([*own, *_catalogue(name)]))
    return found


def _names(table: Any) -> list[str]:
    return [str(name) for name in table] if isinstance(table, Mapping) else []


@cache
def _catalogue(name: str) -> tuple[str, ...]:
    from orthostat import catalogue

    try:
        return tuple(catalogue.names(name))
    except KeyError:
        return ()
