"""Reading what the browser sends: every part is checked, nothing is taken on trust."""

from __future__ import annotations

from typing import Any

from orthostat.document.editing import Edit
from orthostat.document.entry import value_of
from orthostat.document.fields import Shape, shape_at
from orthostat.document.reading import KeyPath
from orthostat.web.refusals import BadRequest

LONGEST_PATH = 16
MOST_EDITS = 200
LONGEST_TEXT = 20_000


def text(body: dict[str, Any], key: str, *, longest: int = LONGEST_TEXT) -> str:
    """A text of the body; raises `BadRequest` for anything else."""
    value = body.get(key, "")
    if not isinstance(value, str) or len(value) > longest:
        raise BadRequest(f"{key} is a text of at most {longest} letters.")
    return value


def whole(body: dict[str, Any], key: str, *, most: int) -> int:
    """A whole number of the body from 0 to `most`, 0 where it is left out; raises `BadRequest`."""
    value = body.get(key, 0)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise BadRequest(f"{key} is a whole number of at most {most}.")
    return value


def texts(body: dict[str, Any], key: str, *, most: int) -> dict[str, str]:
    """Short texts by name, none where they are left out; raises `BadRequest` for anything else."""
    value = body.get(key, {})
    if (
        not isinstance(value, dict)
        or len(value) > most
        or any(not isinstance(each, str) or len(each) > 200 for pair in value.items() for each in pair)
    ):
        raise BadRequest(f"{key} is at most {most} texts by name.")
    return value


def path(value: Any) -> KeyPath:
    """A key path; raises `BadRequest`."""
    if (
        not isinstance(value, list)
        or not 1 <= len(value) <= LONGEST_PATH
        or any(isinstance(part, bool) or not isinstance(part, str | int) for part in value)
        or any(len(part) > 120 if isinstance(part, str) else not 0 <= part <= 10_000 for part in value)
    ):
        raise BadRequest("A key path is a list of keys and indices.")
    return tuple(value)


def paths(value: Any) -> list[KeyPath]:
    """A list of key paths; raises `BadRequest`."""
    if not isinstance(value, list) or len(value) > MOST_EDITS:
        raise BadRequest("A list of key paths is wanted.")
    return [path(each) for each in value]


def edits(body: dict[str, Any], document: str) -> tuple[Edit, ...]:
    """The edits of a request on `shop` or `column`; raises `BadRequest`.

    An entry comes as its text; what it means is found from the shape of its key.
    """
    given = body.get("edits")
    if not isinstance(given, list) or not 1 <= len(given) <= MOST_EDITS:
        raise BadRequest("edits is a list of one or more edits.")
    return tuple(_edit(each, document) for each in given)


def _edit(given: Any, document: str) -> Edit:
    if not isinstance(given, dict):
        raise BadRequest("An edit is an object.")
    at = path(given.get("path"))
    shape = shape_at(document, at)
    do = given.get("do")
    if shape is None and do != "remove":
        raise BadRequest("There is no such key.")
    if do == "set" and shape is not None:
        return Edit("set", at, _value(given, shape))
    if do == "open" and shape is not None and shape.sort in ("table", "named"):
        return Edit("set", at, {})
    if do == "append" and shape is not None and shape.sort == "list":
        return Edit("append", at, {})
    if do in ("copy", "rename"):
        name = text(given, "name", longest=120).strip()
        if isinstance(at[-1], str) and not name:
            raise BadRequest("A copy needs a name of its own.")
        return Edit("copy" if do == "copy" else "rename", at, name or None)
    if do in ("remove", "confirm"):
        return Edit("remove" if do == "remove" else "confirm", at)
    raise BadRequest("This is not an edit of that key.")


def _value(given: dict[str, Any], shape: Shape) -> Any:
    if shape.sort in ("table", "list", "named"):
        raise BadRequest("A table is edited key by key.")
    return value_of(text(given, "text"), shape)
