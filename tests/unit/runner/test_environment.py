"""When the environment is made anew, when it is only added to, and when it is left alone."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from runner import environment
from runner.environment import DEVELOPER_LOCK, PROJECT, RUNTIME_LOCK, CannotRun, Environment
from runner.exclusive import exclusive
from runner.pip import InstallFailed


class Installer:
    """Stands in for venv and pip: notes what was asked, and fails when told to."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.fails_on = ""

    def make_anew(self, made: Environment) -> None:
        self.asked.append("anew")
        made.python.parent.mkdir(parents=True, exist_ok=True)
        made.python.touch()

    def pip(self, python: Path, arguments: list[str], variables: dict[str, str]) -> None:
        del python, variables
        name = PROJECT if "--editable" in arguments else Path(arguments[-1]).name
        if name == self.fails_on:
            raise InstallFailed("no connection")
        if name != PROJECT:
            assert "--require-hashes" in arguments
        self.asked.append(name)

    def told(self) -> list[str]:
        told, self.asked = self.asked, []
        return told


@pytest.fixture
def installer(monkeypatch: pytest.MonkeyPatch) -> Installer:
    made = Installer()
    monkeypatch.setattr(Environment, "_make_anew", lambda self: Installer.make_anew(made, self))
    monkeypatch.setattr(environment, "pip_install", made.pip)
    return made


@pytest.fixture
def project(tmp_path: Path) -> Environment:
    root = tmp_path / "a folder with späces"
    root.mkdir()
    for name in (RUNTIME_LOCK, DEVELOPER_LOCK, PROJECT):
        (root / name).write_text(f"{name}\n", encoding="utf-8")
    return Environment(root)


def test_a_first_run_installs_and_the_second_does_nothing(project: Environment, installer: Installer) -> None:
    project.prepare()
    assert installer.told() == ["anew", RUNTIME_LOCK, PROJECT]
    project.prepare()
    assert installer.told() == []


def test_developers_tools_are_added_to_what_is_there(project: Environment, installer: Installer) -> None:
    project.prepare()
    installer.told()
    project.prepare(developer=True)
    assert installer.told() == [DEVELOPER_LOCK]
    project.prepare()
    assert installer.told() == []


@pytest.mark.parametrize("lock", [RUNTIME_LOCK, DEVELOPER_LOCK])
def test_a_changed_lock_makes_it_anew(project: Environment, installer: Installer, lock: str) -> None:
    project.prepare(developer=True)
    installer.told()
    (project.root / lock).write_text("changed\n", encoding="utf-8")
    project.prepare(developer=True)
    assert installer.told() == ["anew", RUNTIME_LOCK, DEVELOPER_LOCK, PROJECT]


def test_a_changed_project_is_only_linked_again(project: Environment, installer: Installer) -> None:
    project.prepare()
    installer.told()
    (project.root / PROJECT).write_text("changed\n", encoding="utf-8")
    project.prepare()
    assert installer.told() == [PROJECT]


def test_line_ends_of_a_lock_do_not_count(project: Environment, installer: Installer) -> None:
    project.prepare()
    installer.told()
    (project.root / RUNTIME_LOCK).write_bytes(f"{RUNTIME_LOCK}\r\n".encode())
    project.prepare()
    assert installer.told() == []


@pytest.mark.parametrize("step", [RUNTIME_LOCK, PROJECT])
def test_an_interrupted_install_begins_afresh(project: Environment, installer: Installer, step: str) -> None:
    installer.fails_on = step
    with pytest.raises(CannotRun, match=r"run the same command again|newer than the libraries"):
        project.prepare()
    installer.fails_on = ""
    installer.told()
    project.prepare()
    assert installer.told() == ["anew", RUNTIME_LOCK, PROJECT]


@pytest.mark.parametrize(
    "harm",
    [
        lambda made: made.python.unlink(),
        lambda made: state_of(made).write_text("{", encoding="utf-8"),
        lambda made: state_of(made).write_text("[]", encoding="utf-8"),
        lambda made: alter(made, "python", "3.11.0"),
    ],
    ids=["Python gone", "state cut short", "state of another shape", "another Python"],
)
def test_a_harmed_environment_is_made_anew(
    project: Environment, installer: Installer, harm: Callable[[Environment], None]
) -> None:
    project.prepare()
    installer.told()
    harm(project)
    project.prepare()
    assert installer.told() == ["anew", RUNTIME_LOCK, PROJECT]


def test_a_moved_folder_is_only_linked_again(
    project: Environment, installer: Installer, tmp_path: Path
) -> None:
    project.prepare()
    installer.told()
    moved = Environment(project.root.rename(tmp_path / "moved"))
    moved.prepare()
    assert installer.told() == [PROJECT]


def state_of(made: Environment) -> Path:
    (state,) = made.folder.glob("*.json")
    return state


def alter(made: Environment, key: str, value: str) -> None:
    state = json.loads(state_of(made).read_text(encoding="utf-8"))
    state["made_for"][key] = value
    state_of(made).write_text(json.dumps(state), encoding="utf-8")


def test_a_missing_lock_is_said(project: Environment, installer: Installer) -> None:
    (project.root / RUNTIME_LOCK).unlink()
    with pytest.raises(CannotRun, match=r"requirements\.lock cannot be read"):
        project.prepare()
    assert installer.told() == []


def test_a_python_without_venv_is_told_what_to_install(
    project: Environment, installer: Installer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    monkeypatch.setattr(sys, "platform", "linux")
    with pytest.raises(CannotRun, match="apt install python3-venv"):
        project.prepare()
    assert installer.told() == []


def test_the_link_to_the_source_is_relative_and_ascii(project: Environment, installer: Installer) -> None:
    project.prepare()
    packages = project.folder / "packages"
    packages.mkdir()
    link = packages / "_orthostat.pth"
    link.write_text(str(project.root / "src"), encoding="utf-8")
    environment.make_link_relative(packages, project.root / "src")
    text = link.read_bytes().decode("ascii").strip()
    assert (packages / text).resolve() == (project.root / "src").resolve()


def test_a_child_sees_nothing_of_another_python(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", "elsewhere")
    monkeypatch.setenv("PYTHONHOME", "elsewhere")
    monkeypatch.setenv("HTTPS_PROXY", "kept")
    variables = environment.child_variables()
    assert not {"PYTHONPATH", "PYTHONHOME"} & set(variables)
    assert variables["HTTPS_PROXY"] == "kept"
    assert variables["PYTHONUTF8"] == "1"


def test_a_second_run_waits_for_the_first(tmp_path: Path) -> None:
    lock = tmp_path / "lock"
    program = (
        "import sys; from pathlib import Path; from runner.exclusive import exclusive\n"
        "with exclusive(Path(sys.argv[1])): print('in', flush=True)"
    )
    root = Path(environment.__file__).parents[1]
    command = [sys.executable, "-c", program, str(lock)]
    with exclusive(lock):
        second = subprocess.Popen(
            command, cwd=root, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
        )
        assert second.stderr is not None
        assert "Waiting" in second.stderr.readline()
    said, _ = second.communicate(timeout=30)
    assert said.strip() == "in"
