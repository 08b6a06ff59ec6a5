"""The import contracts hold, and would notice if they did not."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from architecture.project import ROOT, packaging, rooms

LINT = "from importlinter.cli import lint_imports_command; lint_imports_command()"


def lint_imports(folder: Path, source: Path) -> subprocess.CompletedProcess[str]:
    program = f"import sys; sys.path.insert(0, {str(source)!r}); {LINT}"
    return subprocess.run(
        [sys.executable, "-c", program, "--no-cache"],
        cwd=folder,
        env={**os.environ, "PYTHONUTF8": "1"},  # it draws with letters that some consoles lack
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


def test_the_rooms_import_downwards_only() -> None:
    done = lint_imports(ROOT, ROOT / "src")
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_room_is_declared() -> None:
    (contract,) = (
        each
        for each in packaging()["tool"]["importlinter"]["contracts"]
        if each["containers"] == ["orthostat"]
    )
    declared = {room.strip(" ()") for layer in contract["layers"] for room in layer.split("|")}
    assert set(rooms()) <= declared
    assert contract["exhaustive"] is True


@pytest.mark.parametrize(
    ("path", "content"),
    [
        ("base/sideways.py", "import orthostat.presentation"),
        ("cellar/__init__.py", ""),
        ("analyses/attic.py", ""),
        ("analyses/reach.py", "import orthostat.analyses.hold"),
        ("model/sideways.py", "import orthostat.analyses"),
    ],
)
def test_a_breach_is_noticed(tmp_path: Path, path: str, content: str) -> None:
    package = tmp_path / "src" / "orthostat"
    for room in ("base", "model", "analyses", "presentation"):
        (package / room).mkdir(parents=True)
        (package / room / "__init__.py").touch()
    (package / "__init__.py").touch()
    for name in ("hold.py", "reach.py"):
        (package / "analyses" / name).touch()
    (tmp_path / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
    before = lint_imports(tmp_path, tmp_path / "src")
    assert before.returncode == 0, before.stdout + before.stderr

    (package / path).parent.mkdir(exist_ok=True)
    (package / path).write_text(content + "\n", encoding="utf-8")
    after = lint_imports(tmp_path, tmp_path / "src")
    assert after.returncode == 1, after.stdout + after.stderr
    assert "BROKEN" in after.stdout or "not" in after.stdout
