"""Changing single values of a document and nothing else: comments, order and spacing stay.

The same edits are made on TOML text (`with_edits`, to be saved) and on plain data (`edited`, to try
them out).
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.reading import KeyPath, key_text

ASSUMED = "# assumed"
"""Comment at the end of a line whose value stands in until somebody confirms it."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One change: `set` a value (`None` removes it), `append` an item to a list, `copy` an item or
    table to the end of its list or under the name in `value`, `remove`, `rename` to `value`,
    `assume` a value (or all in a table) or `confirm` it.
    """

    do: Literal["set", "append", "copy", "remove", "rename", "confirm", "assume"]
    path: KeyPath
    value: Any = None


Edits = Sequence[Edit]


def with_values(text: str, changes: Mapping[KeyPath, Any], shown: str) -> str:
    """`text` with each key path set to a value (`None` removes it); comments are kept.

    Tables on the way are made as needed; list items must exist. Raises `DocumentError` for a path
    that leads through something that is not a table or list.
    """
    return with_edits(text, [Edit("set", path, value) for path, value in changes.items()], shown)


def with_edits(text: str, edits: Edits, shown: str) -> str:
    """`text` after each edit in turn; comments are kept.

    Raises `DocumentError` for a path that leads nowhere.
    """
    import tomlkit

    document = tomlkit.parse(text)
    for edit in edits:
        _make(document, edit, shown, _Toml())
    return tomlkit.dumps(document)


def edited(data: dict[str, Any], edits: Edits, shown: str) -> dict[str, Any]:
    """Plain data after each edit in turn; `data` itself stays as it is, and what no edit touches is shared
    with it, so that a reader can tell it by identity.

    Raises `DocumentError` for a path that leads nowhere.
    """
    if not edits:
        return data
    changed = dict(data)
    for edit in edits:
        _make(changed, edit, shown, _Plain())
    return changed


class _Plain:
    """How plain data grows."""

    def table(self) -> Any:
        return {}

    def inside(self, parent: Any, key: str | int) -> Any:
        """What is to be changed in `parent`, which is changed itself: a copy takes its place there."""
        inner = parent[key]
        if isinstance(inner, dict | list):
            inner = parent[key] = copy.copy(inner)
        return inner

    def item(self, value: Any, _parent: Any) -> Any:
        return copy.deepcopy(value)

    def new_list(self, value: Any, _parent: Any) -> Any:
        return [copy.deepcopy(value)]

    def plain(self, value: Any) -> Any:
        return value

    def settle(self, _table: Any, _key: str | int) -> None:
        """Plain data has no comments."""

    def assume(self, _item: Any) -> None:
        """Plain data has no comments."""


class _Toml:
    """How a TOML text grows: tables where they stood, inline tables inside inline lists."""

    def table(self) -> Any:
        import tomlkit

        return tomlkit.table()

    def inside(self, parent: Any, key: str | int) -> Any:
        return parent[key]

    def item(self, value: Any, parent: Any) -> Any:
        import tomlkit
        from tomlkit.items import AoT, Array, InlineTable

        if isinstance(value, dict) and isinstance(parent, Array | InlineTable):
            inline = tomlkit.inline_table()
            for key, part in value.items():
                inline[key] = self.item(part, inline)
            return inline
        if isinstance(value, list) and not isinstance(parent, AoT):
            array = tomlkit.array()
            for part in value:
                array.append(self.item(part, array))
            return array
        return tomlkit.item(value)

    def new_list(self, value: Any, parent: Any) -> Any:
        import tomlkit
        from tomlkit.items import InlineTable

        if isinstance(value, dict) and not isinstance(parent, InlineTable):
            tables = tomlkit.aot()
            tables.append(tomlkit.item(value))
            return tables
        return self.item([value], parent)

    def plain(self, value: Any) -> Any:
        return value.unwrap() if hasattr(value, "unwrap") else value

    def settle(self, table: Any, key: str | int) -> None:
        """Drop the remark that the value is only assumed."""
        item = table.item(key) if hasattr(table, "item") else table[key]
        trivia = getattr(item, "trivia", None)
        if trivia is not None and trivia.comment.startswith(ASSUMED):
            trivia.comment = ""
            trivia.comment_ws = ""

    def assume(self, item: Any) -> None:
        """Mark a value, or each value of a table, as assumed."""
        if isinstance(item, Mapping):
            for part in item.values():
                self.assume(part)
        elif isinstance(item, list) and any(isinstance(part, Mapping) for part in item):
            for part in item:
                self.assume(part)
        else:
            item.comment(ASSUMED.removeprefix("# "))


_Kind = _Plain | _Toml


def _make(document: Any, edit: Edit, shown: str, kind: _Kind) -> None:
    if not edit.path:
        raise _lost(edit.path, shown)
    grows = edit.do in ("set", "append")
    try:
        parent = _walk(document, edit.path[:-1], kind, grows=grows)
        _change(parent, edit, kind)
    except (KeyError, IndexError, TypeError, ValueError, AttributeError):
        raise _lost(edit.path, shown) from None


def _walk(document: Any, path: KeyPath, kind: _Kind, *, grows: bool) -> Any:
    at = document
    for part in path:
        if isinstance(part, int) or not grows or part in at:
            at = kind.inside(at, part)
            continue
        if not isinstance(at, dict):
            raise TypeError
        at[part] = kind.item({}, at) if _inline(at) else kind.table()
        at = at[part]
    return at


def _inline(table: Any) -> bool:
    return type(table).__name__ == "InlineTable"


def _change(parent: Any, edit: Edit, kind: _Kind) -> None:
    last = edit.path[-1]
    if edit.do == "set" and edit.value is not None:
        if not isinstance(parent, dict | list):
            raise TypeError
        _put(parent, last, kind.item(edit.value, parent))
        kind.settle(parent, last)
    elif edit.do in ("set", "remove"):
        if edit.do == "remove" or isinstance(last, int) or last in parent:
            _drop(parent, last)
    elif edit.do == "append":
        if last in parent:
            kind.inside(parent, last).append(kind.item(edit.value, parent[last]))
        else:
            parent[last] = kind.new_list(edit.value, parent)
    elif edit.do == "copy":
        copied = kind.plain(parent[last])
        if isinstance(last, int):
            parent.append(kind.item(copied, parent))
        else:
            _put_under(parent, str(edit.value), copied, kind)
    elif edit.do == "rename":
        kept = kind.plain(parent[last])
        _put_under(parent, str(edit.value), kept, kind)
        del parent[last]
    else:
        _remark(parent, last, edit, kind)


def _remark(parent: Any, key: str | int, edit: Edit, kind: _Kind) -> None:
    if edit.do == "assume":
        kind.assume(parent[key])
    else:
        kind.settle(parent, key)


def _put(parent: Any, key: str | int, value: Any) -> None:
    parent[key] = value


def _drop(parent: Any, key: str | int) -> None:
    del parent[key]


def _put_under(parent: Any, name: str, value: Any, kind: _Kind) -> None:
    if not name or name in parent:
        raise ValueError(name)
    parent[name] = kind.item(value, parent)


def _lost(path: KeyPath, shown: str) -> DocumentError:
    return DocumentError([Problem(shown, "leads nowhere in this document", key_text(path))])
