"""Making the page's 3D library for a checkout; without it the page shows still pictures."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from runner import assets
from runner.environment import Environment, child_variables
from runner.pip import InstallFailed, pip_install

PAGE_LOCK = "requirements-page.lock"


def prepare_page(environment: Environment, *, developer: bool = False) -> None:
    """Make the library if it is not there. A failure is said, and nothing else: the page works without."""
    root = environment.root
    if assets.is_made(root, developer=developer):
        return
    print("Fetching the page's 3D library ...", file=sys.stderr, flush=True)
    try:
        if assets.has_npm():
            assets.make(root, developer=developer)
        else:
            _make_with_wheel(environment, developer=developer)
    except (assets.NotMade, InstallFailed, OSError) as reason:
        print(
            f"It could not be made: {reason}\n"
            "The page works without it, with still pictures of the columns; the next run tries again.",
            file=sys.stderr,
        )


def _make_with_wheel(environment: Environment, *, developer: bool) -> None:
    """Node out of a wheel, for as long as it takes."""
    with tempfile.TemporaryDirectory() as scratch:
        lock = str(environment.root / PAGE_LOCK)
        hashed = ["--require-hashes", "--no-deps", "--only-binary", ":all:", "--target", scratch, "-r", lock]
        pip_install(environment.python, hashed, child_variables())
        assets.make(environment.root, Path(scratch), developer=developer)
