"""The bibliography: what a source key stands for."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from orthostat.base.references import COMMON_PRACTICE, FROM_MEMORY, Reference, reference_key
from orthostat.catalogue.rows import ESTIMATE
from orthostat.catalogue.tables import ROOM, UnknownRow

NO_WORK = (COMMON_PRACTICE, FROM_MEMORY, ESTIMATE)
"""What stands for a source where there is none, said as it is."""


@cache
def references() -> Mapping[str, Reference]:
    """Every work cited by the catalogue, the formulas and the validation cases, by key."""
    text = (ROOM / "references.toml").read_text("utf-8")
    return MappingProxyType({key: Reference(key=key, **row) for key, row in tomllib.loads(text).items()})


def reference(source: str) -> Reference:
    """The work behind `key, where in it`; for the honest marks, a reference that says so.

    Raises:
        UnknownRow: no work has that key.
    """
    for mark in NO_WORK:
        if source.startswith(mark):
            return Reference(key=mark, title=mark)
    key = reference_key(source)
    try:
        return references()[key]
    except KeyError:
        import difflib  # only when a key was wrong: it would cost every start some milliseconds

        nearest = tuple(difflib.get_close_matches(key, references(), n=3))
        raise UnknownRow("references", key, nearest) from None
