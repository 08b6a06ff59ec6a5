"""The chapter on mass and fit: its tables carry the results, its picture says them in words too."""

from dataclasses import replace
from math import hypot
from xml.etree import ElementTree

import pytest

import columns
from evaluations import Fitted
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Role
from orthostat.model.column import Column
from orthostat.presentation.blocks import Figure, Quantity, Table
from orthostat.presentation.fit import CHAPTER

SVG = "{http://www.w3.org/2000/svg}"
SQUARE = columns.square_filled()


def tables(column: Column) -> dict[str, Table]:
    blocks = CHAPTER.blocks(Fitted(column), "metric")
    return {block.caption: block for block in blocks if isinstance(block, Table)}


def picture(column: Column) -> Figure:
    (found,) = (
        b for b in CHAPTER.blocks(Fitted(column), "metric") if isinstance(b, Figure) and b.name == "plan"
    )
    return found


def test_the_table_of_masses_shows_every_half_loaded_case() -> None:
    table = tables(SQUARE)["What it weighs, and how hard it is to turn"]
    names = [row[0] for row in table.rows]
    assert names[:2] == ["the bare column", "the column with its studs"]
    assert sum("empty" in str(name) for name in names) == 4
    loaded = next(row for row in table.rows if row[0] == "the loaded column")
    assert loaded[2] == Quantity(Fitted(SQUARE).solids.loaded.mass, "mass")


def test_what_is_not_known_is_a_dash_and_is_named() -> None:
    stone = replace(columns.FILL, density=None)
    bodies = (replace(b, material=stone) if b.role is Role.FILL else b for b in SQUARE.bodies)
    table = tables(replace(SQUARE, bodies=tuple(bodies)))["What it weighs, and how hard it is to turn"]
    assert table.rows[0][2] == Quantity(None, "mass")
    assert isinstance(table.rows[0][1], Quantity)
    assert "materials.fill.density" in table.note


def test_travels_have_a_row_for_each_cut_and_none_without_cuts() -> None:
    assert len(tables(SQUARE)["What each cut asks of the machine"].rows) == 8
    assert "What each cut asks of the machine" not in tables(replace(SQUARE, stations=()))


def test_the_picture_draws_the_swept_circle_and_the_limit_to_scale() -> None:
    figure = picture(SQUARE)
    root = ElementTree.fromstring(figure.svg)
    radii = {
        group.findtext(f"{SVG}title"): float(circle.attrib["r"])
        for group in root.iter(f"{SVG}g")
        if (circle := group.find(f"{SVG}circle")) is not None
    }
    ratio = radii["swept by the load"] / radii["the machine's swing"]
    assert ratio == pytest.approx(hypot(0.054, 0.21) / 0.4, rel=1e-3)
    assert "434 mm" in figure.text_equivalent
    assert "inside the machine's swing of 800 mm" in figure.text_equivalent


def test_the_words_say_when_it_sweeps_too_far() -> None:
    assert SQUARE.machine is not None
    small = replace(SQUARE, machine=replace(SQUARE.machine, swing_diameter=Metre(0.4)))
    assert "beyond the machine's swing" in picture(small).text_equivalent
    unknown = replace(SQUARE, machine=None)
    assert "not stated" in picture(unknown).text_equivalent


@pytest.mark.parametrize("build", [columns.slab, columns.hexagon, columns.triangle])
def test_every_shape_is_drawn(build: object) -> None:
    figure = picture(build(turn=0.2))  # type: ignore[operator]
    shapes = list(ElementTree.fromstring(figure.svg).iter(f"{SVG}polygon"))
    assert len(shapes) > 6
