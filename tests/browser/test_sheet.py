"""The sheet in a real browser: editing, verdicts, faults, undo, history, two tabs, long work."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Page, expect

from browser.conftest import PATIENCE, ROOT, Open, Site

FINDING = '.finding[data-slug="{}"]'


def entry(page: Page, *path: str | int) -> str:
    return f"[data-path='{json.dumps(list(path))}'][data-was]"


def verdict(page: Page, slug: str, word: str) -> None:
    expect(page.locator(FINDING.format(slug))).to_have_class(re.compile(rf"\b{word}\b"))
    expect(page.locator(FINDING.format(slug))).not_to_have_class(re.compile(r"\bstale\b"))


def test_a_verdict_turns_while_somebody_types(opened: Open, site: Site) -> None:
    page = opened("/column/harbour")
    verdict(page, "fit.height", "holds")
    height = page.locator(entry(page, "height"))
    # Once more, so that every subject has shown how quick it is.
    height.fill("621")
    height.press("Enter")
    verdict(page, "fit.height", "holds")
    height.press("End")
    height.press_sequentially("0")
    verdict(page, "fit.height", "fails")
    assert "height = 621" in (site.folder / "columns" / "harbour.toml").read_text("utf-8")
    height.press("Escape")
    expect(height).to_have_value("621")
    verdict(page, "fit.height", "holds")


def test_fractions_are_typed_and_the_other_unit_is_echoed(opened: Open, site: Site) -> None:
    page = opened("/column/harbour")
    height = page.locator(entry(page, "height"))
    height.fill("24 3/8 in")
    height.press("Enter")
    echo = page.locator(f".entry:has({entry(page, 'height')}) .echo")
    expect(echo).to_have_text("619 mm")
    expect(page.locator(f".entry:has({entry(page, 'height')})")).not_to_have_class(re.compile("dirty"))
    assert 'height = "24 3/8 in"' in (site.folder / "columns" / "harbour.toml").read_text("utf-8")


def test_the_other_unit_follows_what_is_typed(opened: Open) -> None:
    page = opened("/column/skerry")
    height = page.locator(entry(page, "height"))
    echo = page.locator(f".entry:has({entry(page, 'height')}) .echo")
    before = echo.inner_text()
    height.fill("508")
    expect(echo).to_have_text("20.0 in")
    height.press("Escape")
    expect(echo).to_have_text(before)
    height.fill("508")
    height.press("Enter")
    expect(page.locator("#undo")).to_have_attribute("title", re.compile("508"))
    expect(echo).to_have_text("20.0 in")


def test_a_fault_stands_under_its_field_and_nothing_is_saved(opened: Open, site: Site) -> None:
    page = opened("/column/harbour")
    file = site.folder / "columns" / "harbour.toml"
    before = file.read_text("utf-8")
    height = page.locator(entry(page, "height"))
    was = height.input_value()
    height.fill("620 parsecs")
    height.press("Enter")
    expect(page.locator(f".entry:has({entry(page, 'height')}) .fault")).to_contain_text("not a unit we know")
    expect(height).to_have_attribute("aria-invalid", "true")
    expect(page.locator(".unsaved")).to_be_visible()
    expect(page.locator(".finding.stale").first).to_be_attached()
    expect(height).to_be_focused()
    assert file.read_text("utf-8") == before
    height.fill(was)
    height.press("Enter")
    expect(page.locator(".unsaved")).to_have_count(0)


def test_undo_redo_history_and_bringing_back(opened: Open, site: Site) -> None:
    page = opened("/column/groyne")
    file = site.folder / "columns" / "groyne.toml"
    first = file.read_text("utf-8")
    for value in ("530", "540"):
        height = page.locator(entry(page, "height"))
        height.fill(value)
        height.press("Enter")
        expect(page.locator("#undo")).to_have_attribute("title", re.compile(value))
    page.locator("#undo").click()
    expect(page.locator(entry(page, "height"))).to_have_value("530")
    page.keyboard.press("Control+z")
    expect(page.locator(entry(page, "height"))).to_have_value("520")
    assert file.read_text("utf-8") == first
    page.locator("#redo").click()
    expect(page.locator(entry(page, "height"))).to_have_value("530")
    page.get_by_role("link", name="History").click()
    states = page.locator("ol.states > li")
    expect(states.first).to_contain_text("as it is now")
    states.filter(has_text="540").filter(has=page.get_by_role("link")).first.get_by_role("link").click()
    expect(page.locator("table.data").first).to_contain_text("height")
    page.get_by_role("button", name="bring that state back").click()
    page.wait_for_url("**/column/groyne")
    assert "height = 540" in file.read_text("utf-8")


def test_two_tabs_lose_nothing(opened: Open, site: Site) -> None:
    mine, theirs = opened("/column/undertow"), opened("/column/undertow")
    field = mine.locator(entry(mine, "plan", "width"))
    mine.locator('.group[data-key="plan"] > summary').click()
    field.press("End")
    field.press_sequentially("5")  # typed, not yet settled: it must not be overwritten
    other = theirs.locator(entry(theirs, "height"))
    other.fill("850")
    other.press("Enter")
    expect(theirs.locator("#undo")).to_be_enabled()
    field.press("Enter")
    notice = mine.locator(".notice")
    expect(notice).to_contain_text("changed elsewhere")
    expect(notice).to_contain_text("850")
    expect(field).to_have_value("3805")
    mine.get_by_role("button", name="make my change on top").click()
    expect(theirs.locator(entry(theirs, "plan", "width"))).to_have_value("3805")
    text = (site.folder / "columns" / "undertow.toml").read_text("utf-8")
    assert "height = 850" in text
    assert "width = 3805" in text


def test_long_work_runs_beside_and_can_be_stopped(opened: Open) -> None:
    page = opened("/column/harbour")
    stiffness = '.finding[data-slug^="stiffness."]:not([data-slug="stiffness.fill"])'
    fresh = page.locator(f"{stiffness}:not(.stale):not(.screened)")
    # The answers to the text as it stands come first; only then is there one piece of work to stop.
    expect(page.locator(".findings")).to_be_attached()
    expect(page.locator(".working li")).to_have_count(0, timeout=3 * PATIENCE)
    expect(fresh).not_to_have_count(0)
    tubes = page.locator('.group[data-key="tubes"] > summary')
    tubes.click()
    page.locator('.group[data-key="tubes[0]"] > summary').click()
    wall = page.locator(entry(page, "tubes", 0, "wall"))
    wall.fill("4.1")
    wall.press("Enter")
    row = page.locator(".working li", has_text="stiffness, in full")
    expect(row).to_have_attribute("data-status", "running")
    expect(row.locator(".doing")).to_contain_text("full model")
    share = row.locator("progress").evaluate(
        "async (bar) => { const from = bar.value; "
        "for (let k = 0; k < 600 && bar.value === from; k++) await new Promise(requestAnimationFrame); "
        "return [from, bar.value]; }"
    )
    assert 0.0 <= share[0] < share[1] <= 1.0
    row.get_by_role("button", name="stop").click()
    expect(row).to_contain_text("stopped")
    expect(fresh).to_have_count(0)
    screened = page.locator(f"{stiffness}.screened")
    expect(screened).not_to_have_count(0)
    expect(screened.first.locator(".is-stale")).to_have_text("quick model")
    expect(page.locator('.finding[data-slug="stiffness.mesh"]')).to_have_class(re.compile(r"\bstale\b"))
    wall.fill("4")
    wall.press("Enter")
    expect(wall).to_have_value("4")


def test_items_are_added_and_copied_and_left_out(opened: Open, site: Site) -> None:
    page = opened("/column/harbour")
    file = site.folder / "columns" / "harbour.toml"
    page.locator('.group[data-key="pins"] > summary').click()
    page.locator('.group[data-key="pins[1]"] > summary').click()
    page.get_by_role("button", name="copy pins[1]").click()
    third = page.locator('.group[data-key="pins[2]"]')
    expect(third).to_be_attached()
    assert file.read_text("utf-8").count("[[pins]]") == 3
    page.locator('.group[data-key="pins[2]"]').evaluate("each => { each.open = true }")
    page.get_by_role("button", name="leave out pins[2]").click()
    expect(third).to_have_count(0)
    assert file.read_text("utf-8").count("[[pins]]") == 2


def test_a_finding_says_the_same_as_the_command_line(opened: Open, site: Site) -> None:
    page = opened("/column/undertow")
    verdict(page, "body.void_in_cavity", "fails")
    done = subprocess.run(
        [sys.executable, "-m", "orthostat", "check", str(site.folder), "undertow", "--why", "--only", "body"],
        capture_output=True,
        encoding="utf-8",
        env={"PYTHONPATH": str(ROOT / "src"), "PATH": "", "COLUMNS": "400", "PYTHONUTF8": "1"},
        check=False,
    )
    printed = " ".join(done.stdout.split())
    for slug in ("body.void_in_cavity", "body.clash", "body.thread_depth"):
        expect(page.locator(f"{FINDING.format(slug)} .why > p")).not_to_have_count(0)  # closed, but there
        shown = page.locator(f"{FINDING.format(slug)} .why > p").all_text_contents()
        sentences = [text for text in shown if not text.startswith(("To change", slug))]
        assert len(sentences) >= 2
        for sentence in sentences:
            assert " ".join(sentence.split()) in printed


def test_why_leads_to_the_field(opened: Open) -> None:
    page = opened("/column/undertow")
    verdict(page, "body.void_in_cavity", "fails")
    card = page.locator(FINDING.format("body.void_in_cavity"))
    card.locator("summary").click()
    card.locator(".levers a", has_text="tubes").first.click()
    expect(page.locator('.group[data-key="tubes"]')).to_have_class(re.compile("shown"))


def test_the_reach_map_is_shown_with_words(opened: Open) -> None:
    page = opened("/column/harbour/chapter/reach")
    expect(page.locator("figure svg").first).to_be_visible()
    assert page.locator("figure details.in-words").count() == page.locator("figure").count()


def test_two_designs_stand_side_by_side(opened: Open) -> None:
    page = opened("/beside?left=harbour&right=groyne")
    expect(page.locator(".pair svg")).to_have_count(2)
    assert page.locator("table.data").first.locator("tbody tr").count() > 20


def test_the_shop_is_edited_on_its_own_pages(opened: Open, site: Site) -> None:
    page = opened("/shop/part/machines#machines.alder.swing")
    swing = page.locator(entry(page, "machines", "alder", "swing"))
    expect(swing).to_be_focused()
    swing.fill("29 7/8 in")
    swing.press("Enter")
    expect(page.locator(f".entry:has({entry(page, 'machines', 'alder', 'swing')}) .echo")).to_have_text(
        "759 mm"
    )
    assert 'swing = "29 7/8 in"' in (site.folder / "shop.toml").read_text("utf-8")


def test_a_fault_of_the_shop_is_named_wherever_it_stops_the_work(opened: Open, site: Site) -> None:
    shop = opened("/shop/part/machines")
    shop.locator('.group[data-key="machines.alder"] > summary').click()
    height = shop.locator('[data-path=\'["machines", "alder", "height"]\'][data-was]')
    was = height.input_value()
    height.fill("5 parsecs")
    height.press("Enter")
    expect(shop.locator(".unsaved")).to_be_visible()
    page = opened("/column/harbour")
    fault = page.locator("#findings .problem")
    expect(fault).to_contain_text("not a unit we know")
    expect(page.locator("#still svg")).to_be_attached()  # as it was last saved
    fault.get_by_role("link", name="shop.toml: machines.alder.height").click()
    expect(page.locator(":focus")).to_have_value("5 parsecs")
    for path in ("/", "/start", "/column/harbour/chapter/fit", "/shop/part/tools"):
        other = opened(path)
        other.get_by_role("link", name="machines.alder.height").click()
        expect(other.locator(":focus")).to_have_value("5 parsecs")
        other.close()
    page.go_back()
    height.fill(was)
    height.press("Enter")
    expect(shop.locator(".unsaved")).to_have_count(0)
    expect(fault).to_have_count(0)
    expect(page.locator(".finding").first).to_be_visible()
    assert "parsecs" not in (site.folder / "shop.toml").read_text("utf-8")


def test_it_prints(opened: Open, tmp_path: Path) -> None:
    page = opened("/column/undertow")
    expect(page.locator(".finding.fails").first).to_be_visible()
    expect(page.locator("body")).to_have_attribute("data-scene", "drawn")
    page.emulate_media(media="print")
    expect(page.locator("#still svg")).to_be_visible()
    for hidden in ("#scene canvas", ".overlays:not(.painter)", "#painter", "#undo", ".line"):
        expect(page.locator(hidden)).to_be_hidden()
    expect(page.locator(".on-paper")).to_have_text("undertow")
    made = page.pdf(path=tmp_path / "sheet.pdf", prefer_css_page_size=True)
    assert made.startswith(b"%PDF")
    assert len(made) > 20_000
