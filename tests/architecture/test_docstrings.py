"""Rooms and formulas say what they are."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from orthostat.catalogue import UnknownRow, reference
from tests.architecture.project import SOURCE, modules

SHORTEST = 40
"""A room's docstring with fewer letters does not say what comes in and what goes out."""

NEEDS_NO_WORK = ("definition", "geometry", "statics", "derived")
"""What stands for a source where anyone can check the result with pencil and paper."""


def formulas() -> Iterator[tuple[Path, ast.FunctionDef]]:
    for path in modules():
        if path.relative_to(SOURCE).parts[0] == "formulas":
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


@pytest.mark.parametrize(
    ("path", "formula"),
    [pytest.param(path, node, id=f"{path.stem}.{node.name}") for path, node in formulas()],
)
def test_a_formula_states_equation_source_and_a_worked_number(path: Path, formula: ast.FunctionDef) -> None:
    said = ast.get_docstring(formula) or ""
    assert re.search(r"[=≤≥∝]|\binverse of\b", said), "no equation"
    assert re.search(r"\b(give|gives|gave)\b.*\d", said, re.DOTALL) or ">>>" in said, "no worked number"
    assert re.search(r"[Ss]ources?:", said), "no source"


def cited(said: str) -> list[str]:
    """The sources named in a docstring, each as `key, where`."""
    text = " ".join(said.split())
    listed = re.findall(r"[Ss]ources?: (.+?)(?:\. (?=[A-Z])|\.?$)", text)
    return [one.strip(" .") for each in listed for one in each.split("; ")]


def test_a_formula_names_works_of_the_bibliography() -> None:
    unknown = []
    for path, node in formulas():
        for source in cited(ast.get_docstring(node) or ""):
            if source.startswith(NEEDS_NO_WORK):
                continue
            try:
                reference(source)
            except UnknownRow:
                unknown.append((f"{path.stem}.{node.name}", source))
    assert unknown == []
