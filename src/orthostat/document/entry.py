"""Between what a document holds and what stands in an entry field, for each shape of key."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from orthostat.base.units import UnitFault, example, parse
from orthostat.document.fields import Shape

_WHOLE = re.compile(r"[+-]?\d{1,15}")
_DECIMAL = re.compile(r"[+-]?(\d+\.\d*|\.\d+)")


@dataclass(frozen=True, slots=True)
class Meant:
    """One quantity of an entry field: SI value, kind and the unit it was read in."""

    si: float
    kind: str
    unit: str


def text_of(raw: Any, shape: Shape) -> str:
    """A document's value as the text of its entry field; empty for what is left out."""
    if raw is None:
        return ""
    if shape.sort == "yes or no":
        return {True: "yes", False: "no"}.get(raw, str(raw))
    if shape.sort == "points" and isinstance(raw, list):
        rows = [raw] if not any(isinstance(each, list) for each in raw) else raw
        return "\n".join(_joined(row) for row in rows)
    if shape.sort == "words" and isinstance(raw, list):
        return "\n".join(_scalar_text(each) for each in raw)
    if isinstance(raw, list):
        return _joined(raw)
    return _scalar_text(raw)


def value_of(text: str, shape: Shape) -> Any:
    """What a document holds for the text of an entry field; `None` for an empty one.

    What can't be understood is handed on as text, and the document's reader says what is wrong.
    """
    stripped = text.strip()
    if not stripped:
        return None
    if shape.sort in ("quantity", "price"):
        return _number(stripped)
    if shape.sort == "numbers":
        numbers = [_number(part) for part in _split(stripped)]
        return numbers[0] if shape.single and len(numbers) == 1 else numbers
    if shape.sort == "points":
        return _points(stripped, shape)
    if shape.sort == "words":
        return [line.strip() for line in stripped.splitlines() if line.strip()]
    if shape.sort == "whole":
        return _number(stripped)
    if shape.sort == "yes or no":
        return {"yes": True, "true": True, "no": False, "false": False}.get(stripped.lower(), stripped)
    if shape.sort == "faces":
        return stripped if stripped in shape.choices else _faces(stripped)
    if shape.sort == "date":
        return _date(stripped)
    return text.strip("\r\n") if shape.long else stripped


def quantities_in(raw: Any, shape: Shape, defaults: Mapping[str, str]) -> list[Meant] | None:
    """The quantities a value holds, in order; `None` where some part of it is none."""
    parts: list[Any]
    if shape.sort == "points" and isinstance(raw, list):
        parts = [each for row in raw for each in (row if isinstance(row, list) else [row])]
    else:
        parts = raw if isinstance(raw, list) else [raw]
    found = []
    for part in parts:
        meant = _meant(part, shape, defaults)
        if meant is None:
            return None
        found.append(meant)
    return found


def _meant(raw: Any, shape: Shape, defaults: Mapping[str, str]) -> Meant | None:
    if isinstance(raw, bool) or not isinstance(raw, str | int | float) or raw in shape.choices:
        return None
    text = raw if isinstance(raw, str) else repr(raw)
    for kind in shape.kinds:
        default = defaults.get(kind) if len(shape.kinds) == 1 else None
        try:
            read = parse(text, kind, default)
        except UnitFault:
            continue
        return Meant(read.si, kind, read.unit)
    return None


def example_of(shape: Shape) -> str:
    """What one might type, for an empty field."""
    if shape.sort in ("quantity", "price") and shape.kinds:
        return example(shape.kinds[0])
    return {
        "numbers": "one after another, with commas",
        "points": "one point a line: across, up",
        "words": "one a line",
        "faces": "all, or numbers: 1, 3",
        "date": "2026-11-02",
    }.get(shape.sort, "")


def _joined(values: list[Any]) -> str:
    return ", ".join(_scalar_text(value) for value in values)


def _scalar_text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return str(value)


def _number(text: str) -> Any:
    if _WHOLE.fullmatch(text):
        return int(text)
    return float(text) if _DECIMAL.fullmatch(text) else text


def _split(text: str) -> list[str]:
    return [part.strip() for part in re.split(r"[,;\n]", text) if part.strip()]


def _points(text: str, shape: Shape) -> list[Any]:
    rows = [[_number(part) for part in _split(line)] for line in re.split(r"[;\n]", text) if line.strip()]
    # A pair that stands alone stays as short as people write it.
    return rows[0] if shape.single and len(rows) == 1 and len(rows[0]) == 2 else rows


def _faces(text: str) -> Any:
    numbers = [_number(part) for part in _split(text)]
    if any(not isinstance(number, int) for number in numbers):
        return text
    return numbers[0] if len(numbers) == 1 else numbers


def _date(text: str) -> Any:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return text
