"""The chapter on the pour and the pour sheet: whole, in both systems, honest where something is missing."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from orthostat.base.dimensions import Metre
from orthostat.base.showing import System
from orthostat.evaluation import Evaluation
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from orthostat.model.pouring import Lift
from orthostat.presentation.blocks import Block, Caution, Figure, Heading, Paragraph, Steps, Table
from orthostat.presentation.chapters import chapters_of
from pours import poured, resin


def blocks(column: Column, slug: str, system: System = "metric") -> tuple[Block, ...]:
    evaluation = Evaluation(column, Limits())
    return next(iter(chapters_of(evaluation, system, only=slug))).blocks


def words(made: tuple[Block, ...]) -> str:
    said: list[str] = []
    for block in made:
        if isinstance(block, Steps):
            said += block.items
        elif isinstance(block, Table):
            said += [block.caption, block.note, *(str(cell) for row in block.rows for cell in row)]
        elif isinstance(block, Figure):
            said.append(block.text_equivalent)
        else:
            said.append(block.text)
    return "\n".join(said)


@pytest.fixture(scope="module")
def chapter() -> tuple[Block, ...]:
    return blocks(poured(), "pour")


@pytest.fixture(scope="module")
def sheet() -> tuple[Block, ...]:
    return blocks(poured(), "pour-sheet")


def test_the_chapter_has_every_part(chapter: tuple[Block, ...]) -> None:
    headings = [block.text for block in chapter if isinstance(block, Heading)]
    assert headings == ["Volumes", "Mix", "Grading", "To buy", "Batches", "Heat", "Lifts", "Form", "Gaps"]


def test_every_figure_is_a_picture_with_words(chapter: tuple[Block, ...]) -> None:
    figures = [block for block in chapter if isinstance(block, Figure)]
    names = [figure.name for figure in figures]
    assert names == [
        "pour-grading", "pour-temperature", "pour-cured", "pour-peak", "pour-lifts", "pour-form", "pour-gap",
    ]  # fmt: skip
    for figure in figures:
        root = ET.fromstring(figure.svg)
        assert root.tag.endswith("svg")
        assert len(figure.text_equivalent) > 30


def test_one_go_is_answered_as_it_was_asked(chapter: tuple[Block, ...]) -> None:
    said = [block.text for block in chapter if isinstance(block, Paragraph)]
    assert any(text.startswith("No: with likely values it takes") for text in said)


def test_the_sheet_has_cautions_first_and_its_steps_in_order(sheet: tuple[Block, ...]) -> None:
    assert [type(block) for block in sheet[:5]] == [Caution] * 5
    headings = [block.text for block in sheet if isinstance(block, Heading)]
    assert headings == [
        "What must be open before the day", "Materials", "Weights", "The day before", "The form", "Pouring",
        "Afterwards", "Record",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "said",
    [
        "sensitise", "silica", "smokes", "Lift with tackle", "safety data sheets", "Blast", "release wax",
        "dry it",
        "trial cube", "Hold down", "tamp", "air can get out", "Top up", "post-cure", "Re-tighten", "Batch 1",
        "Batch 2", "Cast one cube from every batch", "peak", "Seal with mastic", "do not pour before",
    ],
)  # fmt: skip
def test_the_sheet_says_it(sheet: tuple[Block, ...], said: str) -> None:
    assert said.lower() in words(sheet).lower()


def test_lifts_say_when_the_next_is_poured() -> None:
    lifts = (Lift(Metre(0.249)), Lift(Metre(0.498)))
    assert "lift 2 after" in words(blocks(poured(lifts=lifts), "pour-sheet"))


def test_an_inch_shop_reads_inches_and_fahrenheit() -> None:
    said = words(blocks(poured(), "pour-sheet", "inch"))
    assert "°F" in said
    assert " lb" in said
    assert " in" in said


def test_a_missing_test_mass_leaves_the_rest_of_the_chapter_standing() -> None:
    column = poured(resin=replace(resin(), pot_life_mass=None))
    said = words(blocks(column, "pour"))
    assert "Unknown: not stated: resins.casting.pot_life_mass." in said
    assert "Shopping list" in said


def test_a_column_without_pour_says_which_key() -> None:
    assert "columns.square.pour" in words(blocks(replace(poured(), pour=None), "pour-sheet"))
