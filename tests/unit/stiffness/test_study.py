"""The study model against the quick model it was trained from, on designs it has not seen."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import columns
from orthostat.analyses.stiffness.column_inputs import body_inputs
from orthostat.analyses.stiffness.inputs import CLAMPED, BodyInputs, JointSprings
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.study import StudyModel, train
from orthostat.base.dimensions import Pascal, PascalPerMetre
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Role

JOINT = JointSprings(PascalPerMetre(3e11), PascalPerMetre(2.5e11))


def base(make: str) -> BodyInputs:
    return body_inputs(getattr(columns, make)(), joint=JOINT)


@cache
def trained(make: str) -> StudyModel:
    return train(base(make))


def unseen(inputs: BodyInputs) -> BodyInputs:
    """Softer walls and a stiffer joint than the design, in a proportion no training design has."""
    parts = tuple(
        replace(
            p, material=replace(p.material, youngs_modulus=Pascal(0.7 * (p.material.youngs_modulus or 0.0)))
        )
        if p.role in {Role.PLATE, Role.SOLID}
        else p
        for p in inputs.parts
    )
    joint = JointSprings(
        PascalPerMetre(5e11), PascalPerMetre(4e11), contact=inputs.joint.contact if inputs.joint else ()
    )
    return replace(inputs, parts=parts, joint=joint)


@pytest.mark.parametrize("make", ["square_filled", "hexagon", "slab"])
def test_first_frequencies_and_compliance_are_those_of_the_quick_model(make: str) -> None:
    design = unseen(base(make))
    assert design.joint is not None
    answer = trained(make).answer(design.parts, design.joint)
    quick = solve_body(design)
    exact = np.array([mode.frequency for mode in quick.modes])
    assert answer.frequencies[:3] == pytest.approx(exact[:3], rel=0.025)
    assert np.all(answer.frequencies[:3] > 0.99 * exact[:3])
    mine, theirs = (np.diag(c)[[0, 2]] for c in (answer.compliance, quick.ports.compliance))
    assert mine == pytest.approx(theirs, rel=0.06)


def test_another_geometry_is_refused() -> None:
    with pytest.raises(ValueError, match="own training"):
        trained("slab").answer(base("hexagon").parts, JOINT)


def test_a_clamped_foot_is_refused() -> None:
    with pytest.raises(NotStated, match="contact stiffness"):
        train(replace(base("slab"), joint=CLAMPED))
