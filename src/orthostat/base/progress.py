"""How far long work has come: handed down as an argument, told by whoever does the work.

A share is of steps truly done, never of time guessed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

Tell = Callable[[str, float], None]
"""Takes what is being done, in words, and the share of the whole that is done, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Progress:
    """A stretch of the whole, from `low` to `high`, and who is told.

    Who is told changes nothing that is found. So any two are equal, and a result that is kept by its
    arguments is kept for everybody.
    """

    tell: Tell | None = field(default=None, compare=False)
    doing: str = field(default="", compare=False)
    low: float = field(default=0.0, compare=False)
    high: float = field(default=1.0, compare=False)

    def at(self, done: float, of: float, doing: str = "") -> None:
        """Tell that `done` of `of` steps are done."""
        if self.tell is not None:
            self.tell(self._said(doing), self._place(done, of))

    def step(self, done: float, of: float, doing: str = "", *, steps: float = 1.0) -> Progress:
        """The stretch of the next `steps` steps, `done` of `of` being done; tells that it begins."""
        if self.tell is None:
            return self
        self.at(done, of, doing)
        return Progress(self.tell, self._said(doing), self._place(done, of), self._place(done + steps, of))

    def _said(self, doing: str) -> str:
        return ", ".join(each for each in (self.doing, doing) if each)

    def _place(self, done: float, of: float) -> float:
        share = min(1.0, max(0.0, done / of)) if of > 0.0 else 1.0
        return self.low + share * (self.high - self.low)


SILENT = Progress()
"""Nobody is told."""
