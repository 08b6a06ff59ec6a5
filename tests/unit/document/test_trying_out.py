"""Edits that are tried out on a text, key after key, give what a reader gives that read nothing before."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from orthostat.base.problems import DocumentError, Problem
from orthostat.document import folder as folders
from orthostat.document import quantities
from orthostat.document.column import Column
from orthostat.document.editing import Edit
from orthostat.document.folder import ShopFolder
from orthostat.document.reading import KeyPath, key_text, parse_toml

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
COLUMNS = sorted(file.relative_to(EXAMPLES) for file in EXAMPLES.glob("*/columns/*.toml"))


def _leaves(value: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*path, key))
    elif isinstance(value, list) and any(isinstance(each, dict | list) for each in value):
        for index, inner in enumerate(value):
            yield from _leaves(inner, (*path, index))
    else:
        yield path, value


def _changed(value: Any) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, list):
        return [_changed(each) for each in value]
    number = re.match(r"-?\d+(\.\d+)?", value) if isinstance(value, str) else None
    return f"{1.02 * float(number[0]) + 0.5}{value[number.end() :]}" if number else f"{value}x"


def _read(
    folder: ShopFolder, name: str, text: str, edits: tuple[Edit, ...] = ()
) -> Column | tuple[Problem, ...]:
    try:
        return folder.column_of(name, text, edits).document  # type: ignore[no-any-return]  # read as this
    except DocumentError as error:
        return error.problems


def _forget() -> None:
    folders._parsed.cache_clear()
    folders._unedited.cache_clear()
    quantities._read.cache_clear()


@pytest.mark.parametrize("file", COLUMNS, ids=lambda file: file.stem)
def test_every_field_reads_alike_with_and_without_what_was_read_before(file: Path) -> None:
    folder = ShopFolder(EXAMPLES / file.parts[0])
    text = (EXAMPLES / file).read_text("utf-8")
    as_it_is = _read(folder, file.stem, text)
    tried = [
        (Edit("set", path, _changed(value)), Edit("remove", path))
        for path, value in _leaves(parse_toml(text, file.name))
    ]
    edits = [(edit,) for pair in tried for edit in pair]
    warm = [_read(folder, file.stem, text, each) for each in edits]
    for each, found in zip(edits, warm, strict=True):
        _forget()
        assert found == _read(folder, file.stem, text, each), key_text(each[0].path)
        if each[0].do == "set":
            assert found != as_it_is, key_text(each[0].path)
    assert _read(folder, file.stem, text) == as_it_is  # what was tried out left no trace
    assert len(edits) > 20
