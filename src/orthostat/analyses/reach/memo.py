"""Answers kept by what was asked; those not kept are worked out together."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from threading import Lock
from typing import Generic, TypeVar

Asked = TypeVar("Asked", bound=Hashable)
Answer = TypeVar("Answer")


class Memo(Generic[Asked, Answer]):
    """The last `size` answers of `work`, which is given what is not kept, each once."""

    def __init__(self, size: int, work: Callable[[list[Asked]], Sequence[Answer]]) -> None:
        self._size = size
        self._work = work
        self._kept: OrderedDict[Asked, Answer] = OrderedDict()
        self._lock = Lock()

    def __call__(self, asked: Sequence[Asked]) -> list[Answer]:
        """The answers, in the order of what is asked."""
        wanted = list(dict.fromkeys(asked))
        with self._lock:
            found = {each: self._kept[each] for each in wanted if each in self._kept}
        missing = [each for each in wanted if each not in found]
        if missing:
            found.update(zip(missing, self._work(missing), strict=True))
        with self._lock:
            for each in wanted:
                self._kept[each] = found[each]
                self._kept.move_to_end(each)
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)
        return [found[each] for each in asked]

    def forget(self) -> None:
        """Keep nothing."""
        with self._lock:
            self._kept.clear()
