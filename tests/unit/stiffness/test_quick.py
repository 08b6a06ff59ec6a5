"""What keeps the quick answer quick without changing what it says."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
import scipy.sparse as sp
import shapely

import bars
import columns
from orthostat.analyses.stiffness import factor
from orthostat.analyses.stiffness.assembly import stiffness_matrix
from orthostat.analyses.stiffness.body import Assembled, assembled
from orthostat.analyses.stiffness.build import Part, Piece, coarsened, levels_of, region_of, solid_share
from orthostat.analyses.stiffness.column_inputs import body_inputs
from orthostat.analyses.stiffness.contact import contact_integrals, contact_share
from orthostat.analyses.stiffness.fields import layer_energies
from orthostat.analyses.stiffness.inputs import FULL, QUICK, JointSprings, StudSpring, Table
from orthostat.analyses.stiffness.kinds import motions_of_levels
from orthostat.analyses.stiffness.lobes import cubic_roots
from orthostat.analyses.stiffness.pattern import pattern_of
from orthostat.analyses.stiffness.section import Ring, mesh_section
from orthostat.analyses.stiffness.supports import rigid_motion
from orthostat.base.dimensions import Metre, NewtonMetrePerRadian, NewtonPerMetre, PascalPerMetre
from orthostat.model.bodies import Polygon, Role

PLATE = bars.rectangle(0.3, 0.3)
INSIDE = bars.rectangle(0.24, 0.24)


def _lid(register: float) -> Part:
    pieces = (
        Piece(PLATE, Metre(0.48), Metre(0.50), 1.0, bounds=True),
        Piece(INSIDE, Metre(0.48 - register), Metre(0.48), 1.0, bounds=True),
    )
    return Part("lid", "", Role.LID, bars.material(70e9, 0.3), pieces)


def _walls(top: float) -> Part:
    return bars.prism(PLATE, top, bars.material(70e9, 0.3), hole=INSIDE, name="walls", role=Role.PLATE)


def test_a_lids_register_bounds_no_layer_but_the_lid_does() -> None:
    parts = coarsened((_walls(0.48), _lid(0.01)), Metre(0.0125))
    assert levels_of(parts, Metre(0.0125)) == pytest.approx((0.0, 0.48, 0.50))


def test_a_thin_lid_is_never_closed_away() -> None:
    thin = Part(
        "lid",
        "",
        Role.LID,
        bars.material(70e9, 0.3),
        (Piece(PLATE, Metre(0.49), Metre(0.50), 1.0, bounds=True),),
    )
    parts = coarsened((_walls(0.49), thin), Metre(0.0125))
    assert levels_of(parts, Metre(0.0125)) == pytest.approx((0.0, 0.49, 0.50))


def test_thin_walls_take_smaller_elements() -> None:
    share = solid_share(region_of((_walls(0.5),)))
    assert share == pytest.approx(1.0 - 0.64)
    assert QUICK.hollow < QUICK.scale(share) < QUICK.scale(1.0) == 1.0
    assert FULL.scale(share) == 1.0


def test_a_round_outline_keeps_its_area_with_fewer_corners() -> None:
    turn = 2.0 * np.pi * np.arange(32) / 32
    ring = tuple((float(x), float(z)) for x, z in 0.05 * np.stack([np.cos(turn), np.sin(turn)], axis=1))
    mesh = mesh_section([ring], size=Metre(0.06), gap=Metre(1e-6))
    assert mesh.areas.sum() == pytest.approx(shapely.Polygon(ring).area, rel=1e-6)
    assert len(mesh.points) < 20


def test_contact_is_counted_where_it_is_whatever_the_triangles() -> None:
    mesh = mesh_section([PLATE], size=Metre(0.12), gap=Metre(1e-6))
    pads = (
        Polygon(((-0.15, -0.15), (-0.02, -0.15), (-0.02, -0.07), (-0.15, -0.07))),
        Polygon(((-0.06, -0.11), (0.11, -0.11), (0.04, 0.09))),
    )
    region = shapely.unary_union([shapely.Polygon(pad.points) for pad in pads])
    integrals = contact_integrals(mesh, pads)
    for field, expected in (
        (np.ones(len(mesh.points)), region.area),
        (mesh.points[:, 0], _second_moment(region, 0)),
        (mesh.points[:, 1], _second_moment(region, 1)),
    ):
        at = field[mesh.triangles]
        assert np.einsum("ti,tij,tj->", at, integrals[:, :3, :3], at) == pytest.approx(expected, rel=1e-9)
    assert contact_share(mesh, pads) @ mesh.areas == pytest.approx(region.area)


@pytest.mark.parametrize("seed", range(12))
def test_contact_is_that_of_overlaps_where_its_bounds_run_along_the_mesh(seed: int) -> None:
    """GEOS' overlaps beside, of pads that share corners and sides with the plate, its hole and each other."""
    generator = np.random.default_rng(seed)
    outer = np.array(PLATE) * generator.uniform(0.8, 1.2, 2)
    inner = 0.6 * outer
    mesh = mesh_section([ring_of(outer), ring_of(inner)], size=Metre(0.07), gap=Metre(1e-6))
    sides = [[outer[k - 1], outer[k], inner[k], inner[k - 1]] for k in range(4)]
    rings = [outer, inner, *sides, inner + 0.03, generator.uniform(-0.1, 0.1, (3, 2))]
    chosen = generator.choice(len(rings), generator.integers(1, 4), replace=False)
    pads = tuple(
        Polygon(ring_of(np.asarray(shapely.MultiPoint(rings[k]).convex_hull.exterior.coords[:-1])))
        for k in chosen
    )
    area = contact_integrals(mesh, pads)[:, :3, :3].sum(axis=(1, 2))
    assert area == pytest.approx(contact_share(mesh, pads) * mesh.areas, rel=1e-9, abs=1e-12)


def ring_of(corners: npt.NDArray[np.float64]) -> Ring:
    return tuple((float(x), float(z)) for x, z in np.round(corners, 7))


def _second_moment(region: shapely.Polygon, axis: int) -> float:
    """∫x² by the polygon formula."""
    points = np.asarray(shapely.geometry.polygon.orient(region).exterior.coords)
    p, q = points[:-1], points[1:]
    cross = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    s, t = p[:, axis], q[:, axis]
    return float(np.sum(cross * (s * s + s * t + t * t)) / 12.0)


def test_contact_everywhere_is_the_whole_section() -> None:
    mesh = mesh_section([PLATE], size=Metre(0.12), gap=Metre(1e-6))
    everywhere = (Polygon(((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))),)
    assert np.allclose(contact_integrals(mesh, everywhere), contact_integrals(mesh, ()), rtol=1e-12)


def test_roots_of_cubics_are_those_of_the_companion_matrix() -> None:
    generator = np.random.default_rng(5)
    coefficients = generator.standard_normal((200, 3)) + 1j * generator.standard_normal((200, 3))
    coefficients[:20, 2] = 0.0  # one root is zero, as for an end mill that the spindle axis does not touch
    coefficients[:5] = 0.0
    found = cubic_roots(*coefficients.T)
    for (a, b, c), roots in zip(coefficients, found, strict=True):
        expected = np.roots([1.0, a, b, c])
        assert np.abs(roots[:, None] - expected[None, :]).min(axis=0).max() < 1e-7
        assert np.sort(roots.real)[-1] == pytest.approx(expected.real.max(), abs=1e-7)


@pytest.mark.skipif("rslab" not in factor.solver_names(), reason="the wheel is not installed")
def test_an_edit_that_leaves_the_pattern_finds_its_order_of_elimination_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    line = sp.diags_array([[2.0] * 9, [-1.0] * 8], offsets=[0, -1], format="csc")
    ordered: list[int] = []
    made = factor._analysis

    def told(matrix: sp.csc_array) -> object:
        ordered.append(matrix.shape[0])
        return made(matrix)

    monkeypatch.setattr(factor, "_analysis", told)
    for matrix in (line, 3.0 * line, line[:8, :8], 2.0 * line):
        factor.factorised(sp.csc_array(matrix))
    assert ordered == [9, 8]
    right = np.arange(9.0)
    stiffer = sp.csc_array(3.0 * line)
    exact = np.linalg.solve((stiffer + sp.tril(stiffer, -1).T).toarray(), right)
    assert factor.factorised(stiffer).solve(right) == pytest.approx(exact)


@pytest.mark.skipif("rslab" not in factor.solver_names(), reason="the wheel is not installed")
def test_a_matrix_met_before_finds_its_factors_and_another_does_not() -> None:
    line = sp.diags_array([[2.0] * 9, [-1.0] * 8], offsets=[0, -1], format="csc")
    first, again, other = (factor.factorised(sp.csc_array(each)) for each in (line, line.copy(), 2.0 * line))
    assert isinstance(first, factor._Ldlt)
    assert isinstance(again, factor._Ldlt)
    assert again.handle is first.handle
    right = np.arange(9.0)
    assert other.solve(right) == pytest.approx(0.5 * first.solve(right))


def _on_springs(height: float) -> Assembled:
    """A filled column whose fill slides, on contact, a stud and a table."""
    stud = StudSpring("stud", (0.1, 0.1), Metre(height), Metre(0.01), NewtonPerMetre(2e8))
    joint = JointSprings(PascalPerMetre(3e11), PascalPerMetre(2.4e11), (), (stud,))
    table = Table(NewtonPerMetre(1e9), NewtonMetrePerRadian(1e7))
    column = columns.square_filled(height=height)
    return assembled(replace(body_inputs(column, joint=joint, sliding=True), table=table))


def test_a_pattern_kept_from_another_height_holds_the_energy_of_the_slopes() -> None:
    first, second = _on_springs(0.5), _on_springs(0.503)
    assert pattern_of(first.swept) is pattern_of(second.swept)
    assert first.swept.interface is not None
    for model in (first, second):
        swept = model.swept
        assert swept.interface is not None
        field = np.random.default_rng(3).standard_normal((swept.count, 3))
        # Both sides of the seam move as one, so that its springs hold no energy.
        one, other = swept.number[swept.interface.edges], swept.number[swept.interface.copies]
        both = (one >= 0) & (other >= 0)
        field[other[both]] = field[one[both]]
        vector = np.concatenate([field.ravel(), np.random.default_rng(4).standard_normal(5)])
        energy = sum(
            float((model.elastic.first_lame[k, where] * spread + model.elastic.shear[k, where] * skew).sum())
            for k in range(len(swept.layers.levels) - 1)
            for spread, skew, where in [layer_energies(swept, vector[:, None], k)]
        )
        body = stiffness_matrix(swept, model.elastic)
        assert factor.symmetric_times(body, vector[: swept.unknowns, None])[:, 0] @ vector[
            : swept.unknowns
        ] == pytest.approx(energy, rel=1e-10)
        held = model.supports
        energy += sum(float(vector @ (each @ vector)) for each in (held.contact, held.studs, held.table))
        whole = factor.symmetric_times(model.stiffness, vector[:, None])[:, 0]
        assert vector @ whole == pytest.approx(energy, rel=1e-10)


def test_an_edit_that_leaves_the_numbering_leaves_the_pattern() -> None:
    patterns = {_on_springs(0.5 + 0.0003 * k).stiffness.indices.tobytes() for k in range(4)}
    assert len(patterns) == 1


def test_a_rigid_motion_is_one_of_the_sections_motions_sliding_fill_or_not() -> None:
    for sliding in (False, True):
        model = assembled(body_inputs(columns.square_filled(), joint=None, sliding=sliding))
        swept = model.swept
        moved = np.zeros((swept.count, 3, 6))
        nodes, plan = swept.hats
        number = swept.number[nodes, : len(swept.heights)]
        here, level = np.nonzero(number >= 0)
        points = np.column_stack([plan[here, 0], swept.heights[level] - swept.heights[0], plan[here, 1]])
        moved[number[here, level]] = rigid_motion(points)
        gram, taken, total = motions_of_levels(model, moved.reshape(-1, 6))
        assert np.einsum("im,im->m", taken, np.linalg.lstsq(gram, taken, rcond=1e-10)[0]) == pytest.approx(
            total
        )
