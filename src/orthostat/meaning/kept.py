"""What was laid out before is not laid out again: an edit changes few parts of a design."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from orthostat.base.kept import Kept
from orthostat.document.parts import Part

Function = TypeVar("Function", bound=Callable[..., Any])


class Same:
    """Something that never changes, told by which one it is, as comparing it in depth would take long."""

    __slots__ = ("_it",)

    def __init__(self, it: object) -> None:
        self._it = it  # held, so that nothing else takes its place in memory

    def __hash__(self) -> int:
        return id(self._it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self._it is other._it


def kept(size: int) -> Callable[[Function], Function]:
    """Keep the last `size` results of a function, by all that it is given.

    Parts of documents are told by which they are: reading hands on the very part that no edit touched. All
    else is told by what it is. The last thing given are the `Names`, of which a result may depend on the shop
    and the design's name alone. A result that went with a fault is not kept, so the fault is noted each time.
    The function must read nothing else, and give nothing that can be changed.
    """

    def decorate(function: Function) -> Function:
        known: Kept[Any, Any] = Kept(size)

        @wraps(function)
        def asked(*given: Any) -> Any:
            *parts, names = given
            key = (*map(_told, parts), names.scope)
            found = known.get(key)
            if found is not None:
                return found[0]
            noted = names.faults.noted
            made = function(*given)
            if names.faults.noted == noted:
                known.keep({key: (made,)})
            return made

        _ALL.append(known)
        return cast(Function, asked)

    return decorate


_ALL: list[Kept[Any, Any]] = []


def forget() -> None:
    """Keep nothing of what was laid out."""
    for known in _ALL:
        known.forget()


def _told(given: Any) -> Any:
    if isinstance(given, Part):
        return Same(given)
    if isinstance(given, tuple) and given and isinstance(given[0], Part):
        return tuple(map(Same, given))
    return given
