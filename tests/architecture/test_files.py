"""What every file of the project keeps to."""

import re

import pytest

from architecture.project import ROOT, modules, project_files, texts

MOST_LINES = 500

# Put together here, so that this file does not hold what it looks for.
UNFINISHED = re.compile(
    r"\b(" + "|".join(["TO" + "DO", "FIX" + "ME", "X" + "XX", "HA" + "CK", "W" + "IP"]) + r")\b"
)
MACHINE_PATHS = re.compile(r"(?<![\w.:/-])/(?:home|root|Users|work|tmp|opt)/\w|(?<!\w)[A-Z]:\\\\?\w")
REGISTRIES = re.compile(
    "|".join(["pypi" + r"\.org", "python" + "hosted", "npm" + r"js\.(org|com)"]), re.IGNORECASE
)


def holding(pattern: re.Pattern[str], *, apart: tuple[str, ...] = ()) -> list[str]:
    return [
        f"{path}:{number}: {line.strip()[:90]}"
        for path, text in texts()
        if path not in apart
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]


def test_there_are_files_to_look_at() -> None:
    assert {"run.py", "pyproject.toml", "src/orthostat/__init__.py"} <= {path for path, _ in texts()}


def test_nothing_is_marked_unfinished() -> None:
    assert holding(UNFINISHED) == []


def test_no_path_of_one_machine() -> None:
    assert holding(MACHINE_PATHS) == []


def test_no_registry_is_named() -> None:
    assert holding(REGISTRIES) == []


def test_line_ends_are_alike() -> None:
    assert [path for path, text in texts() if text and not text.endswith("\n")] == []
    returns = [path.name for path in project_files() if path.suffix == ".py" and b"\r" in path.read_bytes()]
    assert returns == []


def test_modules_are_short() -> None:
    long = {
        path: text.count("\n")
        for path, text in texts()
        if path.endswith(".py") and text.count("\n") >= MOST_LINES
    }
    assert long == {}


def test_no_room_is_named_for_nothing() -> None:
    vague = {"utils", "util", "helpers", "manager", "common", "core", "misc"}
    assert [
        str(path.relative_to(ROOT)) for path in modules() if vague & set(path.with_suffix("").parts[-2:])
    ] == []


def test_file_names_work_on_every_system() -> None:
    names = [path.relative_to(ROOT).as_posix() for path in project_files()]
    assert [name for name in names if re.search(r'[<>:"\\|?*]|[ .](/|$)', name)] == []
    assert [
        name for name in names if {part.split(".")[0].lower() for part in name.split("/")} & DEVICES
    ] == []
    assert len({name.lower() for name in names}) == len(names)


DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
"""Names Windows keeps for itself."""


@pytest.mark.parametrize("name", ["README.md", "CHANGELOG.md", "CONTRIBUTING.md", "LICENSE"])
def test_what_a_stranger_looks_for_is_there(name: str) -> None:
    assert len((ROOT / name).read_text(encoding="utf-8")) > 200
