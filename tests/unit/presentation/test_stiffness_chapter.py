"""The chapter on stiffness says which way the quick model is off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import orthostat
from orthostat.presentation.blocks import Paragraph
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
