"""Bodies on joints: closed forms for springs, damping and heat; properties that must hold of any column."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import pi

import numpy as np
import pytest

import bars
import columns
from orthostat.analyses.solids import inputs_from as solids_inputs
from orthostat.analyses.solids import solve as solve_solids
from orthostat.analyses.stiffness import one_body, whole
from orthostat.analyses.stiffness.beam import screen
from orthostat.analyses.stiffness.body import assembled
from orthostat.analyses.stiffness.column_inputs import body_inputs
from orthostat.analyses.stiffness.factor import factorised
from orthostat.analyses.stiffness.inputs import (
    CLAMPED,
    FULL,
    BodyInputs,
    Fineness,
    JointSprings,
    Place,
    StudSpring,
    Table,
)
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.supports import patch_motions
from orthostat.analyses.stiffness.thermal import growths, thermal_fields
from orthostat.analyses.stiffness.whole import Verified, verified
from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    NewtonMetrePerRadian,
    NewtonPerMetre,
    Pascal,
    PascalPerMetre,
    PerKelvin,
    Ratio,
)
from orthostat.base.findings import NotStated
from orthostat.formulas.composite import bimetal_curvature
from orthostat.model.bodies import Body, Polygon, Role
from orthostat.model.column import Column

JOINT = JointSprings(PascalPerMetre(3e11), PascalPerMetre(1.5e11), loss_factor=Ratio(0.02))
RIGID = Table()
Make = Callable[..., Column]
COARSE = Fineness(Ratio(0.3), Ratio(0.6))
ALL = [columns.square_filled, columns.slab, columns.hexagon, columns.triangle]


def known(column: Column) -> Column:
    """The column with a loss factor and an expansion for every material."""

    def whole(body: Body) -> Body:
        if body.material is None:
            return body
        material = replace(
            body.material,
            loss_factor=body.material.loss_factor or Ratio(0.01),
            expansion=body.material.expansion or PerKelvin(1e-5),
        )
        return replace(body, material=material)

    return replace(column, bodies=tuple(whole(body) for body in column.bodies))


def top_place(width: float, height: float, depth: float) -> Place:
    """A patch over the whole face toward +z."""
    a = 0.5 * width
    patch = Polygon(((-a, 0.0), (a, 0.0), (a, height), (-a, height)))
    return Place("face", "face", 1, (0.0, 0.0, 0.5 * depth), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), patch)


def block(joint: JointSprings, *, table: Table = RIGID, modulus: float = 1e16) -> BodyInputs:
    """A block so stiff that only what it stands on yields."""
    part = bars.prism(bars.rectangle(0.3, 0.2), 0.25, bars.material(modulus, 0.3))
    return BodyInputs(
        "block",
        (part,),
        Metre(0.245),
        Metre(0.25),
        joint,
        table,
        (top_place(0.3, 0.25, 0.2),),
        fineness=COARSE,
    )


def static(
    inputs: BodyInputs, force: tuple[float, float, float], at: tuple[float, float, float]
) -> np.ndarray:
    ports = solve_body(replace(inputs, modes=6)).ports
    return np.asarray(ports.static(0, at) @ np.asarray(force))


def test_a_block_on_its_joint_moves_as_springs_say() -> None:
    normal, tangential = 2e11, 1e11
    moved = static(
        block(JointSprings(PascalPerMetre(normal), PascalPerMetre(tangential))),
        (0.0, 1.0, 0.0),
        (0.0, 0.2, 0.0),
    )
    assert moved[1] == pytest.approx(1.0 / (normal * 0.06), rel=1e-3)
    across = static(
        block(JointSprings(PascalPerMetre(normal), PascalPerMetre(tangential))),
        (1.0, 0.0, 0.0),
        (0.0, 0.2, 0.0),
    )
    tilt = normal * 0.2 * 0.3**3 / 12
    assert across[0] == pytest.approx(1.0 / (tangential * 0.06) + 0.2**2 / tilt, rel=1e-3)


def test_only_the_area_in_contact_carries() -> None:
    half = Polygon(((-0.15, -0.1), (0.0, -0.1), (0.0, 0.1), (-0.15, 0.1)))
    moved = static(
        block(JointSprings(PascalPerMetre(2e11), PascalPerMetre(1e11), contact=(half,))),
        (0.0, 1.0, 0.0),
        (-0.075, 0.2, 0.0),
    )
    assert moved[1] == pytest.approx(1.0 / (2e11 * 0.03), rel=1e-3)


def test_studs_and_table_stand_in_parallel_and_in_series() -> None:
    studs = tuple(
        StudSpring(f"{x}", (x, 0.0), Metre(0.25), Metre(0.01), NewtonPerMetre(1e9)) for x in (-0.1, 0.1)
    )
    joint = JointSprings(PascalPerMetre(2e11), PascalPerMetre(1e11), studs=studs)
    held = 2e11 * 0.06 + 2e9
    assert static(block(joint), (0.0, 1.0, 0.0), (0.0, 0.2, 0.0))[1] == pytest.approx(1.0 / held, rel=2e-3)
    table = Table(NewtonPerMetre(5e8), NewtonMetrePerRadian(4e7))
    moved = static(block(joint, table=table), (0.0, 1.0, 0.0), (0.0, 0.2, 0.0))
    assert moved[1] == pytest.approx(1.0 / held + 1.0 / 5e8, rel=2e-3)
    solved = solve_body(block(joint, table=table))
    parts = solved.ports.static_parts(0, (0.0, 0.2, 0.0))
    assert parts[2][1, 1] == pytest.approx(1.0 / 5e8, rel=1e-3)
    assert parts.sum(axis=0)[1, 1] == pytest.approx(moved[1], rel=1e-3)


def test_loss_of_a_bar_of_two_materials_is_the_energy_share_by_hand() -> None:
    # Clamped-free bar ringing lengthwise: strain goes with cos(πy/2L), so its lower half holds 1/2 + 1/π of
    # the energy. Same modulus and density, different loss; no Poisson's ratio, so the bar stays a bar.
    outline = bars.rectangle(0.02, 0.02)
    low, high = (replace(bars.material(ratio=0.0), loss_factor=Ratio(x)) for x in (0.001, 0.02))
    parts = (
        bars.prism(outline, 0.1, low, name="low"),
        bars.prism(outline, 0.1, high, low=0.1, name="high"),
    )
    solved = solve_body(
        BodyInputs(
            "bar",
            parts,
            Metre(0.02),
            Metre(0.2),
            CLAMPED,
            Table(),
            (),
            fineness=Fineness(Ratio(1.0), Ratio(1.0)),
        )
    )
    along = next(mode for mode in solved.modes if mode.kind == "stretches")
    share = 0.5 + 1.0 / pi
    assert along.loss == pytest.approx(0.001 * share + 0.02 * (1.0 - share), rel=2e-3)


def test_a_base_plate_wider_than_the_column_does_not_thin_out_what_one_side_is_warmer_by() -> None:
    steel, width, height = bars.material(), 0.1, 0.8
    base = bars.prism(bars.rectangle(0.3, 0.3), 0.02, steel, name="base", role=Role.BASE_PLATE)
    bar = bars.prism(bars.rectangle(width, width), height - 0.02, steel, low=0.02)
    top = top_place(width, height, width)
    sliding = replace(JOINT, tangential=PascalPerMetre(1e8))  # so that the foot bends as it likes
    model = assembled(
        BodyInputs("base and bar", (base, bar), Metre(width), Metre(height), sliding, RIGID, (top,))
    )
    fields = thermal_fields(model, factorised(model.stiffness), None)
    grown = growths(model, fields, (top,), (model.ports, model.centres))[0]
    # a field linear across a free body bends it by alpha/width; its mean moves by a sixth
    assert grown.sided[2] == pytest.approx(-12e-6 / width * height**2 / 6, rel=0.02)


def test_free_growth_of_one_material_has_no_stress() -> None:
    part = bars.prism(bars.rectangle(0.3, 0.2), 0.25, bars.material())
    inputs = BodyInputs("block", (part,), Metre(0.245), Metre(0.25), JOINT, Table(), (), fineness=COARSE)
    model = assembled(inputs)
    fields = thermal_fields(model, factorised(model.stiffness), PerKelvin(12e-6))
    face = top_place(0.3, 0.25, 0.2)
    grown = growths(model, fields, (face,), patch_motions(model.swept, (face,), model.unknowns))[0]
    assert grown.even == pytest.approx([0.0, 12e-6 * 0.125, 12e-6 * 0.1], abs=1e-12)
    # no force anywhere: what heat pushes, the free growth takes up
    swept = model.swept
    exact = np.zeros((swept.count, 3))
    for node, (x, z) in enumerate(swept.mesh.points):
        for line, y in enumerate(swept.heights):
            exact[swept.number[node, line]] = 12e-6 * np.array([x, y, z])
    assert np.allclose(fields[:, 0], exact.ravel(), atol=1e-12)


def test_a_bimetal_strip_curves_as_timoshenko_says() -> None:
    thin, length, width = 1e-3, 0.06, 2e-3
    strips = [
        bars.prism(bars.rectangle(width, thin, z=z), length, replace(bars.material(name=name, ratio=0.0),
                   expansion=PerKelvin(alpha)), name=name)
        for name, z, alpha in (("cold", -0.5 * thin, 1e-6), ("warm", 0.5 * thin, 20e-6))
    ]  # fmt: skip
    inputs = BodyInputs(
        "strip",
        tuple(strips),
        Metre(2e-3),
        Metre(length),
        CLAMPED,
        Table(),
        (),
        fineness=Fineness(Ratio(0.5), Ratio(2.0)),
    )
    model = assembled(inputs)
    fields = thermal_fields(model, factorised(model.stiffness), PerKelvin(0.0))
    rows = model.swept.rows(np.array([[0.0, 0.0], [0.0, 0.0]]), np.array([0.3, 0.9]) * length)
    z = rows @ fields[: model.swept.unknowns, 0].reshape(-1, 3)[:, 2]
    curvature = bimetal_curvature(
        KelvinDifference(1.0), first_thickness=Metre(thin), second_thickness=Metre(thin),
        first_modulus=Pascal(206e9), second_modulus=Pascal(206e9), first_expansion=PerKelvin(1e-6),
        second_expansion=PerKelvin(20e-6),
    )  # fmt: skip
    # from the clamp (its ends disturb a thickness or so): z = -κy²/2, so the difference of two heights
    expected = -0.5 * curvature * length**2 * (0.9**2 - 0.3**2)
    assert z[1] - z[0] == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_the_mesh_weighs_what_the_solids_weigh(make: Make) -> None:
    column = known(make())
    solved = solve_body(body_inputs(column, joint=JOINT, fineness=COARSE))
    exact = solve_solids(solids_inputs(column)).bare
    assert solved.mass == pytest.approx(exact.known.total, rel=0.02)


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_turning_the_column_changes_nothing(make: Make) -> None:
    straight, turned = (
        solve_body(body_inputs(known(make(turn=turn)), joint=JOINT, fineness=COARSE)) for turn in (0.0, 0.61)
    )
    assert [m.frequency for m in turned.modes] == pytest.approx(
        [m.frequency for m in straight.modes], rel=1e-6
    )
    assert np.allclose(turned.ports.compliance, straight.ports.compliance, rtol=1e-5, atol=1e-15)


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_stiffer_material_never_lowers_a_frequency(make: Make) -> None:
    inputs = body_inputs(known(make()), joint=JOINT, fineness=COARSE)
    base = [mode.frequency for mode in solve_body(inputs).modes]
    for number, part in enumerate(inputs.parts[:4]):
        stiffer = replace(
            part,
            material=replace(
                part.material, youngs_modulus=Pascal(1.3 * (part.material.youngs_modulus or 0.0))
            ),
        )
        parts = (*inputs.parts[:number], stiffer, *inputs.parts[number + 1 :])
        found = [mode.frequency for mode in solve_body(replace(inputs, parts=parts)).modes]
        assert np.all(np.array(found) >= np.array(base) * (1.0 - 1e-7)), part.name


def test_bonded_is_never_softer_than_debonded() -> None:
    inputs = body_inputs(known(columns.square_filled()), joint=JOINT, fineness=COARSE)
    bonded, loose = (solve_body(replace(inputs, sliding=sliding)) for sliding in (False, True))
    difference = loose.ports.compliance - bonded.ports.compliance
    assert np.linalg.eigvalsh(difference).min() > -1e-6 * np.linalg.eigvalsh(bonded.ports.compliance).max()
    assert all(a.frequency > b.frequency for a, b in zip(bonded.modes, loose.modes, strict=True))


@pytest.mark.parametrize("make", [columns.square_filled, columns.hexagon], ids=lambda make: make.__name__)
def test_repeated_modes_come_in_pairs_and_are_counted(make: Make) -> None:
    inputs = body_inputs(known(make()), joint=JOINT, loaded=False, fineness=COARSE, verify_count=True)
    solved = solve_body(inputs)
    assert solved.counted
    # on a mesh as coarse as this, whose triangles are less regular than the column
    assert solved.modes[0].frequency == pytest.approx(solved.modes[1].frequency, rel=3e-3)


def test_half_the_mesh_size_moves_the_first_mode_by_less_than_stated() -> None:
    # The stated error is the difference between quick and full mesh; half of full must move it less.
    inputs = body_inputs(known(columns.hexagon()), joint=JOINT)
    quick, full, half = (
        solve_body(replace(inputs, fineness=fineness)).first.frequency
        for fineness in (inputs.fineness, FULL, Fineness(Ratio(0.5 * FULL.plan), Ratio(0.5 * FULL.height)))
    )
    assert abs(half - full) < abs(quick - full)


@pytest.mark.parametrize("make", ALL, ids=lambda make: make.__name__)
def test_energy_shares_add_to_one(make: Make) -> None:
    for mode in solve_body(body_inputs(known(make()), joint=JOINT, fineness=COARSE)).modes:
        assert sum(share for _, share in mode.parts) + mode.joint == pytest.approx(1.0, abs=1e-6)


def test_the_static_residual_makes_the_harmonic_answer_at_rest_exact() -> None:
    inputs = body_inputs(known(columns.slab()), joint=JOINT, fineness=COARSE)
    ports = solve_body(replace(inputs, modes=3)).ports
    at = tuple(float(x) for x in ports.centres[0])
    still = ports.harmonic(0, at, np.array([0.0]))[0]  # type: ignore[arg-type]
    assert np.allclose(still.real, ports.static(0, at), rtol=1e-3, atol=1e-13)  # type: ignore[arg-type]
    modes_only = (ports.shapes / ports.squares) @ ports.shapes.T
    assert np.trace(modes_only[:3, :3]) < 0.95 * np.trace(ports.compliance[:3, :3])


def test_the_beam_agrees_on_a_filled_column_and_says_where_it_does_not_hold() -> None:
    filled = body_inputs(known(columns.square_filled()), joint=JOINT)
    beam = screen(filled, (0.0, 1.0))
    assert beam.holds
    assert beam.frequency == pytest.approx(solve_body(filled).first.frequency, rel=0.05)
    assert not screen(body_inputs(known(columns.hexagon()), joint=JOINT), (0.0, 1.0)).holds


def test_a_piece_that_floats_is_named() -> None:
    inputs = body_inputs(known(columns.slab()), joint=JOINT, fineness=COARSE)
    loose = bars.prism(bars.rectangle(0.1, 0.05), 0.05, bars.material(), low=0.9, name="lost block")
    with pytest.raises(NotStated, match="lost block"):
        solve_body(replace(inputs, parts=(*inputs.parts, loose)))


def test_parts_in_the_same_place_are_named() -> None:
    inputs = body_inputs(known(columns.slab()), joint=JOINT, fineness=COARSE)
    twice = bars.prism(bars.rectangle(0.25, 0.08), 0.3, bars.material(), low=0.1, name="second slab")
    with pytest.raises(NotStated, match=r"second slab.*same place|same place.*second slab"):
        solve_body(replace(inputs, parts=(*inputs.parts, twice)))


def test_a_mesh_too_large_for_the_memory_says_how_much_and_offers_the_coarser() -> None:
    inputs = body_inputs(known(columns.slab()), joint=JOINT, fineness=COARSE, memory=1e5)
    with pytest.raises(NotStated, match=r"GB of memory.*coarser"):
        solve_body(inputs)


def test_modes_that_are_not_found_leave_the_question_open(monkeypatch: pytest.MonkeyPatch) -> None:
    def lost(*_: object, **__: object) -> None:
        raise ArithmeticError("the modes did not settle")

    monkeypatch.setattr(one_body, "lowest_modes", lost)
    inputs = body_inputs(known(columns.slab()), joint=JOINT, fineness=COARSE)
    with pytest.raises(NotStated, match="could not be solved: the modes did not settle"):
        solve_body(replace(inputs, height=Metre(inputs.height + 1e-6)))


def test_a_material_without_modulus_is_named_by_its_key() -> None:
    column = known(columns.slab())
    bodies = tuple(
        replace(b, material=replace(b.material, youngs_modulus=None))
        if b.role is Role.SOLID and b.material
        else b
        for b in column.bodies
    )
    with pytest.raises(NotStated) as gap:
        solve_body(body_inputs(replace(column, bodies=bodies), joint=JOINT, fineness=COARSE))
    assert gap.value.missing == ("materials.iron.youngs_modulus",)


def test_a_plate_without_thickness_is_named() -> None:
    column = columns.slab()
    flat = tuple(
        replace(b, adds=tuple(replace(p, high=p.low) for p in b.adds)) if b.role is Role.BASE_PLATE else b
        for b in column.bodies
    )
    with pytest.raises(NotStated, match="base plate has no thickness"):
        body_inputs(replace(column, bodies=flat), joint=JOINT)


def test_a_loss_factor_above_one_is_named() -> None:
    inputs = body_inputs(known(columns.slab()), joint=JOINT, fineness=COARSE)
    wild = tuple(replace(p, material=replace(p.material, loss_factor=Ratio(1.5))) for p in inputs.parts)
    with pytest.raises(NotStated, match="between 0 and 1"):
        solve_body(replace(inputs, parts=wild))


def test_where_two_meshes_differ_too_much_a_finer_one_verifies(monkeypatch: pytest.MonkeyPatch) -> None:
    inputs = body_inputs(known(columns.square_filled()), joint=JOINT, fineness=COARSE)
    fine = Fineness(Ratio(0.2), Ratio(0.4))
    found = verified(inputs, fine)
    assert found.apart <= whole.AGREES
    assert (found.coarser.inputs.fineness, found.solved.inputs.fineness) == (COARSE, fine)
    monkeypatch.setattr(whole, "AGREES", 0.5 * found.apart)
    finer = verified(inputs, fine)
    assert finer.coarser is found.solved or finer.coarser.rung is found.solved.rung
    assert finer.solved.counted
    assert finer.solved.unknowns > 2 * found.solved.unknowns
    assert finer.apart < found.apart
    just_enough = next(each for each in _answers(inputs, fine) if each is not None)
    assert just_enough.solved.inputs.fineness == fine


def _answers(inputs: BodyInputs, fine: Fineness) -> Iterator[Verified | None]:
    """With more and more memory; `None` where not even the first fine mesh fits."""
    for power in range(20, 34):
        try:
            yield verified(replace(inputs, memory=2.0**power), fine)
        except NotStated:
            yield None
