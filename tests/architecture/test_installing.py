"""What is installed is whole: the wheel holds the catalogue and the examples, and starts light."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from architecture.project import ROOT

HEAVY = (
    "anyio",
    "clarabel",
    "jinja2",
    "numpy",
    "pint",
    "pydantic",
    "rich",
    "scipy",
    "shapely",
    "skfem",
    "starlette",
    "tomlkit",
    "tree_sitter",
    "uvicorn",
)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built as pip would, with the backend that is in the lock."""
    folder = tmp_path_factory.mktemp("wheel")
    build = f"from hatchling.build import build_wheel; print(build_wheel({str(folder)!r}))"
    done = subprocess.run(
        [sys.executable, "-c", build], cwd=ROOT, capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stderr
    (made,) = folder.glob("*.whl")
    return made


def test_the_wheel_holds_all_that_the_source_holds(wheel: Path) -> None:
    source = {
        "orthostat/" + path.relative_to(ROOT / "src" / "orthostat").as_posix()
        for path in (ROOT / "src" / "orthostat").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and path.suffix != ".pyc"
    }
    examples = {
        "orthostat/" + path.relative_to(ROOT).as_posix() for path in (ROOT / "examples").rglob("*.toml")
    }
    held = set(zipfile.ZipFile(wheel).namelist())
    assert examples
    assert source | examples <= held
    assert "orthostat/web/static/vendor/three.js" in held


def test_the_wheel_runs_without_the_source(wheel: Path, tmp_path: Path) -> None:
    installed = tmp_path / "installed"
    zipfile.ZipFile(wheel).extractall(installed)
    program = (
        f"import sys; sys.path.insert(0, {str(installed)!r})\n"
        "import orthostat; assert 'installed' in orthostat.__file__, orthostat.__file__\n"
        "from orthostat.cli.main import main\n"
        "sys.exit(main(['new', 'shop']) or main(['check', 'shop', '--only', 'fit']) == 2)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    assert list((tmp_path / "shop" / "columns").glob("*.toml"))


@pytest.mark.parametrize(
    "arguments", [["--help"], ["check", "--help"], []], ids=["help", "help of a verb", "nothing"]
)
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    program = (
        "import sys\n"
        f"sys.path.insert(0, {str(ROOT / 'src')!r})\n"
        "from orthostat.cli.main import main\n"
        "try:\n"
        f"    main({arguments!r})\n"
        "except SystemExit as end:\n"
        "    assert not end.code, end.code\n"
        f"print('loaded:', [name for name in {HEAVY!r} if name in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stderr
    assert "usage: orthostat" in done.stdout
    assert done.stdout.splitlines()[-1] == "loaded: []"
