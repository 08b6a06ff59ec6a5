"""What holds of any joint: more clamp never hurts, turning changes nothing, twice the load halves factors."""

from math import cos, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from orthostat.analyses.hold.capacity import Held
from orthostat.analyses.hold.slip import UNLIMITED
from unit.hold.joints import held, rectangle

Array = NDArray[np.float64]
SIDE = st.floats(0.08, 0.4)
FORCES = st.lists(st.floats(2e3, 40e3), min_size=4, max_size=4)
SHARE = st.floats(-1.0, 1.0)
LOADS = st.tuples(SHARE, SHARE, SHARE, SHARE, SHARE, SHARE).filter(
    lambda row: abs(row[0]) + abs(row[2]) + abs(row[4]) > 0.1
)


def row_of(shares: tuple[float, ...]) -> Array:
    row: Array = np.array(shares) * np.array([2e3, 5e2, 2e3, 150.0, 150.0, 150.0])
    return row


def joint(side: float, forces: list[float], *, turn: float = 0.0, times: float = 1.0) -> Held:
    spots = [
        (-0.35 * side, -0.3 * side),
        (0.35 * side, -0.3 * side),
        (0.35 * side, 0.3 * side),
        (-0.35 * side, 0.3 * side),
    ]
    turned = [(x * cos(turn) - z * sin(turn), x * sin(turn) + z * cos(turn)) for x, z in spots]
    return held(
        rectangle(side, 0.8 * side, turn),
        studs=turned,
        preload=[times * force for force in forces],
        stud_stiffness=4e7,
    )


@settings(max_examples=40)
@given(SIDE, FORCES, LOADS, st.floats(1.05, 3.0))
def test_more_preload_on_all_studs_alike_never_slips_or_lifts_sooner(
    side: float, forces: list[float], shares: tuple[float, ...], times: float
) -> None:
    row = row_of(shares)
    before, after = joint(side, forces), joint(side, forces, times=times)
    assert after.slip(row).factor >= before.slip(row).factor * (1.0 - 2e-3)
    assert after.lift_factors(row[None, :])[0] >= before.lift_factors(row[None, :])[0] * (1.0 - 1e-9)
    assert after.tip_factors(row[None, :])[0] >= before.tip_factors(row[None, :])[0] * (1.0 - 1e-9)


@settings(max_examples=25)
@given(SIDE, st.floats(3e3, 30e3), LOADS, st.floats(0.05, 0.45), st.floats(0.05, 0.38))
def test_a_symmetric_set_of_studs_added_never_slips_sooner(
    side: float, force: float, shares: tuple[float, ...], x: float, z: float
) -> None:
    row = row_of(shares)
    four = joint(side, [force] * 4)
    at = [(float(a), float(b)) for a, b in four.bed.stud_at]
    more = held(
        rectangle(side, 0.8 * side),
        studs=[*at, *((i * x * side, j * z * side) for i in (-1, 1) for j in (-1, 1))],
        preload=force,
        stud_stiffness=4e7,
    )
    assert more.slip(row).factor >= four.slip(row).factor * (1.0 - 2e-3)


@settings(max_examples=25)
@given(SIDE, FORCES, LOADS, st.floats(0.0, 6.2))
def test_turning_joint_and_load_together_changes_nothing(
    side: float, forces: list[float], shares: tuple[float, ...], turn: float
) -> None:
    row = row_of(shares)
    c, s = cos(turn), sin(turn)
    turned = row.copy()
    for x, z in ((0, 2), (3, 5)):
        turned[x], turned[z] = c * row[x] - s * row[z], s * row[x] + c * row[z]
    still, moved = joint(side, forces), joint(side, forces, turn=turn)
    assert moved.slip(turned).factor == pytest.approx(still.slip(row).factor, rel=1e-3)
    for ask in (Held.lift_factors, Held.tip_factors):
        assert ask(moved, turned[None, :])[0] == pytest.approx(ask(still, row[None, :])[0], rel=1e-6)


@settings(max_examples=25)
@given(SIDE, FORCES, LOADS)
def test_doubling_the_load_halves_every_factor(
    side: float, forces: list[float], shares: tuple[float, ...]
) -> None:
    row = row_of(shares)
    made = joint(side, forces)
    assert made.slip(2.0 * row).factor == pytest.approx(0.5 * made.slip(row).factor, rel=1e-3)
    for ask in (Held.lift_factors, Held.tip_factors):
        once, twice = ask(made, row[None, :])[0], ask(made, 2.0 * row[None, :])[0]
        assert twice == pytest.approx(0.5 * once) or once >= UNLIMITED


@settings(max_examples=25)
@given(SIDE, FORCES, LOADS)
def test_lift_comes_before_tipping(side: float, forces: list[float], shares: tuple[float, ...]) -> None:
    row = row_of(shares)
    made = held(rectangle(side, 0.8 * side), preload=sum(forces))
    assert made.lift_factors(row[None, :])[0] <= made.tip_factors(row[None, :])[0] * (1.0 + 1e-9)
