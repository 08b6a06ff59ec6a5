"""How quick the page is, in a real browser where there is one: `python -m benchmarks.page`.

Ratios are to an empty answer of the same server, and to the bare import of its framework. What takes
seconds by itself is stopped before anything is typed: it would be measured with it otherwise.
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
from collections.abc import Callable
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
EDITS = 10
"""Of each kind."""
KINDS: dict[str, tuple[tuple[str | int, ...], Callable[[int], str]]] = {
    "height": (("height",), lambda step: f"{600 + step}.5"),
    "width": (("plan", "across_flats"), lambda step: f"{350 + step}.5"),
    "plate": (("body", "plate"), lambda step: f"{22 + 0.2 * step:.1f}"),
    "tube wall": (("tubes", 0, "wall"), lambda step: f"{3 + 0.1 * step:.1f}"),
    "station": (("stations", 0, "at"), lambda step: f"0, {300 + step}"),
    "stud torque": (("studs", 0, "torque"), lambda step: f"{130 + step} N*m"),
}
"""What is typed: cuts and tools of this column are the shop's, and edited on its own pages."""
GROUPS = {
    "fit": ("fit", "handling"),
    "body": ("body", "joining"),
    "reach": ("reach",),
    "hold": ("loads", "hold", "fixture"),
    "pour": ("pour",),
    "cost": ("cost", "making"),
    "quick stiffness": ("stiffness",),
}
"""Subjects whose rules are waited for together: the quick ones, and those that a quick model answers."""
_FOREMOST = ("fit", "reach", "hold", "pour")
_APART = 0.13
"""Between keys of a quick typist [s]."""
_LATE = 1.5
"""After this, nothing more is waited for; what has not come counts as having taken so long [s]."""
LIMITS = {**dict.fromkeys(_FOREMOST, 60.0), "quick stiffness": 300.0, "3D": 150.0}
"""What is wanted of 95 in 100 keys [ms]."""


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
        page.add_init_script(_PICTURED)
        started = time.perf_counter()
        page.goto(base + "/column/harbour", wait_until="commit")
        picture = 1e-3 * float(page.wait_for_function("() => window.pictured").json_value())
        page.wait_for_selector("body[data-scene]")
        drawn = time.perf_counter() - started
        page.remove_listener("requestfinished", came)
        heavy = sum(size for url, size in weight.items() if "/answers" not in url)
        page.wait_for_selector(".finding")
        typed, saved = _typing(page)
        typed_on = _typing_on(page)
        empty = float(page.evaluate(_EMPTY, 20))
        browser.close()
    return {
        "browser": "Chromium, software rendering",
        "asked to first picture [s]": round(picture, 3),
        "asked to 3D [s]": round(drawn, 3),
        "page weight [kB]": round(heavy / 1000.0),
        "empty answer in the browser [ms]": round(empty, 1),
        "key-up to new verdicts [ms]": {
            group: _of_keys({kind: found[group] for kind, found in typed.items()}, empty, LIMITS.get(group))
            for group in next(iter(typed.values()))
        },
        f"keys {_APART:g} s apart [ms]": typed_on,
        "settled to new 3D [ms]": {
            "median": round(statistics.median(saved), 1),
            "95th percentile": round(_high(saved), 1),
        },
    }


def _of_keys(by_edit: dict[str, list[float]], empty: float, limit: float | None) -> dict[str, Any]:
    """Times of all keys; those that were not answered in time count as having taken that long."""
    taken = [each for found in by_edit.values() for each in found]
    late = 1000.0 * _LATE
    return {
        "keys": len(taken),
        "not in time": sum(each >= late for each in taken),
        "median": round(statistics.median(taken), 1),
        "median / empty answer": round(statistics.median(taken) / empty, 1),
        "95th percentile": round(_high(taken), 1),
        "95th percentile / empty answer": round(_high(taken) / empty, 1),
        "95th percentile / wanted": None if limit is None else round(_high(taken) / limit, 2),
        "95th percentile by edit": {kind: round(_high(found), 1) for kind, found in by_edit.items()},
    }


def _high(taken: list[float]) -> float:
    return sorted(taken)[min(len(taken) - 1, int(0.95 * len(taken)))]


def _quick_slugs(page: Any) -> dict[str, list[str]]:
    """The findings of each group that are answered while somebody types, of those on the page."""
    from orthostat.checks import all_rules

    shown = set(page.evaluate("[...document.querySelectorAll('.finding')].map((each) => each.dataset.slug)"))
    found = {
        group: [
            rule.slug
            for rule in all_rules()
            if rule.subject in subjects and (rule.screened or not rule.long) and rule.slug in shown
        ]
        for group, subjects in GROUPS.items()
    }
    return {group: slugs for group, slugs in found.items() if slugs}


_PICTURED = """(function look() {
  requestAnimationFrame(() => {
    if (document.querySelector("#still svg")) requestAnimationFrame((now) => (window.pictured = now));
    else look();
  });
})();"""
"""When the line picture was in a frame that is drawn, from when the page was asked for [ms]."""
_EMPTY = """async (times) => {
  const taken = [];
  for (let time = 0; time < times; time += 1) {
    const started = performance.now();
    await (await fetch("/static/mark.svg", { cache: "no-store" })).text();
    taken.push(performance.now() - started);
  }
  return taken.sort((a, b) => a - b)[times >> 1];
}"""
_KEY = """async ([path, text, groups, late_ms]) => {
  const entries = [...document.querySelectorAll("[data-path][data-was]")];
  const entry = entries.find((each) => each.dataset.path === path);
  const list = document.getElementById("findings");
  const found = {};
  const started = performance.now();
  const words = document.getElementById("scene-words");
  const was = list.dataset.turn;
  const all = new Promise((done) => {
    const late = setTimeout(done, late_ms);
    const watch = new MutationObserver(() => {
      if (list.dataset.turn === was) return;
      const old = list.querySelectorAll('.finding[data-says="stale"]');
      const stale = new Set([...old].map((each) => each.dataset.slug));
      for (const [group, slugs] of Object.entries(groups)) {
        if (group in found || slugs.some((slug) => stale.has(slug))) continue;
        found[group] = performance.now() - started;
      }
      end();
    });
    const drawn = new MutationObserver(() => requestAnimationFrame(() => {
      found["3D"] ??= performance.now() - started;
      end();
    }));
    const end = () => {
      if (!("3D" in found) || Object.keys(groups).some((group) => !(group in found))) return;
      watch.disconnect();
      drawn.disconnect();
      clearTimeout(late);
      done();
    };
    watch.observe(list, { childList: true, subtree: true, attributeFilter: ["data-says", "data-turn"] });
    drawn.observe(words, { childList: true });
  });
  entry.value = text;
  entry.dispatchEvent(new InputEvent("input", { bubbles: true }));
  await all;
  return found;
}"""
_KEYS = """async ([path, texts, groups, apart_ms]) => {
  const entries = [...document.querySelectorAll("[data-path][data-was]")];
  const entry = entries.find((each) => each.dataset.path === path);
  const list = document.getElementById("findings");
  const keys = [];
  let key = null;
  const watch = new MutationObserver(() => {
    if (list.dataset.turn === key.was) return;
    const old = list.querySelectorAll('.finding[data-says="stale"]');
    const stale = new Set([...old].map((each) => each.dataset.slug));
    for (const [group, slugs] of Object.entries(groups)) {
      if (slugs.some((slug) => stale.has(slug))) continue;
      key.found[group] ??= performance.now() - key.started;
    }
  });
  watch.observe(list, { childList: true, subtree: true, attributeFilter: ["data-says", "data-turn"] });
  let due = performance.now();
  for (const text of texts) {
    key = { found: {}, was: list.dataset.turn, started: performance.now() };
    keys.push(key);
    entry.value = text;
    entry.dispatchEvent(new InputEvent("input", { bubbles: true }));
    due += apart_ms;
    await new Promise((done) => setTimeout(done, due - performance.now()));
  }
  await new Promise((done) => setTimeout(done, 1000));
  watch.disconnect();
  return keys.map(({ found }) => found);
}"""
"""Keys that do not wait for one another."""
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


def _typing(page: Any) -> tuple[dict[str, dict[str, list[float]]], list[float]]:
    """Times of each group of findings, and of the picture, by kind of edit while somebody types; and of the
    picture when the entry is settled. A group that twice did not come in time is not waited for again: it
    counts as late for the other keys of this kind.
    """
    typed: dict[str, dict[str, list[float]]] = {}
    late = 1000.0 * _LATE
    for warm in (601, 602, 603):  # how quick a subject is shows when it has been answered a few times
        page.evaluate(_SETTLE, str(warm))
        page.wait_for_function(_QUICK_DONE)
    page.wait_for_selector(".finding.screened")
    page.evaluate(_STOP_LONG)
    groups = _quick_slugs(page)
    for kind, (path, value) in KINDS.items():
        at = json.dumps(list(path))
        missed = dict.fromkeys(groups, 0)
        taken = []
        for step in reversed(range(EDITS + 1)):
            wanted = {group: slugs for group, slugs in groups.items() if missed[group] < 2}
            taken.append(page.evaluate(_KEY, [at, value(step), wanted, late]))
            for group in wanted:
                missed[group] += group not in taken[-1]
        del taken[0]  # the first of a kind meets empty memories
        typed[kind] = {group: [float(each.get(group, late)) for each in taken] for group in (*groups, "3D")}
        page.evaluate(_BACK, at)
    return typed, [float(page.evaluate(_SETTLE, f"{560 + step}")) for step in range(10)]


def _typing_on(page: Any) -> dict[str, dict[str, Any]]:
    """Times of what is answered first while keys follow one another as a quick typist's do. What the next
    key cut off counts as having taken until then.
    """
    page.wait_for_function(_QUICK_DONE)
    page.evaluate(_STOP_LONG)
    groups = {group: slugs for group, slugs in _quick_slugs(page).items() if group in _FOREMOST}
    found: list[dict[str, float]] = []
    for path, value in KINDS.values():
        at = json.dumps(list(path))
        texts = [value(step) for step in reversed(range(EDITS + 1))]
        found += page.evaluate(_KEYS, [at, texts, groups, 1000.0 * _APART])[1:]
        page.evaluate(_BACK, at)
    times = {group: [each.get(group, 1000.0 * _APART) for each in found] for group in groups}
    return {
        group: {
            "keys": len(taken),
            "cut off by the next key": sum(group not in each for each in found),
            "median": round(statistics.median(taken), 1),
            "95th percentile": round(_high(taken), 1),
        }
        for group, taken in times.items()
    }


_QUICK_DONE = """() => {
  const subjects = [...document.querySelectorAll(".working [data-subject]")].map((each) => each.dataset.subject);
  const due = [...document.querySelectorAll('.finding[data-says="stale"]')].filter((each) => !each.dataset.slug.match(/^(stiffness|pour)/));
  return document.querySelector(".finding") && !due.length && subjects.every((each) => each.endsWith(", in full"));
}"""  # noqa: E501  # JavaScript
_STOP_LONG = """async () => {
  for (let left = 1; left; await new Promise((done) => setTimeout(done, 300))) {
    const buttons = [...document.querySelectorAll('.working button[data-work="stop"]')];
    left = buttons.length;
    buttons[0]?.click();
  }
}"""
_BACK = """async (path) => {
  const entries = [...document.querySelectorAll("[data-path][data-was]")];
  const entry = entries.find((each) => each.dataset.path === path);
  entry.dispatchEvent(new KeyboardEvent("keydown", { key: "Escape", bubbles: true, cancelable: true }));
  await new Promise((done) => setTimeout(done, 500));
}"""


if __name__ == "__main__":
    main()
