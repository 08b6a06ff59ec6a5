"""The study model beside closed forms, the quick and the full model, on designs it has not seen."""

from dataclasses import replace
from functools import cache
from math import pi

import numpy as np
import pytest
from scipy.linalg import eigh

import columns
from orthostat.analyses.stiffness.column_inputs import body_inputs
from orthostat.analyses.stiffness.inputs import (
    CLAMPED,
    FULL,
    JointSprings,
    Place,
    StudSpring,
    Table,
)
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.study import (
    OutsideStudy,
    Ranges,
    Span,
    StudyDesign,
    StudyModel,
    answer,
    learn,
    study_design,
    sweep_designs,
)
from orthostat.analyses.stiffness.study.answer import answered
from orthostat.analyses.stiffness.study.choosing import _Column
from orthostat.analyses.stiffness.study.design import body_of, shape_of
from orthostat.analyses.stiffness.study.drawing import drawn
from orthostat.analyses.stiffness.study.give import learnt_give
from orthostat.analyses.stiffness.study.held import reduced
from orthostat.analyses.stiffness.study.learning import taught
from orthostat.analyses.stiffness.study.ranges import ranges_about
from orthostat.analyses.stiffness.study.seen import seen_in
from orthostat.base.dimensions import (
    Metre,
    NewtonMetrePerRadian,
    NewtonPerMetre,
    Pascal,
    PascalPerMetre,
    Ratio,
)
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Polygon
from orthostat.model.materials import Material

JOINT = JointSprings(PascalPerMetre(3e11), PascalPerMetre(2.4e11))
SQUARE = ((-0.15, 0.15), (-0.15, -0.15), (0.15, -0.15), (0.15, 0.15))


@cache
def full_plans() -> StudyModel:
    """Solid and filled columns of four sides."""
    return learn(Ranges(4, ("solid", "filled", "cored"), bases=(True, False)), columns=14, tried=3)


def filled_square() -> StudyDesign:
    """A design with none of the learnt proportions."""
    return StudyDesign(
        corners=SQUARE, height=Metre(0.55), wall=columns.ALUMINIUM, joint=JOINT, walls=(Metre(0.025),) * 4,
        fill=columns.FILL, core=Ratio(0.4), base=Metre(0.02), base_material=columns.STEEL,
        lid=Metre(0.02), lid_material=columns.ALUMINIUM,
    )  # fmt: skip


def station(angle: float, distance: float, middle: float, half: float = 0.06) -> Place:
    s, c = float(np.sin(angle)), float(np.cos(angle))
    patch = Polygon(
        ((-half, middle - half), (half, middle - half), (half, middle + half), (-half, middle + half))
    )
    return Place("s", "s", 1, (s * distance, 0.0, c * distance), (c, 0.0, -s), (s, 0.0, c), patch)


def test_on_columns_not_seen_the_study_is_stiffer_by_little() -> None:
    model = full_plans()
    generator = np.random.default_rng(11)
    for _ in range(4):
        design = drawn(model.ranges, generator)
        quick = solve_body(body_of(design))
        exact = np.array([mode.frequency for mode in quick.modes[:3]])
        found = answer(model, design).frequencies[:3]
        assert found[0] == pytest.approx(exact[0], rel=0.05)
        assert np.all(found > 0.985 * exact)
    assert np.all(model.errors > -1e-6)
    assert model.worst_first >= model.median_first >= 0.0
    assert model.worst_first == max(abs(trial.frequencies[0]) for trial in model.trials)


def test_what_is_missed_at_a_station_is_learnt_from_others() -> None:
    """Without it a dent in a thin wall and a turn of the patch are far too small."""
    plain = StudyDesign(
        corners=SQUARE, height=Metre(0.5), wall=columns.STEEL, joint=replace(JOINT, loss_factor=Ratio(0.03)),
        walls=(Metre(0.02),) * 4, base=Metre(0.03),
        places=(station(0.0, 0.15, 0.25), station(pi, 0.15, 0.3)),
    )  # fmt: skip
    designs = [
        replace(plain, height=Metre(height), walls=(Metre(wall),) * 4)
        for height in (0.45, 0.5, 0.55, 0.6)
        for wall in (0.016, 0.02, 0.024, 0.028)
    ]
    seen = [seen_in(design) for design in designs]
    unseen = {k: seen[k] for k in (5, 10)}
    lesson = [each for k, each in enumerate(seen) if k not in unseen]
    model = taught(ranges_about(designs), lesson, unseen, 120)
    for trial in model.trials:
        bare = answered(model.basis, None, designs[trial.number], 10).compliance
        missed = np.abs(np.diag(bare) / np.diag(trial.exact.compliance) - 1.0).max()
        assert np.abs(trial.compliance).max() < 0.5 * missed
        added = trial.found.compliance - bare
        assert np.linalg.eigvalsh(added).min() > -1e-9 * np.abs(added).max()
    assert model.worst_moved < 0.05
    assert model.worst_turned < 0.25


def test_where_some_columns_miss_nothing_little_is_added() -> None:
    """A model may be as loose as its mesh, or looser by a hair; that is no reason for a power without end."""
    generator = np.random.default_rng(2)
    designs = [
        replace(
            filled_square(),
            walls=(Metre(wall),) * 4,
            places=(station(0.0, 0.15, 0.25), station(pi, 0.15, 0.3)),
        )
        for wall in generator.uniform(0.014, 0.03, 10)
    ]
    exact = [1e-9 * np.diag(generator.uniform(1.0, 2.0, 12)) for _ in designs]
    found = [each * (1.0 - generator.choice([1e-3, -1e-5])) for each in exact]
    give = learnt_give(designs, exact, found)
    assert give is not None
    added = give.of(replace(designs[0], walls=(Metre(0.035),) * 4))
    assert 0.0 < np.trace(added) < 0.01 * np.trace(exact[0])


def test_modes_that_go_together_cost_what_the_energy_rises_by() -> None:
    """Of two that are nearly one, each alone costs little, for the other stands for it, and both a lot."""
    generator = np.random.default_rng(1)
    shapes = generator.normal(size=(9, 6))
    shapes[:, 1] = shapes[:, 0] + 0.01 * generator.normal(size=9)
    stiffness = shapes.T @ shapes
    fields, weights = generator.normal(size=(6, 3)), np.array([1.0, 0.5, 0.2])
    number, group = np.arange(6), np.array([0, 0, 1, 2, 2, 2])
    column = _Column(np.asarray(np.linalg.inv(stiffness), dtype=np.float64), fields, weights, number)
    cost = np.zeros(6)
    column.costs(cost, group)
    for each in range(3):
        gone = group == each
        # what is left takes up as much of the field as it can
        left = shapes[:, ~gone]
        whole = shapes @ fields
        kept = left @ np.linalg.lstsq(left, whole, rcond=None)[0]
        assert cost[gone].sum() == pytest.approx(((whole - kept) ** 2).sum(axis=0) @ weights, rel=1e-6)


def test_the_damping_of_a_mesh_is_that_of_its_only_material() -> None:
    iron = replace(columns.IRON, loss_factor=Ratio(0.002))
    corners = ((-0.15, 0.05), (-0.15, -0.05), (0.15, -0.05), (0.15, 0.05))
    even = replace(JOINT, loss_factor=Ratio(0.002))
    design = StudyDesign(corners=corners, height=Metre(0.5), wall=iron, joint=even)
    assert seen_in(design).ports.loss == pytest.approx([0.002] * 10, rel=1e-6)


def test_the_first_frequency_is_that_of_the_full_model() -> None:
    design = filled_square()
    full = solve_body(replace(body_of(design), fineness=FULL))
    found = answer(full_plans(), design)
    assert found.frequencies[0] == pytest.approx(full.first.frequency, rel=0.02)
    assert found.joint[0] == pytest.approx(full.first.joint, abs=0.03)


def test_a_slab_moves_as_a_timoshenko_beam_on_its_springs() -> None:
    """Cowper's shear coefficient; the foot tilts by h²/kI and shifts by 1/kA; J = 0.263 a b³ for 3 to 1.

    Twisting is looser: the patches give, and the warp of a section is the last thing that few columns teach.
    """
    iron = Material("iron", columns.IRON.density, Pascal(110e9), Ratio(0.26), path="iron")
    a, b, h, height = 0.3, 0.1, 0.4, 0.5
    corners = ((-0.15, 0.05), (-0.15, -0.05), (0.15, -0.05), (0.15, 0.05))
    places = (station(0.0, 0.05, h), station(pi, 0.05, h))
    design = StudyDesign(corners=corners, height=Metre(height), wall=iron, joint=JOINT, places=places)
    solids = learn(Ranges(4, ("solid",), bases=(False,), lids=(False,)), columns=10, tried=1)
    compliance = answer(solids, design).compliance
    second, area, shear = a * b**3 / 12.0, a * b, 110e9 / 2.52
    cowper = 10.0 * 1.26 / (12.0 + 11.0 * 0.26)
    bending = h**3 / (3.0 * 110e9 * second) + h / (cowper * shear * area)
    foot = h**2 / (3e11 * second) + 1.0 / (2.4e11 * area)
    assert compliance[2, 8] == pytest.approx(bending + foot, rel=0.03)
    twisting = h / (shear * 0.263 * a * b**3) + 1.0 / (2.4e11 * (a * b**3 + b * a**3) / 12.0)
    assert compliance[4, 10] == pytest.approx(twisting, rel=0.08)


def test_modes_damping_and_compliance_are_those_of_the_whole_matrices() -> None:
    """SciPy's dense solver beside; the energies of joint and materials add up to each mode's."""
    places = (station(0.0, 0.15, 0.3), station(pi, 0.15, 0.4))
    damped = replace(JOINT, loss_factor=Ratio(0.03))
    wall = replace(columns.ALUMINIUM, loss_factor=Ratio(0.03))
    fill = replace(columns.FILL, loss_factor=Ratio(0.03))
    table = Table(NewtonPerMetre(1e9), NewtonMetrePerRadian(2e7), NewtonMetrePerRadian(2e7))
    design = replace(
        filled_square(), places=places, joint=damped, wall=wall, lid_material=wall, base_material=wall,
        fill=fill, table=table,
    )  # fmt: skip
    of = reduced(full_plans().basis, design)
    found = answered(full_plans().basis, None, design, 10)
    values, vectors = eigh(of.mass, of.stiffness)  # the table's motions have no mass
    squares = 1.0 / values[:-11:-1]
    third = vectors[:, -3] * np.sqrt(squares[2])
    assert found.squares == pytest.approx(squares, rel=1e-6)
    assert found.compliance == pytest.approx(of.ports @ np.linalg.solve(of.stiffness, of.ports.T), rel=1e-6)
    assert np.abs(found.shapes[:, 2]) == pytest.approx(np.abs(of.ports @ third), rel=1e-2, abs=1e-4)
    assert found.loss == pytest.approx([0.03] * 10, rel=1e-6)
    unknown = replace(design, fill=replace(fill, loss_factor=None))
    assert np.all(np.isnan(answer(full_plans(), unknown).loss))


def test_the_damping_of_one_material_is_its_share_of_the_energy() -> None:
    """Which is how the square of the frequency grows with that material's modulus (Rayleigh)."""
    undamped = Ratio(0.0)
    wall, fill, base = (
        replace(each, loss_factor=undamped) for each in (columns.ALUMINIUM, columns.FILL, columns.STEEL)
    )
    plain = replace(
        filled_square(), joint=replace(JOINT, loss_factor=undamped), wall=wall, fill=fill, base_material=base,
        lid_material=replace(wall, youngs_modulus=Pascal(72e9)),
    )  # fmt: skip
    for part in ("wall", "fill", "base_material", "lid_material"):
        material = getattr(plain, part)
        modulus = float(material.youngs_modulus)
        damped = replace(plain, **{part: replace(material, loss_factor=Ratio(1.0))})
        softer, stiffer = (
            answer(
                full_plans(), replace(plain, **{part: replace(material, youngs_modulus=Pascal(modulus * by))})
            )
            for by in (0.99, 1.01)
        )
        share = np.log(stiffer.squares / softer.squares)[:3] / np.log(1.01 / 0.99)
        assert answer(full_plans(), damped).loss[:3] == pytest.approx(share, rel=2e-3, abs=1e-5)


def test_stiffer_material_never_lowers_a_frequency() -> None:
    model = full_plans()
    generator = np.random.default_rng(3)
    tried = 0
    while tried < 4:
        design = drawn(model.ranges, generator)
        modulus = design.fill.youngs_modulus if design.fill else None
        if design.fill is None or modulus is None:
            continue
        stiffer = replace(design, fill=replace(design.fill, youngs_modulus=Pascal(1.2 * modulus)))
        if model.ranges.outside(stiffer):
            continue
        assert np.all(answer(model, stiffer).squares >= (1.0 - 1e-6) * answer(model, design).squares)
        tried += 1


def test_a_quarter_turn_of_the_plan_changes_nothing() -> None:
    model = full_plans()
    oblong = replace(filled_square(), walls=tuple(Metre(t) for t in (0.02, 0.03, 0.02, 0.03)))
    turned = replace(oblong, walls=tuple(Metre(t) for t in (0.03, 0.02, 0.03, 0.02)))
    assert answer(model, turned).frequencies[:3] == pytest.approx(
        answer(model, oblong).frequencies[:3], rel=2e-3
    )


def test_a_turned_column_is_the_same_design() -> None:
    first, turned = (
        study_design(column, body_inputs(column, joint=JOINT))
        for column in (columns.square_filled(), columns.square_filled(turn=0.7))
    )
    assert np.asarray(turned.corners) == pytest.approx(np.asarray(first.corners), abs=1e-9)
    assert (turned.kind, turned.walls, turned.base, turned.lid) == (
        "cored",
        first.walls,
        first.base,
        first.lid,
    )
    assert shape_of(first).distances == pytest.approx([0.15] * 4)


def test_a_column_of_the_document_rings_as_by_the_quick_model() -> None:
    column = columns.square_filled()
    body = body_inputs(column, joint=JOINT)
    found = answer(full_plans(), study_design(column, body))
    assert found.frequencies[0] == pytest.approx(solve_body(body).first.frequency, rel=0.03)


def test_a_soft_table_lowers_and_studs_raise_the_first_frequency() -> None:
    model, design = full_plans(), filled_square()
    plain = answer(model, design).frequencies[0]
    table = Table(NewtonPerMetre(1e9), NewtonMetrePerRadian(2e7), NewtonMetrePerRadian(2e7))
    studs = tuple(
        StudSpring("stud", (x, z), Metre(0.02), Metre(0.012), NewtonPerMetre(6e8))
        for x in (-0.1, 0.1)
        for z in (-0.1, 0.1)
    )
    assert answer(model, replace(design, table=table)).frequencies[0] < 0.9 * plain
    assert answer(model, replace(design, joint=replace(JOINT, studs=studs))).frequencies[0] > plain
    rim = tuple(
        Polygon(((x, z), (0.6 * x, 0.6 * z), (-0.6 * z, 0.6 * x), (-z, x)))
        for x, z in ((0.15, 0.15), (-0.15, 0.15), (-0.15, -0.15), (0.15, -0.15))
    )
    rimmed = replace(design, joint=replace(JOINT, contact=rim))
    exact = solve_body(body_of(rimmed)).first.frequency
    assert answer(model, rimmed).frequencies[0] == pytest.approx(exact, rel=0.03)


def test_what_it_was_not_learnt_on_is_refused_with_every_reason() -> None:
    model = full_plans()
    far = replace(filled_square(), height=Metre(3.0), fill=None, core=Ratio(0.0), lid=Metre(0.2))
    with pytest.raises(OutsideStudy, match="hollow") as refused:
        answer(model, far)
    assert len(refused.value.reasons) == 3
    assert any(reason.startswith("height over yardstick 10") for reason in refused.value.reasons)
    half = Polygon(((-0.15, -0.15), (0.15, -0.15), (0.15, 0.0), (-0.15, 0.0)))
    with pytest.raises(OutsideStudy, match="contact's middle"):
        answer(model, replace(filled_square(), joint=replace(JOINT, contact=(half,))))
    with pytest.raises(OutsideStudy, match="clamped"):
        answer(model, replace(filled_square(), joint=CLAMPED))
    triangle = replace(filled_square(), corners=SQUARE[:3], walls=(Metre(0.02),) * 3)
    with pytest.raises(OutsideStudy, match="3 sides, not 4"):
        answer(model, triangle)


def test_a_sweep_falls_back_on_the_quick_model_and_says_so() -> None:
    low = replace(filled_square(), height=Metre(0.2))
    inside, outside = sweep_designs(full_plans(), (filled_square(), low))
    assert (inside.by, inside.why, outside.by) == ("study", (), "quick")
    assert outside.why[0].startswith("height over yardstick 0.667")
    assert outside.frequencies[0] == solve_body(body_of(low)).first.frequency


def test_a_column_that_a_study_cannot_stand_for_says_why() -> None:
    column = columns.triangle()
    with pytest.raises(OutsideStudy, match="base plate whose sides"):
        study_design(column, body_inputs(column, joint=JOINT))
    filled = columns.square_filled()
    aside = replace(filled, tubes=(replace(filled.tubes[0], at=(0.08, 0.0)),))
    with pytest.raises(OutsideStudy, match="away from the middle"):
        study_design(aside, body_inputs(filled, joint=JOINT))
    with pytest.raises(NotStated, match="joint"):
        study_design(filled, body_inputs(filled, joint=None))


def test_more_modes_than_can_be_told_apart_are_not_kept() -> None:
    solids = Ranges(4, ("solid",), bases=(False,), lids=(False,))
    model = learn(solids, columns=2, tried=1, modes=500)
    assert all(learnt.shape[1] <= learnt.shape[0] for pair in model.basis.of_role.values() for learnt in pair)
    assert 0.0 <= model.worst_first < 0.2


def test_ranges_that_make_no_sense_are_named() -> None:
    with pytest.raises(ValueError, match="3 to 8 sides"):
        Ranges(12, ("solid",))
    with pytest.raises(ValueError, match="not stone"):
        Ranges(4, ("stone",))
    with pytest.raises(ValueError, match="base plate"):
        Ranges(4, ("hollow",), bases=(False,))
    with pytest.raises(ValueError, match="from low to high"):
        Span(1.0, 0.5)
    with pytest.raises(NotStated, match="no design"):
        drawn(replace(Ranges(4, ("solid",)), plan=Span(0.5, 0.6)), np.random.default_rng(1))
