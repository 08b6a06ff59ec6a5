"""The page of studies: some fields of a column varied, every combination answered, the best verified.

What is asked stands in the address, so a study can be kept as a bookmark and shared within the shop.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any
from urllib.parse import urlencode

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.differences import plain_text
from orthostat.document.fields import shape_at
from orthostat.document.reading import KeyPath, key_text
from orthostat.studies import MOST, ORDERS, axes_of
from orthostat.web.asking import Wanted
from orthostat.web.files import Saved
from orthostat.web.refusals import BadRequest
from orthostat.web.rendering import render
from orthostat.web.room import Room

_ROWS = 4
"""Fields that one study of the page may vary."""
_PARTS = ("key", "from", "to", "in")
_STEPS = "5"
"""Values of a range, where nothing else is said."""
_BEST = ("0", "1", "3", "5")
"""How many of the best may be verified."""
_LONGEST = 200
_WHERE = "what is varied"

Chosen = Mapping[str, str]


class Studies:
    """Studies of the columns of a shop."""

    def __init__(self, room: Room) -> None:
        self._room = room

    def page(self, name: str, chosen: dict[str, str]) -> str:
        """What can be varied, and the study that is asked for, which follows."""
        rows = _rows(chosen)
        problems: tuple[Problem, ...] = ()
        asked = any(map(_is_used, rows))
        try:
            if asked:
                _wanted(chosen)
        except DocumentError as fault:
            problems = fault.problems
        return self._room.page(
            "study.html",
            title="Study",
            here="study",
            name=name,
            rows=rows,
            fields=list(_fields(self._room.data(name))),
            orders=ORDERS,
            by=_by(chosen),
            counts=_BEST,
            best=_best(chosen),
            most=MOST,
            problems=problems,
            query=urlencode(_kept(chosen)) if asked and not problems else "",
        )

    def content(self, name: str, chosen: dict[str, str]) -> dict[str, Any]:
        """What the study found, or how far the work on it is."""
        design = self._room.desk.design(name)
        try:
            wanted = _wanted(chosen)
        except DocumentError as fault:
            return {"html": render("problems.html", problems=fault.problems)}
        found = self._room.asides.study(design, wanted, again=bool(chosen.get("again")))
        if "html" in found and self._room.asides.designs(design, wanted):
            found["html"] += render("designs.html", name=name, query=urlencode(_kept(chosen)))
        return found

    def designs(self, name: str, chosen: dict[str, str]) -> Saved:
        """Every design of a study that is worked out, as comma-separated values."""
        text = self._room.asides.designs(self._room.desk.design(name), _wanted(chosen))
        if not text:
            raise DocumentError([Problem("study", "there is no such study of the design as it is now")])
        return Saved(text, f"{name}-study.csv", "text/csv; charset=utf-8")


def _rows(chosen: Chosen) -> list[dict[str, str]]:
    """What stands in the rows of the form."""
    usual = {"in": _STEPS}
    rows = [
        {part: chosen.get(f"{part}{number}", usual.get(part, "")).strip() for part in _PARTS}
        for number in range(1, _ROWS + 1)
    ]
    if any(len(said) > _LONGEST for row in rows for said in row.values()):
        raise BadRequest(f"A field of a study takes at most {_LONGEST} letters.")
    return rows


def _is_used(row: Mapping[str, str]) -> bool:
    return bool(row["key"] or row["from"] or row["to"])


def _kept(chosen: Chosen) -> dict[str, str]:
    """What of the address says which study is meant."""
    rows = {
        f"{part}{number}": said
        for number, row in enumerate(_rows(chosen), 1)
        if _is_used(row)
        for part, said in row.items()
    }
    return {**rows, "by": _by(chosen), "best": _best(chosen)}


def _by(chosen: Chosen) -> str:
    by = chosen.get("by", "")
    return by if by in ORDERS else ORDERS[0]


def _best(chosen: Chosen) -> str:
    best = chosen.get("best", "")
    return best if best in _BEST else "1"


def _wanted(chosen: Chosen) -> Wanted:
    """Raises `DocumentError` with every fault of what is to be varied."""
    texts = []
    for row in filter(_is_used, _rows(chosen)):
        values = f"{row['from']} to {row['to']} in {row['in']}" if row["to"] else row["from"]
        texts.append(f"{row['key']} = {values}")
    return Wanted(axes_of(texts, _WHERE), _by(chosen), int(_best(chosen)))


def _fields(data: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Keys of a column that hold a quantity or a count, and what stands there."""
    for path, value in _leaves(data, ()):
        shape = shape_at("column", path)
        if shape is not None and shape.sort in ("quantity", "whole"):
            yield key_text(path), plain_text(value)


def _leaves(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    if isinstance(value, Mapping):
        for key, inside in value.items():
            yield from _leaves(inside, (*path, key))
    elif isinstance(value, list):
        for index, inside in enumerate(value):
            yield from _leaves(inside, (*path, index))
    else:
        yield path, value
