"""Where a column touches what is under it: its foot, as the document tells it."""

from __future__ import annotations

from math import pi, sqrt
from pathlib import Path

import pytest
import shapely

import orthostat
from orthostat.base.problems import DocumentError
from orthostat.model.column import Column

SHOP = """\
[units]
length = "mm"
[machines.alder]
x = 640
[pallets.p]
width = 400
depth = 400
thickness = 75
"""
TOP = 'machine = "alder"\npallet = "p"\nheight = 480\n'
SLAB = TOP + 'plan = { shape = "slab", width = 320, thickness = 120 }\n'
CORED = SLAB + 'body = { kind = "cored", material = "EN-GJL-250", plate = 25, roof = 25 }\n'
PADS = "foot = { pads = { diameter = 50, at = [[-130, -35], [130, -35], [130, 35], [-130, 35]] } }\n"


def column(tmp_path: Path, text: str) -> Column:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "columns" / "c.toml").write_text(text, encoding="utf-8")
    return orthostat.open_shop(tmp_path).column("c").evaluate().column


def touching(made: Column) -> float:
    """The area that touches [m²]; no place is counted twice."""
    shapes = [shapely.Polygon(patch.points) for patch in made.base_contact]
    whole = float(sum(shape.area for shape in shapes))
    assert shapely.union_all(shapes).area == pytest.approx(whole, rel=1e-6)
    return whole


def test_a_pad_that_ends_at_the_edge_is_on_the_foot(tmp_path: Path) -> None:
    # Circles are drawn with 24 corners, so their area is 1.1 % short of the disc's.
    solid = SLAB + 'body = { kind = "solid", material = "EN-GJL-250" }\n' + PADS
    assert touching(column(tmp_path, solid)) == pytest.approx(4 * pi * 0.025**2, rel=0.015)


def test_a_pad_that_hangs_over_a_hollow_touches_on_the_wall_only(tmp_path: Path) -> None:
    # Across the slab a pad spans 10 to 60 mm from the middle and the wall 35 to 60 mm: half a disc; the
    # end wall (135 mm on) adds the part of the other half beyond 135 mm, a segment cut 5 mm from the centre.
    half = 0.5 * pi * 25.0**2
    # Of the inner half, the quarter beyond x = 135: the quarter disc less the strip from 130 to 135.
    strip = 5.0 / 2.0 * sqrt(25.0**2 - 25.0) + 25.0**2 / 2.0 * 0.2013579  # asin(0.2)
    expected = 4.0 * (half + pi * 25.0**2 / 4.0 - strip) * 1e-6
    assert touching(column(tmp_path, CORED + PADS)) == pytest.approx(expected, rel=0.02)


def test_a_rim_wider_than_the_wall_touches_on_the_wall_only(tmp_path: Path) -> None:
    walls = 0.320 * 0.120 - 0.270 * 0.070
    assert touching(column(tmp_path, CORED + "foot = { rim = 30 }\n")) == pytest.approx(walls, rel=1e-6)


def test_pads_under_the_hollow_alone_are_told(tmp_path: Path) -> None:
    pad = "foot = { pads = { diameter = 20, at = [0, 0] } }\n"
    with pytest.raises(DocumentError) as caught:
        column(tmp_path, CORED + pad)
    (problem,) = caught.value.problems
    assert (problem.key, "hollow there" in problem.message) == ("foot", True)
