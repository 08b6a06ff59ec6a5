"""Collecting the faults that only show when names and shapes are put together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.lines import Lines
from orthostat.document.reading import KeyPath, key_text, nearest

_MOST = 40
"""Names that a fault lists."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """The shop's document, where a column's station may start from one of its fixtures."""

    shown: str
    text: str
    fixtures: frozenset[str]


class Faults:
    """Problems of one file, gathered while its meaning is worked out."""

    def __init__(self, shown: str, text: str, shop: Elsewhere | None = None) -> None:
        self._shown = shown
        self._text = text
        self._shop = shop
        self._problems: list[Problem] = []
        self.noted = 0
        """How often a fault was noted, one noted already included."""

    def add(self, path: KeyPath, message: str, read: str = "", allowed: str = "") -> None:
        """Note one fault at a key path."""
        self.noted += 1
        shown, text = self._shown, self._text
        if self._shop is not None and path[0] == "fixtures" and path[1] in self._shop.fixtures:
            shown, text = self._shop.shown, self._shop.text
        problem = Problem(shown, message, key_text(path), Lines(text).line_of(path), read, allowed)
        if problem not in self._problems:
            self._problems.append(problem)

    def unknown_name(
        self, path: KeyPath, what: str, name: str, known: Iterable[str], alike: tuple[str, ...] = ()
    ) -> None:
        """Note that `name` is not among `known`; `alike` are those a catalogue finds like it."""
        known = sorted(known)
        guess = nearest(name, known) or next(iter(alike), None)
        hint = f"; did you mean `{guess}`?" if guess else ""
        comma = "; " if any("," in each for each in known) else ", "
        shown = comma.join(known[:_MOST]) or "none is stated"
        more = f"{comma}and {len(known) - _MOST} more" if len(known) > _MOST else ""
        self.add(path, f"there is no {what} of this name{hint}", f"`{name}`", shown + more)

    def raise_if_any(self) -> None:
        """Raise `DocumentError` with all that was gathered."""
        if self._problems:
            raise DocumentError(sorted(self._problems, key=lambda problem: problem.line or 0))

    @property
    def any(self) -> bool:
        return bool(self._problems)

    @property
    def problems(self) -> tuple[Problem, ...]:
        return tuple(self._problems)
