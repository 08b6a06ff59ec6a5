"""Which fields of a design a study varies, and over what: `body.plate = 15 mm to 30 mm in 4`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import prod

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.column import Column
from orthostat.document.reading import KeyPath, is_list, key_text, keys_at, nearest

MOST = 5000
"""Designs of one study at most."""
ORDERS = ("first mode", "movement", "limit depth", "mass")
"""What designs can be ranked by."""
WHERE = "--vary"
_GRAMMAR = '"height = 500 mm to 700 mm in 5" or "body.plate = 15 mm, 20 mm, 25 mm"'
_KEY = re.compile(r"\.?([A-Za-z0-9_-]+)|\[(\d+)\]")
_RANGE = re.compile(r"(.+?)\s+to\s+(.+?)\s+in\s+(\d+)")
_NUMBER = re.compile(r"([-+]?\d*\.?\d+(?:[eE][-+]?\d+)?)\s*(.*)")

Value = str | float | bool


@dataclass(frozen=True, slots=True)
class Axis:
    """A key of the column's document and the values it takes, as one would type them."""

    path: KeyPath
    values: tuple[Value, ...]

    @property
    def key(self) -> str:
        """As people write it."""
        return key_text(self.path)


def axes_of(texts: Iterable[str], where: str = WHERE) -> tuple[Axis, ...]:
    """The axes that texts name. Raises `DocumentError` with every fault of them, said to be at `where`."""
    axes: list[Axis] = []
    problems: list[Problem] = []
    for text in texts:
        try:
            axes.append(_axis(text))
        except DocumentError as fault:
            problems += fault.problems
    twice = {axis.key for k, axis in enumerate(axes) if any(axis.path == other.path for other in axes[:k])}
    problems += [Problem(WHERE, "is varied twice", key) for key in sorted(twice)]
    if not axes and not problems:
        problems.append(Problem(WHERE, "nothing is varied", allowed=_GRAMMAR))
    count = prod(len(axis.values) for axis in axes)
    if count > MOST:
        problems.append(
            Problem(
                WHERE, "makes more designs than one study holds", read=f"{count}", allowed=f"up to {MOST}"
            )
        )
    if problems:
        raise DocumentError([replace(problem, file=where) for problem in problems])
    return tuple(axes)


def combinations(axes: tuple[Axis, ...]) -> Iterator[tuple[Value, ...]]:
    """Every design: one value of each axis, the last axis fastest."""
    return product(*(axis.values for axis in axes))


def _axis(text: str) -> Axis:
    key, equals, values = (part.strip() for part in text.partition("="))
    if not equals or not key or not values:
        raise DocumentError([Problem(WHERE, "is not KEY = VALUES", read=f"`{text}`", allowed=_GRAMMAR)])
    return Axis(_path(key), _values(key, values))


def _path(key: str) -> KeyPath:
    found: list[str | int] = []
    at = 0
    while at < len(key):
        match = _KEY.match(key, at)
        if match is None:
            raise DocumentError([Problem(WHERE, "is not a key", read=f"`{key}`", allowed=_GRAMMAR)])
        found.append(match[1] or int(match[2]))
        at = match.end()
    for depth, part in enumerate(found):
        if isinstance(part, str) and is_list(Column, tuple(found[:depth])):
            listed = key_text(tuple(found[:depth]))
            allowed = f"`{listed}[0].{part}` for the first, and so on"
            raise DocumentError(
                [Problem(WHERE, f"{listed} is a list: say which of them", key, allowed=allowed)]
            )
        known = keys_at(Column, tuple(found[:depth]))
        if known and isinstance(part, str) and part not in known:
            guess = nearest(part, known)
            hint = f"; did you mean `{guess}`?" if guess else ""
            raise DocumentError([Problem(WHERE, f"unknown key{hint}", key, allowed=", ".join(sorted(known)))])
    return tuple(found)


def _values(key: str, text: str) -> tuple[Value, ...]:
    match = _RANGE.fullmatch(text)
    if match is None:
        parts = [part.strip() for part in text.split(",")]
        if " to " in text or text.endswith(" to"):
            raise DocumentError([Problem(WHERE, "is half a range", key, read=f"`{text}`", allowed=_GRAMMAR)])
        if not all(parts):
            raise DocumentError([Problem(WHERE, "has an empty value", key, read=f"`{text}`")])
        return tuple(dict.fromkeys(_value(part) for part in parts))
    low, high, count = _NUMBER.fullmatch(match[1]), _NUMBER.fullmatch(match[2]), int(match[3])
    if low is None or high is None:
        raise DocumentError([Problem(WHERE, "a range goes from number to number", key, read=f"`{text}`")])
    unit = high[2] or low[2]
    if low[2] not in ("", unit):
        raise DocumentError([Problem(WHERE, "a range has one unit", key, read=f"`{text}`")])
    first, last = float(low[1]), float(high[1])
    if count < 2 or last <= first:
        raise DocumentError(
            [Problem(WHERE, "a range rises and has two values or more", key, read=f"`{text}`")]
        )
    steps = [float(f"{first + (last - first) * k / (count - 1):.6g}") for k in range(count)]
    return tuple(f"{step:g} {unit}" if unit else step for step in steps)


def _value(text: str) -> Value:
    if text in ("true", "false"):
        return text == "true"
    try:
        return float(text)
    except ValueError:
        return text.strip("\"'")
