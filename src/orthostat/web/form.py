"""A document as a form: every stated key as an entry field, every other key ready to be stated.

Built from the document's data and the shapes of its keys; nothing here knows a key by name but
those that point at names of the shop (`suggestions`).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from orthostat.base.problems import Problem
from orthostat.base.showing import show
from orthostat.document.differences import plain_text
from orthostat.document.editing import ASSUMED
from orthostat.document.entry import Meant, example_of, quantities_in, text_of
from orthostat.document.fields import Key, Shape, keys_of
from orthostat.document.lines import Lines
from orthostat.document.reading import KeyPath, key_text
from orthostat.evaluation.opening import is_inch

_TABLES = ("table", "list", "named")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry field."""

    path: str
    """Key path as JSON, which the browser sends back."""
    key: str
    label: str
    says: str
    widget: str
    """`line`, `lines`, `choice`."""
    text: str
    echo: str
    """The same in the other system of units."""
    faults: tuple[str, ...]
    assumed: bool
    required: bool
    hint: str
    choices: tuple[str, ...] = ()
    default: str = ""
    suggestions: str = ""
    """Id of the list of names that may be meant."""
    prose: bool = False
    """Whether it holds sentences."""


@dataclass(frozen=True, slots=True)
class Addition:
    """A key that is not stated yet."""

    path: str
    key: str
    label: str
    says: str
    do: str
    """`state` an entry, `open` a table, `append` to a list, `name` a new entry."""


@dataclass(frozen=True, slots=True)
class Group:
    """A table, a list or named tables, with what stands inside."""

    path: str
    key: str
    label: str
    says: str
    summary: str
    parts: tuple[Entry | Group, ...]
    additions: tuple[Addition, ...]
    faults: tuple[str, ...]
    faulty: int
    """How many faults there are in it, at any depth."""
    item: bool = False
    """Whether it is one of a list or of named tables: it can be copied and taken away."""
    named: bool = False
    removable: bool = True


class FormMaker:
    """Makes the form of one document's data."""

    def __init__(
        self,
        document: str,
        text: str,
        data: Mapping[str, Any],
        problems: Iterable[Problem],
        defaults: Mapping[str, str],
        opened: Iterable[KeyPath] = (),
    ) -> None:
        self._document = document
        self._data = data
        self._defaults = defaults
        self._faults: dict[str, list[str]] = {}
        for problem in problems:
            said = problem.message + (f"; allowed: {problem.allowed}" if problem.allowed else "")
            self._faults.setdefault(problem.key, []).append(said)
        # Keys that somebody is about to state, and the tables on the way to them.
        self._opened = {path[:length] for path in opened for length in range(1, len(path) + 1)}
        self._used: set[str] = set()
        self._lines = Lines(text) if ASSUMED in text else None
        self._text_lines = text.splitlines()

    def whole(self, only: Iterable[str] | None = None, *, without: Iterable[str] = ()) -> Group:
        """The whole document; `only` some of its keys, or all but those in `without`."""
        keys = [
            key
            for key in keys_of(self._document)
            if (only is None or key.name in only) and key.name not in without
        ]
        return self._table((), self._document, self._data, keys, label="", says="")

    def strays(self) -> list[tuple[str, str]]:
        """Faults of keys that have no field here: key and what is said of it."""
        return [
            (key, said) for key, sayings in self._faults.items() if key not in self._used for said in sayings
        ]

    def _table(
        self,
        path: KeyPath,
        name: str,
        data: Any,
        keys: list[Key],
        *,
        label: str,
        says: str,
        item: bool = False,
        named: bool = False,
        removable: bool = True,
    ) -> Group:
        held = data if isinstance(data, Mapping) else {}
        parts: list[Entry | Group] = []
        additions: list[Addition] = []
        groups: list[Entry | Group] = []
        for key in keys:
            here = (*path, key.name)
            if key.name in held or key.required or here in self._opened:
                made = self._part(here, key, held.get(key.name))
                (groups if isinstance(made, Group) else parts).append(made)
            else:
                additions.append(self._addition(here, key))
        known = {key.name for key in keys_of(name)}
        for stray in (each for each in held if each not in known):
            here = (*path, stray)
            if key_text(here) in self._faults:
                parts.append(
                    self._entry(here, Key(stray, Shape("text"), required=False, says=""), held[stray])
                )
        own = self._take(path) if path else ()
        members = (*parts, *groups)
        return Group(
            json.dumps(path),
            key_text(path),
            label,
            says,
            summary(held),
            members,
            tuple(additions),
            own,
            len(own) + sum(_faulty(member) for member in members),
            item=item,
            named=named,
            removable=removable,
        )

    def _part(self, path: KeyPath, key: Key, raw: Any) -> Entry | Group:
        shape = key.shape
        if shape.sort == "table" or (shape.sort == "price" and isinstance(raw, Mapping)):
            keys = list(keys_of(shape.part))
            return self._table(
                path, shape.part, raw, keys, label=key.label, says=key.says, removable=not key.required
            )
        if shape.sort == "list":
            return self._items(path, key, raw if isinstance(raw, list) else [])
        if shape.sort == "named":
            return self._named(path, key, raw if isinstance(raw, Mapping) else {})
        return self._entry(path, key, raw)

    def _items(self, path: KeyPath, key: Key, raw: list[Any]) -> Group:
        shape = key.shape.item or Shape("text")
        members = tuple(
            self._table(
                (*path, index), shape.part, item, list(keys_of(shape.part)), label=str(index + 1), says="",
                item=True,
            )
            for index, item in enumerate(raw)
        )  # fmt: skip
        more = Addition(json.dumps(path), key_text(path), f"another of {key.label}", "", "append")
        return self._collection(path, key, members, more, _count(len(raw)))

    def _named(self, path: KeyPath, key: Key, raw: Mapping[str, Any]) -> Group:
        shape = key.shape.item or Shape("text")
        members: list[Entry | Group] = []
        waiting = [each[-1] for each in self._opened if each[:-1] == path and each[-1] not in raw]
        for name, value in [*raw.items(), *((str(name), None) for name in waiting)]:
            here = (*path, name)
            if shape.sort in _TABLES:
                keys = list(keys_of(shape.part))
                members.append(
                    self._table(here, shape.part, value, keys, label=name, says="", item=True, named=True)
                )
            else:
                members.append(self._entry(here, Key(name, shape, required=False, says=""), value))
        do = "name" if shape.sort in _TABLES else "name entry"
        more = Addition(json.dumps(path), key_text(path), f"another of {key.label}", "", do)
        return self._collection(path, key, tuple(members), more, _count(len(raw)))

    def _collection(
        self, path: KeyPath, key: Key, members: tuple[Entry | Group, ...], more: Addition, summary: str
    ) -> Group:
        own = self._take(path)
        faulty = len(own) + sum(_faulty(member) for member in members)
        return Group(
            json.dumps(path), key_text(path), key.label, key.says, summary, members, (more,), own, faulty,
            removable=not key.required,
        )  # fmt: skip

    def _entry(self, path: KeyPath, key: Key, raw: Any) -> Entry:
        shape = key.shape
        text = text_of(raw, shape) if not isinstance(raw, Mapping) else plain_text(raw)
        lines = shape.sort in ("points", "words") or shape.long
        choices = (
            shape.choices if shape.sort == "choice" else ("yes", "no") if shape.sort == "yes or no" else ()
        )
        default = key.default
        return Entry(
            path=json.dumps(path),
            key=key_text(path),
            label=key.label,
            says=key.says,
            widget="lines" if lines else "choice" if choices else "line",
            text=text,
            echo=echo(raw, shape, self._defaults),
            faults=self._take(path),
            assumed=self._assumed(path),
            required=key.required,
            hint=example_of(shape),
            choices=choices,
            default="" if default is None else plain_text(default),
            suggestions=list_id(key.name, shape),
            prose=shape.long,
        )

    def _addition(self, path: KeyPath, key: Key) -> Addition:
        do = {"table": "open", "list": "append", "named": "name"}.get(key.shape.sort, "state")
        if key.shape.sort == "named" and key.shape.item is not None and key.shape.item.sort not in _TABLES:
            do = "name entry"
        return Addition(json.dumps(path), key_text(path), key.label, key.says, do)

    def _take(self, path: KeyPath) -> tuple[str, ...]:
        key = key_text(path)
        self._used.add(key)
        inside = [
            said
            for other, sayings in self._faults.items()
            # A fault inside a list of numbers belongs to the list's own field.
            if other == key or (other.startswith(f"{key}[") and other not in self._used and self._flat(path))
            for said in sayings
        ]
        for other in self._faults:
            if other.startswith(f"{key}[") and self._flat(path):
                self._used.add(other)
        return tuple(inside)

    def _flat(self, path: KeyPath) -> bool:
        at: Any = self._data
        try:
            for part in path:
                at = at[part]
        except (KeyError, IndexError, TypeError):
            return False
        return isinstance(at, list) and not any(isinstance(item, Mapping) for item in at)

    def _assumed(self, path: KeyPath) -> bool:
        if self._lines is None:
            return False
        line = self._lines.exact(path)
        return line is not None and ASSUMED in self._text_lines[line - 1]


def echo(raw: Any, shape: Shape, defaults: Mapping[str, str]) -> str:
    """The quantities of an entry in the other system of units; empty where nothing is to be said."""
    if not shape.kinds or raw is None or isinstance(raw, Mapping):
        return ""
    meant = quantities_in(raw, shape, defaults)
    if not meant or len(meant) > 12:
        return ""
    shown = [_other(each) for each in meant]
    if all(own == other for own, other in shown):
        return ""
    if shape.sort == "points":
        rows = [f"({a}, {b})" for a, b in zip(*[iter(other for _, other in shown)] * 2, strict=False)]
        return ", ".join(rows)
    return ", ".join(other for _, other in shown)


def _other(meant: Meant) -> tuple[str, str]:
    """A quantity in its own system of units and in the other one."""
    inch, metric = show(meant.si, meant.kind, "inch"), show(meant.si, meant.kind, "metric")
    return (inch, metric) if is_inch(meant.unit) else (metric, inch)


def list_id(name: str, shape: Shape) -> str:
    """Id of the list of names that a key may hold; empty where any text goes."""
    if shape.sort not in ("text", "words"):
        return "words-" + "-".join(shape.choices).replace(" ", "-") if shape.choices and shape.kinds else ""
    return f"names-{LISTS[name]}" if name in LISTS else ""


LISTS = {
    "machine": "machines",
    "pallet": "pallets",
    "base": "bases",
    "tool": "tools",
    "tools": "tools",
    "fixture": "fixtures",
    "material": "materials",
    "fill": "materials",
    "like": "materials",
    "thread": "threads",
    "grade": "property_classes",
    "tightening": "tightening_methods",
    "resin": "resins",
    "mixer": "mixers",
    "aggregates": "aggregates",
    "family": "resin_families",
}
"""Keys whose text is a name, and of what; the shop's own names come before the catalogue's."""


def _faulty(member: Entry | Group) -> int:
    return member.faulty if isinstance(member, Group) else len(member.faults)


def _count(number: int) -> str:
    return "none" if number == 0 else str(number)


def summary(held: Mapping[str, Any]) -> str:
    """The first few plain values of a table, for its folded line."""
    name = held.get("name")
    if isinstance(name, str) and name:
        return name[:60]
    values = [plain_text(value) for value in held.values() if not isinstance(value, dict | list)]
    return ", ".join(values[:3])[:70]
