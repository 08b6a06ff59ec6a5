"""What changed between two states of a document, key by key."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from orthostat.document.reading import KeyPath, key_text


@dataclass(frozen=True, slots=True)
class Difference:
    """One key that was added, removed or changed."""

    path: KeyPath
    then: str
    """As it was; empty where it was not there."""
    now: str
    """As it is; empty where it is gone."""

    @property
    def key(self) -> str:
        """The key path as people write it."""
        return key_text(self.path)


def differences(then: Any, now: Any) -> tuple[Difference, ...]:
    """Every key of two documents' data whose value differs, in the order of the newer one."""
    return tuple(_walk((), then, now))


def _walk(path: KeyPath, then: Any, now: Any) -> Iterator[Difference]:
    if isinstance(then, dict) and isinstance(now, dict):
        for key in [*now, *(key for key in then if key not in now)]:
            yield from _walk((*path, key), then.get(key), now.get(key))
    elif _tables(then) and _tables(now):
        for index in range(max(len(then), len(now))):
            before = then[index] if index < len(then) else None
            after = now[index] if index < len(now) else None
            yield from _walk((*path, index), before, after)
    elif then != now or type(then) is not type(now):
        yield Difference(path, plain_text(then), plain_text(now))


def _tables(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def plain_text(value: Any) -> str:
    """A value of a document on one line, for people."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "[" + ", ".join(plain_text(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {plain_text(item)}" for key, item in value.items()) + "}"
    return str(value)
