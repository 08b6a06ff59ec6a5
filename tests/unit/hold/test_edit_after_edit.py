"""Answers that build on those before an edit are those of a design seen for the first time."""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
import pytest

import columns
from orthostat.analyses import hold, loads, solids
from orthostat.analyses.hold.foundation import Bed, seated, seated_beside
from orthostat.analyses.hold.patch import patch_of
from orthostat.base.dimensions import NewtonMetre, PascalPerMetre
from orthostat.base.findings import known
from orthostat.base.kept import Kept
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from tightened import with_tightened_screws
from unit.hold.joints import hexagon, rectangle


def _answers(column: Column) -> list[tuple[str, float]]:
    """Every factor of every joint, what-ifs too, with the load that governs it."""
    masses = solids.solve(solids.inputs_from(column))
    forces = loads.solve(loads.inputs_from(column, masses))
    found: list[tuple[str, float]] = []
    for each in hold.solve(hold.inputs_from(column, Limits(), masses, forces)).joints:
        result = each.result
        for one in known(result.factors):
            found += [(one.slip_load, one.slip), (one.lift_load, one.lift), (one.tip_load, one.tip)]
        found += [
            pair for one in known(result.loose) for pair in ((one.load, one.slip), (one.load, one.lift))
        ]
        found += [(one.load, one.greatest) for one in known(result.changes)]
    return found


def _forget() -> None:
    """As in a process that has worked nothing out yet."""
    for name, module in list(sys.modules.items()):
        if name.startswith("orthostat.analyses.hold"):
            for value in list(vars(module).values()):
                if isinstance(value, Kept):
                    value.forget()
                elif hasattr(value, "cache_clear"):
                    value.cache_clear()


def _made(height: float, across: float, torque: NewtonMetre) -> Column:
    made = with_tightened_screws(columns.square_filled(height=height, across=across))
    studs = tuple(replace(stud, torque=torque, tightening="torque wrench") for stud in made.studs)
    return replace(made, studs=studs)


def test_a_run_of_edits_ends_where_a_fresh_start_does() -> None:
    edits = [
        (0.55, 0.30, 40.0),
        (0.551, 0.30, 40.0),
        (0.56, 0.30, 40.0),
        (0.56, 0.302, 40.0),
        (0.56, 0.33, 40.0),
        (0.56, 0.33, 12.0),
        (0.70, 0.28, 5.0),
    ]
    _forget()
    warm = [_answers(_made(edit[0], edit[1], NewtonMetre(edit[2]))) for edit in edits]
    for edit, mine in zip(edits, warm, strict=True):
        _forget()
        fresh = _answers(_made(edit[0], edit[1], NewtonMetre(edit[2])))
        assert len(fresh) > 100
        assert [load for load, _ in mine] == [load for load, _ in fresh]
        assert [value for _, value in mine] == pytest.approx([value for _, value in fresh], rel=1e-7)


@pytest.mark.parametrize("seed", range(30))
def test_variants_that_are_settled_side_by_side_are_in_balance_each(seed: int) -> None:
    """A stud slack, a hollow, a crown: pressure follows the closing, studs their stretch, and both the load.
    Only one state does, since the energy is convex.
    """
    random = np.random.default_rng(900 + seed)
    pieces = rectangle(random.uniform(0.1, 0.3), random.uniform(0.1, 0.3)) if seed % 2 else hexagon(0.15)
    patch, stiffness = patch_of(pieces), PascalPerMetre(10.0 ** random.uniform(10.0, 11.5))
    at = random.uniform(-0.06, 0.06, (4, 2))
    preload, springs = random.uniform(1e3, 3e4, 4), 10.0 ** random.uniform(7.0, 8.5, 4)
    share = ((patch.points - patch.centroid) ** 2).sum(axis=1) / patch.size**2
    tight, out_of_flat = 1.0 - np.eye(4), 10.0 ** random.uniform(-6.0, -4.0)
    none = np.zeros(len(patch.points))
    beds = [Bed(patch, stiffness, at, springs, preload, none)]
    beds += [Bed(patch, stiffness, at, springs * each, preload * each, none) for each in tight]
    beds += [Bed(patch, stiffness, at, springs, preload, out_of_flat * gap) for gap in (1.0 - share, share)]
    rows = random.normal(size=(len(beds), 3)) * np.array([2e3, 100.0, 100.0])
    together = seated_beside(beds, rows)
    for k, bed in enumerate(beds):
        alone = seated(replace(bed), rows[k : k + 1])
        assert np.array_equal(alone.closing[0], together.closing[k], equal_nan=True)
        if not together.balanced[k]:
            continue
        point, stud = together.point_force[k], together.stud_force[k]
        closed = bed.shape @ together.closing[k]
        drawn = bed.stud_shape @ (together.closing[k] - bed.assembled)
        pressed = stiffness * patch.areas * np.maximum(closed - bed.gap, 0.0)
        assert point == pytest.approx(pressed, rel=1e-9, abs=1e-9)
        assert stud == pytest.approx(np.maximum(bed.preload - bed.stud_stiffness * drawn, 0.0), rel=1e-9)
        down = point.sum() - stud.sum()
        tilt = point @ patch.points - stud @ at
        assert [down, *tilt] == pytest.approx(rows[k], abs=1e-7 * (preload.sum() + np.abs(rows[k]).max()))
    assert together.balanced.sum() >= len(beds) // 2
