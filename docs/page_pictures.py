"""Makes the pictures of docs/tour-of-the-page.md: `python docs/page_pictures.py`.

Needs Chromium on the path and the developers' libraries. The shop is a copy of the metric example.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

ROOT = Path(__file__).resolve().parents[1]
TO = ROOT / "docs" / "pictures"
FLAGS = ("--no-sandbox", "--no-first-run", "--disable-background-networking", "--use-angle=swiftshader")
PATIENCE = 240_000
STUDY = {"key1": "height", "from1": "500 mm", "to1": "700 mm", "key2": "body.plate", "from2": "20 mm, 25 mm"}


def main() -> int:
    """Write one PNG for each step of the tour; the exit code."""
    from playwright.sync_api import sync_playwright

    found = next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)
    if found is None:
        sys.stderr.write("no Chromium on the path\n")
        return 1
    TO.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        folder = Path(scratch) / "saltmarsh"
        shutil.copytree(ROOT / "examples" / "saltmarsh", folder)
        server = subprocess.Popen(  # noqa: S603  # our own page
            [sys.executable, "-m", "orthostat", "sheet", str(folder), "--no-browser"],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
            encoding="utf-8",
        )
        entrance = next(
            match[0] for line in server.stdout or () if (match := re.search(r"http://\S+", line)) is not None
        )
        base = entrance.partition("/enter")[0]
        browser = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        page = browser.new_page(viewport={"width": 1366, "height": 768})
        page.set_default_timeout(PATIENCE)
        page.goto(entrance)
        page.goto(f"{base}/start")
        page.screenshot(path=TO / "page-start.png")
        page.goto(f"{base}/column/undertow")
        page.wait_for_selector("body[data-scene]")
        page.wait_for_selector(".finding.fails")
        page.locator('.finding[data-slug="body.void_in_cavity"] > summary').click()
        page.locator('.finding[data-slug="body.void_in_cavity"]').scroll_into_view_if_needed()
        page.screenshot(path=TO / "page-sheet.png")
        page.locator('.group[data-key="tubes"] > summary').click()
        page.locator('.group[data-key="tubes[0]"] > summary').click()
        outside = page.locator('[data-path=\'["tubes", 0, "outside"]\'][data-was]')
        outside.fill("5 parsecs")
        outside.press("Enter")
        page.wait_for_selector(".unsaved")
        page.screenshot(path=TO / "page-fault.png")
        outside.fill("4 3/4 in")
        outside.press("Enter")
        page.wait_for_selector('.finding[data-slug="body.void_in_cavity"].holds')
        paint(page, base)
        page.goto(f"{base}/column/harbour/chapter/reach")
        page.wait_for_selector("#chapter:not([aria-busy])")
        page.screenshot(path=TO / "page-chapter.png")
        page.goto(f"{base}/column/harbour/chapter/orders")
        page.wait_for_selector("#chapter:not([aria-busy])")
        page.get_by_role("button", name="make build book and files").click()
        page.wait_for_selector("#files details")
        page.locator("#files summary").click()
        page.screenshot(path=TO / "page-files.png")
        page.goto(f"{base}/column/undertow/history")
        page.screenshot(path=TO / "page-history.png")
        study(page, base)
        browser.close()
        server.terminate()
        server.wait(20)
    return 0


def study(page: Page, base: str) -> None:
    """A few designs, the best verified."""
    page.goto(f"{base}/column/harbour/study")
    for name, said in STUDY.items():
        page.locator(f'[name="{name}"]').fill(said)
    page.get_by_role("button", name="work it out").click()
    page.wait_for_selector("#chapter:not([aria-busy])")
    page.screenshot(path=TO / "page-study.png")


def paint(page: Page, base: str) -> None:
    """The picture painted, and the tool at a cut."""
    page.goto(f"{base}/column/skerry")
    page.wait_for_selector("body[data-scene]")
    page.locator("#tool-cut option").nth(1).wait_for(state="attached")
    page.select_option("#paint", "mode")
    page.wait_for_selector('body[data-painted="mode"]')
    page.locator("#paint-play").click()
    page.screenshot(path=TO / "page-mode.png")
    page.select_option("#paint", "reach")
    page.select_option("#paint-of", "face mill 80")
    page.select_option("#tool-cut", label="spot of plate, face 1")
    page.wait_for_selector('body[data-painted="reach tool"]')
    page.wait_for_selector('#scene[aria-busy="false"]')
    page.screenshot(path=TO / "page-paint.png")


if __name__ == "__main__":
    sys.exit(main())
