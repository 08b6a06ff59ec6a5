"""Answers that are asked for many at once, and worked out together where they are not known."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable, Sequence
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
        places: dict[Key, int] = {}
        order = [places.setdefault(key, len(places)) for key in keys]
        wanted = list(places)
        with self._lock:
            known = {k: self._known[key] for k, key in enumerate(wanted) if key in self._known}
        fresh = [k for k in range(len(wanted)) if k not in known]
        if fresh:
            known.update(zip(fresh, work([wanted[k] for k in fresh]), strict=True))
        found = [known[k] for k in range(len(wanted))]
        self._keep(zip(wanted, found, strict=True))
        return [found[k] for k in order]

    def get(self, key: Key) -> Value | None:
        """The answer, where it is known."""
        with self._lock:
            return self._known.get(key)

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
