"""The swept quadratic wedges against closed forms, exact fields and one another."""

import numpy as np
import pytest
import scipy.sparse as sp
from scipy.linalg import eigh

import bars
from orthostat.analyses.stiffness.factor import MeshTooLarge, factorised, solver_names
from orthostat.analyses.stiffness.fields import layer_slopes, stress
from orthostat.analyses.stiffness.modes import lowest_modes
from orthostat.analyses.stiffness.supports import rigid_motion
from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, MetreToFourth, Pascal, Ratio, SquareMetre
from orthostat.formulas.beams import (
    cantilever_compliance,
    cantilever_frequency,
    rectangle_shear_coefficient,
    shear_compliance,
)

SIDE, HEIGHT, MODULUS = 0.05, 1.0, 206e9
STEEL = bars.material()


def full(lower: sp.csc_array) -> sp.csc_array:
    return sp.csc_array(lower + sp.tril(lower, -1).T)


def field_of(built: bars.Model, value: np.ndarray) -> np.ndarray:
    """Coefficients of a displacement linear in the coordinates: u = value @ (1, x, y, z)."""
    swept = built.swept
    made = np.zeros((swept.count, 3))
    hats = len(swept.heights)
    for node, (x, z) in enumerate(swept.mesh.points):
        for line in range(hats):
            number = swept.number[node, line]
            if number >= 0:
                made[number] = value @ np.array([1.0, x, swept.heights[line], z])
    return made.ravel()


@pytest.fixture(scope="module")
def free_block() -> bars.Model:
    """Two materials, one on the other, with a hole through the lower: nothing holds it."""
    low = bars.prism(bars.rectangle(0.3, 0.2), 0.2, STEEL, hole=bars.rectangle(0.1, 0.08))
    soft = bars.material(70e9, 0.33, 2700.0, "aluminium")
    top = bars.prism(bars.rectangle(0.3, 0.2), 0.1, soft, low=0.2, name="lid")
    return bars.model([low, top], size=0.08, rise=0.1, clamped=False)


def test_patch_a_linear_field_has_even_stress_and_no_force_inside() -> None:
    block = bars.model([bars.prism(bars.rectangle(0.3, 0.2), 0.3, STEEL)], size=0.07, rise=0.1, clamped=False)
    gradient = 1e-4 * np.array([[0.0, 1.0, 0.3, -0.2], [0.0, 0.4, -0.7, 0.5], [0.0, -0.1, 0.6, 0.9]])
    moved = field_of(block, gradient)
    forces = full(block.stiffness) @ moved
    swept = block.swept
    inside = np.ones(swept.count, dtype=bool)
    points = swept.mesh.points
    rim = (np.abs(np.abs(points[:, 0]) - 0.15) < 1e-9) | (np.abs(np.abs(points[:, 1]) - 0.1) < 1e-9)
    edge_rim = rim[swept.mesh.edges].all(axis=1)
    outside = swept.number[np.concatenate([rim, edge_rim])]
    inside[outside[outside >= 0]] = False
    inside[
        swept.number[:, [0, len(swept.heights) - 1]][swept.number[:, [0, len(swept.heights) - 1]] >= 0]
    ] = False
    assert np.abs(forces.reshape(-1, 3)[inside]).max() < 1e-9 * np.abs(forces).max()
    slopes = layer_slopes(swept, moved, 0)
    shear = MODULUS / 2.6
    lame = 2.0 * shear * 0.3 / 0.4
    found = stress(slopes.slopes, first_lame=np.array(lame), shear=np.array(shear))
    strain = 0.5 * (gradient[:, 1:] + gradient[:, 1:].T)
    expected = 2.0 * shear * strain + lame * np.trace(strain) * np.eye(3)
    assert np.allclose(found, expected, rtol=1e-9, atol=1e-3)


def test_a_free_body_has_six_rigid_motions_without_force(free_block: bars.Model) -> None:
    stiffness = full(free_block.stiffness)
    for motion in range(6):
        value = np.zeros((3, 4))
        unit = rigid_motion(np.array([[0.0, 0, 0], [1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0]]))[:, :, motion]
        value[:, 0] = unit[0]
        value[:, 1:] = (unit[1:] - unit[0]).T
        moved = field_of(free_block, value)
        assert np.abs(stiffness @ moved).max() < 1e-9 * np.abs(stiffness.data).max() * np.abs(moved).max()


def test_a_free_body_has_six_zero_frequencies(free_block: bars.Model) -> None:
    squares = free_block.modes(8, shift=-1e6).squares
    assert np.abs(squares[:6]).max() < 1e-5 * squares[6]


def test_mass_and_inertia_of_the_mesh_are_exact(free_block: bars.Model) -> None:
    exact = 7850.0 * 0.2 * (0.06 - 0.008) + 2700.0 * 0.1 * 0.06
    shift = field_of(free_block, np.array([[1.0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0]]))
    assert shift @ (free_block.mass @ shift) == pytest.approx(exact, rel=1e-12)
    turn = field_of(free_block, np.array([[0, 0, 0, 1.0], [0, 0, 0, 0], [0, -1.0, 0, 0]]))
    polar = (0.3 * 0.2**3 + 0.2 * 0.3**3) / 12
    hole = (0.1 * 0.08**3 + 0.08 * 0.1**3) / 12
    about = 7850.0 * 0.2 * (polar - hole) + 2700.0 * 0.1 * polar
    assert turn @ (free_block.mass @ turn) == pytest.approx(about, rel=1e-12)


def test_modal_mass_sums_to_the_mass() -> None:
    bar = bars.model([bars.prism(bars.rectangle(0.2, 0.2), 0.2, STEEL)], size=0.2, rise=0.2)
    _, vectors = eigh(full(bar.stiffness).toarray(), bar.mass.toarray())
    along = np.zeros(bar.swept.unknowns)
    along[0::3] = [1.0 if hat else 0.0 for hat in _hats(bar)]
    taking_part = (vectors.T @ (bar.mass @ along)) ** 2
    assert taking_part.sum() == pytest.approx(along @ (bar.mass @ along), rel=1e-9)


def _hats(built: bars.Model) -> list[bool]:
    hats = np.zeros(built.swept.count, dtype=bool)
    numbers = built.swept.number[: len(built.swept.mesh.points), : len(built.swept.heights)]
    hats[numbers[numbers >= 0]] = True
    return hats.tolist()


def cantilever(*, size: float, rise: float, ratio: float = 0.0) -> bars.Model:
    return bars.model(
        [bars.prism(bars.rectangle(SIDE, SIDE), HEIGHT, bars.material(MODULUS, ratio))], size=size, rise=rise
    )


def test_a_cantilever_bends_as_timoshenko_says() -> None:
    bar = cantilever(size=0.0125, rise=0.05)
    row = bar.mean_row(HEIGHT, 0, width=SIDE, depth=SIDE)
    found = row @ bar.factor.solve(row)
    moment = MetreToFourth(SIDE**4 / 12)
    exact = cantilever_compliance(length=Metre(HEIGHT), modulus=Pascal(MODULUS), second_moment=moment) + (
        shear_compliance(
            SquareMetre(SIDE**2), rectangle_shear_coefficient(Ratio(0.0)), length=Metre(HEIGHT),
            shear_modulus=Pascal(MODULUS / 2),
        )
    )  # fmt: skip
    assert found == pytest.approx(exact, rel=2e-4)


def test_a_slender_cantilever_rings_as_blevins_says_and_in_pairs() -> None:
    bar = cantilever(size=0.025, rise=0.05)
    found = bar.frequencies(4)
    moment = MetreToFourth(SIDE**4 / 12)
    exact = [
        cantilever_frequency(
            k, KilogramPerCubicMetre(7850.0), SquareMetre(SIDE**2), length=Metre(HEIGHT),
            modulus=Pascal(MODULUS),
            second_moment=moment,
        )
        for k in (1, 2)
    ]  # fmt: skip
    assert found[0] == pytest.approx(found[1], rel=1e-4)
    assert found[0] == pytest.approx(exact[0], rel=4e-3)
    assert found[2] == pytest.approx(exact[1], rel=2e-2)


def test_frequencies_converge_at_the_fourth_power_of_the_size() -> None:
    # A smooth field (no re-entrant corner, ν = 0 so that the clamp makes no singularity): quadratic
    # elements lose energy with the square of the square of the size.
    sizes = (0.4, 0.2, 0.1)
    part = bars.prism(bars.rectangle(0.1, 0.1), 0.8, bars.material(ratio=0.0))
    found = [bars.model([part], size=0.1, rise=rise).frequencies(1)[0] for rise in sizes]
    finest = bars.model([part], size=0.1, rise=0.025).frequencies(1)[0]
    errors = np.array(found) - finest
    rates = np.log2(errors[:-1] / errors[1:])
    assert errors.min() > 0.0
    assert rates.min() > 3.0


def test_half_the_size_lowers_every_frequency_a_little() -> None:
    coarse, fine = (cantilever(size=s, rise=4 * s, ratio=0.3).frequencies(3) for s in (0.025, 0.0125))
    assert np.all(fine < coarse)
    assert np.all(fine > 0.98 * coarse)


@pytest.mark.parametrize("size", [(0.1, 0.1, 0.3), (0.1, 0.1, 0.1), (0.04, 0.2, 0.3)])
def test_modes_that_nobody_counts_are_those_of_lapack(size: tuple[float, float, float]) -> None:
    """Of a slender bar, a block and a plate, square ones with pairs: frequencies within 1e-6, shapes within
    5e-3 of those of a whole group of near frequencies.
    """
    width, depth, height = size
    part = bars.prism(bars.rectangle(width, depth), height, bars.material())
    bar = bars.model([part], size=0.04, rise=0.1)
    found = lowest_modes(bar.stiffness, bar.mass, bar.factor, 10, verify=False)
    squares, vectors = eigh(full(bar.stiffness).toarray(), bar.mass.toarray(), subset_by_index=(0, 29))
    assert np.sqrt(found.squares) == pytest.approx(np.sqrt(squares[:10]), rel=1e-6)
    for square, vector in zip(found.squares, found.vectors.T, strict=True):
        near = np.abs(squares / square - 1.0) < 0.03
        inside = vectors[:, near].T @ (bar.mass @ vector)
        assert inside @ inside == pytest.approx(1.0, abs=2.5e-5)


@pytest.mark.parametrize("solver", solver_names())
def test_each_solver_gives_the_same_answer_and_inertia(solver: str) -> None:
    bar = cantilever(size=0.025, rise=0.1, ratio=0.3)
    row = bar.mean_row(HEIGHT, 2, width=SIDE, depth=SIDE)
    reference = np.linalg.solve(full(bar.stiffness).toarray(), row)
    found = factorised(bar.stiffness, solver=solver).solve(row)
    assert np.linalg.norm(found - reference) < 1e-6 * np.linalg.norm(reference)
    squares = bar.modes(6).squares
    shifted = sp.csc_array(bar.stiffness - 0.5 * (squares[3] + squares[4]) * sp.tril(bar.mass, format="csc"))
    assert factorised(shifted, solver=solver).negative == 4


needs_rslab = pytest.mark.skipif("rslab" not in solver_names(), reason="the wheel is not installed")


def stout() -> bars.Model:
    """Not so slender that single precision is too coarse for it."""
    return bars.model([bars.prism(bars.rectangle(0.1, 0.1), 0.4, STEEL)], size=0.025, rise=0.05)


@needs_rslab
def test_single_precision_is_corrected_to_the_answers_of_double() -> None:
    bar = stout()
    single, double = factorised(bar.stiffness, single=0), factorised(bar.stiffness, single=None)
    assert 0.0 < single.rounding < 0.05
    assert double.rounding == 0.0
    row = bar.mean_row(0.4, 2, width=0.1, depth=0.1)
    loads = np.stack([row, 1e-30 * row, np.zeros_like(row)], axis=1)
    exact = double.solve(loads)
    assert np.linalg.norm(single.roughly(loads[:, :1]) - exact[:, :1]) > 1e-6 * np.linalg.norm(exact[:, 0])
    assert single.solve(loads) == pytest.approx(exact, rel=1e-9, abs=1e-9 * float(np.abs(exact).max()))
    assert single.solve(loads)[:, 1] == pytest.approx(
        exact[:, 1], abs=1e-9 * float(np.abs(exact[:, 1]).max())
    )
    by_single, by_double = (lowest_modes(bar.stiffness, bar.mass, each, 8) for each in (single, double))
    assert by_single.squares == pytest.approx(by_double.squares, rel=1e-8)
    gram = by_single.vectors.T @ (bar.mass @ by_single.vectors)
    assert gram == pytest.approx(np.eye(8), abs=1e-9)


@needs_rslab
def test_single_precision_counts_modes_as_double_does_however_near_the_shift() -> None:
    bar = stout()
    squares = bar.modes(6).squares
    for nearness in (1e-2, 1e-5, -1e-5):
        shift = squares[2] * (1.0 + nearness)
        shifted = sp.csc_array(bar.stiffness - shift * sp.tril(bar.mass, format="csc"))
        assert factorised(shifted, single=0).negative == (3 if nearness > 0.0 else 2)


@needs_rslab
def test_a_body_too_slender_for_single_precision_is_factorised_in_double() -> None:
    bar = cantilever(size=0.025, rise=0.1, ratio=0.3)
    found = factorised(bar.stiffness, single=0)
    assert found.rounding == 0.0
    row = bar.mean_row(HEIGHT, 2, width=SIDE, depth=SIDE)
    exact = np.linalg.solve(full(bar.stiffness).toarray(), row)
    assert np.linalg.norm(found.solve(row) - exact) < 1e-6 * np.linalg.norm(exact)


@pytest.mark.parametrize("solver", solver_names())
def test_a_mesh_that_does_not_fit_is_refused_with_both_sizes(solver: str) -> None:
    bar = cantilever(size=0.025, rise=0.1)
    with pytest.raises(MeshTooLarge) as refused:
        factorised(bar.stiffness, solver=solver, memory=1e4)
    assert refused.value.needed > refused.value.allowed == 1e4


def test_the_count_of_modes_is_proved() -> None:
    assert cantilever(size=0.05, rise=0.2).modes(6).counted
