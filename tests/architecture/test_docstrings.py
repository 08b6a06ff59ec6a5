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

NEEDS_NO_WORK = ("definition", "geometry", "statics", "derived", "Green's theorem")
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


EQUATION = re.compile(r"[=≤≥∝]|\binverse of\b")
WORKED_NUMBER = re.compile(r">>>|\b(gives?|gave)\b.*\d|\w: [^.]*\d", re.DOTALL)
NAMED_SOURCE = re.compile(r"\b([Ss]ources?|Reference):|\([A-Z][^)]* \d{4}\)")

ALGORITHMS = {"polygons.clipped"}
"""Procedures with no equation to state."""


@pytest.mark.parametrize(
    ("name", "formula"),
    [
        pytest.param(f"{path.stem}.{node.name}", node, id=f"{path.stem}.{node.name}")
        for path, node in formulas()
    ],
)
def test_a_formula_states_equation_source_and_a_worked_number(name: str, formula: ast.FunctionDef) -> None:
    said = ast.get_docstring(formula) or ""
    assert EQUATION.search(said) or name in ALGORITHMS, "no equation"
    assert WORKED_NUMBER.search(said), "no worked number"
    assert NAMED_SOURCE.search(said), "no source"


def cited(said: str) -> list[str]:
    """The sources named in a docstring, each as `key, where`."""
    text = " ".join(said.split())
    listed = re.findall(r"\b[Ss]ources?: (.+?)(?:\. (?=[A-Z])|\.?$)", text)
    return [one.strip(" .") for each in listed for one in each.split("; ")]


def test_a_formula_names_works_of_the_bibliography() -> None:
    honest = (*references(), *NO_WORK, *NEEDS_NO_WORK)
    unknown = [
        (f"{path.stem}.{node.name}", source)
        for path, node in formulas()
        for source in cited(ast.get_docstring(node) or "")
        if not any(key in source for key in honest)
    ]
    assert unknown == []
