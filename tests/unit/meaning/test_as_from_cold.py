"""A design opened after many others is what it is where nothing was opened before."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from orthostat.base.problems import DocumentError
from orthostat.document import folder as folders
from orthostat.document import quantities
from orthostat.document.editing import Edit
from orthostat.document.folder import TextFolder
from orthostat.document.reading import KeyPath, parse_toml
from orthostat.evaluation import OpenShop
from orthostat.meaning import kept

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
COLUMNS = sorted(file.relative_to(EXAMPLES) for file in EXAMPLES.glob("*/columns/*.toml"))
OFTEN = 60
"""Edits of each column."""
OTHER_WORDS = ("top", "base plate", "all", "M8", "steel", "hollow", "solid", "filled", "mitred", "butt")
ADDED = (
    Edit("set", ("turn",), "30 deg"),
    Edit("set", ("position",), [3.0, -4.0]),
    Edit("set", ("v_from",), "column foot"),
    Edit("set", ("riser",), {"width": 300, "depth": 300, "thickness": 40, "material": "steel"}),
    Edit("set", ("foot",), {"rim": 30}),
    Edit("append", ("pockets",), {"faces": [1, 2], "depth": 5, "diameter": 40, "at": [0, 200]}),
    Edit("append", ("cleats",), {"faces": "all", "width": 60, "height": 30, "out": 40}),
    Edit("set", ("patterns", 0, "depth"), 60),
    Edit("set", ("body", "corners"), "alternate"),
    Edit("set", ("height",), 400),
)


def _parts(value: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    """Every key path of a document, with what stands there."""
    if path:
        yield path, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _parts(inner, (*path, key))
    elif isinstance(value, list) and any(isinstance(each, dict) for each in value):
        for index, inner in enumerate(value):
            yield from _parts(inner, (*path, index))


def _another(value: Any, chance: random.Random) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return chance.choice([value + 1, 1.01 * value, 0.98 * value, 0.9 * value, float(value), -value])
    if isinstance(value, list):
        return [_another(each, chance) for each in value]
    return chance.choice([*OTHER_WORDS, f"{value}x", f"1{value}"])


def _edits(data: dict[str, Any], chance: random.Random) -> tuple[Edit, ...]:
    """Nothing, one change or two, of which many make no sense."""
    parts = list(_parts(data))
    made = []
    for _ in range(chance.choice([0, 1, 1, 1, 1, 2])):
        path, value = chance.choice(parts)
        kind = chance.random()
        if kind < 0.2:
            made.append(chance.choice(ADDED))
        elif kind < 0.3:
            made.append(Edit("remove", path))
        elif isinstance(value, dict):
            made.append(Edit("copy", path, "another"))
        else:
            made.append(Edit("set", path, _another(value, chance)))
    return tuple(made)


def _opened(shop: OpenShop, name: str, text: str, edits: tuple[Edit, ...]) -> str:
    """All there is of a design, its zeros' signs too, or what is wrong with it, in its order."""
    try:
        return repr(shop.column_as(name, shop.folder.column_of(name, text, edits)).model)
    except DocumentError as error:
        return repr(error.problems)


def _forget() -> None:
    kept.forget()
    folders._parsed.cache_clear()
    folders._unedited.cache_clear()
    quantities._read.cache_clear()


@pytest.mark.parametrize("file", COLUMNS, ids=lambda file: file.stem)
def test_whatever_was_opened_before(file: Path) -> None:
    chance = random.Random(file.stem)
    folder, name = EXAMPLES / file.parts[0], file.stem
    text, stated = (EXAMPLES / file).read_text("utf-8"), (folder / "shop.toml").read_text("utf-8")
    data = parse_toml(text, name)
    denser = Edit("set", ("materials", "steel", "density"), "3000 kg/m^3")
    bare = Edit("remove", ("fixtures",)) if "fixtures" in parse_toml(stated, "shop.toml") else denser
    shops = [(), (denser,), (bare,)]
    warm = [OpenShop(TextFolder(folder, stated, edits)) for edits in shops]
    tried = [(chance.choice((0, 0, 1, 2)), _edits(data, chance)) for _ in range(OFTEN)]
    found = [_opened(warm[which], name, text, edits) for which, edits in tried]
    for (which, edits), once in zip(tried, found, strict=True):
        _forget()
        cold = OpenShop(TextFolder(folder, stated, shops[which]))
        assert once == _opened(cold, name, text, edits), edits
    assert len({each for each in found if each.startswith("Column(")}) > OFTEN // 5
    assert len({each for each in found if each.startswith("(Problem(")}) > OFTEN // 10
