"""The slip programme beside a brute-force search over rigid motions, on 100 random joints."""

from dataclasses import replace

import numpy as np
import pytest

from orthostat.analyses.hold.capacity import EXACT, Held, first_slips, lateral, slips, vertical
from orthostat.analyses.hold.joint import may_govern
from orthostat.analyses.hold.searching import Course
from orthostat.analyses.hold.slip import CLOSE, UNLIMITED, Programme, Rising, bounds
from orthostat.model.bodies import Polygon
from unit.hold import kinematics
from unit.hold.joints import held, load, rectangle

GAP = 0.01
STUDS = [(-0.09, -0.07), (0.09, -0.07), (0.09, 0.07), (-0.09, 0.07)]


@pytest.mark.parametrize("seed", range(100))
def test_programme_and_kinematics_agree(seed: int) -> None:
    """The programme is a lower bound (statics), the search an upper one (kinematics)."""
    random = np.random.default_rng(seed)
    at = random.uniform(-0.2, 0.2, size=(int(random.integers(3, 40)), 2))
    limit = random.uniform(0.0, 400.0, size=len(at)) * (random.random(len(at)) < 0.8)
    limit[0] = 300.0
    row = random.normal(size=3) * np.array([1e3, 1e3, 10.0 ** random.uniform(0.5, 2.5)])
    found = Programme(at).solve(limit, np.zeros(len(at)), steady=np.zeros(3), growing=row).factor
    above = kinematics.slip_factor(at, limit, row)
    assert found <= above * (1.0 + 1e-6)
    assert above <= found * (1.0 + GAP)


@pytest.mark.parametrize("seed", range(20))
def test_whole_joint_agrees_at_its_own_pressure(seed: int) -> None:
    """At the factor found, with the pressure there, the search finds that the load just slides."""
    random = np.random.default_rng(1000 + seed)
    pieces = rectangle(random.uniform(0.1, 0.3), random.uniform(0.1, 0.3), turn=random.uniform(0, 3))
    studs = [(float(x), float(z)) for x, z in random.uniform(-0.05, 0.05, size=(4, 2))]
    joint = held(pieces, studs=studs, preload=list(random.uniform(5e3, 30e3, 4)), stud_stiffness=4e7)
    row = random.normal(size=6) * np.array([3e3, 1e3, 3e3, 300.0, 200.0, 300.0])
    found = joint.slip(row)
    pressed = joint._pressed(row, found.factor)
    assert pressed is not None
    centre = joint.bed.patch.centroid
    above = kinematics.slip_factor(joint.points, 0.1 * pressed, lateral(row[None, :], centre)[0])
    assert above == pytest.approx(found.factor, rel=GAP)


@pytest.mark.parametrize("seed", range(12))
def test_a_joint_out_of_flat_agrees_at_its_own_pressure(seed: int) -> None:
    """Points part, and meet, before the first corner lifts."""
    random = np.random.default_rng(3000 + seed)
    flat = held(rectangle(0.3, 0.25), studs=STUDS, preload=20e3, stud_stiffness=4e7)
    away = ((flat.points / flat.bed.patch.size) ** 2).sum(axis=1)
    hollow = replace(flat.bed, gap=2e-5 * (1.0 - away if seed % 2 else away))
    joint = Held(hollow, flat.friction, flat.steady)
    row = random.normal(size=6) * np.array([3e3, 1e3, 3e3, 300.0, 200.0, 300.0])
    found = joint.slip(row)
    pressed = joint._pressed(row, found.factor)
    assert pressed is not None
    above = kinematics.slip_factor(
        joint.points, 0.1 * pressed, lateral(row[None, :], joint.bed.patch.centroid)[0]
    )
    assert above == pytest.approx(found.factor, rel=GAP)


def test_loads_are_worked_out_side_by_side_as_each_by_itself() -> None:
    random = np.random.default_rng(4)
    rows = random.normal(size=(30, 6)) * np.array([3e3, 1e3, 3e3, 300.0, 200.0, 300.0])
    rows[3] = load(mx=9.0)  # shears nothing
    joints = [
        held(rectangle(0.3, 0.25), studs=STUDS, preload=force, stud_stiffness=4e7) for force in (2e3, 20e3)
    ]
    asked = [(joints[k % 2], row) for k, row in enumerate(rows)]
    together = [slip.factor for slip in slips(asked)]
    alone = [Held(joint.bed, joint.friction, joint.steady).slip(row).factor for joint, row in asked]
    assert together == alone
    assert together[3] == UNLIMITED


@pytest.mark.parametrize("seed", range(40))
def test_the_first_to_slip_is_found_among_its_rivals_and_from_any_start(seed: int) -> None:
    """Loads that are left out slip later, and a search that begins with a hint, good or bad, ends alike."""
    random = np.random.default_rng(7000 + seed)
    pieces = rectangle(random.uniform(0.1, 0.3), random.uniform(0.1, 0.3), turn=random.uniform(0, 3))
    preload = 10.0 ** random.uniform(3.5, 4.7)
    steady = load(fx=200.0, fy=-800.0) if seed % 2 else None
    joint = held(pieces, studs=STUDS, preload=preload, stud_stiffness=4e7, steady=steady)
    rows = random.normal(size=6) * np.array([3e3, 500.0, 3e3, 100.0, 200.0, 100.0])
    rows = rows * random.normal(1.0, 10.0 ** random.uniform(-3.0, -1.0), (24, 6))
    sets = np.sort(random.integers(0, 3, 24))
    each = np.array([slip.factor for slip in slips([(joint, row) for row in rows])])
    cold, motions = first_slips(joint, rows, sets, np.full((24, 3), np.nan))
    near = motions * random.normal(1.0, 0.05, motions.shape)
    anyhow = random.normal(size=motions.shape) / np.array([1.0, 1.0, 0.1])
    for found in (cold, *(first_slips(joint, rows, sets, hints)[0] for hints in (motions, near, anyhow))):
        for one in set(sets.tolist()):
            mine = sets == one
            assert found[mine].min() == pytest.approx(each[mine].min(), rel=1e-6)
        assert np.all((found == np.inf) | np.isclose(found, each, rtol=1e-6))


@pytest.mark.parametrize("seed", range(40))
def test_newton_finds_what_the_cone_programme_finds(seed: int) -> None:
    """Two ways to one number: seven equations at once, and programme and pressure by turns."""
    random = np.random.default_rng(2000 + seed)
    pieces = rectangle(random.uniform(0.1, 0.3), random.uniform(0.1, 0.3), turn=random.uniform(0, 3))
    studs = [(float(x), float(z)) for x, z in random.uniform(-0.05, 0.05, size=(4, 2))]
    # From studs that hardly hold, so that much has lifted before it slips, to ones that hold well.
    preload = list(random.uniform(0.3, 1.0, 4) * 10.0 ** random.uniform(3.0, 4.7))
    steady = load(fx=200.0, fy=-800.0) if seed % 2 else None
    joint = held(pieces, studs=studs, preload=preload, stud_stiffness=4e7, steady=steady)
    row = random.normal(size=6) * np.array([3e3, 1e3, 3e3, 300.0, 200.0, 300.0])
    lift = float(joint.lift_factors(row[None, :])[0])
    centre = joint.bed.patch.centroid
    sharp, newton = (
        joint.sliding.slips(
            lateral(row[None, :], centre),
            joint.bed.loads(vertical(row[None, :])),
            Course(joint.closed_at_rest[None, :], joint.closing_rate(row[None, :]), np.array([lift])),
            same=same,
        )[0]
        for same in (1e-12, EXACT)
    )
    found = joint.slip(row)
    assert newton is None or found.factor == newton.factor
    pressed = joint._pressed(row, found.factor)
    assert pressed is not None
    programme = joint.programme.solve(
        joint.friction * pressed,
        np.zeros(len(pressed)),
        steady=lateral(joint.steady[None, :], centre)[0],
        growing=lateral(row[None, :], centre)[0],
    )
    # Where all turns about one of the points the answer is what friction is sure to carry.
    good_to = 1e-3 if newton is None else EXACT if sharp is None else 1e-6
    assert programme.factor == pytest.approx(found.factor, rel=good_to)
    assert newton is None or programme.factor >= found.factor * (1.0 - 1e-6)
    assert np.all(np.hypot(*found.friction.T) <= joint.friction * pressed + 1e-6 * pressed.sum())


@pytest.mark.parametrize("seed", range(60))
def test_bounds_that_choose_the_governing_load_are_close(seed: int) -> None:
    """On scattered points, on four pads, and where pressure runs out to one side; forces and mostly turns."""
    random = np.random.default_rng(5000 + seed)
    at, limit = random.uniform(-0.15, 0.15, (100, 2)), random.uniform(0.0, 400.0, 100)
    if seed % 3 == 1:
        corners = np.array([(x, z) for x in (-0.1, 0.1) for z in (-0.12, 0.12)])
        at = (corners[:, None] + random.uniform(-0.02, 0.02, (4, 25, 2))).reshape(-1, 2)
        limit = np.repeat(400.0 * random.uniform(0.0, 1.0, 4) ** 2, 25)
    elif seed % 3 == 2:
        limit = np.maximum(0.0, 1.0 + at @ random.normal(size=2) * 8.0) * 100.0
    rows = random.normal(size=(8, 3)) * np.array([1.0, 1.0, 0.12 * 10.0 ** random.uniform(-1.0, 1.0)])
    nothing = np.zeros((8, 1))
    found = bounds(Rising(at, limit, np.zeros((100, 1)), np.zeros(3)), nothing, rows)
    programme = Programme(at)
    for bound, row in zip(found, rows, strict=True):
        exact = programme.solve(limit, np.zeros(100), steady=np.zeros(3), growing=row).factor
        assert exact * (1.0 - 1e-6) <= bound <= exact * CLOSE


@pytest.mark.parametrize("seed", range(6))
def test_the_load_that_governs_is_among_those_that_are_solved(seed: int) -> None:
    """Of loads that slip at once, and of loads that lift the part first."""
    random = np.random.default_rng(6000 + seed)
    preload = 10.0 ** random.uniform(3.0, 4.7)
    joint = held(rectangle(0.2, 0.3), studs=STUDS, preload=preload, stud_stiffness=4e7)
    rows = random.normal(size=(40, 6)) * np.array([3e3, 500.0, 3e3, 300.0, 200.0, 300.0])
    starts = np.array([0, 25])
    near = may_govern(joint.slip_bounds(rows), joint.lift_factors(rows), starts)
    factors = np.array([joint.slip(row).factor for row in rows])
    assert near[:25][factors[:25].argmin()]
    assert near[25:][factors[25:].argmin()]
    assert near.sum() < len(rows)


def test_bounds_hold_for_a_load_that_only_turns() -> None:
    at, limit = np.array([(0.1, 0.0), (-0.1, 0.0)]), np.array([100.0, 100.0])
    rising = Rising(at, limit, np.zeros((2, 1)), np.zeros(3))
    assert bounds(rising, np.zeros((1, 1)), np.array([[0.0, 0.0, 1.0]])) == pytest.approx(20.0, rel=1e-6)


def test_of_loads_on_what_slides_at_rest_the_first_may_govern() -> None:
    rows = np.random.default_rng(5).normal(size=(40, 6))
    for joint in (
        held(rectangle(0.2, 0.3), preload=0.0),
        held(rectangle(0.2, 0.3), preload=0.0, steady=load(fy=1e3)),  # lifted off
    ):
        bound = joint.slip_bounds(rows)
        assert not bound.any()
        assert may_govern(bound, joint.lift_factors(rows), np.array([0]))[0]


def test_a_steady_load_is_not_multiplied() -> None:
    """Weight across a vertical face uses up friction before the cut comes."""
    steady = load(fz=4e3)
    joint = held(rectangle(0.2, 0.3), preload=50e3, friction=0.1, steady=steady)
    assert joint.slip(load(fz=1e3)).factor == pytest.approx(1.0, rel=1e-6)
    assert joint.slip(load(fx=1e3)).factor == pytest.approx(3.0, rel=1e-6)
    assert held(rectangle(0.2, 0.3), preload=30e3, steady=steady).slip(load(fz=1e3)).factor == 0.0


def test_a_pad_in_each_corner() -> None:
    pads = tuple(
        Polygon(((x - 0.01, z - 0.01), (x + 0.01, z - 0.01), (x + 0.01, z + 0.01), (x - 0.01, z + 0.01)))
        for x in (-0.1, 0.1)
        for z in (-0.1, 0.1)
    )
    joint = held(pads, preload=40e3, friction=0.1)
    assert joint.slip(load(my=1.0)).factor == pytest.approx(0.1 * 40e3 * 0.1 * 2**0.5, rel=2e-3)


@pytest.mark.parametrize("seed", range(3))
def test_the_plain_grid_of_the_benchmark_is_as_exact_as_it_says(seed: int) -> None:
    random = np.random.default_rng(seed)
    at, limit = random.uniform(-0.15, 0.15, (96, 2)), random.uniform(50.0, 400.0, 96)
    row = random.normal(size=3) * np.array([900.0, 500.0, 120.0])
    found = Programme(at).solve(limit, np.zeros(96), steady=np.zeros(3), growing=row).factor
    assert kinematics.grid_search(at, limit, row) == pytest.approx(found, rel=1e-4)
