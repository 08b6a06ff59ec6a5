"""From files to documents: every fault of a file becomes a `Problem`, all in one pass."""

from __future__ import annotations

import difflib
import re
import tomllib
import types
import typing
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.lines import Lines

LARGEST = 4_000_000
"""Bytes; a shop or column of more is not one that a person wrote."""

Document = TypeVar("Document", bound=BaseModel)
KeyPath = tuple[str | int, ...]


def read_text(path: Path, shown: str) -> str:
    """The text of a document; raises `DocumentError` for a file that is no text of ours."""
    try:
        if path.stat().st_size > LARGEST:
            raise _refused(
                shown, f"is larger than {LARGEST // 1_000_000} MB; a shop document is a few pages of text"
            )
        raw = path.read_bytes()
    except FileNotFoundError:
        raise _refused(shown, "there is no such file") from None
    except IsADirectoryError:
        raise _refused(shown, "is a folder, not a file") from None
    except PermissionError:
        raise _refused(shown, "may not be read; check its permissions") from None
    except OSError as fault:
        raise _refused(shown, f"can't be read ({fault.strerror or fault})") from None
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refused(shown, "is UTF-16 text; save it as UTF-8")
    if b"\x00" in raw:
        raise _refused(shown, "is a binary file, not TOML text")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        problem = Problem(
            shown, "is not UTF-8 text; save it as UTF-8", line=line, read=repr(raw[fault.start : fault.end])
        )
        raise DocumentError([problem]) from None


def parse_toml(text: str, shown: str) -> dict[str, Any]:
    """TOML text as a dictionary; raises `DocumentError` naming every place where it breaks."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise DocumentError(_syntax_problems(text, shown, str(fault))) from None
    except RecursionError:
        raise _refused(shown, "is nested too deeply") from None
    except ValueError as fault:
        raise _refused(shown, f"holds a value that can't be read ({fault})") from None


def validate(
    model: type[Document], data: Mapping[str, Any], *, text: str, shown: str, units: Mapping[str, str]
) -> Document:
    """`data` as a document; raises `DocumentError` with every fault, its line and what is allowed."""
    try:
        return model.model_validate(data, context={"units": units})
    except ValidationError as faults:
        raise DocumentError(_problems(faults, model, Lines(text), shown)) from None
    except RecursionError:
        raise _refused(shown, "is nested too deeply") from None


def with_parts_of(read: Any, before: Any, data: Any) -> Any:
    """`data` with each part that is the very one in `before` as it was `read` from there.

    Only whole parts are handed on: a reader takes them as they are, while it wants a pair of numbers raw.
    """
    if data is before and isinstance(read, BaseModel):
        return read
    if isinstance(data, dict) and isinstance(before, dict) and isinstance(read, BaseModel | dict):
        known = read if isinstance(read, dict) else read.__dict__
        return {key: with_parts_of(known.get(key), before.get(key), inner) for key, inner in data.items()}
    if isinstance(data, list) and isinstance(before, list) and isinstance(read, tuple):
        inside = zip(read, before, data, strict=False)
        same = [with_parts_of(*each) for each in inside] if len(read) == len(before) else []
        return [*same, *data[len(same) :]]
    return data


@lru_cache(maxsize=8192)
def key_text(path: KeyPath) -> str:
    """`("stations", 0, "at")` as `stations[0].at`, as people count in TOML files: from 0."""
    parts: list[str] = []
    for part in path:
        if isinstance(part, int):
            parts.append(f"[{part}]")
        elif re.fullmatch(r"[A-Za-z0-9_-]+", part):
            parts.append(f".{part}" if parts else part)
        else:
            parts.append(f'."{part}"' if parts else f'"{part}"')
    return "".join(parts)


def nearest(word: str, allowed: typing.Iterable[str]) -> str | None:
    """The allowed word most like `word`, if any is like it."""
    found = difflib.get_close_matches(word.lower(), {name.lower(): name for name in allowed}, 1, 0.6)
    return next((name for name in allowed if found and name.lower() == found[0]), None)


def _refused(shown: str, message: str) -> DocumentError:
    return DocumentError([Problem(shown, message)])


def _syntax_problems(text: str, shown: str, message: str) -> list[Problem]:
    found = re.search(r"\(at line (\d+), column \d+\)", message)
    first = int(found[1]) if found else None
    said = re.sub(r"\s*\(at .*\)$", "", message)
    problems = [Problem(shown, f"is not TOML: {said}", line=first, allowed='key = "value with unit"')]
    seen = {first}
    for line, snippet in Lines(text).broken:
        if line not in seen and (first is None or abs(line - first) > 1):
            seen.add(line)
            problems.append(Problem(shown, "is not TOML here", line=line, read=snippet))
    return problems


def _problems(faults: ValidationError, model: type[BaseModel], lines: Lines, shown: str) -> list[Problem]:
    by_place: dict[KeyPath, list[Any]] = {}
    for fault in faults.errors(include_url=False):
        by_place.setdefault(_real_path(fault["loc"]), []).append(fault)
    problems = [_problem(path, found, model, lines, shown) for path, found in by_place.items()]
    return sorted(problems, key=lambda problem: problem.line or 0)


def _real_path(location: tuple[str | int, ...]) -> KeyPath:
    """Pydantic's location without the tags it adds for unions and validators."""
    return tuple(
        part
        for part in location
        if isinstance(part, int)
        or not re.match(r"(literal\[|function-|tuple\[|constrained-|lax-or-strict|is-instance|\[key\])", part)
    )


def _problem(
    path: KeyPath,
    faults: list[Any],
    model: type[BaseModel],
    lines: Lines,
    shown: str,
) -> Problem:
    fault, where, line = faults[0], key_text(path), lines.line_of(path)
    kind = fault["type"]
    read = "" if kind == "missing" else _short(fault["input"])
    if kind == "extra_forbidden":
        allowed = keys_at(model, path[:-1])
        guess = nearest(str(path[-1]), allowed)
        message = f"unknown key; did you mean `{guess}`?" if guess else "unknown key"
        return Problem(shown, message, where, line, read, ", ".join(sorted(allowed)))
    if kind == "missing":
        return Problem(shown, "is missing", where, line, "", "")
    messages: list[str] = []
    allowed_text = ""
    for one in faults:
        if one["type"] == "literal_error":
            allowed_text = one["ctx"]["expected"].replace("'", "`")
        else:
            messages.append(_bound(one) or _MESSAGES.get(one["type"], one["msg"]))
    if not messages:
        words = re.findall(r"`([^`]*)`", allowed_text)
        guess = nearest(str(fault["input"]), words)
        messages.append(
            f"is not a word we know; did you mean `{guess}`?" if guess else "is not a word we know"
        )
    return Problem(shown, "; ".join(dict.fromkeys(messages)), where, line, read, allowed_text)


def _bound(fault: Any) -> str:
    """What a number may be that lies outside its bounds; empty for other faults."""
    words = {"ge": "{} or more", "le": "{} or less", "gt": "more than {}", "lt": "less than {}"}
    ends = (text.format(fault["ctx"][key]) for key, text in words.items() if key in fault.get("ctx", {}))
    return next((f"must be {end}" for end in ends), "")


_MESSAGES = {
    "string_type": "text in quotes is wanted",
    "model_type": "a table of keys is wanted",
    "dict_type": "a table of names is wanted",
    "tuple_type": "a list is wanted",
    "bool_type": "true or false is wanted",
    "int_type": "a whole number is wanted",
    "string_too_short": "must not be empty",
    "string_too_long": "is too long",
    "date_from_datetime_parsing": "a date such as 2026-11-02 is wanted",
    "date_type": "a date such as 2026-11-02 is wanted",
}


def _short(value: Any) -> str:
    text = f"`{value}`" if isinstance(value, str) else repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def keys_at(model: type[BaseModel], path: KeyPath) -> list[str]:
    """The keys a document of `model` may have at `path`; empty where any name goes."""
    at: Any = model
    for part in path:
        at = _step(at, part)
    return list(at.model_fields) if isinstance(at, type) and issubclass(at, BaseModel) else []


def is_list(model: type[BaseModel], path: KeyPath) -> bool:
    """Whether a document of `model` has a list of tables at `path`."""
    at: Any = model
    for part in path:
        at = _step(at, part)
    return isinstance(at, tuple) and bool(at) and at[0] is tuple


def _step(at: Any, part: str | int) -> Any:
    if isinstance(at, type) and issubclass(at, BaseModel) and isinstance(part, str):
        field = at.model_fields.get(part)
        return _inner(field.annotation) if field else None
    if isinstance(at, tuple) and at and at[0] in (dict, tuple):
        return at[1]
    return None


def _inner(annotation: Any) -> Any:
    """The model inside an annotation: itself, or `(dict | tuple, model)` for a table or list of it."""
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        return _inner(typing.get_args(annotation)[0])
    if origin in (typing.Union, types.UnionType):
        found = [_inner(part) for part in typing.get_args(annotation)]
        return next((part for part in found if part is not None), None)
    if origin is dict:
        return (dict, _inner(typing.get_args(annotation)[1]))
    if origin is tuple:
        return (tuple, _inner(typing.get_args(annotation)[0]))
    return annotation if isinstance(annotation, type) and issubclass(annotation, BaseModel) else None
