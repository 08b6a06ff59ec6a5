"""Accessibility by axe-core, no sideways scrolling on any screen, weight and pictures."""

from __future__ import annotations

import os

import pytest
from playwright.sync_api import Page, Request, expect

from browser.conftest import ROOT, Open, Site

PAGES = ("/", "/column/undertow", "/column/harbour/chapter/fit", "/column/harbour/chapter/orders",
         "/shop/part/machines", "/start", "/column/undertow/history", "/column/undertow/study",
         "/beside")  # fmt: skip
SCREENS = {
    "shop PC": (1366, 768),
    "tablet": (820, 1180),
    "tablet, flat": (1024, 768),
    "at 200 %": (683, 384),
    "phone": (390, 844),
}


@pytest.fixture(scope="session")
def checker() -> str:
    file = ROOT / "build" / "axe.min.js"
    if not file.is_file():
        reason = "the accessibility checker is not there: `python run.py test` fetches it with npm"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return file.read_text("utf-8")


def settle(page: Page) -> None:
    if "/chapter/" in page.url:
        expect(page.locator("#chapter")).not_to_have_attribute("aria-busy", "true")
    elif "/column/" in page.url and page.url.count("/") == 4:
        expect(page.locator(".finding").first).to_be_attached()
        page.locator(".finding summary").first.click()
        page.locator('.group[data-key="studs"] > summary').click()


@pytest.mark.parametrize("path", PAGES)
def test_axe_finds_nothing_serious(opened: Open, checker: str, path: str) -> None:
    page = opened(path)
    settle(page)
    page.evaluate(checker)
    found = page.evaluate("async () => (await axe.run()).violations")
    serious = [
        (each["id"], [node["html"][:160] for node in each["nodes"][:3]])
        for each in found
        if each["impact"] in ("serious", "critical")
    ]
    assert serious == []


@pytest.mark.parametrize("screen", SCREENS)
@pytest.mark.parametrize("path", PAGES)
def test_nothing_scrolls_sideways(opened: Open, path: str, screen: str) -> None:
    page = opened(path)
    width, height = SCREENS[screen]
    page.set_viewport_size({"width": width, "height": height})
    settle(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator(".line").evaluate("(line) => line.scrollWidth <= line.clientWidth")


def test_the_page_is_light_and_the_column_is_drawn(opened: Open, site: Site) -> None:
    page = opened("/")
    sizes: dict[str, int] = {}

    def came(request: Request) -> None:
        if request.url.startswith(site.address) and "/answers" not in request.url:
            sizes[request.url] = request.sizes()["responseBodySize"]

    fresh = page.context.new_cdp_session(page)  # as if never seen before, type faces and all
    fresh.send("Network.setCacheDisabled", {"cacheDisabled": True})
    page.on("requestfinished", came)
    page.goto(site.address + "/column/harbour")
    expect(page.locator("body")).to_have_attribute("data-scene", "drawn")
    assert any(url.endswith("sans.ttf") for url in sizes)
    assert sum(sizes.values()) <= 1_500_000
    canvas = page.locator("#scene canvas").screenshot()
    assert len(canvas) > 10_000


def test_no_edge_is_drawn_where_a_side_runs_on(opened: Open) -> None:
    page = opened("/")
    lines = page.evaluate("""async () => {
      const { edgesOf } = await import("/static/scene.js");
      const square = (r) => [[-r, -r], [r, -r], [r, r], [-r, r]];
      const count = (layers) => edgesOf(layers).length / 6;
      const shell = [square(2), square(1)];
      const floor = [0, 1, [square(2)]], plug = [0, 1, [square(1)]];
      return [[floor], [floor, [1, 3, shell]], [plug, [1, 3, shell]]].map(count);
    }""")
    # A cube. A floor under a shell: 4 round the foot, 4 round the top, 8 of the core's ends, 12 upright.
    # A plug under the shell, flush with its core: 4 at its foot, 4 at the shell's, 8 at the top, 12 upright.
    assert lines == [12, 28, 28]


def test_without_3d_the_still_picture_stands(opened: Open) -> None:
    page = opened("/")
    page.context.route(
        "**/vendor/three.js", lambda route: route.fulfill(body="export {};", content_type="text/javascript")
    )
    page.evaluate("() => {}")
    page.goto(page.url + "column/harbour")
    expect(page.locator("#still svg")).to_be_visible()
    height = page.locator("[data-path='[\"height\"]'][data-was]")
    height.fill("480 mm")
    height.press("Enter")
    expect(page.locator("#still svg desc")).to_contain_text("top at 480 mm")
