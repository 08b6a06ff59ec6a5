"""Modes of two models are paired by shape, whatever their numbers are."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import bars
from orthostat.analyses.stiffness import Solved
from orthostat.analyses.stiffness.inputs import CLAMPED, BodyInputs, Fineness, Table
from orthostat.analyses.stiffness.matching import counterparts, shapes_at
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.base.dimensions import Metre, Ratio


@cache
def _bar(width: float, depth: float, fineness: float = 0.6) -> Solved:
    part = bars.prism(bars.rectangle(width, depth), 0.6, bars.material())
    size = Fineness(Ratio(fineness), Ratio(fineness))
    return solve_body(
        BodyInputs(
            "bar", (part,), Metre((width * depth) ** 0.5), Metre(0.6), CLAMPED, Table(), (), fineness=size
        )
    )


def _renumbered(solved: Solved, order: list[int]) -> Solved:
    rung = solved.rung
    modes = tuple(rung.modes[k] for k in order)
    return replace(solved, rung=replace(rung, modes=modes, shapes=rung.shapes[order]))


def test_modes_that_changed_places_are_found_again() -> None:
    coarse, fine = _bar(0.1, 0.15), _bar(0.1, 0.15, 0.3)
    assert counterparts(fine, coarse)[:6] == (0, 1, 2, 3, 4, 5)
    order = [2, 0, 1, *range(5, 2, -1), *range(6, len(coarse.modes))]
    assert counterparts(fine, _renumbered(coarse, order))[:6] == tuple(order.index(k) for k in range(6))


def test_a_pair_without_a_direction_of_its_own_is_matched_however_it_is_turned() -> None:
    square = _bar(0.12, 0.12)
    turned = square.rung.shapes.copy()
    turned[0], turned[1] = (turned[0] + turned[1]) * 0.5**0.5, (turned[0] - turned[1]) * 0.5**0.5
    other = replace(square, rung=replace(square.rung, shapes=turned))
    found = counterparts(square, other)
    assert {found[0], found[1]} == {0, 1}


def test_a_mode_that_the_other_model_lacks_has_no_counterpart() -> None:
    solved = _bar(0.1, 0.15)
    lacking = list(range(1, len(solved.modes)))
    assert counterparts(solved, _renumbered(solved, lacking)) == (None, *range(len(lacking)))


def test_between_its_points_a_shape_is_as_it_is_there() -> None:
    solved = _bar(0.1, 0.15, 0.3)
    points = solved.skin.points
    assert shapes_at(solved, points[::3]) == pytest.approx(solved.shapes[:, ::3], abs=1e-6)
    low, high = (float(np.max(points[:, 1])) * share for share in (0.45, 0.55))
    corner = points[np.argmax(points[:, 0] + points[:, 2])]
    here = np.array([[corner[0], height, corner[2]] for height in (low, 0.5 * (low + high), high)])
    first = np.linalg.norm(shapes_at(solved, here)[0], axis=1)
    assert first[1] == pytest.approx(0.5 * (first[0] + first[2]), rel=0.02)
