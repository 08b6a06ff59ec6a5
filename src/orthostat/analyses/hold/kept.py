"""Answers that are asked for many at once, and worked out together where they are not known."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from threading import Lock
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Kept(Generic[Key, Value]):
    """The last `size` answers, by all that they depend on."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._known: OrderedDict[Key, Value] = OrderedDict()
        self._lock = Lock()

    def answers(self, keys: Sequence[Key], work: Callable[[list[Key]], Sequence[Value]]) -> list[Value]:
        """The answer to each key; `work` answers those that are not known, each once."""
        with self._lock:
            found = {key: self._known[key] for key in keys if key in self._known}
        fresh = [key for key in dict.fromkeys(keys) if key not in found]
        if fresh:
            found.update(zip(fresh, work(fresh), strict=True))
        self.keep(found)
        return [found[key] for key in keys]

    def get(self, key: Key) -> Value | None:
        """The answer, where it is known."""
        with self._lock:
            return self._known.get(key)

    def keep(self, found: dict[Key, Value]) -> None:
        """Keep answers; those that were not asked for longest go."""
        with self._lock:
            for key, value in found.items():
                self._known[key] = value
                self._known.move_to_end(key)
            while len(self._known) > self._size:
                self._known.popitem(last=False)
