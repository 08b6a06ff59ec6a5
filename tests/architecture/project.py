"""Where things are in the project, and what its packaging says."""

from __future__ import annotations

import subprocess
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "orthostat"
LOCKS = ("requirements.lock", "requirements-dev.lock", "requirements-page.lock")

_NOT_OURS = {
    ".git", ".venv", ".hypothesis", ".mypy_cache", ".pytest_cache", ".ruff_cache", ".import_linter_cache",
    "__pycache__", "node_modules", "demo-shop", "dist", "build",
}  # fmt: skip


@cache
def packaging() -> dict[str, Any]:
    """`pyproject.toml`, read."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@cache
def project_files() -> tuple[Path, ...]:
    """Every file of the project: those git tracks or would, else all that is not made by a tool."""
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT,
            capture_output=True,
            check=True,
        ).stdout.decode("utf-8")
        paths = [ROOT / name for name in listed.split("\0") if name]
    except (OSError, subprocess.CalledProcessError):  # a copy without git
        paths = [path for path in ROOT.rglob("*") if not _NOT_OURS & set(path.relative_to(ROOT).parts)]
    return tuple(sorted(path for path in paths if path.is_file()))


@cache
def texts() -> tuple[tuple[str, str], ...]:
    """Path within the project and content of every text file."""
    found = []
    for path in project_files():
        try:
            content = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        found.append((path.relative_to(ROOT).as_posix(), content))
    return tuple(found)


def modules() -> tuple[Path, ...]:
    """Every module of the package, as paths."""
    return tuple(sorted(SOURCE.rglob("*.py")))


def rooms() -> tuple[str, ...]:
    """The subpackages and single modules straight under `orthostat`."""
    packages = {path.parent.name for path in SOURCE.glob("*/*.py")}
    single = {path.stem for path in SOURCE.glob("*.py")} - {"__init__", "__main__"}
    return tuple(sorted(packages | single))
