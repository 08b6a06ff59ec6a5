"""Who may import which library. A library is declared, and stays in the rooms that own it."""

import ast
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from architecture.project import ROOT, SOURCE, modules, packaging

DISTRIBUTIONS = {
    "OCP": "cadquery-ocp-novtk",
    "skfem": "scikit-fem",
    "tree_sitter": "tree-sitter",
    "tree_sitter_toml": "tree-sitter-toml",
}
"""Import names that differ from the name in `pyproject.toml`."""

OWNERS = {
    "anyio": {"web"},
    "jinja2": {"web"},
    "markupsafe": {"web"},
    "starlette": {"web"},
    "uvicorn": {"web"},
    "OCP": {"book"},
    "ezdxf": {"book"},
    "typst": {"book"},
    "xlsxwriter": {"book"},
    "pint": {"base"},
    "pydantic": {"document"},
    "pydantic_core": {"document"},
    "resvg_py": {"presentation"},
    "rich": {"cli"},
    "tomlkit": {"document"},
    "tree_sitter": {"document"},
    "tree_sitter_toml": {"document"},
}
"""Libraries that only some rooms may import; the others are free to every room above `base`."""

BARE = {"base", "model"}
"""Rooms that import no library at all but those they own."""


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module.partition(".")[0]


def uses() -> set[tuple[str, str]]:
    """Pairs of room and library."""
    ours = sys.stdlib_module_names | {"orthostat"}
    return {
        (path.relative_to(SOURCE).parts[0], library)
        for path in modules()
        for library in imported(path)
        if library not in ours
    }


def names_of(requirements: list[str]) -> set[str]:
    return {re.split(r"[^\w.-]", text, maxsplit=1)[0] for text in requirements}


def test_every_library_is_declared() -> None:
    project = packaging()["project"]
    declared = names_of(project["dependencies"])
    for extra in project.get("optional-dependencies", {}).values():
        declared |= names_of(extra)
    # A validation case may ask a general-purpose library for a second opinion where there is one.
    opinions = names_of(packaging()["dependency-groups"]["dev"])
    for room, library in sorted(uses()):
        allowed = declared | opinions if room == "validation" else declared
        name = DISTRIBUTIONS.get(library, library.replace("_", "-"))
        assert name in allowed, f"{room} imports {library}, which pyproject.toml does not declare"


def test_libraries_stay_in_the_rooms_that_own_them() -> None:
    strays = [(room, name) for room, name in sorted(uses()) if name in OWNERS and room not in OWNERS[name]]
    assert strays == []


def test_the_ground_floor_imports_no_library() -> None:
    strays = [
        (room, name) for room, name in sorted(uses()) if room in BARE and room not in OWNERS.get(name, set())
    ]
    assert strays == []


def test_fit_is_checked_without_the_heavy_libraries() -> None:
    """Rules say what they need by type only, so that a check of fit starts quickly."""
    code = (
        "import sys, orthostat; "
        "orthostat.open_shop('examples/saltmarsh').column('harbour').evaluate().findings(only='fit'); "
        "heavy = {'numpy', 'scipy', 'shapely', 'skfem', 'clarabel', 'pint', 'tomlkit'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    found = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, encoding="utf-8", cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
    )  # fmt: skip
    assert found.stdout.strip() == "[]"
