"""The chapter on reach: tables carry the numbers, pictures say them in words and in hatches."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

import columns
import orthostat
from orthostat.evaluation import Evaluation
from orthostat.model.limits import Limits
from orthostat.presentation.blocks import Figure, Quantity, Table, VerdictMark
from orthostat.presentation.reach import CHAPTER, all_maps

SALTMARSH = Path(__file__).resolve().parents[3] / "examples" / "saltmarsh"
SVG = "{http://www.w3.org/2000/svg}"
SPINDRIFT = orthostat.open_shop(SALTMARSH).column("spindrift").evaluate()
BLOCKS = CHAPTER.blocks(SPINDRIFT, "metric")
TABLES = {block.caption: block for block in BLOCKS if isinstance(block, Table)}
FIGURES = {block.name: block for block in BLOCKS if isinstance(block, Figure)}


def hatched(picture: str) -> int:
    return sum(node.get("fill") == "url(#hatch-blocked)" for node in ElementTree.fromstring(picture).iter())


def test_the_truing_table_has_a_row_for_each_face() -> None:
    rows = TABLES["Which of the shop's mills can machine the whole face?"].rows
    assert [row[1] for row in rows] == ["face 1", "face 2", "face 3", "face 4"]
    assert rows[0][0] == VerdictMark("fails")
    assert isinstance(rows[0][5], Quantity)
    assert rows[0][5].value == pytest.approx(0.005, abs=1e-6)


def test_the_table_of_changes_gives_the_cutter_the_stand_off_and_the_riser() -> None:
    (table,) = (t for caption, t in TABLES.items() if caption.startswith("What would reach all of face"))
    words = {str(row[0]): str(row[3]) for row in table.rows}
    assert words["cutter diameter"].startswith("60.00 mm or more")
    assert words["stand-off"].startswith("1.300 mm or more")
    assert words["riser"].startswith("5.000 mm to")
    assert words["gauge length"] == "nothing in the range looked at"


def test_a_figure_for_alike_faces_and_for_the_cut_that_fails() -> None:
    assert set(FIGURES) == {"overview", "truing-face-1", "truing-face-1-side", "cut-1"}
    assert "5.00 mm to 560 mm" in FIGURES["truing-face-1"].text_equivalent
    assert "in the way of the holder" in FIGURES["cut-1"].text_equivalent


@pytest.mark.parametrize("name", ["overview", "truing-face-1", "cut-1"])
def test_what_is_out_of_reach_is_hatched(name: str) -> None:
    assert hatched(FIGURES[name].svg) > 0


def test_nothing_is_hatched_where_everything_is_reached() -> None:
    pictures = dict(all_maps(orthostat.open_shop(SALTMARSH).column("harbour").evaluate(), "metric"))
    cuts = [picture for stem, picture in pictures.items() if stem.startswith("cut-")]
    assert len(cuts) == 12
    assert all(hatched(picture) == 0 for picture in cuts)


def test_maps_are_named_for_files_and_cover_faces_tools_and_cuts() -> None:
    evaluation = Evaluation(columns.hexagon(), Limits())
    names = [stem for stem, _ in all_maps(evaluation, "inch")]
    assert len(names) == len(set(names)) == 1 + 6 * 3 * 2 + 12
    assert all(set(stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789-") for stem in names)


def test_the_map_shows_the_tool_s_circle_at_its_limit_positions() -> None:
    picture = ElementTree.fromstring(FIGURES["truing-face-1"].svg)
    radii = {node.get("r") for node in picture.iter(f"{SVG}circle")}
    assert len(list(picture.iter(f"{SVG}circle"))) >= 3
    assert len(radii) >= 1


def test_inch_shops_read_inches() -> None:
    words = " ".join(
        block.text_equivalent for block in CHAPTER.blocks(SPINDRIFT, "inch") if isinstance(block, Figure)
    )
    assert "0.197 in" in words
    assert " mm" not in words
