"""Remaking the lock files from `pyproject.toml`."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from runner.environment import DEVELOPER_LOCK, PROJECT, RUNTIME_LOCK, Environment
from runner.page import PAGE_LOCK

_OPTIONS = (
    "--universal",
    "--python-version",
    "3.11",
    "--generate-hashes",
    "--no-emit-index-url",
    "--no-header",
    "--no-config",
    "--only-binary",
    ":all:",
    "--annotation-style",
    "line",
    "--quiet",
)
"""One lock for every system and Python from 3.11 on, wheels only, with no address in it."""


def remake(environment: Environment, arguments: Sequence[str]) -> int:
    """Write the locks anew. Versions stay as they are unless `arguments` say otherwise.

    `arguments` go to uv: `--upgrade`, or `--upgrade-package NAME`.
    """
    runtime = ["--group", "build", "-o", RUNTIME_LOCK]
    developer = ["--group", "build", "--group", "dev", "-c", RUNTIME_LOCK, "-o", DEVELOPER_LOCK]
    page = ["--group", "page", "-o", PAGE_LOCK]
    for source, output in (([PROJECT], runtime), ([PROJECT], developer), ([], page)):
        command = ["-m", "uv", "pip", "compile", *source, *_OPTIONS, *output, *arguments]
        code = environment.run(command, cwd=environment.root)
        if code != 0:
            return code
    return _without_addresses(environment)


def _without_addresses(environment: Environment) -> int:
    for name in (RUNTIME_LOCK, DEVELOPER_LOCK, PAGE_LOCK):
        if "://" in (environment.root / name).read_text(encoding="utf-8"):
            print(f"{name} holds an address; it would only work where that can be reached", file=sys.stderr)
            return 1
    return 0
