"""What must not matter to a pour, and what must go one way only."""

from dataclasses import replace
from math import radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import columns
from orthostat.analyses.pour import Result, inputs_from, solve, solve_cure
from orthostat.base.dimensions import Metre, Ratio
from orthostat.model.column import Column
from pours import poured


def _result(column: Column) -> Result:
    return solve(inputs_from(column))


@pytest.mark.parametrize("turn", [radians(90.0), radians(33.0)])
def test_turning_the_column_changes_nothing(turn: float) -> None:
    first, second = _result(poured()), _result(poured(columns.square_filled(turn=turn)))
    assert second.volumes.net == pytest.approx(first.volumes.net, rel=1e-6)
    assert second.gaps[0].clear == pytest.approx(first.gaps[0].clear, rel=1e-6)
    one, other = (solve_cure(result.inputs).known_heat() for result in (first, second))
    assert other.peak == pytest.approx(one.peak, abs=0.3)


@given(st.floats(0.30, 0.70))
@settings(max_examples=10, deadline=None)
def test_volumes_grow_with_height_and_add_up(height: float) -> None:
    room = _result(poured(columns.square_filled(height=height))).volumes
    assert room.cavity == pytest.approx(room.net + sum(each.volume for each in room.displaced))
    anchors = room.displaced[-1].volume
    assert room.net == pytest.approx(0.04676376 * (height - 0.052) - anchors, rel=1e-6)


@given(st.floats(0.0, 0.20), st.floats(0.0, 0.20))
@settings(max_examples=10, deadline=None)
def test_more_surplus_never_needs_less_resin(first: float, second: float) -> None:
    low, high = sorted((first, second))
    needs = [_result(poured(surplus=Ratio(s))).known_items()[0].likely.needed for s in (low, high)]
    assert needs[0] <= needs[1] + 1e-9


@given(st.floats(0.08, 0.17))
@settings(max_examples=8, deadline=None)
def test_a_wider_tube_never_opens_a_gap(outside: float) -> None:
    def passes(diameter: float) -> float:
        column = poured()
        tubes = tuple(replace(tube, outside=Metre(diameter)) for tube in column.tubes)
        return _result(replace(column, tubes=tubes)).gaps[0].largest_stone

    assert passes(outside + 0.01) <= passes(outside) + 1e-12
