"""The integrator: energy, order in time, order in space, steady state, and the cup test."""

from dataclasses import replace
from math import log2

import numpy as np
import pytest

from orthostat.analyses.pour.cup import (
    Calibration,
    Vessel,
    calibrated,
    neat,
    time_to,
    vessel_body,
)
from orthostat.analyses.pour.kinetics import Kinetics, uncalibrated
from orthostat.analyses.pour.march import History, ThermalBody, Tolerance, march
from orthostat.base.dimensions import (
    Kelvin,
    KelvinDifference,
    Kilogram,
    Metre,
    PerSecond,
    Ratio,
    Second,
    WattPerSquareMetreKelvin,
)
from orthostat.base.findings import NotStated
from pours import resin

ROOM = Kelvin(296.15)
RESIN = resin()
STUFF = neat(RESIN)
GENTLE: Kinetics = uncalibrated(RESIN, ROOM).with_rate(PerSecond(5e-5))
"""Slow enough to stay cool: the cup cures without running away."""


def _cup(cells: int = 6) -> ThermalBody:
    vessel = Vessel(Metre(0.06), Metre(0.03), WattPerSquareMetreKelvin(9.0))
    return vessel_body(vessel, STUFF, STUFF.resin_mass * GENTLE.heat, rings=cells, layers=cells)


def _run(tolerance: float = 0.02, *, fixed: float | None = None, cells: int = 6) -> History:
    body = _cup(cells)
    return march(
        body, GENTLE, np.full(len(body.heat), float(ROOM)), room=ROOM, until=Second(20 * 3600.0),
        tolerance=Tolerance(KelvinDifference(tolerance), 0.02 * tolerance),
        fixed_step=None if fixed is None else Second(fixed),
    )  # fmt: skip


def test_heat_made_is_heat_held_and_heat_lost() -> None:
    body, history = _cup(), _run()
    rise = history.temperatures - ROOM
    flow = rise @ body.film
    lost = float(np.sum(0.5 * (flow[1:] + flow[:-1]) * np.diff(history.times)))
    made = float(body.heat @ history.conversions[-1])
    held = float(body.capacity @ rise[-1])
    assert lost + held == pytest.approx(made, rel=1e-3)
    assert float(history.lost[-1]) + held == pytest.approx(made, rel=1e-9)


def test_the_error_falls_with_the_square_of_a_fixed_step() -> None:
    exact = _run(fixed=30.0).at(Second(4 * 3600.0))[0].max()
    errors = [abs(_run(fixed=step).at(Second(4 * 3600.0))[0].max() - exact) for step in (480.0, 240.0)]
    assert log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.35)


def test_the_peak_converges_with_the_mesh() -> None:
    peaks = [float(_run(cells=cells).temperatures.max()) for cells in (4, 8, 16)]
    rate = log2((peaks[1] - peaks[0]) / (peaks[2] - peaks[1]))
    assert rate > 0.7  # the hottest node moves toward the middle with the cell size


def test_a_tighter_tolerance_comes_nearer() -> None:
    exact = float(_run(0.002).temperatures.max())
    errors = [abs(float(_run(tolerance).temperatures.max()) - exact) for tolerance in (0.5, 0.05)]
    assert errors[1] < errors[0] < 0.2


def test_steps_stay_few() -> None:
    assert len(_run(0.2).times) < 120


def test_without_reaction_it_cools_to_the_room() -> None:
    body = _cup()
    still = ThermalBody(body.capacity, body.conduction, body.film, np.zeros_like(body.heat))
    history = march(still, GENTLE, np.full(len(body.heat), 330.0), room=ROOM, until=Second(86400.0))
    assert history.temperatures[-1] == pytest.approx(ROOM, abs=0.01)
    assert (np.diff(history.temperatures.max(axis=1)) <= 1e-9).all()


def test_conversion_never_falls_and_never_passes_one() -> None:
    conversions = _run().conversions
    assert (np.diff(conversions, axis=0) >= -1e-9).all()
    assert conversions.max() < 1.0


@pytest.fixture(scope="module")
def calibration() -> Calibration:
    return calibrated(RESIN)


def test_the_calibrated_cup_gels_when_the_sheet_says(calibration: Calibration) -> None:
    body = vessel_body(calibration.vessel, STUFF, STUFF.resin_mass * calibration.kinetics.heat)
    found = time_to(
        body,
        calibration.kinetics,
        ROOM,
        ROOM,
        (lambda _, cured: float(cured.mean()), calibration.kinetics.gel),
        Second(86400.0),
    )
    assert found == pytest.approx(75 * 60.0, rel=0.01)


def test_an_isothermal_reading_is_several_times_too_fast(calibration: Calibration) -> None:
    assert 2.0 < calibration.isothermal_ratio < 6.0


def test_a_longer_pot_life_is_a_slower_resin(calibration: Calibration) -> None:
    slow = calibrated(replace(RESIN, pot_life=Second(2 * 75 * 60.0)))
    assert slow.kinetics.rate < calibration.kinetics.rate


def test_more_resin_in_the_cup_means_a_slower_resin(calibration: Calibration) -> None:
    big = calibrated(replace(RESIN, pot_life_mass=Kilogram(0.5), pot_life_cup=None))
    assert big.kinetics.rate < calibration.kinetics.rate


def test_other_ends_of_a_pot_life() -> None:
    warm = calibrated(replace(RESIN, pot_life_end="temperature", pot_life_end_temperature=Kelvin(313.15)))
    thick = calibrated(replace(RESIN, pot_life_end="viscosity", pot_life_end_conversion=Ratio(0.2)))
    assert warm.end == "temperature"
    assert thick.kinetics.rate < warm.kinetics.rate * 10.0


@pytest.mark.parametrize(
    ("field", "value", "key"),
    [
        ("pot_life", None, "pot_life"),
        ("pot_life", Second(0.0), "pot_life"),
        ("pot_life_mass", None, "pot_life_mass"),
        ("pot_life_room", None, "pot_life_room"),
        ("pot_life_end", None, "pot_life_end"),
        ("pot_life_end", "boredom", "pot_life_end"),
        ("pot_life_end", "temperature", "pot_life_end_temperature"),
        ("pot_life_end", "viscosity", "pot_life_end_conversion"),
        ("family", None, "family"),
        ("family", "cheese", "family"),
        ("resin_functionality", 1.0, "resin_functionality"),
    ],
)
def test_what_the_data_sheet_leaves_out_is_named(field: str, value: object, key: str) -> None:
    with pytest.raises(NotStated) as caught:
        calibrated(replace(RESIN, **{field: value}))  # type: ignore[arg-type]  # tests name their fields
    assert f"resins.casting.{key}" in caught.value.missing


@pytest.mark.parametrize("end", [Kelvin(290.0), Kelvin(900.0)])
def test_an_end_the_cup_never_reaches_is_refused(end: Kelvin) -> None:
    odd = replace(RESIN, pot_life_end="temperature", pot_life_end_temperature=end)
    with pytest.raises(NotStated, match="no rate of cure"):
        calibrated(odd)


def test_late_cure_stops_where_the_glass_catches_up() -> None:
    body = ThermalBody(np.ones(1), _cup().conduction[:1, :1] * 0.0, np.zeros(1), np.array([1e-9]))
    cold = march(body, GENTLE, np.array([293.15]), room=Kelvin(293.15), until=Second(30 * 86400.0))
    warm = march(body, GENTLE, np.array([333.15]), room=Kelvin(333.15), until=Second(30 * 86400.0))
    assert cold.conversions[-1, 0] < 0.90 < warm.conversions[-1, 0]
    glass = float(GENTLE.glass(cold.conversions[-1])[0])
    assert 293.15 < glass < 293.15 + 60.0


def test_speed_and_slope_agree() -> None:
    warm, cured = np.full(9, 310.0), np.linspace(0.02, 0.97, 9)
    speed, slope = GENTLE.speed_and_slope(warm, cured)
    assert speed == pytest.approx(GENTLE.speed(warm, cured))
    step = 1e-6
    numeric = (GENTLE.speed(warm, cured + step) - GENTLE.speed(warm, cured - step)) / (2 * step)
    assert slope == pytest.approx(numeric, rel=1e-4, abs=1e-12)
