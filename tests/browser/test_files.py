"""Book and files from the page: made while it is watched, stopped, saved; never those of an earlier state."""

from __future__ import annotations

import zipfile

from playwright.sync_api import expect

from browser.conftest import Open, Site

LONG = 240_000


def test_book_and_files_are_made_watched_stopped_and_saved(opened: Open, site: Site) -> None:
    page = opened("/column/harbour/chapter/orders")
    files = page.locator("#files")
    make = files.get_by_role("button", name="make build book and files")
    make.click()
    expect(files.locator("progress")).to_be_visible()
    expect(files.locator(".doing")).not_to_have_text("begun")
    expect(page.locator("#chapter")).not_to_have_attribute("aria-busy", "true")  # the chapter did not wait
    files.get_by_role("button", name="stop").click()
    expect(files).to_contain_text("Stopped")
    make.click()
    expect(files.locator(".doing")).to_contain_text("build book", timeout=LONG)
    expect(files.get_by_role("link", name="all of them")).to_be_visible(timeout=LONG)
    with page.expect_download() as saved:
        files.get_by_role("link", name="all of them").click()
    with zipfile.ZipFile(saved.value.path()) as archive:
        assert archive.testzip() is None
        endings = {name.rsplit(".", 1)[1] for name in archive.namelist()}
    assert endings == {"pdf", "step", "glb", "dxf", "csv", "xlsx"}
    assert saved.value.suggested_filename.startswith("harbour-")
    book = files.get_by_role("link", name="build book").get_attribute("href")
    file = site.folder / "columns" / "harbour.toml"
    file.write_text(file.read_text("utf-8") + "# looked at\n", encoding="utf-8")
    expect(page.locator("#chapter .is-earlier")).to_be_visible()
    expect(files).to_contain_text("earlier state")
    page.goto(f"{site.address}{book}")
    expect(page.get_by_role("heading")).to_have_text("These files are of an earlier state")
    page.get_by_role("link", name="Make them anew").click()
    expect(page.locator("#files")).to_contain_text("earlier state")


def test_a_chapter_says_how_far_it_is_and_can_be_stopped(opened: Open) -> None:
    page = opened("/column/skerry/chapter/stiffness")
    chapter = page.locator("#chapter")
    expect(chapter.locator(".doing")).to_contain_text("model")
    chapter.get_by_role("button", name="stop").click()
    expect(chapter).to_contain_text("Stopped")
    chapter.get_by_role("button", name="work it out").click()
    expect(chapter.locator("figure").first).to_be_visible(timeout=LONG)
    page.reload()  # kept: nothing to wait for
    expect(chapter.locator("figure").first).to_be_visible()
