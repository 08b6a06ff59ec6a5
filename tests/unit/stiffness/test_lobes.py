"""Stability of milling against closed forms and against semi-discretization, a time-domain method."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from scipy.linalg import expm

from orthostat.analyses.stiffness.inputs import CutForce, Milling, ToolMode
from orthostat.analyses.stiffness.lobes import (
    directional_matrix,
    eigenvalues,
    followed,
    limit,
    limit_at,
    limits,
    lobes,
    view_axes,
)
from orthostat.analyses.stiffness.response import Ports
from orthostat.base.dimensions import (
    Hertz,
    MetrePerNewton,
    NewtonPerMetre,
    Pascal,
    Radian,
    RadianPerSecond,
    Ratio,
)
from orthostat.formulas.chatter import directional_factors, limit_depth, one_mode_limit_depth
from orthostat.formulas.vibration import least_real_receptance
from orthostat.validation.chatter import CHART, MULTIPLIERS

FREQUENCY, DAMPING, MASS = 922.0, 0.011, 0.03993
"""The one-mode cutter of insperger-stepan-2004."""
TANGENTIAL, RADIAL = 6e8, 2e8 / 6e8


def one_mode(direction: tuple[float, float, float]) -> Ports:
    """A body with one mode, at one station, that moves along `direction`; nothing else yields."""
    circular = 2.0 * pi * FREQUENCY
    shape = np.zeros((6, 1))
    shape[:3, 0] = np.asarray(direction) / np.sqrt(MASS)
    square = np.array([circular**2])
    return Ports(np.zeros((1, 3)), shape @ shape.T / circular**2, np.zeros((3, 6, 6)), square,
                 np.array([2.0 * DAMPING]), shape)  # fmt: skip


CUT = CutForce("cut", "cut", 0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.0, 0.0)


def milling(entry: float, leave: float, *, entering: float = pi / 2) -> Milling:
    return Milling(
        0, 2, Pascal(TANGENTIAL), Ratio(RADIAL), Ratio(0.0), Radian(entering), Radian(entry), Radian(leave),
        None, None, None, feed=Radian(0.0),
    )  # fmt: skip


def test_square_shoulder_factors_are_those_of_the_plane_solution() -> None:
    made = directional_matrix(milling(0.4, 2.1))
    plane = directional_factors(Ratio(RADIAL), entry=Radian(0.4), leave=Radian(2.1))
    assert np.allclose(made[:2, :2].ravel(), plane, rtol=1e-10)
    assert np.allclose(made[:, 2], 0.0, atol=1e-12)


def test_one_mode_has_the_closed_form_limit() -> None:
    cut = milling(0.0, pi)
    found = limit(one_mode((1.0, 0.0, 0.0)), CUT, cut)
    stiffness = MASS * (2.0 * pi * FREQUENCY) ** 2
    factors = directional_factors(Ratio(RADIAL), entry=Radian(0.0), leave=Radian(pi))
    # hysteretic damping: least real part is -1/(2kη(1 + η/2)...); for small η that of ζ = η/2 to first order
    least = least_real_receptance(NewtonPerMetre(stiffness), Ratio(DAMPING))
    exact = one_mode_limit_depth(factors[0], 2, Pascal(TANGENTIAL), least_real=least)
    assert found.lowest == pytest.approx(exact, rel=0.02)


def test_two_equal_modes_solve_the_published_quadratic() -> None:
    # Altintas and Budak reduce det(I + Λ A G) = 0 to a0 Λ² + a1 Λ + 1 = 0 for two directions.
    factors = directional_matrix(milling(0.5, 2.0))[:2, :2]
    g = np.array([1.0e-7 - 2.0e-7j, 0.6e-7 + 0.4e-7j])
    product = factors @ np.diag(g)
    a0 = g[0] * g[1] * (factors[0, 0] * factors[1, 1] - factors[0, 1] * factors[1, 0])
    a1 = factors[0, 0] * g[0] + factors[1, 1] * g[1]
    published = np.sort_complex(np.roots([a0, a1, 1.0]))
    padded = np.zeros((1, 3, 3), dtype=complex)
    padded[0, :2, :2] = np.diag(g)
    whole = np.zeros((3, 3))
    whole[:2, :2] = factors
    roots = eigenvalues(np.asarray(whole @ padded, dtype=np.complex128))[0]
    ours = np.sort_complex(-1.0 / roots[np.abs(roots) > 1e-15])
    assert np.allclose(np.sort_complex(-1.0 / np.linalg.eigvals(product)), published, rtol=1e-9)
    assert np.allclose(ours, published, rtol=1e-9)


def test_roots_are_followed_through_crossings_in_any_order() -> None:
    turn = np.linspace(0.0, 1.0, 40)
    paths = np.stack([turn + 0.1j, 1.0 - turn - 0.1j, 0.5 + 2j * (turn - 0.5)], axis=1)
    generator = np.random.default_rng(2)
    orders = np.array([generator.permutation(3) for _ in turn])
    shuffled = np.take_along_axis(paths, orders, axis=1)
    expected = np.take_along_axis(paths[1:], orders[:-1], axis=1)
    assert np.array_equal(followed(np.stack([shuffled, paths])), np.stack([expected, paths[1:]]))


@pytest.mark.parametrize("speed_rpm", [6000.0, 10000.0, 16000.0])
def test_limit_depth_at_a_speed_agrees_with_semi_discretization(speed_rpm: float) -> None:
    # insperger-stepan-2004's one-mode cutter (922 Hz, 1.1 %, 2 teeth), half immersion. The published chart
    # prints no numbers, so its own method is run here. The zeroth-order solution keeps only the mean of the
    # directional factor: 8 % is allowed at these speeds; at lobe peaks it is no better than a factor of two
    # (docs/methods/stiffness.md says so).
    speed = speed_rpm * 2.0 * pi / 60.0
    found = limit_at(one_mode((1.0, 0.0, 0.0)), CUT, milling(0.0, 0.5 * pi), RadianPerSecond(speed))
    exact = semi_discretized_limit(speed, 2, 0.0, 0.5 * pi, upper=4.0 * found)
    assert found == pytest.approx(exact, rel=0.08)


@pytest.mark.parametrize(("depth", "multiplier"), MULTIPLIERS)
def test_semi_discretization_gives_the_printed_multipliers(depth: float, multiplier: float) -> None:
    # ding-2010 prints four digits at 5000 rpm; 240 steps a period meet them to two thousandths.
    found = spectral_radius(1e-3 * depth, 5000.0 * pi / 30.0, 2, 0.0, pi, steps=240)
    assert found == pytest.approx(multiplier, abs=2e-3)


@pytest.mark.parametrize(("rpm", "depth"), [(row[0], row[1]) for row in CHART])
def test_the_chart_that_validation_reads_is_its_own_methods(rpm: float, depth: float) -> None:
    speed = rpm * pi / 30.0
    assert spectral_radius(0.97e-3 * depth, speed, 2, 0.0, pi, steps=150) < 1.0
    assert spectral_radius(1.03e-3 * depth, speed, 2, 0.0, pi, steps=150) > 1.0


def semi_discretized_limit(speed: float, teeth: int, entry: float, leave: float, *, upper: float) -> float:
    """Depth at which the largest Floquet multiplier of the period reaches one, by bisection [m]."""
    low, high = 0.0, upper
    assert spectral_radius(high, speed, teeth, entry, leave) > 1.0
    for _ in range(22):
        middle = 0.5 * (low + high)
        if spectral_radius(middle, speed, teeth, entry, leave) > 1.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def spectral_radius(
    depth: float, speed: float, teeth: int, entry: float, leave: float, steps: int = 60
) -> float:
    """Zeroth-order semi-discretization of one mode along the feed, delay = one tooth period."""
    circular, period = 2.0 * pi * FREQUENCY, 2.0 * pi / (teeth * speed)
    dt = period / steps
    size = steps + 2
    whole = np.eye(size)
    for k in range(steps):
        h = 0.0
        for tooth in range(teeth):
            for share in (np.arange(8) + 0.5) / 8:
                angle = (speed * (k + share) * dt + 2.0 * pi * tooth / teeth) % (2.0 * pi)
                if entry < angle < leave:
                    h += (
                        np.sin(angle) * (TANGENTIAL * np.cos(angle) + RADIAL * TANGENTIAL * np.sin(angle)) / 8
                    )
        a = np.array([[0.0, 1.0], [-(circular**2) - h * depth / MASS, -2.0 * DAMPING * circular]])
        p = expm(a * dt)
        r = np.linalg.solve(a, p - np.eye(2)) @ np.array([[0.0], [h * depth / MASS]])
        step = np.zeros((size, size))
        step[:2, :2] = p
        step[:2, size - 1 :] += 0.5 * r
        step[:2, size - 2 : size - 1] += 0.5 * r
        step[2, 0] = 1.0
        step[3:, 2:-1] += np.eye(size - 3)
        whole = step @ whole
    return float(np.abs(np.linalg.eigvals(whole)).max())


@pytest.mark.parametrize("feeds", [(None, None), (0.3, None), (0.3, 1.2)])
@pytest.mark.parametrize("tool", [None, ToolMode(Hertz(700.0), NewtonPerMetre(2e7), Ratio(0.03))])
def test_limits_of_several_cuts_are_those_of_eigenvalues_at_very_many_frequencies(
    feeds: tuple[float | None, float | None], tool: ToolMode | None
) -> None:
    """LAPACK's eigenvalues beside; a scan misses a peak by less than a thousandth of the depth."""
    generator = np.random.default_rng(4)
    squares = (2.0 * pi * np.array([310.0, 420.0, 600.0])) ** 2
    shapes = generator.normal(size=(12, 3)) * 0.1 * np.tile([1.0] * 3 + [4.0] * 3, 2)[:, None]
    compliance = shapes @ (shapes / squares).T + 1e-9 * np.eye(12)
    centres = np.array([[0.0, 0.3, 0.15], [0.15, 0.3, 0.0]])
    body = Ports(centres, compliance, np.zeros((3, 12, 12)), squares, np.array([0.01, 0.02, 0.04]), shapes)
    cuts = (
        CutForce("a", "a", 0, (0.0, 0.32, 0.2), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.0, 0.0),
        CutForce("b", "b", 1, (0.2, 0.28, 0.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), 0.0, 0.0),
    )
    mills = [
        replace(milling(0.4, 2.3, entering=0.8), feed=None if feed is None else Radian(feed))
        for feed in feeds
    ]
    circular = 2.0 * pi * np.linspace(150.0, 1200.0, 20_000)
    for found, cut, mill in zip(
        limits(body, list(zip(cuts, mills, strict=True)), tool=tool), cuts, mills, strict=True
    ):
        replies = body.harmonic(cut.place, cut.at, circular)
        most = 0.0
        for feed in [mill.feed] if mill.feed is not None else [pi * k / 6 for k in range(6)]:
            axes = view_axes(cut, feed)
            whole = axes @ replies @ axes.T
            if tool is not None:
                ratio = circular / (2.0 * pi * tool.frequency)
                side = 1.0 / (tool.stiffness * (1.0 - ratio**2 + 2j * tool.damping * ratio))
                whole = whole + side[:, None, None] * np.diag([1.0, 1.0, 0.0])
            most = max(most, float(np.linalg.eigvals(directional_matrix(mill) @ whole).real.max()))
        assert found.lowest == pytest.approx(
            limit_depth(mill.teeth, mill.tangential, MetrePerNewton(most)), rel=1e-3
        )


def test_lobes_never_fall_below_the_lowest_limit_and_reach_it() -> None:
    body, cut = one_mode((1.0, 0.0, 0.0)), milling(0.0, pi)
    lowest = limit(body, CUT, cut).lowest
    curve = lobes(body, CUT, cut, slowest=RadianPerSecond(300.0), fastest=RadianPerSecond(2500.0))
    assert curve.depths.min() >= 0.999 * lowest
    assert curve.depths.min() == pytest.approx(lowest, rel=0.02)
    assert curve.depths.max() > 3.0 * lowest


def test_a_mode_along_the_spindle_does_not_limit_a_square_shoulder_mill_but_does_a_45_degree_one() -> None:
    along = one_mode((0.0, 0.0, 1.0))
    assert limit(along, CUT, milling(0.0, pi)).lowest == float("inf")
    assert limit(along, CUT, milling(0.0, pi, entering=pi / 4)).lowest < 1.0


def test_twice_the_damping_allows_nearly_twice_the_depth() -> None:
    body, cut = one_mode((1.0, 0.0, 0.0)), milling(0.0, pi)
    calmer = Ports(body.centres, body.compliance, body.parts, body.squares, 2.0 * body.loss, body.shapes)
    ratio = limit(calmer, CUT, cut).lowest / limit(body, CUT, cut).lowest
    assert ratio == pytest.approx(2.0 * (1 + 2 * DAMPING) / (1 + DAMPING), rel=0.02)
