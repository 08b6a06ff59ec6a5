"""From an empty folder to a checked column, with the page alone; and with the keyboard alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.conftest import PATIENCE, serve


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_an_empty_folder_becomes_a_checked_column(browser: Browser, tmp_path: Path, units: str) -> None:
    site = serve(tmp_path / "new shop")
    try:
        context = browser.new_context()
        context.set_default_timeout(PATIENCE)
        page = context.new_page()
        page.goto(site.entrance)
        assert page.url.endswith("/start")
        page.goto(f"{site.address}/start?units={units}")
        expect(page.locator("#q-slab_width")).to_be_hidden()
        page.locator("#q-height").fill("5 parsecs")
        page.get_by_role("button", name="Make the column").click()
        expect(page.locator("#q-height-fault")).to_contain_text("not a unit we know")
        page.locator("#q-height").fill("520 mm")
        page.get_by_role("button", name="Make the column").click()
        page.wait_for_url("**/column/column%201")
        expect(page.locator('.finding[data-slug="fit.height"].holds')).to_be_visible()
        expect(page.locator('.finding[data-slug="body.stud_in_plate"].holds')).to_be_visible()
        text = (site.folder / "columns" / "column 1.toml").read_text("utf-8")
        assert 'height = "520 mm"\n' in text
        assert "# assumed" in text
        confirm(page)
        assert (site.folder / "columns" / "column 1.toml").read_text("utf-8").count(
            "# assumed"
        ) == text.count("# assumed") - 1
        context.close()
    finally:
        site.end()


def confirm(page: Page) -> None:
    page.locator('.group[data-key="plan"] > summary').click()
    marks = page.locator('.group[data-key="plan"] .assumed')
    before = marks.count()
    marks.first.click()
    expect(marks).to_have_count(before - 1)


def test_a_column_is_mended_with_the_keyboard_alone(browser: Browser, tmp_path: Path) -> None:
    site = serve(tmp_path / "new shop")
    try:
        context = browser.new_context()
        context.set_default_timeout(PATIENCE)
        page = context.new_page()
        page.goto(site.entrance)
        page.locator("#q-machine").focus()
        reach(page, "q-height")
        page.keyboard.type("950 mm")
        page.keyboard.press("Enter")
        page.wait_for_url("**/column/column%201")
        expect(page.locator('.finding[data-slug="fit.height"].fails')).to_be_visible()
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.dataset.path") == '["height"]':
                break
        page.keyboard.press("Control+a")
        page.keyboard.type("500 mm")
        page.keyboard.press("Enter")
        expect(page.locator('.finding[data-slug="fit.height"].holds')).to_be_visible()
        for _ in range(200):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.closest('.finding') !== null"):
                break
        page.keyboard.press("Enter")
        expect(page.locator(".finding[open] .why")).to_be_visible()
        assert re.search(r"wanted:", page.locator(".finding[open] .why").first.inner_text())
        context.close()
    finally:
        site.end()


def reach(page: Page, wanted: str) -> None:
    for _ in range(60):
        if page.evaluate("document.activeElement.id") == wanted:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never came to {wanted}")
