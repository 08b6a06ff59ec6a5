"""Answers that are asked for many at once, and worked out together where they are not known."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable, Sequence
from threading import Lock
from typing import Any, Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")
_UNKNOWN = object()


class Kept(Generic[Key, Value]):
    """The last `size` answers, by all that they depend on."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._known: OrderedDict[Key, Any] = OrderedDict()
        self._lock = Lock()

    def answers(self, keys: Sequence[Key], work: Callable[[list[Key]], Sequence[Value]]) -> list[Value]:
        """The answer to each key; `work` answers those that are not known, each once."""
        places: dict[Key, int] = {}
        order = [places.setdefault(key, len(places)) for key in keys]
        found: dict[int, Value] = {}
        fresh: dict[int, Key] = {}
        with self._lock:
            for key, k in places.items():
                value = self._known.pop(key, _UNKNOWN)
                if value is _UNKNOWN:
                    fresh[k] = key
                else:
                    found[k] = self._known[key] = value  # put back as the latest
        if fresh:
            made = work(list(fresh.values()))
            found.update(zip(fresh, made, strict=True))
            self._keep(zip(fresh.values(), made, strict=True))
        return [found[k] for k in order]

    def get(self, key: Key) -> Value | None:
        """The answer, where it is known."""
        with self._lock:
            value: Value | None = self._known.get(key)
        return value

    def keep(self, found: dict[Key, Value]) -> None:
        """Keep answers; those that were not asked for longest go."""
        self._keep(found.items())

    def forget(self) -> None:
        """Keep nothing."""
        with self._lock:
            self._known.clear()

    def _keep(self, found: Iterable[tuple[Key, Value]]) -> None:
        with self._lock:
            for key, value in found:
                self._known.pop(key, None)
                self._known[key] = value
            while len(self._known) > self._size:
                self._known.popitem(last=False)
