"""Keeping results: equal inputs give the result worked out before.

Inputs are frozen and hashable, so equality is the key; a digest could collide, equality can't.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, TypeVar, cast

from orthostat.base.findings import NotStated
from orthostat.base.progress import SILENT, Progress

Inputs = TypeVar("Inputs", bound=Hashable)
Result = TypeVar("Result")


class _Key:
    """A name with inputs, which are large: hashed once."""

    __slots__ = ("_hash", "inputs", "name")

    def __init__(self, name: str, inputs: Hashable) -> None:
        self.name = name
        self.inputs = inputs
        self._hash = hash((name, inputs))

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self.name == other.name and self.inputs == other.inputs


class Memory:
    """The last `size` results of each analysis, errors of missing inputs included."""

    def __init__(
        self, size: int = 128, progress: Progress = SILENT, before: Callable[[], None] | None = None
    ) -> None:
        self._size = size
        self._before = before
        """Called before anything is worked out; may raise, to end the work."""
        self.progress = progress
        """Told of long work. It lives as long as the results, which may go on working when asked."""
        self._kept: OrderedDict[_Key, tuple[Any, NotStated | None]] = OrderedDict()
        self._lock = Lock()
        self.solved = 0
        """How many times anything was really worked out."""

    def long_result(self, name: str, solve: Callable[[Inputs, Progress], Result], inputs: Inputs) -> Result:
        """As `result`, of work that tells how far it is."""
        return self.result(name, lambda given: solve(given, self.progress), inputs)

    def result(self, name: str, solve: Callable[[Inputs], Result], inputs: Inputs) -> Result:
        """The result of `solve(inputs)`; re-raises the `NotStated` that these inputs gave before."""
        key = _Key(name, inputs)
        with self._lock:
            kept = self._kept.get(key)
            if kept is not None:
                self._kept.move_to_end(key)
                found, gap = kept
                if gap is not None:
                    raise NotStated(*gap.missing, reason=gap.reason)
                return cast(Result, found)
        if self._before is not None:
            self._before()
        gap = None
        found = None
        try:
            found = solve(inputs)
        except NotStated as caught:
            gap = caught
        with self._lock:
            self.solved += 1
            self._kept[key] = (found, gap)
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)
        if gap is not None:
            raise gap
        return cast(Result, found)
