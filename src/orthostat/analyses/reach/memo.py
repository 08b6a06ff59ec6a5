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
        self._kept: OrderedDict[Asked, tuple[Answer]] = OrderedDict()
        self._lock = Lock()

    def __call__(self, asked: Sequence[Asked]) -> list[Answer]:
        """The answers, in the order of what is asked."""
        numbers: dict[Asked, int] = {}
        order = [numbers.setdefault(each, len(numbers)) for each in asked]
        wanted = list(numbers)
        with self._lock:
            found = [self._kept.pop(each, None) for each in wanted]
        missing = [k for k, each in enumerate(found) if each is None]
        if missing:
            for k, answer in zip(missing, self._work([wanted[k] for k in missing]), strict=True):
                found[k] = (answer,)
        answers = [each[0] for each in found if each is not None]
        with self._lock:
            self._kept.update(zip(wanted, zip(answers), strict=True))
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)
        return [answers[k] for k in order]

    def forget(self) -> None:
        """Keep nothing."""
        with self._lock:
            self._kept.clear()
