"""How quick the page is, in a real browser where there is one: `python -m benchmarks.page`.

Ratios are to an empty answer of the same server, and to the bare import of its framework.
"""

from __future__ import annotations

import json
import os
import platform
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
FRAMEWORK = "import starlette.applications, starlette.routing, starlette.staticfiles, uvicorn"
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--use-angle=swiftshader",
)
EDITS = 40


def main() -> None:
    """Print the measurements as JSON."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "shop"
        shutil.copytree(ROOT / "examples" / "saltmarsh", folder)
        bare = min(_seconds([sys.executable, "-c", FRAMEWORK]) for _ in range(5))
        process, entrance, listening = _serve(folder)
        try:
            measured = {
                "machine": platform.platform(),
                "cores": os.cpu_count(),
                "Python": platform.python_version(),
                "bare import of the framework [s]": round(bare, 3),
                "start to listening [s]": round(listening, 3),
                "start to listening / bare import": round(listening / bare, 2),
                **_requests(entrance),
                **_browser(entrance),
            }
        finally:
            process.terminate()
            process.wait(20)
    print(json.dumps(measured, indent=2, ensure_ascii=False))


def _seconds(command: list[str]) -> float:
    started = time.perf_counter()
    subprocess.run(command, check=True)
    return time.perf_counter() - started


def _serve(folder: Path) -> tuple[subprocess.Popen[str], str, float]:
    started = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "orthostat", "sheet", str(folder), "--no-browser"],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        encoding="utf-8",
    )
    for line in process.stdout or ():
        if found := re.search(r"http://\S+", line):
            return process, found[0], time.perf_counter() - started
    raise SystemExit("the page did not start")


def _requests(entrance: str) -> dict[str, Any]:
    """Whole requests over one browser's cookie, against the smallest file the server has."""
    base = entrance.partition("/enter")[0]
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    opener.open(entrance).read()

    def median(path: str, times: int = 15) -> float:
        taken = []
        for _ in range(times):
            started = time.perf_counter()
            opener.open(base + path).read()
            taken.append(time.perf_counter() - started)
        return statistics.median(taken)

    empty = median("/static/mark.svg")
    sheet = median("/column/harbour")
    return {
        "empty answer [ms]": round(1000.0 * empty, 2),
        "sheet [ms]": round(1000.0 * sheet, 1),
        "sheet / empty answer": round(sheet / empty, 1),
    }


def _browser(entrance: str) -> dict[str, Any]:
    """What a person waits for, measured in a browser; nothing where there is none."""
    found = next(
        (path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))),
        None,
    )
    if found is None:
        return {"browser": "none on this machine"}
    from playwright.sync_api import sync_playwright

    base = entrance.partition("/enter")[0]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        page = browser.new_page(viewport={"width": 1366, "height": 768})
        page.set_default_timeout(180_000)
        weight: dict[str, int] = {}

        def came(request: Any) -> None:
            weight[request.url] = request.sizes()["responseBodySize"]

        page.on("requestfinished", came)
        page.goto(entrance)
        weight.clear()
        fresh = page.context.new_cdp_session(page)  # as if never seen before, type faces and all
        fresh.send("Network.setCacheDisabled", {"cacheDisabled": True})
        started = time.perf_counter()
        page.goto(base + "/column/harbour")
        page.wait_for_selector("#still svg", state="attached")
        picture = time.perf_counter() - started
        page.wait_for_selector("body[data-scene]")
        drawn = time.perf_counter() - started
        heavy = sum(size for url, size in weight.items() if "/answers" not in url)
        page.wait_for_selector(".finding")
        page.wait_for_selector(".working", state="detached")
        keys, scenes = _typing(page)
        browser.close()
    return {
        "browser": "Chromium, software rendering",
        "asked to first picture [s]": round(picture, 3),
        "asked to 3D [s]": round(drawn, 3),
        "page weight [kB]": round(heavy / 1000.0),
        "key-up to quick verdicts, median [ms]": round(statistics.median(keys), 1),
        "key-up to quick verdicts, 95th percentile [ms]": round(sorted(keys)[int(0.95 * len(keys))], 1),
        "settled to new 3D, median [ms]": round(statistics.median(scenes), 1),
    }


_KEY = """async (text) => {
  const entry = document.querySelector(`[data-path='["height"]']`);
  const list = document.getElementById("findings");
  const seen = new Promise((done) => {
    new MutationObserver((_, self) => { self.disconnect(); done(); }).observe(list, { childList: true });
  });
  const started = performance.now();
  entry.value = text;
  entry.dispatchEvent(new InputEvent("input", { bubbles: true }));
  await seen;
  return performance.now() - started;
}"""
_SETTLE = """async (text) => {
  const entry = document.querySelector(`[data-path='["height"]']`);
  const words = document.getElementById("scene-words");
  const what = { childList: true, characterData: true, subtree: true };
  const seen = new Promise((done) => {
    new MutationObserver((_, self) => { self.disconnect(); requestAnimationFrame(done); })
      .observe(words, what);
  });
  const started = performance.now();
  entry.value = text;
  entry.dispatchEvent(new Event("change", { bubbles: true }));
  await seen;
  return performance.now() - started;
}"""


def _typing(page: Any) -> tuple[list[float], list[float]]:
    page.evaluate(_SETTLE, "601")
    page.evaluate(_KEY, "602")
    keys = [float(page.evaluate(_KEY, f"{600 + step}.5")) for step in range(EDITS)]
    scenes = [float(page.evaluate(_SETTLE, f"{560 + step}")) for step in range(10)]
    return keys, scenes


if __name__ == "__main__":
    main()
