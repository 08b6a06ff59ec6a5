"""The checks a change must pass, each a tool run in the environment."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from runner.environment import Environment

_LINT_IMPORTS = "from importlinter.cli import lint_imports_command; lint_imports_command()"

STATIC = (
    ("format", ("-m", "ruff", "format", "--check", ".")),
    ("lint", ("-m", "ruff", "check", ".")),
    ("types", ("-m", "mypy")),
    ("imports", ("-c", _LINT_IMPORTS)),
)
"""Name and arguments of each tool, quickest first. Their settings are in `pyproject.toml`."""

_STRICT = {"PYTHONWARNDEFAULTENCODING": "1"}
"""A file opened with no encoding named warns, and so fails: it would be read otherwise on Windows."""

_MOST_WORKERS = 4
"""Each worker loads the libraries anew; more of them stop paying."""


def test(environment: Environment, arguments: Sequence[str]) -> int:
    """Run pytest with `arguments`, over the cores unless they name a worker count or a debugger."""
    alone = any(argument.startswith(("-n", "--numprocesses", "--pdb", "-s")) for argument in arguments)
    workers = 1 if alone else min(os.cpu_count() or 1, _MOST_WORKERS)
    spread = ["-n", str(workers), "--dist", "worksteal"] if workers > 1 else []
    command = ["-m", "pytest", *spread, *arguments]
    return environment.run(command, cwd=environment.root, variables=_STRICT)


def gate(environment: Environment, arguments: Sequence[str]) -> int:
    """Run every static check, then the tests; 0 when all pass. `--static` leaves the tests out."""
    wrong = [argument for argument in arguments if argument != "--static"]
    if wrong:
        print(f"gate takes --static or nothing, not {' '.join(wrong)}", file=sys.stderr)
        return 2
    outcomes: list[tuple[str, int]] = []
    for name, command in STATIC:
        print(f"== {name}", flush=True)
        outcomes.append((name, environment.run(list(command), cwd=environment.root)))
    if "--static" not in arguments:
        print("== tests", flush=True)
        outcomes.append(("tests", test(environment, ())))
    print("== " + ", ".join(f"{name} {'passes' if code == 0 else 'FAILS'}" for name, code in outcomes))
    return int(any(code != 0 for _, code in outcomes))
