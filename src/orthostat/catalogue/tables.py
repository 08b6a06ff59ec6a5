"""Reading a table file once, on first use, and finding a row by any of its names."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Generic

from orthostat.catalogue.rows import AnyRow, RowRefused, build, check_units

ROOM = Path(__file__).parent
"""Where the table files lie."""


class UnknownRow(KeyError):
    """No row of that name. Carries the table, the name as read and the nearest valid names."""

    def __init__(self, table: str, name: str, nearest: tuple[str, ...]) -> None:
        self.table = table
        self.name = name
        self.nearest = nearest
        super().__init__(table, name, nearest)

    def __str__(self) -> str:
        hint = f"; nearest: {', '.join(map(repr, self.nearest))}" if self.nearest else ""
        return f"the catalogue table {self.table!r} has no row {self.name!r}{hint}"


@lru_cache(maxsize=4096)
def normal_form(name: str) -> str:
    """What names are compared by: case, spaces, `×` and underscores make no difference."""
    return "".join(name.casefold().replace("×", "x").replace("_", " ").replace("⌀", "").split())


class Table(Generic[AnyRow]):
    """The rows of one file `NAME.toml` beside this module, typed as `row_class`.

    The file holds `[units]` (field -> SI unit) and `[rows."NAME"]` tables. Nothing is read before
    the first question; each row is checked and built when first asked for, and kept.
    """

    def __init__(self, name: str, row_class: type[AnyRow], text: str | None = None) -> None:
        self.name = name
        self.row_class = row_class
        self._text = text
        self._built: dict[str, AnyRow] = {}

    @property
    def file(self) -> str:
        return f"catalogue/{self.name}.toml"

    @cached_property
    def _content(self) -> dict[str, Any]:
        text = self._text
        if text is None:
            text = (ROOM / f"{self.name}.toml").read_text("utf-8")
        content = tomllib.loads(text)
        if unknown := sorted(set(content) - {"units", "rows"}):
            raise RowRefused(f"{self.file}: unknown table {unknown[0]!r}; allowed: units, rows")
        check_units(self.row_class, content.get("units", {}), self.file)
        return content

    @cached_property
    def _keys(self) -> dict[str, str]:
        keys: dict[str, str] = {}
        for key, data in self._content["rows"].items():
            for name in (key, *data.get("names", ())):
                if keys.setdefault(normal_form(name), key) != key:
                    raise RowRefused(f"{self.file}: two rows are called {name!r}")
        return keys

    @property
    def names(self) -> tuple[str, ...]:
        """The first name of every row, in file order."""
        return tuple(self._content["rows"])

    @property
    def units(self) -> Mapping[str, str]:
        """The head of the file: field -> SI unit."""
        return dict(self._content.get("units", {}))

    def __contains__(self, name: str) -> bool:
        return normal_form(name) in self._keys

    def row(self, name: str) -> AnyRow:
        """The row of that name or other name.

        Raises:
            UnknownRow: no row is called that.
            RowRefused: the row breaks a rule, such as having no source.
        """
        key = self._keys.get(normal_form(name))
        if key is None:
            raise UnknownRow(self.name, name, self._nearest(name))
        if key not in self._built:
            data = self._content["rows"][key]
            self._built[key] = build(self.row_class, key, data, self._content.get("units", {}), self.file)
        return self._built[key]

    def _nearest(self, name: str) -> tuple[str, ...]:
        """Up to three first names of rows that are spelt alike, most alike first, then in file order."""
        import difflib  # only when a name was wrong: it would cost every start some milliseconds

        wanted = normal_form(name)
        alike = {key: difflib.SequenceMatcher(None, wanted, key).ratio() for key in self._keys}
        close = [key for key, ratio in alike.items() if ratio >= 0.5]
        close.sort(key=lambda key: 0.15 * abs(len(key) - len(wanted)) - alike[key])
        return tuple(dict.fromkeys(self._keys[key] for key in close))[:3]

    def __iter__(self) -> Iterator[AnyRow]:
        return (self.row(name) for name in self.names)
