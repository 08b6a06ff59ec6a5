"""What `run.py` hands to whom, and with which exit code."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from runner import gate, verbs
from runner.environment import CannotRun, Environment

ROOT = Path(verbs.__file__).parents[1]


class Ran:
    """Notes what would have run in the environment; answers with the exit codes given."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.commands: list[list[str]] = []
        self.codes: dict[str, int] = {}
        self.developer: list[bool] = []
        self.pages: list[Environment] = []
        self.at_a_desk = False
        monkeypatch.setattr(Environment, "prepare", self.prepare)
        monkeypatch.setattr(Environment, "run", self.run)
        monkeypatch.setattr(verbs, "prepare_page", self.prepare_page)
        monkeypatch.setattr(verbs, "_at_a_desk", lambda: self.at_a_desk)

    def prepare_page(self, made: Environment, *, developer: bool = False) -> None:
        del developer
        self.pages.append(made)

    def prepare(self, *, developer: bool = False) -> None:
        self.developer.append(developer)

    def run(
        self, arguments: list[str], *, cwd: Path | None = None, variables: dict[str, str] | None = None
    ) -> int:
        del cwd, variables
        self.commands.append(arguments)
        return next((code for word, code in self.codes.items() if word in arguments), 0)


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Ran:
    monkeypatch.chdir(tmp_path)
    return Ran(monkeypatch)


@pytest.mark.parametrize(("found", "code"), [(0, 0), (1, 0), (2, 2)])
def test_the_first_job_makes_a_shop_and_checks_it(
    ran: Ran, capsys: pytest.CaptureFixture[str], found: int, code: int
) -> None:
    ran.codes["check"] = found
    assert verbs.main([]) == code
    assert ran.commands == [
        ["-m", "orthostat", "new", "demo-shop"],
        ["-m", "orthostat", "check", "demo-shop", "--quick", "--open"],
    ]
    assert ("Next:" in capsys.readouterr().out) is (code == 0)


def test_the_page_opens_where_somebody_sits(ran: Ran) -> None:
    ran.at_a_desk = True
    assert verbs.main([]) == 0
    assert ran.commands[-1] == ["-m", "orthostat", "sheet", "demo-shop"]
    assert len(ran.pages) == 1
    ran.codes["check"] = 2
    assert verbs.main([]) == 2
    assert ran.commands[-1][:4] == ["-m", "orthostat", "check", "demo-shop"]


@pytest.mark.parametrize("answers", [{"CI": "true"}, {}])
def test_nobody_sits_in_ci_nor_behind_a_pipe(
    monkeypatch: pytest.MonkeyPatch, answers: dict[str, str]
) -> None:
    monkeypatch.delenv("CI", raising=False)
    for name, value in answers.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr("sys.stdin.isatty", lambda: bool(answers), raising=False)
    assert verbs._at_a_desk() is False


def test_a_shop_that_is_there_is_kept_and_its_columns_named(
    ran: Ran, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "demo-shop" / "columns").mkdir(parents=True)
    (tmp_path / "demo-shop" / "columns" / "quay.toml").touch()
    assert verbs.main([]) == 0
    build = str(Path("demo-shop") / "build")
    assert ran.commands == [
        ["-m", "orthostat", "check", "demo-shop", "--quick", "--open"],
        ["-m", "orthostat", "book", "demo-shop", "quay", "--to", build],
    ]
    assert "check demo-shop quay" in capsys.readouterr().out


def test_a_shop_that_cannot_be_made_ends_the_run(ran: Ran) -> None:
    ran.codes["new"] = 2
    assert verbs.main([]) == 2
    assert len(ran.commands) == 1


def test_anything_else_goes_to_the_command_line_with_its_exit_code(ran: Ran) -> None:
    ran.codes["check"] = 1
    assert verbs.main(["check", "my shop", "--json"]) == 1
    assert ran.commands == [["-m", "orthostat", "check", "my shop", "--json"]]
    assert ran.developer == [False]


def test_pytest_gets_what_follows_test(ran: Ran, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    ran.codes["pytest"] = 1
    assert verbs.main(["test", "tests/unit", "-x"]) == 1
    assert verbs.main(["test", "-n", "0"]) == 1
    assert ran.commands == [
        ["-m", "pytest", "-n", "2", "--dist", "worksteal", "tests/unit", "-x"],
        ["-m", "pytest", "-n", "0"],
    ]
    assert ran.developer == [True, True]


def test_the_gate_runs_all_and_fails_when_one_does(ran: Ran, capsys: pytest.CaptureFixture[str]) -> None:
    assert verbs.main(["gate"]) == 0
    assert len(ran.commands) == len(gate.STATIC) + 1
    ran.codes["mypy"] = 1
    assert verbs.main(["gate", "--static"]) == 1
    assert "types FAILS" in capsys.readouterr().out
    assert verbs.main(["gate", "--quick"]) == 2


def test_an_environment_that_cannot_be_made_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(self: Environment, *, developer: bool = False) -> None:
        raise CannotRun("say this")

    monkeypatch.setattr(Environment, "prepare", refuse)
    assert verbs.main(["check"]) == 3
    assert capsys.readouterr().err == "say this\n"


def test_an_old_python_can_read_the_script() -> None:
    text = (ROOT / "run.py").read_text(encoding="ascii")
    tree = ast.parse(text, feature_version=(3, 4))
    newer = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.Match, ast.AsyncFunctionDef)
    assert not any(isinstance(node, newer) for node in ast.walk(tree))


def test_an_old_python_is_told_what_is_needed() -> None:
    program = (
        "import sys, runpy\n"
        "sys.version_info = (3, 8, 1)\n"
        f"runpy.run_path({str(ROOT / 'run.py')!r}, run_name='__main__')"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 1
    assert "needs Python 3.11 or newer; this is Python 3.8" in done.stderr
