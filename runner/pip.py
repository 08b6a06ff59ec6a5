"""Running pip with a line of progress in place of its pages of output."""

from __future__ import annotations

import subprocess
import sys
from collections import deque
from pathlib import Path

_COMMAND = ("-m", "pip", "--disable-pip-version-check", "--no-input", "install")
_OPTIONS = ("--progress-bar", "off", "--no-user")
_LINES_SHOWN = 25


class InstallFailed(Exception):
    """pip gave up; the message holds its last lines."""


def pip_install(python: Path, arguments: list[str], variables: dict[str, str]) -> None:
    """Run `pip install` with `arguments`. Raises `InstallFailed`."""
    last: deque[str] = deque(maxlen=_LINES_SHOWN)
    progress = _Progress()
    with subprocess.Popen(
        [str(python), *_COMMAND, *_OPTIONS, *arguments],
        env=variables,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    ) as process:
        for line in process.stdout or ():
            if not line.startswith("Ignoring "):  # entries of the lock for other systems
                last.append(line.rstrip())
            progress.heard(line)
    progress.close()
    if process.returncode != 0:
        raise InstallFailed("\n".join(["pip could not install:", *last]))


class _Progress:
    """One line, rewritten on a terminal; silent elsewhere."""

    def __init__(self) -> None:
        self._shown = sys.stderr.isatty()
        self._count = 0

    def heard(self, line: str) -> None:
        if line.startswith("Collecting "):
            self._count += 1
            self._show(f"{self._count:4d}  {line.split()[1]}")
        elif line.startswith("Installing collected packages"):
            self._show(f"{self._count:4d}  fetched; unpacking, which takes a moment")

    def close(self) -> None:
        if self._shown:
            print("\r" + " " * 78 + "\r", end="", file=sys.stderr, flush=True)

    def _show(self, text: str) -> None:
        if self._shown:
            print("\r" + text[:78].ljust(78), end="", file=sys.stderr, flush=True)
