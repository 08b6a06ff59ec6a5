"""A real browser before a real server. Without a browser these tests are left out, and fail in CI."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Request, expect, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
)  # fmt: skip
PATIENCE = 40_000
"""Milliseconds that a busy machine may take for what an idle one does at once."""


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        reason = "no browser: install Debian's package `chromium`, or another Chromium on the path"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        yield made
        made.close()


@dataclass
class Site:
    """A running page: its folder, where to enter, and where it stands."""

    folder: Path
    entrance: str
    process: subprocess.Popen[str]

    @property
    def address(self) -> str:
        return self.entrance.split("/enter")[0]

    def end(self) -> None:
        self.process.terminate()
        self.process.wait(20)
        if self.process.stdout is not None:
            self.process.stdout.close()


def serve(folder: Path) -> Site:
    process = subprocess.Popen(
        [sys.executable, "-m", "orthostat", "sheet", str(folder), "--no-browser"],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        encoding="utf-8",
    )
    assert process.stdout is not None
    for line in process.stdout:
        if found := re.search(r"http://\S+", line):
            return Site(folder, found[0], process)
    raise AssertionError("the page did not start")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The page of a copy of the example shop."""
    folder = tmp_path_factory.mktemp("browser") / "saltmarsh"
    shutil.copytree(ROOT / "examples" / "saltmarsh", folder)
    made = serve(folder)
    yield made
    made.end()


@dataclass
class Watch:
    """What a tab did that no test wants: errors, and requests to anywhere else."""

    expected: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    elsewhere: list[str] = field(default_factory=list)


Open = Callable[[str], Page]


@pytest.fixture
def opened(browser: Browser, site: Site) -> Iterator[Open]:
    """Opens pages in tabs of one browser that has the key; afterwards nothing may have gone wrong."""
    context = browser.new_context(viewport={"width": 1366, "height": 768}, locale="en-GB")
    context.set_default_timeout(PATIENCE)
    watch = Watch()

    def requested(request: Request) -> None:
        if not request.url.startswith((site.address + "/", "data:", "blob:")):
            watch.elsewhere.append(request.url)

    context.on("request", requested)
    context.on("weberror", lambda error: watch.errors.append(str(error.error)))
    context.on(
        "console",
        lambda message: watch.errors.append(message.text) if message.type in ("error", "warning") else None,
    )
    context.new_page().goto(site.entrance)

    def open_tab(path: str) -> Page:
        page = context.new_page()
        page.goto(site.address + path)
        return page

    yield open_tab
    context.close()
    # A refused change is a message to the person; the browser logs its status as well.
    errors = [text for text in watch.errors if "409" not in text and "GPU stall" not in text]
    assert errors == []
    assert watch.elsewhere == []
