"""Where each key of a TOML text stands, and where its syntax breaks; only asked when there is a fault."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Path = tuple[str | int, ...]
_MOST = 300_000
"""Characters; a longer text is not one that a person wrote, and keeps its faults without lines."""


class Lines:
    """Line numbers (from 1) of the key paths of a TOML text."""

    def __init__(self, text: str) -> None:
        self._at: dict[Path, int] = {}
        self.broken: list[tuple[int, str]] = []
        self._seen: dict[Path, int] = {}
        if len(text) > _MOST:
            return
        root = _parser().parse(text.encode("utf-8", "replace")).root_node
        for node in root.children:
            self._visit_top(node)
        self.broken = list(_faults(root))

    def line_of(self, path: Path) -> int | None:
        """The line of `path`, or of the nearest key above it that stands in the text."""
        for length in range(len(path), 0, -1):
            if (line := self._at.get(path[:length])) is not None:
                return line
        return None

    def exact(self, path: Path) -> int | None:
        """The line of `path` itself; `None` where it does not stand in the text."""
        return self._at.get(path)

    def _visit_top(self, node: Any) -> None:
        if node.type == "pair":
            self._pair(node, ())
        elif node.type in ("table", "table_array_element"):
            keys = [child for child in node.children if child.type in _KEYS]
            if not keys:
                return
            base = self._resolve(_key(keys[0]), appends=node.type == "table_array_element")
            self._at.setdefault(base, node.start_point[0] + 1)
            for child in node.children:
                if child.type == "pair":
                    self._pair(child, base)

    def _resolve(self, key: tuple[str, ...], *, appends: bool) -> Path:
        """A header's path with the index of every array of tables on the way."""
        path: Path = ()
        for depth, part in enumerate(key):
            path = (*path, part)
            if depth == len(key) - 1 and appends:
                self._seen[path] = self._seen.get(path, -1) + 1
            if path in self._seen:
                path = (*path, self._seen[path])
        return path

    def _pair(self, node: Any, base: Path) -> None:
        parts = [child for child in node.children if child.is_named and child.type != "comment"]
        if len(parts) < 2:
            return
        path: Path = base
        for part in _key(parts[0]):
            path = (*path, part)
            self._at.setdefault(path, node.start_point[0] + 1)
        self._value(parts[1], path)

    def _value(self, node: Any, path: Path) -> None:
        if node.type == "inline_table":
            for child in node.children:
                if child.type == "pair":
                    self._pair(child, path)
        elif node.type == "array":
            items = [child for child in node.children if child.is_named and child.type != "comment"]
            for index, item in enumerate(items):
                self._at.setdefault((*path, index), item.start_point[0] + 1)
                self._value(item, (*path, index))


_KEYS = ("bare_key", "quoted_key", "dotted_key")


def _key(node: Any) -> tuple[str, ...]:
    if node.type == "dotted_key":
        return tuple(part for child in node.children if child.type in _KEYS for part in _key(child))
    text: str = node.text.decode("utf-8", "replace")
    return (text.strip("\"'"),)


def _faults(node: Any) -> Iterator[tuple[int, str]]:
    if not node.has_error:
        return
    if node.is_error or node.is_missing:
        snippet = node.text.decode("utf-8", "replace").strip().splitlines()
        yield node.start_point[0] + 1, snippet[0][:60] if snippet else ""
        return
    for child in node.children:
        yield from _faults(child)


def _parser() -> Any:
    import tree_sitter
    import tree_sitter_toml

    return tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language()))
