"""The chapters on loads and hold, and the tightening sheet: what they say, and that pictures are SVG."""

import itertools
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from checks.test_hold import HAND, LIMITS, PROPER, TWO_PINS, drilled
from orthostat.base.dimensions import NewtonMetre
from orthostat.evaluation import Evaluation
from orthostat.model.column import Column
from orthostat.presentation.blocks import Block, Caution, Figure, Paragraph, Steps, Table
from orthostat.presentation.chapters import chapters_of
from orthostat.presentation.joint_picture import between
from orthostat.presentation.tightening import sequence


def chapter(column: Column, slug: str, system: str = "metric") -> tuple[Block, ...]:
    (made,) = chapters_of(Evaluation(column, LIMITS), system, only=slug)  # type: ignore[arg-type]
    return made.blocks


def words(blocks: tuple[Block, ...]) -> str:
    return " ".join(each.text for each in blocks if isinstance(each, Paragraph | Caution))


@pytest.mark.parametrize("slug", ["loads", "hold", "tightening"])
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_every_chapter_is_made_and_its_pictures_parse(slug: str, system: str) -> None:
    blocks = chapter(drilled(**PROPER), slug, system)
    assert blocks
    figures = [each for each in blocks if isinstance(each, Figure)]
    assert len({each.name for each in figures}) == len(figures)
    for figure in figures:
        root = ET.fromstring(figure.svg)
        assert root.tag.endswith("svg")
        assert figure.text_equivalent
    for table in (each for each in blocks if isinstance(each, Table)):
        assert all(len(row) == len(table.columns) for row in table.rows)


def test_a_column_without_pins_is_told_so() -> None:
    assert "Nothing but friction locates this joint" in words(chapter(drilled(**PROPER), "hold"))
    pinned = words(chapter(replace(drilled(**PROPER), pins=TWO_PINS), "hold"))
    assert "Once friction is beaten it moves" in pinned


def test_the_part_that_lifts_is_hatched_and_named() -> None:
    loose = drilled(**HAND)
    studs = (replace(loose.studs[0], torque=NewtonMetre(150.0)), *loose.studs[1:])
    figures = [each for each in chapter(replace(loose, studs=studs), "hold") if isinstance(each, Figure)]
    assert "hatch-blocked)" in figures[0].svg
    assert ">lifts<" in figures[0].svg
    even = [each for each in chapter(drilled(**PROPER), "hold") if isinstance(each, Figure)]
    assert ">lifts<" not in even[0].svg


def test_bands_of_pressure_cover_the_patch_once() -> None:
    square = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    plane = (-1.0, 4.0, 1.0)

    def area(points: tuple[tuple[float, float], ...]) -> float:
        following = points[1:] + points[:1]
        return 0.5 * abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, following, strict=True)))

    levels = [-1e30, 0.0, 0.7, 1.9, 1e30]
    parts = [between(square, plane, low, high) for low, high in itertools.pairwise(levels)]
    assert sum(area(part) for part in parts) == pytest.approx(1.0)
    assert area(parts[0]) == pytest.approx(0.125)  # where 4 x + z < 1, less the corner above


def test_the_sheet_goes_across_corners_and_says_why_torque_is_poor() -> None:
    column = drilled(**PROPER)
    evaluation = Evaluation(column, LIMITS)
    order = sequence(evaluation.hold.joints[0].result)
    at = {stud.name: stud.at for stud in column.studs}
    (x0, z0), (x1, z1) = at[order[0]], at[order[1]]
    assert (x0 + x1, z0 + z1) == pytest.approx((0.0, 0.0))
    blocks = chapter(column, "tightening")
    assert "winds up" in words(blocks)
    steps = next(each for each in blocks if isinstance(each, Steps))
    assert any("30%, 60%, 100%" in step for step in steps.items)
    assert any("first heat cycle" in step for step in steps.items)


def test_a_torque_beyond_the_stud_is_a_caution() -> None:
    over = chapter(drilled(**{**PROPER, "torque": NewtonMetre(300.0)}), "tightening")
    assert any("is more than" in each.text for each in over if isinstance(each, Caution))


def test_what_is_not_stated_is_said_and_the_rest_stands() -> None:
    blind = chapter(drilled(**{**PROPER, "tightening": None}), "hold")
    assert "Slip, lift and tipping are unknown" in words(blind)
    assert any(isinstance(each, Table) for each in blind)
