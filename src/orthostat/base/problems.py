"""Problems: faults of a document that stop it from being read; all are reported at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault: where, what was read, what is allowed, what to do."""

    file: str
    message: str
    key: str = ""
    line: int | None = None
    read: str = ""
    allowed: str = ""

    def sentence(self) -> str:
        """The problem on one line, for a person."""
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        parts = [f"{where}: {self.key}: {self.message}" if self.key else f"{where}: {self.message}"]
        if self.read:
            parts.append(f"read {self.read}")
        if self.allowed:
            parts.append(f"allowed: {self.allowed}")
        return "; ".join(parts)


class DocumentError(Exception):
    """A document can't be read. Carries every `Problem` found, never only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(problem.sentence() for problem in self.problems))
