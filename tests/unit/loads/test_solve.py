"""All loads of a column: handling, weight, extremes, the spindle's curve; unknown cuts leave the rest."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest

import columns
from orthostat.analyses import loads, solids
from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import NewtonMetre, RadianPerSecond, Ratio, Watt
from orthostat.base.findings import NotStated
from orthostat.model.column import Column
from orthostat.model.machine import SpindlePoint


def solved(column: Column) -> tuple[loads.Result, solids.Solids]:
    masses = solids.solve(solids.inputs_from(column))
    return loads.solve(loads.inputs_from(column, masses)), masses


def test_handling_loads_are_mass_times_acceleration() -> None:
    result, masses = solved(columns.square_filled())
    by_name = {motion.name: motion for motion in result.handling}
    group = masses.loaded
    assert by_name[loads.INDEXING].wrenches[0, 4] == pytest.approx(-group.about_b_axis * 4.0)
    push = by_name[loads.TRAVERSING].wrenches
    assert np.hypot(push[:, 0], push[:, 2]) == pytest.approx(np.full(len(push), group.mass * 4.0))
    assert np.abs(push[:, 3]).max() == pytest.approx(group.mass * 4.0 * group.centre[1])
    assert by_name[loads.STOPPING].wrenches == pytest.approx(2.0 * push)
    assert result.gravity is not None
    assert result.gravity[1] == pytest.approx(-group.mass * STANDARD_GRAVITY)


def test_an_off_centre_mass_is_also_pushed_sideways_by_indexing() -> None:
    column = columns.square_filled()
    result, masses = solved(replace(column, stations=column.stations[:1]))
    motion = next(each for each in result.handling if each.name == loads.INDEXING)
    x, _, z = masses.loaded.centre
    push = np.hypot(motion.wrenches[0, 0], motion.wrenches[0, 2])
    assert push == pytest.approx(masses.loaded.mass * 4.0 * np.hypot(x, z))
    # α × r about +y is (α z, 0, -α x); the inertia force is against it
    assert motion.wrenches[0, 0] == pytest.approx(-masses.loaded.mass * 4.0 * z)


def test_a_pallet_that_stands_still_has_no_axis_loads() -> None:
    column = columns.square_filled()
    assert column.machine is not None
    still = replace(column, machine=replace(column.machine, pallet_moves=False))
    assert [motion.name for motion in solved(still)[0].handling] == [loads.INDEXING]
    unsaid = replace(column, machine=replace(column.machine, pallet_moves=None))
    missing = {path for each in solved(unsaid)[0].open_handling for path in each.missing}
    assert missing == {"machines.alder.pallet_moves"}


def test_one_unknown_cut_leaves_the_others_standing() -> None:
    column = columns.square_filled()
    first = column.stations[0]
    broken = replace(first, cuts=(replace(first.cuts[0], feed_per_tooth=None), first.cuts[1]))
    result, _ = solved(replace(column, stations=(broken, *column.stations[1:])))
    assert [cut.path for cut in result.open_cuts] == [first.cuts[0].path]
    assert len(result.cuts) == 2 * len(column.stations) - 1
    with pytest.raises(NotStated, match="feed"):
        result.cut(first.cuts[0].path)


def test_extremes_name_the_cut_that_makes_them() -> None:
    result, _ = solved(columns.square_filled())
    for extreme in result.extremes:
        assert extreme.value > 0.0
        assert result.cut(extreme.path).path == extreme.path
    sideways = next(each for each in result.extremes if each.name == "horizontal force")
    assert sideways.value == pytest.approx(
        max(float(np.hypot(cut.wrenches[:, 0], cut.wrenches[:, 2]).max()) for cut in result.cuts)
    )


def spindle(*points: SpindlePoint, efficiency: float | None = 0.8) -> loads.Spindle:
    return loads.Spindle("machines.m", points, None if efficiency is None else Ratio(efficiency), None)


def _at(curve: loads.Spindle, speed: float) -> tuple[float, float]:
    torque, power = loads.available(curve, RadianPerSecond(speed))
    assert torque is not None
    assert power is not None
    return torque, power


def test_the_spindle_curve_between_its_points() -> None:
    curve = spindle(
        SpindlePoint(RadianPerSecond(0.0), NewtonMetre(100.0), None),
        SpindlePoint(RadianPerSecond(100.0), NewtonMetre(100.0), Watt(10e3)),
        SpindlePoint(RadianPerSecond(400.0), None, Watt(10e3)),
    )
    assert _at(curve, 50.0) == pytest.approx((100.0, 5e3))
    assert _at(curve, 200.0) == pytest.approx((50.0, 10e3))
    with pytest.raises(NotStated, match="outside"):
        loads.available(curve, RadianPerSecond(500.0))


def test_power_at_the_motor_needs_the_efficiency() -> None:
    result, _ = solved(columns.square_filled())
    cut = result.cuts[0]
    point = SpindlePoint(RadianPerSecond(0.0), NewtonMetre(100.0), Watt(0.0))
    end = SpindlePoint(RadianPerSecond(1e4), NewtonMetre(100.0), Watt(1e4))
    use = loads.spindle_use(cut, spindle(point, end))
    assert cut.forces.power is not None
    assert use.power == pytest.approx(cut.forces.power * cut.forces.span.high / 0.8)
    with pytest.raises(NotStated, match="spindle_efficiency"):
        loads.spindle_use(cut, spindle(point, end, efficiency=None))
    with pytest.raises(NotStated, match="spindle_curve"):
        loads.spindle_use(cut, spindle())


def test_side_work_is_seen_from_its_own_view() -> None:
    """A cut turned 90° pushes across the column, at the height and offset of its turned view."""
    column = columns.square_filled()
    first = column.stations[0]
    side = replace(first.cuts[1], turn=first.cuts[1].turn.__class__(pi / 2), places=((0.02, 0.3),))
    result, _ = solved(replace(column, stations=(replace(first, cuts=(side,)),)))
    row = result.cuts[0].wrenches[0]
    assert row[0] < 0.0
    assert abs(row[2]) < 1e-9 * abs(row[0])
    assert row[5] == pytest.approx(-0.3 * row[0], rel=1e-6)
