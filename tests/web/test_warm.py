"""What an engine answers after a long series of edits is what a fresh one answers of the same document."""

import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from orthostat.document.editing import Edit
from orthostat.document.reading import KeyPath
from orthostat.web.asking import Ask, Design
from orthostat.web.worker import Engine

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/columns/*.toml"))
PLACES: tuple[KeyPath, ...] = (
    ("height",),
    ("body", "plate"),
    ("body", "wall"),
    ("tubes", 0, "wall"),
    ("studs", 0, "torque"),
    ("stations", 0, "at"),
    ("stations", 0, "cuts", 0, "depth"),
)


def _value(data: Any, path: KeyPath) -> Any:
    for part in path:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _changed(value: Any, by: float) -> Any:
    """A number, a text that begins with one, or the last of a list, greater by a share."""
    if isinstance(value, list):
        return [*value[:-1], _changed(value[-1], by)]
    if isinstance(value, int | float):
        return round(value * (1.0 + by), 6)
    number, _, unit = value.partition(" ")
    return value if "/" in value else f"{round(float(number) * (1.0 + by), 6)} {unit}"


def _designs(file: Path) -> list[Design]:
    shop, text = (file.parents[1] / "shop.toml").read_text("utf-8"), file.read_text("utf-8")
    data = tomllib.loads(text)
    edits = [
        (Edit("set", path, _changed(value, by)),)
        for path in PLACES
        if (value := _value(data, path)) is not None
        for by in (0.02, 0.05)
    ]
    return [Design(str(file.parents[1]), file.stem, shop, text, each) for each in ((), *edits, ())]


def _fresh() -> Engine:
    """An engine where nothing is remembered from before, in no module."""
    for name, module in list(sys.modules.items()):
        if name.startswith("orthostat."):
            for kept in list(vars(module).values()):
                if hasattr(kept, "cache_clear"):
                    kept.cache_clear()
    return Engine()


def _ask(engine: Engine, design: Design) -> tuple[Any, Any]:
    """All quick answers and the picture; nothing of ours may have broken."""
    subjects = tuple(s for s in engine.answer(Ask("ready")).subjects if not s.endswith(", in full"))
    found, scene = engine.answer(Ask("findings", design, subjects)), engine.answer(Ask("scene", design))
    assert not found.broke
    assert not found.problems
    return found.found, scene.scene


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_a_warm_engine_answers_as_a_fresh_one(file: Path) -> None:
    warm = _fresh()
    designs = _designs(file)
    answers = [_ask(warm, design) for design in designs]
    assert answers[0] == answers[-1]
    chosen = designs[1 + (len(file.stem) % 2) :: 2]
    for design, answer in zip(designs, answers, strict=True):
        if design in chosen:
            assert answer == _ask(_fresh(), design)
