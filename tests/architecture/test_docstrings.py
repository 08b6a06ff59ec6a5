"""Rooms and formulas say what they are."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from architecture.project import modules
from orthostat.catalogue import references
from orthostat.catalogue.bibliography import NO_WORK

SHORTEST = 40
"""A room's docstring with fewer letters does not say what comes in and what goes out."""

NO_FORMULAS = {"exempt"}
"""Modules of the room that hold something else."""

NEEDS_NO_WORK = ("Source: definition", "Source: geometry", "Source: statics", "Source: derived")
"""What stands for a source where anyone can check the result with pencil and paper."""


def formulas() -> Iterator[tuple[Path, ast.FunctionDef]]:
    for path in modules():
        if path.parent.name == "formulas" and path.stem not in NO_FORMULAS:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            for node in tree.body:
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                    yield path, node


@pytest.mark.parametrize(
    "path",
    [path for path in modules() if path.name == "__init__.py"],
    ids=lambda path: path.parent.name,
)
def test_a_room_says_what_it_is(path: Path) -> None:
    said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert said is not None
    assert len(said) >= SHORTEST


EQUATION = re.compile(r"[=≤≥∝√²³⁴·^]|[\w)] ?/ ?[\w(]|\bexp\(|\binverse of\b")
WORKED_NUMBER = re.compile(r">>>|\b(gives?|gave|has|have)\b.*\d|\w: [^.]*\d", re.DOTALL)
TITLE = re.compile(r"\bReference: \S|\([A-Z][^)]* \d{4}\)")
"""A work named by its title or its authors and year, where it is not named by key."""

ALGORITHMS = {"polygons.clipped", "polygons.convex_hull", "polygons.sides"}
"""Procedures with no equation to state."""

NUMBER_IN_WORDS = {"packing.linear_packing"}
"""Worked examples that need no figures."""


@pytest.mark.parametrize(
    ("name", "formula"),
    [
        pytest.param(f"{path.stem}.{node.name}", node, id=f"{path.stem}.{node.name}")
        for path, node in formulas()
    ],
)
def test_a_formula_states_equation_worked_number_and_source(name: str, formula: ast.FunctionDef) -> None:
    said = " ".join((ast.get_docstring(formula) or "").split())
    assert EQUATION.search(said) or name in ALGORITHMS, "no equation"
    assert WORKED_NUMBER.search(said) or name in NUMBER_IN_WORDS, "no worked number"
    named = any(key in said for key in (*references(), *NO_WORK, *NEEDS_NO_WORK))
    assert named or TITLE.search(said), "no source that the bibliography knows"
