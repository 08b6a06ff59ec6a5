"""The bibliography: every rule and value names one of these works.

Rows live in `catalogue/references.toml`; a reference is written `key` or `key, where` (page,
clause, table, example), for instance `iso-898-1, table 4`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reference:
    """A published work, or one of the two honest marks for what has none."""

    key: str
    title: str
    authors: str = ""
    year: int | None = None
    edition: str = ""
    note: str = ""


COMMON_PRACTICE = "common practice, no source"
FROM_MEMORY = "from memory"


def reference_key(text: str) -> str:
    """The key part of `key, where`."""
    return text.split(",", 1)[0].strip()
