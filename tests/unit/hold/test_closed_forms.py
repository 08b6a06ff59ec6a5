"""Pressure, lift and slip beside closed forms of statics."""

from math import hypot, log, sqrt

import numpy as np
import pytest

from orthostat.analyses.hold.foundation import seated
from orthostat.analyses.hold.patch import POINTS, patch_of, points_near_an_edge
from orthostat.analyses.hold.slip import UNLIMITED, Programme
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Polygon
from unit.hold.joints import held, hexagon, load, rectangle, ring

FOUR = [(-0.08, -0.1), (0.08, -0.1), (0.08, 0.1), (-0.08, 0.1)]


def test_points_integrate_area_and_second_moments_exactly() -> None:
    for pieces, second in (
        (rectangle(0.2, 0.3), 0.3 * 0.2**3 / 12),
        (hexagon(0.1), 5 * sqrt(3) / 16 * 0.1**4),
        (rectangle(0.2, 0.02), 0.02 * 0.2**3 / 12),
    ):
        patch = patch_of(pieces)
        assert patch.areas @ patch.points[:, 0] ** 2 == pytest.approx(second, rel=1e-12)


def test_central_shear_is_friction_times_clamp() -> None:
    joint = held(rectangle(0.2, 0.3), studs=FOUR, preload=25e3, friction=0.12)
    assert joint.slip(load(fx=3e3)).factor == pytest.approx(0.12 * 100e3 / 3e3, rel=1e-6)
    assert joint.slip(load(fx=1.8e3, fz=2.4e3)).factor == pytest.approx(0.12 * 100e3 / 3e3, rel=1e-6)


@pytest.mark.parametrize("inside", [0.05, 0.02, 0.007, 0.004])
def test_screws_near_one_edge_hold_by_friction_all_the_same(inside: float) -> None:
    """A shear along the line of the screws meets the whole friction, wherever the part is pressed."""
    pieces = rectangle(0.2, 0.15)
    at = np.array([0.0, 0.075 - inside])
    patch = patch_of(pieces)
    assert patch.inside(at) == pytest.approx(inside)
    count = points_near_an_edge(patch, at)
    assert (count == POINTS) == (inside > 0.018)
    screws = [(-0.07, at[1]), (0.07, at[1])]
    joint = held(pieces, studs=screws, preload=20e3, friction=0.1, count=count)
    assert joint.slip(load(fx=1e3, my=at[1] * 1e3)).factor == pytest.approx(4.0, rel=0.02)


def test_torsion_of_a_rectangle() -> None:
    a, b = 0.2, 0.3
    diagonal = hypot(a, b)
    polar = a * b * diagonal / 6 + (a**3 * log((b + diagonal) / a) + b**3 * log((a + diagonal) / b)) / 12
    joint = held(rectangle(a, b), studs=FOUR, preload=25e3, friction=0.1)
    exact = 0.1 * 100e3 / (a * b) * polar
    assert joint.slip(load(my=1.0)).factor == pytest.approx(exact, rel=1e-3)
    fine = held(rectangle(a, b), studs=FOUR, preload=25e3, friction=0.1, count=1500)
    assert fine.slip(load(my=1.0)).factor == pytest.approx(exact, rel=1e-4)


def test_torsion_of_a_ring() -> None:
    outside, inside = 0.1, 0.08
    joint = held(ring(outside, inside, 72), preload=100e3, friction=0.1, count=400)
    exact = 0.1 * 100e3 * 2 / 3 * (outside**3 - inside**3) / (outside**2 - inside**2)
    assert joint.slip(load(my=1.0)).factor == pytest.approx(exact, rel=2e-3)  # the ring is a 72-gon
    narrow = held(ring(0.1, 0.0999, 72), preload=100e3, friction=0.1)
    assert narrow.slip(load(my=1.0)).factor == pytest.approx(0.1 * 100e3 * 0.1, rel=3e-3)


@pytest.mark.parametrize("centre", [(0.05, 0.0), (0.3, -0.2), (-0.02, 0.07), (2.0, 1.0)])
def test_four_points_turning_about_any_centre(centre: tuple[float, float]) -> None:
    """Turn four equal points about a centre: their friction is known, so the load they carry is too."""
    at = np.array(FOUR)
    turn = np.array([(z, -x) for x, z in at - np.array(centre)])
    friction = 500.0 * turn / np.hypot(turn[:, 0], turn[:, 1])[:, None]
    carried = np.array(
        [
            friction[:, 0].sum(),
            friction[:, 1].sum(),
            (at[:, 1] * friction[:, 0] - at[:, 0] * friction[:, 1]).sum(),
        ]
    )
    found = Programme(at).solve(np.full(4, 500.0), np.zeros(4), steady=np.zeros(3), growing=carried / 3.0)
    assert found.factor == pytest.approx(3.0, rel=1e-6)
    assert np.allclose(-found.friction, friction, atol=0.05)


@pytest.mark.parametrize(
    ("pieces", "kern", "along"),
    [
        (rectangle(0.2, 0.3), 0.2 / 6, (1.0, 0.0)),
        (rectangle(0.2, 0.3), 0.3 / 6, (0.0, 1.0)),
        (hexagon(0.1), 5 / 24 * 0.1, (1.0, 0.0)),
        (ring(0.1, 0.08, 72), (0.1**2 + 0.08**2) / (4 * 0.1), (1.0, 0.0)),
    ],
    ids=["rectangle across", "rectangle along", "hexagon", "ring"],
)
def test_first_lift_at_the_edge_of_the_kern(
    pieces: tuple[Polygon, ...], kern: float, along: tuple[float, float]
) -> None:
    joint = held(pieces, preload=100e3)
    row = load(mz=-along[0] * 100e3 * kern, mx=along[1] * 100e3 * kern)
    assert joint.lift_factors(row[None, :])[0] == pytest.approx(1.0, rel=2e-3)


def test_lift_of_a_two_stud_strip_with_springy_studs() -> None:
    length, width, spot, spring, bed = 0.3, 0.04, 0.12, 5e8, 1e12
    joint = held(
        rectangle(length, width),
        studs=[(-spot, 0.0), (spot, 0.0)],
        preload=20e3,
        stud_stiffness=spring,
        bed=bed,
    )
    pressed = 40e3 / (length * width)
    turning = bed * width * length**3 / 12 + 2 * spring * spot**2
    exact = pressed / (bed * length / 2) * turning
    assert joint.lift_factors(load(mz=1.0)[None, :])[0] == pytest.approx(exact, rel=1e-9)


def test_partial_contact_of_a_rectangle_is_a_triangle_of_pressure() -> None:
    """Past the kern the pressed length is 3 (b/2 - e) and the edge pressure 2 F/(3 w (b/2 - e))."""
    force, length, width, offset = 100e3, 0.3, 0.2, 0.09
    joint = held(rectangle(length, width), preload=force, count=6000)
    seat = seated(joint.bed, np.array([[0.0, force * offset, 0.0]]))
    edge = joint.bed.stiffness * (joint.bed.patch.basis(np.array([[length / 2, 0.0]])) @ seat.closing[0])[0]
    assert edge == pytest.approx(2 * force / (3 * width * (length / 2 - offset)), rel=0.01)
    share = joint.bed.patch.areas[seat.point_force[0] > 0].sum() / joint.bed.patch.area
    assert share == pytest.approx(3 * (length / 2 - offset) / length, abs=0.03)


def test_tipping_about_the_edge() -> None:
    joint = held(rectangle(0.2, 0.3), studs=FOUR, preload=25e3)
    assert joint.tip_factors(load(mz=1.0)[None, :])[0] == pytest.approx(100e3 * 0.1)
    assert joint.tip_factors(load(mx=1.0)[None, :])[0] == pytest.approx(100e3 * 0.15)
    assert joint.tip_factors(load(fy=1.0)[None, :])[0] == pytest.approx(100e3)


def test_a_pull_takes_the_clamp_away_from_friction() -> None:
    """A pull and a shear in step: λ V = µ (F - λ N), so λ = µ F/(V + µ N)."""
    joint = held(rectangle(0.2, 0.3), preload=50e3, friction=0.15)
    assert joint.slip(load(fx=2e3, fy=4e3)).factor == pytest.approx(
        0.15 * 50e3 / (2e3 + 0.15 * 4e3), rel=1e-6
    )


def test_slip_after_part_of_the_base_has_lifted() -> None:
    """Central shear with a moment: the clamp is the same however it is spread, so λ stays µ F/V."""
    joint = held(rectangle(0.2, 0.3), preload=50e3, friction=0.2)
    row = load(fx=1e3, mz=1e3 * 0.3)
    assert joint.lift_factors(row[None, :])[0] < 10.0 < joint.tip_factors(row[None, :])[0]
    assert joint.slip(row).factor == pytest.approx(10.0, rel=2e-3)


def test_what_tips_first_never_reports_a_slip_beyond_it() -> None:
    joint = held(rectangle(0.2, 0.3), preload=50e3, friction=0.9)
    row = load(fx=1e3, mz=1e3 * 0.5)
    assert joint.tip_factors(row[None, :])[0] == pytest.approx(10.0)
    assert 8.9 < joint.slip(row).factor <= 10.0  # the outermost points stand a little inside the edge


def test_points_of_a_patch_turn_with_it() -> None:
    still, turned = patch_of(rectangle(0.2, 0.3)), patch_of(rectangle(0.2, 0.3, turn=0.7))
    assert np.sort(np.hypot(*still.points.T)) == pytest.approx(np.sort(np.hypot(*turned.points.T)))


def test_forces_and_moments_balance_under_any_load() -> None:
    joint = held(rectangle(0.2, 0.3), studs=FOUR, preload=[20e3, 25e3, 22e3, 30e3], stud_stiffness=4e7)
    rows = np.random.default_rng(5).normal(size=(40, 3)) * np.array([5e3, 3e3, 3e3])
    seat = seated(joint.bed, rows)
    assert seat.balanced.all()
    for k, row in enumerate(rows):
        net = seat.point_force[k].sum() - seat.stud_force[k].sum()
        assert net == pytest.approx(row[0], abs=1e-2)
        first = seat.point_force[k] @ joint.bed.patch.points - seat.stud_force[k] @ joint.bed.stud_at
        assert first == pytest.approx(row[1:], abs=1e-2)


def test_a_patch_of_no_area_is_not_stated() -> None:
    with pytest.raises(NotStated, match="no area"):
        patch_of((Polygon(((0.0, 0.0), (0.1, 0.1), (0.2, 0.2))),))
    with pytest.raises(NotStated, match="no area"):
        patch_of(())


def test_no_load_of_its_kind_never_slips() -> None:
    joint = held(rectangle(0.2, 0.3))
    assert joint.slip(load(fy=-1e3)).factor >= UNLIMITED
    assert joint.lift_factors(load(fy=-1e3)[None, :])[0] >= UNLIMITED
