"""Paint: bands that cover everything once, the same numbers in words, and what is not known said."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import columns
import orthostat
from orthostat.evaluation import Evaluation, OpenColumn
from orthostat.model.limits import Limits
from orthostat.presentation.blocks import Paragraph, Quantity, Table
from orthostat.presentation.contours import areas_of, contoured
from orthostat.presentation.painting import GRAIN, RAMP, Chosen, Painting, cut_key, levels
from orthostat.presentation.picture import picture_of

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
OPEN: dict[str, tuple[OpenColumn, Evaluation]] = {}


def opened(shop: str, name: str) -> tuple[OpenColumn, Evaluation]:
    if name not in OPEN:
        column = orthostat.open_shop(EXAMPLES / shop).column(name)
        OPEN[name] = column, column.evaluate()
    return OPEN[name]


def painted(shop: str, name: str, chosen: Chosen) -> Painting:
    column, evaluation = opened(shop, name)
    found = picture_of(evaluation, chosen, column.system)
    assert found.unknown == ()
    assert found.painting is not None
    return found.painting


def table_of(painting: Painting) -> Table:
    (table,) = (block for block in painting.blocks if isinstance(block, Table))
    return table


def words_of(painting: Painting) -> str:
    return " ".join(block.text for block in painting.blocks if isinstance(block, Paragraph))


def brightness(shade: str) -> float:
    red, green, blue = (int(shade[k : k + 2], 16) for k in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_a_slope_is_cut_into_strips_of_known_area() -> None:
    points = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 1.0, 0.0]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    cut = contoured(points[:, 0], triangles, [0.25, 0.7])
    areas = areas_of(cut.read(points), cut.triangles)
    assert [areas[cut.band == band].sum() for band in range(3)] == pytest.approx([0.25, 0.45, 0.3])
    across = cut.read(points[:, 0])[cut.lines]
    assert across[:, 0] == pytest.approx(across[:, 1])
    assert set(np.round(across[:, 0], 9).tolist()) == {0.25, 0.7}
    # What was seen from the front still is.
    a, b, c = (cut.read(points)[cut.triangles[:, k]] for k in range(3))
    assert np.all(np.cross(b - a, c - a)[:, 2] > 0.0)


def test_a_level_through_a_corner_cuts_nothing_twice() -> None:
    points = np.array([[0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [1.0, 1.0, 0.0]])
    cut = contoured(points[:, 0], np.array([[0, 1, 2]]), [1.0])
    areas = areas_of(cut.read(points), cut.triangles)
    assert [areas[cut.band == band].sum() for band in range(2)] == pytest.approx([0.5, 0.5])


@pytest.mark.parametrize("largest", [1.83e-6, 4.2e-5, 0.0123, 1.0])
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_levels_are_round_and_the_last_band_is_no_sliver(largest: float, system: Any) -> None:
    steps, words = levels(largest, "length", system)
    assert len(words) == len(steps) + 1
    assert 2 <= len(words) <= 7
    ends = [0.0, *steps, largest]
    widths = np.diff(ends)
    assert np.all(widths > 0.25 * widths[0])
    assert np.ptp(widths[:-1]) < 1e-9 * largest


def test_the_ramp_is_read_without_colour() -> None:
    tones = [brightness(shade) for shade in RAMP]
    assert all(a - b > 15.0 for a, b in pairwise(tones))


CASES = [
    ("saltmarsh", "harbour", Chosen("reach")),
    ("saltmarsh", "skerry", Chosen("reach", "face mill 80")),
    ("copperfield", "lintel", Chosen("reach", "3 inch shell mill", loaded=True)),
    ("saltmarsh", "skerry", Chosen("movement")),
    ("copperfield", "lintel", Chosen("movement", "right links, face 1, no. 1")),
    ("copperfield", "lintel", Chosen("mode", "4")),
]


@pytest.mark.parametrize(("shop", "name", "chosen"), CASES)
def test_each_face_is_covered_once_and_every_band_is_told(shop: str, name: str, chosen: Chosen) -> None:
    painting = painted(shop, name, chosen)
    table = table_of(painting)
    count = len(painting.bands)
    assert [band.number for band in painting.bands] == list(range(1, count + 1))
    headings = [column.heading for column in table.columns]
    assert headings[1 : count + 1] == [f"band {k}" for k in range(1, count + 1)]
    for row in table.rows:
        shares = [cell.value for cell in row[1 : count + 1] if isinstance(cell, Quantity)]
        assert len(shares) == count
        assert sum(share for share in shares if share is not None) == pytest.approx(1.0, abs=1e-5)
    for band in painting.bands:
        assert f"{band.number}: {band.words}" in table.note
        assert bool(band.shade) != band.hatched
    assert {int(label.text) for label in painting.labels} <= set(range(1, count + 1))
    assert painting.labels


@pytest.mark.parametrize(("shop", "name", "chosen"), [case for case in CASES if case[2].paint != "reach"])
def test_the_body_is_drawn_with_its_largest_movement_in_the_last_band(
    shop: str, name: str, chosen: Chosen
) -> None:
    painting = painted(shop, name, chosen)
    surface = painting.surface
    assert surface is not None
    moved = np.linalg.norm(np.array(surface.moved).reshape(-1, 3), axis=1) * GRAIN
    last = np.unique(np.array(surface.bands[-1]))
    assert moved.argmax() in last or moved[last].max() == pytest.approx(moved.max(), abs=2.0 * GRAIN)
    height = np.ptp(np.array(surface.points).reshape(-1, 3)[:, 1]) * GRAIN
    assert 0.02 * height < moved.max() <= 0.0701 * height + GRAIN


def test_a_column_turned_on_its_pallet_is_painted_turned() -> None:
    """The body is solved in a frame of its own; what is painted lies on the column's own faces."""
    design = columns.slab(turn=0.4)
    found = picture_of(Evaluation(design, Limits()), Chosen("mode", "1"), "metric")
    assert found.painting is not None
    assert found.painting.surface is not None
    points = np.array(found.painting.surface.points).reshape(-1, 3) * GRAIN
    points = points[points[:, 1] > 0.5 * points[:, 1].max()]
    for face in design.faces:
        out = np.array([np.sin(face.angle), 0.0, np.cos(face.angle)])
        assert (points @ out).max() == pytest.approx(face.distance, abs=0.001)


def test_movement_under_a_cut_says_what_the_chapter_says() -> None:
    _, evaluation = opened("saltmarsh", "harbour")
    solved = evaluation.stiffness.governing_quick
    worst = max(solved.movements, key=lambda moved: moved.total)
    painting = painted("saltmarsh", "harbour", Chosen("movement"))
    assert f"moves {1e6 * worst.total:.2f} µm at the cut" in words_of(painting)
    cut = solved.inputs.cuts[worst.cut]
    key = cut_key(solved.inputs.places[cut.place].name, cut.name)
    assert painted("saltmarsh", "harbour", Chosen("movement", key)).blocks == painting.blocks


def test_a_mode_states_frequency_damping_and_how_it_is_drawn() -> None:
    _, evaluation = opened("saltmarsh", "skerry")
    mode = evaluation.stiffness.governing_quick.modes[0]
    painting = painted("saltmarsh", "skerry", Chosen("mode", "1"))
    assert mode.loss is not None
    assert f"{mode.frequency:.0f} Hz" in painting.title
    assert f"damping ratio {50.0 * mode.loss:.3f}%" in words_of(painting)
    assert painting.swings
    assert "drawn as" in painting.drawn


def test_the_tool_stands_where_the_finding_has_it() -> None:
    column, evaluation = opened("saltmarsh", "skerry")
    station = next(each for each in evaluation.column.stations if each.cuts)
    key = cut_key(station.name, station.cuts[0].name)
    tool = picture_of(evaluation, Chosen(cut=key), column.system).tool
    assert tool is not None
    found = evaluation.reach.cut(station.name, station.cuts[0].name)
    assert tool.turn == -found.task.angle
    assert tool.tip == (*station.cuts[0].places[0], found.task.tip)
    assert tool.verdict == "fails"
    assert tool.near[0] in {blocker.name for blocker in found.blockers}
    assert "would cut 63.9 mm into" in tool.room
    (table,) = (block for block in tool.blocks if isinstance(block, Table))
    (row,) = (
        row
        for finding in evaluation.findings(only="reach")
        if finding.slug == "reach.head"
        for row in finding.rows
        if row.subject == station.cuts[0].name
    )
    assert any(row.why in str(cells[2]) for cells in table.rows)
    second = picture_of(evaluation, Chosen(cut=key, place=1), column.system).tool
    assert second is not None
    assert second.tip[:2] == station.cuts[0].places[1]


@pytest.mark.parametrize(
    ("chosen", "said"),
    [
        (Chosen("movement", "nothing of this name"), "load of this cut is not known"),
        (Chosen("mode", "99"), "no mode 99"),
        (Chosen(cut="no such\ncut"), "no longer there"),
    ],
)
def test_what_is_not_there_is_said(chosen: Chosen, said: str) -> None:
    column, evaluation = opened("saltmarsh", "skerry")
    found = picture_of(evaluation, chosen, column.system)
    assert found.painting is None
    assert found.tool is None
    assert said in found.unknown[0]


def test_a_design_without_material_is_unknown_not_painted() -> None:
    shop = orthostat.open_shop(EXAMPLES / "saltmarsh")
    text = shop.folder.column("skerry").text
    assert 'material = "EN-GJL-250"' in text
    column = shop.column_as(
        "skerry", shop.folder.column_of("skerry", text.replace('material = "EN-GJL-250"', ""))
    )
    found = picture_of(column.evaluate(), Chosen("mode", "1"), column.system)
    assert found.painting is None
    assert "can't be painted" in found.unknown[0]


def test_a_shop_without_tools_has_nothing_to_paint_with() -> None:
    _, evaluation = opened("saltmarsh", "skerry")
    bare = Evaluation(replace(evaluation.column, tools=()), evaluation.limits)
    found = picture_of(bare, Chosen("reach"), "metric")
    assert found.painting is None
    assert "no tools" in found.unknown[0]
    assert found.tools == ()
