"""The environment in `.venv`: made from the locks, remade when it no longer is what they say.

A state file in `.venv` records what was installed, by digest of the lock. It says `busy` while an
install runs; an environment found busy was interrupted, and is made anew.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import platform
import shutil
import subprocess
import sys
import sysconfig
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from runner.exclusive import exclusive
from runner.pip import InstallFailed, pip_install

RUNTIME_LOCK = "requirements.lock"
DEVELOPER_LOCK = "requirements-dev.lock"
PROJECT = "pyproject.toml"

NEWEST_KNOWN = (3, 14)
"""Newest Python for which every library of the locks was seen to have a ready-made build."""

_STATE = "orthostat-environment.json"
_HIDDEN_VARIABLES = ("PYTHONHOME", "PYTHONPATH", "PYTHONSTARTUP", "__PYVENV_LAUNCHER__")


class CannotRun(Exception):
    """The environment cannot be made; the message says what to do."""


@dataclass(frozen=True, slots=True)
class Environment:
    """The project's own Python in `root/.venv`."""

    root: Path

    @property
    def folder(self) -> Path:
        """Where the environment lives."""
        return self.root / ".venv"

    @property
    def python(self) -> Path:
        """The interpreter of the environment, whether or not it is there yet."""
        name = "python.exe" if os.name == "nt" else "python"
        return Path(sysconfig.get_path("scripts", "venv", {"base": str(self.folder)})) / name

    def run(
        self, arguments: list[str], *, cwd: Path | None = None, variables: Mapping[str, str] | None = None
    ) -> int:
        """Run the environment's Python with `arguments` and further `variables`; its exit code."""
        known = {**child_variables(), **(variables or {})}
        try:
            return subprocess.call([str(self.python), *arguments], cwd=cwd, env=known)
        except KeyboardInterrupt:
            return 130

    def prepare(self, *, developer: bool = False) -> None:
        """Bring the environment into step with the locks. Raises `CannotRun`.

        Does nothing, quickly, when it already is.
        """
        if self._missing(developer=developer) is None:
            return
        _require_venv()
        try:
            with exclusive(self.root / ".venv.lock"):
                self._install(developer=developer)
        except InstallFailed as failure:
            raise CannotRun(f"{failure}\n{_hints(self.root)}") from failure
        except OSError as error:
            raise CannotRun(
                f"The environment in {self.folder} cannot be written: {error}.\n"
                "Close programs that use it, see that the folder may be written to, and run again."
            ) from error

    def _install(self, *, developer: bool) -> None:
        missing = self._missing(developer=developer)
        if missing is None:  # another run made it while this one waited
            return
        started = time.monotonic()
        done = self._recorded_steps()
        if done is None or any(name != PROJECT and name in done for name in missing):
            done, missing = {}, list(self._wanted(developer=developer))
            self._make_anew()
        for name in missing:
            self._write_state(done, busy=True)
            self._step(name)
            done = {**done, name: self._digest(name)}
        self._write_state(done, busy=False)
        _say(f"Ready after {time.monotonic() - started:.0f} s; the next run starts at once.")

    def _step(self, name: str) -> None:
        if name == PROJECT:
            _say("Linking orthostat itself ...")
            link = ["--no-deps", "--no-build-isolation", "--no-index", "--editable", str(self.root)]
            pip_install(self.python, link, child_variables())
            packages = Path(sysconfig.get_path("purelib", "venv", {"base": str(self.folder)}))
            make_link_relative(packages, self.root / "src")
            return
        kind = "the developers' tools" if name == DEVELOPER_LOCK else "the libraries"
        _say(f"Installing {kind} of {name} ...")
        hashed = ["--require-hashes", "--no-deps", "--only-binary", ":all:", "-r", str(self.root / name)]
        pip_install(self.python, hashed, child_variables())

    def _make_anew(self) -> None:
        if self._runs_inside():
            raise CannotRun(
                "The environment must be made anew, and cannot be while its own Python runs this.\n"
                "Start run.py with the Python that lies outside .venv."
            )
        _say(f"Making {self.folder} with Python {platform.python_version()} ...")
        if self.folder.is_symlink() or self.folder.is_file():
            self.folder.unlink()
        elif self.folder.exists():
            shutil.rmtree(self.folder)
        made = subprocess.run(
            [sys.executable, "-m", "venv", str(self.folder)],
            env=child_variables(),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
            check=False,
        )
        if made.returncode != 0:
            raise CannotRun(f"Python could not make {self.folder}:\n{made.stdout.strip()}\n{_venv_advice()}")

    def _missing(self, *, developer: bool) -> list[str] | None:
        """The steps still to do, in order; `None` when nothing is."""
        done = self._recorded_steps() or {}
        wanted = self._wanted(developer=developer)
        missing = [name for name in wanted if done.get(name) != self._digest(name)]
        return missing or None

    def _wanted(self, *, developer: bool) -> tuple[str, ...]:
        return (RUNTIME_LOCK, DEVELOPER_LOCK, PROJECT) if developer else (RUNTIME_LOCK, PROJECT)

    def _digest(self, name: str) -> str:
        try:
            # Line ends do not count: a checkout may have changed them.
            content = (self.root / name).read_bytes().replace(b"\r\n", b"\n")
        except OSError as error:
            raise CannotRun(f"{self.root / name} cannot be read: {error}") from error
        if name == PROJECT:  # a folder that was moved keeps its libraries and is only linked again
            content += str(self.root).encode("utf-8", "surrogateescape")
        return hashlib.sha256(content).hexdigest()

    def _recorded_steps(self) -> dict[str, str] | None:
        """Digest by step of a whole environment made for this Python and folder, else `None`."""
        try:
            state = json.loads((self.folder / _STATE).read_text(encoding="utf-8"))
            whole = state["busy"] is False and state["made_for"] == self._made_for()
            steps = {str(name): str(digest) for name, digest in state["steps"].items()}
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            return None
        return steps if whole and self.python.exists() else None

    def _write_state(self, steps: dict[str, str], *, busy: bool) -> None:
        state = {"busy": busy, "made_for": self._made_for(), "steps": steps}
        unfinished = self.folder / (_STATE + ".new")
        unfinished.write_text(json.dumps(state, indent=2) + "\n", encoding="utf-8")
        unfinished.replace(self.folder / _STATE)

    def _made_for(self) -> dict[str, str]:
        return {
            "python": sys.version,
            "base": sys.base_prefix,
            "platform": sysconfig.get_platform(),
        }

    def _runs_inside(self) -> bool:
        return Path(sys.prefix).resolve() == self.folder.resolve()


def make_link_relative(packages: Path, source: Path) -> None:
    """Name `source` relative to `packages` in the link file that an editable install put there.

    Python before 3.13 reads such files in the encoding of the locale: an absolute path with an
    accent in it would be lost on Windows.
    """
    for link in packages.glob("*orthostat*.pth"):
        link.write_text(os.path.relpath(source, packages) + "\n", encoding="ascii")


def child_variables() -> dict[str, str]:
    """Environment variables for a child: nothing that would lead it to another Python's packages."""
    kept = {name: value for name, value in os.environ.items() if name not in _HIDDEN_VARIABLES}
    # One encoding for files and pipes on every system.
    return {**kept, "PYTHONUTF8": "1"}


def _require_venv() -> None:
    if any(importlib.util.find_spec(name) is None for name in ("venv", "ensurepip")):
        raise CannotRun(f"This Python ({sys.executable}) cannot make environments.\n{_venv_advice()}")


def _venv_advice() -> str:
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    if sys.platform == "linux":
        return (
            "On Debian, Ubuntu and their kin it is a package of its own:\n"
            f"    sudo apt install python3-venv      (or python{version}-venv)\n"
            "then run the same command again."
        )
    return "Install Python with its standard library whole (the usual installer does), then run again."


def _hints(root: Path) -> str:
    if sys.version_info[:2] > NEWEST_KNOWN:
        newest = "{}.{}".format(*NEWEST_KNOWN)
        return (
            f"Python {platform.python_version()} is newer than the libraries of the locks: one of them may\n"
            f"have no ready-made build for it yet. Start run.py with Python 3.11 to {newest}, for example\n"
            f"    python{newest} run.py        (on Windows: py -{newest} run.py)"
        )
    here = f"Python {platform.python_version()} on {sysconfig.get_platform()}"
    lines = [
        "Nothing is lost: run the same command again to begin afresh.",
        "- No connection, or a proxy? pip takes its own settings and HTTPS_PROXY from you.",
        f"- 'No matching distribution' means there is no ready-made library for {here};",
        "  Python 3.11 to {}.{} (64 bit) are known to have them.".format(*NEWEST_KNOWN),
    ]
    if os.name == "nt" and len(str(root)) > 100:  # leaves some 150 of the 260 letters allowed
        lines.append("- Windows limits the length of paths: try a folder with a shorter one.")
    return "\n".join(lines)


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)
