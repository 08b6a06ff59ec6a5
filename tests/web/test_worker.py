"""The process that works answers out, asked without the process."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from orthostat.document.editing import Edit
from orthostat.web.asking import LONG, SCREENED, Ask, Design
from orthostat.web.worker import Engine

SHOP = Path(__file__).resolve().parents[2] / "examples" / "saltmarsh"


@pytest.fixture
def design() -> Design:
    return Design(
        str(SHOP),
        "groyne",
        (SHOP / "shop.toml").read_text("utf-8"),
        (SHOP / "columns" / "groyne.toml").read_text("utf-8"),
    )


def test_an_edit_whose_value_is_a_list_is_answered(design: Design) -> None:
    tried = dataclasses.replace(design, edits=(Edit("set", ("studs", 0, "at"), [[-70, -70], [70, 70]]),))
    answer = Engine().answer(Ask("findings", tried, subjects=("fit",)))
    assert answer.broke == ""
    assert answer.found["fit"]


def test_what_takes_seconds_is_answered_apart_from_the_rest_of_its_subject(design: Design) -> None:
    engine = Engine()
    subjects = engine.answer(Ask("ready")).subjects
    assert {"pour", "pour" + LONG, "stiffness" + LONG} <= set(subjects)
    answer = engine.answer(Ask("findings", design, subjects=("fit", "fit" + LONG)))
    assert answer.found["fit"]
    assert answer.found["fit" + LONG] == ()


def test_it_is_told_which_results_a_subject_needs_and_what_those_cost(design: Design) -> None:
    engine = Engine()
    answer = engine.answer(Ask("findings", design, subjects=("fixture", "hold", "stiffness" + SCREENED)))
    first, then = answer.needs["fixture"], answer.needs["hold"]
    assert 0.0 < first["hold"] <= answer.seconds["fixture"]
    assert then["hold"] == 0.0  # it was there already
    assert "stiffness" in answer.needs["stiffness" + SCREENED]
