"""A column varied: the rows are what the models say of the very designs, and what can't be is unknown."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import columns
import orthostat
from orthostat.analyses.stiffness.inputs import FULL, JointSprings
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.study import (
    LEAST,
    OutsideStudy,
    StudyDesign,
    answer,
    learn_among,
    study_design,
)
from orthostat.analyses.stiffness.study.among import farthest
from orthostat.analyses.stiffness.study.design import body_of
from orthostat.base.dimensions import Metre, PascalPerMetre
from orthostat.base.problems import DocumentError
from orthostat.studies import axes_of, sweep
from orthostat.studies.sweeping import ranked

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "saltmarsh"


def test_few_designs_are_those_of_the_quick_model_and_the_best_are_verified() -> None:
    shop = orthostat.open_shop(EXAMPLE)
    study = sweep(shop, "spindrift", axes_of(["body.plate = 24 mm, 30 mm", "lid.thickness = 20 mm"]), best=1)
    thin, thick = study.rows
    assert (thin.by, thick.by, study.learnt) == ("quick", "quick", 0)
    own = shop.column("spindrift").evaluate().stiffness.inputs.body
    solved = solve_body(own)
    assert thick.found is not None
    assert thick.found.first == pytest.approx(float(solved.first.frequency))
    assert thick.found.mass == pytest.approx(float(solved.mass))
    at = solved.ports.centre(0)
    assert thick.found.moved == pytest.approx(float(np.linalg.eigvalsh(solved.ports.static(0, at))[-1]))
    assert study.best == (1,)
    assert thick.verified is not None
    assert thick.verified.bonded.first == pytest.approx(
        float(solve_body(replace(own, fineness=FULL)).first.frequency)
    )
    assert thin.verified is None
    assert ranked(study.rows, "mass") == (0, 1)


def test_what_cannot_be_is_unknown_and_what_cannot_be_read_is_said_beforehand() -> None:
    shop = orthostat.open_shop(EXAMPLE)
    study = sweep(shop, "spindrift", axes_of(["body.plate = 30 mm, 300 mm"]), best=0)
    assert [row.by for row in study.rows] == ["quick", "unknown"]
    assert study.rows[1].found is None
    assert study.rows[1].why
    with pytest.raises(DocumentError) as told:
        sweep(shop, "spindrift", axes_of(["height = 3 kg", "lid.thickness = -2 mm"]))
    assert len(told.value.problems) == 2
    with pytest.raises(ValueError, match="ranked by"):
        sweep(shop, "spindrift", axes_of(["height = 500 mm"]), by="beauty")


def test_a_column_that_no_study_model_knows_is_answered_by_the_quick_one() -> None:
    shop = orthostat.open_shop(EXAMPLE)
    skerry = sweep(shop, "skerry", axes_of(["base_plate.thickness = 20 mm"]), best=0)
    with pytest.raises(OutsideStudy, match="base plate whose sides"):
        study_design(shop.column("skerry").model, shop.column("skerry").evaluate().stiffness.inputs.body)
    (row,) = skerry.rows
    assert row.by == "quick"
    assert row.found is not None
    assert row.found.first > 0.0


def test_learning_among_designs_states_an_error_that_others_keep() -> None:
    joint = JointSprings(PascalPerMetre(3e11), PascalPerMetre(2.4e11))
    corners = ((-0.1, 0.1), (-0.1, -0.1), (0.1, -0.1), (0.1, 0.1))
    designs = [
        StudyDesign(corners=corners, height=Metre(height), wall=columns.IRON, joint=joint, base=Metre(base))
        for height in np.linspace(0.3, 0.5, 15).tolist()
        for base in np.linspace(0.02, 0.04, 4).tolist()
    ]
    model = learn_among(designs, modes=100)
    assert model.worst_first < 0.02
    for design in designs[7::23]:
        full = solve_body(replace(body_of(design), fineness=FULL)).first.frequency
        assert answer(model, design).frequencies[0] == pytest.approx(full, rel=model.worst_first + 0.01)
    with pytest.raises(ValueError, match=f"{LEAST} designs or more"):
        learn_among(designs[: LEAST - 1])


def test_places_are_taken_the_farthest_first() -> None:
    assert farthest(np.array([[0.0], [0.1], [0.9], [1.0], [0.5]]), 3) == [0, 3, 4]
    assert farthest(np.array([[1.0], [1.0]]), 2) == [0]
    assert farthest(np.zeros((3, 0)), 2) == [0, 1]
