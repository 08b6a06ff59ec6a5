"""The chapter on stiffness says which way the quick model is off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import orthostat
from orthostat.presentation.blocks import Figure, Paragraph, Quantity, Table
from orthostat.presentation.chapters import chapters_of

EXAMPLES = Path(__file__).resolve().parents[3] / "examples" / "saltmarsh"


def test_the_quick_model_is_higher_or_lower_than_the_verified_one() -> None:
    evaluation = orthostat.open_shop(EXAMPLES).column("spindrift").evaluate()
    (chapter,) = chapters_of(evaluation, "metric", only="stiffness")
    said = next(block.text for block in chapter.blocks if isinstance(block, Paragraph))
    match = re.search(r"puts the first frequency ([\d.]+) % (higher|lower)", said)
    assert match is not None
    sign = 1.0 if match[2] == "higher" else -1.0
    full, quick = evaluation.stiffness.governing, evaluation.stiffness.governing_quick
    assert quick.first.frequency == pytest.approx(
        full.first.frequency * (1.0 + sign * float(match[1]) / 100.0), rel=6e-4
    )


def test_beside_a_verified_mode_stands_the_quick_one_of_its_shape() -> None:
    evaluation = orthostat.open_shop(EXAMPLES).column("spindrift").evaluate()
    (chapter,) = chapters_of(evaluation, "metric", only="stiffness")
    table = next(
        block for block in chapter.blocks if isinstance(block, Table) and block.caption == "Natural modes"
    )
    quick = evaluation.stiffness.governing_quick.modes
    (twist,) = (row for row in table.rows if row[1] == "twists")
    beside = twist[3]
    assert isinstance(beside, Quantity)
    assert beside.value in [mode.frequency for mode in quick if mode.kind == "twists"]
    (number,) = (number for number, mode in enumerate(quick, 1) if mode.kind == "twists")
    assert number != twist[0]
    figure = next(block for block in chapter.blocks if isinstance(block, Figure) and block.name == "modes")
    assert "verified model" in figure.caption
    assert f"mode {twist[0]}: twists" in figure.text_equivalent


@pytest.mark.parametrize(
    ("shop", "name", "says"),
    [
        ("saltmarsh", "spindrift", "that are screwed together are taken as one piece"),
        ("copperfield", "tern", ""),
        ("saltmarsh", "undertow", ""),
    ],
)
def test_what_is_taken_of_the_seams_is_told(shop: str, name: str, says: str) -> None:
    evaluation = orthostat.open_shop(EXAMPLES.parent / shop).column(name).evaluate()
    (chapter,) = chapters_of(evaluation, "metric", only="stiffness")
    said = next(block.text for block in chapter.blocks if isinstance(block, Paragraph))
    assert says in said
    assert bool(says) == ("one piece" in said)
