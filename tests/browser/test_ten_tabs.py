"""Ten tabs typing at once: no error, no lost edit, and memory that stays flat.

A minute in CI; a few seconds at a desk, where `ORTHOSTAT_TEN_TABS=60` makes it a minute too.
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import time
import tomllib
from pathlib import Path

from playwright.sync_api import Page

from browser.conftest import PATIENCE, Open, Site

SECONDS = float(os.environ.get("ORTHOSTAT_TEN_TABS", "60" if os.environ.get("CI") else "12"))
_STEADY = 30.0
"""Shorter runs end while caches still fill, so they say nothing of memory [s]."""
GROWTH, SLACK = 1.1, 25e6
"""What the last quarter may hold over the second one: a share, and bytes."""
FIELDS = (("height", 520), ("studs[0].engagement", 20))

# Each tab types on its own: some keys, then the entry is settled, again and again until it is told to
# end. Where somebody else was first, it makes its change on top, as a person would.
_TYPE = """([key, base]) => {
  window.typing = { settled: [], ends: false, done: false };
  const pause = (ms) => new Promise((done) => setTimeout(done, ms));
  const entry = () => [...document.querySelectorAll("[data-path][data-was]")].find((each) => each.closest(".entry").dataset.key === key);
  (async () => {
    for (let step = 0; !window.typing.ends; step += 1) {
      const value = String(base + (step % 9));
      for (let length = 1; length <= value.length; length += 1) {
        entry().value = value.slice(0, length);
        entry().dispatchEvent(new InputEvent("input", { bubbles: true }));
        await pause(90);
      }
      entry().dispatchEvent(new Event("change", { bubbles: true }));
      for (let wait = 0; wait < 2000 && entry().dataset.was !== value; wait += 1) {
        const again = [...document.querySelectorAll(".notice button")].find((each) => each.textContent.startsWith("make my"));
        again?.click();
        await pause(50);
      }
      window.typing.settled.push([value, entry().dataset.was === value]);
    }
    window.typing.done = true;
  })();
}"""  # noqa: E501  # JavaScript


_ALL_ANSWERED = (
    """() => document.querySelector(".finding") && !document.querySelector(".working [data-subject]")"""
)


def test_ten_tabs_typing_at_once(opened: Open, site: Site) -> None:
    columns = site.folder / "columns"
    names = [f"groyne {number}" for number in range(1, 6)]
    for name in names:
        shutil.copy(columns / "groyne.toml", columns / f"{name}.toml")
    tabs: list[tuple[Page, str, str]] = []
    for name in names:
        for key, _ in FIELDS:
            page = opened(f"/column/{name}")
            page.wait_for_selector(".finding")
            if not tabs:  # so that no worker first meets a model of stiffness in the midst of it
                page.wait_for_function(_ALL_ANSWERED, timeout=3 * PATIENCE)
            tabs.append((page, name, key))
    for (page, _, _), (key, base) in zip(tabs, FIELDS * len(names), strict=True):
        page.evaluate(_TYPE, [key, base])
    for page, _, _ in tabs:  # everything is loaded and under way
        page.wait_for_function("() => window.typing.settled.length > 0", timeout=3 * PATIENCE)
    held: list[float] = []
    end = time.monotonic() + SECONDS
    while time.monotonic() < end:
        tabs[0][0].wait_for_timeout(1000.0 * SECONDS / 40.0)
        held.append(_held_by(site.process.pid))
    for page, _, _ in tabs:
        page.wait_for_function("() => window.typing.settled.length > 1", timeout=3 * PATIENCE)
        page.evaluate("() => { window.typing.ends = true; }")
    for page, name, key in tabs:
        page.wait_for_function("() => window.typing.done", timeout=3 * PATIENCE)
        settled = page.evaluate("() => window.typing.settled")
        assert all(saved for _, saved in settled), (name, key, settled)
        text = (columns / f"{name}.toml").read_text("utf-8")
        document = tomllib.loads(text)
        said = document["height"] if key == "height" else document["studs"][0]["engagement"]
        assert said == int(settled[-1][0])
    assert site.process.poll() is None
    if sys.platform == "linux" and SECONDS >= _STEADY:
        quarter = len(held) // 4
        before = statistics.median(held[quarter : 2 * quarter])
        after = statistics.median(held[-quarter:])
        assert after <= GROWTH * before + SLACK, [round(each / 1e6) for each in held]


def _held_by(server: int) -> float:
    """Memory of the server and its workers in bytes; 0 where the system does not tell."""
    if sys.platform != "linux":
        return 0.0
    total = 0.0
    waiting = [server]
    while waiting:
        pid = waiting.pop()
        try:
            pages = int(Path(f"/proc/{pid}/statm").read_text("ascii").split()[1])
            # A process's children, whichever of its threads started them.
            for task in Path(f"/proc/{pid}/task").iterdir():
                waiting += [int(child) for child in (task / "children").read_text("ascii").split()]
        except OSError:
            continue  # it has ended meanwhile
        total += pages * os.sysconf("SC_PAGE_SIZE")
    return total
