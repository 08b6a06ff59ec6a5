"""The picture of the sheet painted with reach and movement, swinging in a mode, with the tool at a cut."""

from __future__ import annotations

import base64
import json
import re
from itertools import pairwise

import pytest
from playwright.sync_api import Page, Route, expect

from browser.conftest import Open, Site
from browser.test_looks import SCREENS, checker
from orthostat.presentation.painting import RAMP

__all__ = ["checker"]

COLUMN = "/column/skerry"


def painted(page: Page, what: str) -> None:
    expect(page.locator("body")).to_have_attribute("data-painted", what)
    expect(page.locator("#scene")).to_have_attribute("aria-busy", "false")


def opened_on(opened: Open, path: str = COLUMN) -> Page:
    page = opened(path)
    expect(page.locator("body")).to_have_attribute("data-scene", "drawn")
    expect(page.locator("#tool-cut option").nth(1)).to_be_attached()
    return page


def seen(page: Page) -> str:
    """What the canvas shows, as an address of data."""
    return "data:image/png;base64," + base64.b64encode(page.locator("#scene canvas").screenshot()).decode()


READ = """async (address) => {
  const picture = new Image();
  picture.src = address;
  await picture.decode();
  const canvas = new OffscreenCanvas(picture.width, picture.height);
  const pen = canvas.getContext("2d");
  pen.drawImage(picture, 0, 0);
  return pen.getImageData(0, 0, picture.width, picture.height).data;
}"""
DIFFER = f"""async ([a, b]) => {{
  const read = {READ};
  const [x, y] = [await read(a), await read(b)];
  if (x.length !== y.length) return -1;
  let many = 0;
  for (let k = 0; k < x.length; k += 4) {{
    if (Math.abs(x[k] - y[k]) + Math.abs(x[k + 1] - y[k + 1]) + Math.abs(x[k + 2] - y[k + 2]) > 60) many += 1;
  }}
  return (4 * many) / x.length;
}}"""
TINTED = f"""async ([address, red, green, blue]) => {{
  const x = await ({READ})(address);
  let many = 0;
  for (let k = 0; k < x.length; k += 4) {{
    if (Math.abs(x[k] - red) + Math.abs(x[k + 1] - green) + Math.abs(x[k + 2] - blue) < 9) many += 1;
  }}
  return (4 * many) / x.length;
}}"""


def differ(page: Page, a: str, b: str) -> float:
    """Share of the points of two equally large pictures that differ visibly."""
    share = float(page.evaluate(DIFFER, [a, b]))
    assert share >= 0.0
    return share


def tinted(page: Page, shade: str) -> float:
    """Share of the picture in one tint, such as a band's."""
    return float(page.evaluate(TINTED, [seen(page), *(int(shade[k : k + 2], 16) for k in (1, 3, 5))]))


def test_faces_are_painted_with_reach_and_the_same_stands_in_words(opened: Open) -> None:
    page = opened_on(opened)
    assert tinted(page, RAMP[2]) < 0.001
    page.select_option("#paint", "reach")
    painted(page, "reach")
    expect(page.locator("#legend .bands li")).not_to_have_count(0)
    expect(page.locator("#legend")).to_contain_text("all 11 tools")
    expect(page.locator("#painted table.data tbody tr")).to_have_count(6)
    page.select_option("#paint-of", "face mill 80")
    expect(page.locator("#legend h3")).to_have_text("How near face mill 80 gets")
    expect(page.locator("#legend")).to_contain_text("cuts it, tip 0.300 mm into the face")
    expect(page.locator("#painted")).to_contain_text("full width from 41.6 mm above the pallet")
    assert tinted(page, RAMP[3]) > 0.03
    assert tinted(page, RAMP[1]) > 0.003
    page.check("#paint-loaded")
    expect(page.locator("#painted")).to_contain_text("the other faces loaded")
    page.select_option("#paint", "")
    painted(page, "nothing")
    expect(page.locator("#legend")).to_be_hidden()
    expect(page.locator("#painted")).to_be_hidden()


def test_movement_is_painted_under_a_cut_and_under_a_force(opened: Open) -> None:
    page = opened_on(opened)
    page.select_option("#paint", "movement")
    painted(page, "movement")
    expect(page.locator("#legend")).to_contain_text("µm")
    expect(page.locator("#legend")).to_contain_text(re.compile(r"Drawn [\d ]+ times too large"))
    expect(page.locator("#painted")).to_contain_text("the work moves")
    assert tinted(page, RAMP[0]) > 0.003
    assert tinted(page, RAMP[-1]) > 0.003
    expect(page.locator("#paint-play")).to_be_hidden()
    force = page.locator('#paint-of optgroup[label="a force at"] option').first.get_attribute("value")
    page.select_option("#paint-of", force)
    expect(page.locator("#legend")).to_contain_text("µm/kN")


def test_a_mode_swings_until_it_is_stopped(opened: Open) -> None:
    page = opened_on(opened)
    page.select_option("#paint", "mode")
    painted(page, "mode")
    expect(page.locator("#paint-of option")).to_have_count(10)
    expect(page.locator("#legend")).to_contain_text("Damping ratio")
    expect(page.locator("body")).to_have_attribute("data-swinging", "true")
    page.locator("#paint-play").focus()
    page.keyboard.press("Space")
    expect(page.locator("body")).to_have_attribute("data-swinging", "false")
    expect(page.locator("#paint-play")).to_have_text("Play")
    first = seen(page)
    page.wait_for_timeout(300)
    assert differ(page, first, seen(page)) == 0.0
    page.keyboard.press("Space")
    expect(page.locator("body")).to_have_attribute("data-swinging", "true")
    pictures = []
    for _ in range(6):
        page.wait_for_timeout(350)
        pictures.append(seen(page))
    assert max(differ(page, a, b) for a, b in pairwise(pictures)) > 0.003


def test_nothing_moves_for_those_who_asked_for_stillness(opened: Open) -> None:
    page = opened_on(opened)
    page.emulate_media(reduced_motion="reduce")
    page.select_option("#paint", "mode")
    painted(page, "mode")
    expect(page.locator("#paint-play")).to_have_text("Play")
    first = seen(page)
    page.wait_for_timeout(300)
    assert differ(page, first, seen(page)) == 0.0
    page.locator("#paint-play").press("Enter")  # still to be had when asked for
    expect(page.locator("body")).to_have_attribute("data-swinging", "true")


def test_the_tool_stands_at_a_cut_and_its_room_is_told(opened: Open) -> None:
    page = opened_on(opened)
    page.select_option("#tool-cut", label="holes of plate, face 1")
    painted(page, "tool")
    expect(page.locator("#legend .verdict")).to_have_text("holds")
    at_another = seen(page)
    page.select_option("#tool-cut", label="spot of plate, face 3")
    expect(page.locator("#legend")).to_contain_text("B 120°")
    assert differ(page, at_another, seen(page)) > 0.02
    expect(page.locator("#legend")).to_contain_text("spot drill 10 at B 120°")
    expect(page.locator("#legend .verdict")).to_have_text("fails")
    expect(page.locator("#painted")).to_contain_text("would cut 63.9 mm into housing of housing, face 2")
    expect(page.locator("#painted")).to_contain_text("Is there room beside the spindle nose and head")
    expect(page.locator("#tool-place option")).to_have_count(2)
    page.select_option("#tool-place", "1")
    expect(page.locator("#painted")).to_contain_text("place 2 of 2")
    page.select_option("#tool-cut", label="no cut")
    painted(page, "nothing")


def test_paint_of_an_older_design_is_stale_until_the_new_one_is_there(opened: Open, site: Site) -> None:
    page = opened_on(opened, "/column/groyne")
    page.select_option("#paint", "reach")
    painted(page, "reach")
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/picture?*", hold)
    height = page.locator(f"[data-path='{json.dumps(['height'])}'][data-was]")
    height.fill("470")
    height.press("Enter")
    expect(page.locator("#legend.stale .is-stale")).to_be_visible()
    expect(page.locator("#painted .is-stale")).to_contain_text("before your last change")
    assert held
    page.unroute("**/picture?*")  # lets go what was held
    expect(page.locator("#legend.stale")).to_have_count(0)
    expect(page.locator("#painted .is-stale")).to_have_count(0)
    assert "height = 470" in (site.folder / "columns" / "groyne.toml").read_text("utf-8")


def test_without_3d_the_words_and_numbers_remain(opened: Open) -> None:
    page = opened("/")
    page.context.route(
        "**/vendor/three.js", lambda route: route.fulfill(body="export {};", content_type="text/javascript")
    )
    page.goto(page.url.rstrip("/") + COLUMN)
    expect(page.locator("#no-3d")).to_contain_text("stands below in words and numbers")
    expect(page.locator("#tool-cut option").nth(1)).to_be_attached()
    page.select_option("#paint", "mode")
    painted(page, "mode")
    expect(page.locator("#paint-play")).to_be_hidden()
    expect(page.locator("#painted table.data tbody tr")).not_to_have_count(0)
    page.select_option("#tool-cut", index=1)
    expect(page.locator("#painted")).to_contain_text("above the pallet")


@pytest.mark.parametrize("screen", SCREENS)
def test_paint_is_accessible_and_fits_every_screen(opened: Open, checker: str, screen: str) -> None:
    page = opened_on(opened)
    width, height = SCREENS[screen]
    page.set_viewport_size({"width": width, "height": height})
    page.select_option("#paint", "reach")
    page.select_option("#tool-cut", label="spot of plate, face 3")
    painted(page, "reach tool")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate(checker)
    found = page.evaluate("async () => (await axe.run('.view')).violations")
    serious = [
        (each["id"], [node["html"][:160] for node in each["nodes"][:3]])
        for each in found
        if each["impact"] in ("serious", "critical")
    ]
    assert serious == []


def test_everything_can_be_chosen_with_the_keyboard(opened: Open) -> None:
    page = opened_on(opened)
    page.locator('.overlays [data-show="through"]').focus()
    page.keyboard.press("Tab")
    expect(page.locator("#paint")).to_be_focused()
    page.keyboard.press("r")
    painted(page, "reach")
    page.keyboard.press("Tab")
    expect(page.locator("#paint-of")).to_be_focused()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#legend h3")).to_contain_text("How near")


def test_paint_is_light(opened: Open) -> None:
    page = opened_on(opened)
    with page.expect_response(re.compile(r"/picture\?paint=mode")) as answer:
        page.select_option("#paint", "mode")
    painted(page, "mode")
    assert answer.value.request.sizes()["responseBodySize"] < 60_000
