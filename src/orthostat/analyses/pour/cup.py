"""Cups and buckets: a round vessel as rings and layers, the pot life simulated, the rate calibrated.

A cup of neat resin heats itself before it gels, so a pot life read as if it were isothermal makes the
resin several times too fast. The very cup of the data sheet is simulated and the rate found with which
it ends when the sheet says.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import exp, log, pi

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.sparse import coo_array, csc_array

from orthostat.analyses.pour.kinetics import Kinetics, uncalibrated
from orthostat.analyses.pour.march import ThermalBody, Tolerance, march
from orthostat.analyses.pour.resin import mixed, property_range
from orthostat.base.dimensions import (
    CubicMetre,
    JoulePerKilogramKelvin,
    Kelvin,
    KelvinDifference,
    KilogramPerCubicMetre,
    Metre,
    PerSecond,
    Ratio,
    Second,
    WattPerMetreKelvin,
    WattPerSquareMetreKelvin,
)
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue.casting import assumption
from orthostat.model.pouring import ResinSystem

Floats = NDArray[np.float64]
Link = tuple[NDArray[np.int64], NDArray[np.int64], Floats]
"""Pairs of nodes and the conductance [W/K] between them."""
CUP_TOLERANCE = Tolerance(KelvinDifference(2.0), 0.01)
"""Pot lives come out within 0.5 % of those with a tolerance twenty times finer."""


@dataclass(frozen=True, slots=True)
class Stuff:
    """A curing material as one continuum."""

    density: KilogramPerCubicMetre
    specific_heat: JoulePerKilogramKelvin
    conductivity: WattPerMetreKelvin
    resin_mass: KilogramPerCubicMetre
    """Mixed resin in a cubic metre."""


@dataclass(frozen=True, slots=True)
class Vessel:
    """A round cup or bucket, filled to a depth, cooled by the same film all round."""

    diameter: Metre
    depth: Metre
    film: WattPerSquareMetreKelvin

    @staticmethod
    def as_high_as_wide(volume: CubicMetre, film: WattPerSquareMetreKelvin) -> Vessel:
        """The vessel of a volume filled as high as it is wide."""
        side = Metre((4.0 * volume / pi) ** (1.0 / 3.0))
        return Vessel(side, side, film)


def vessel_body(vessel: Vessel, stuff: Stuff, heat: float, *, rings: int = 6, layers: int = 6) -> ThermalBody:
    """Half a vessel (cut at mid depth) as rings × layers finite volumes; `heat` [J/m³] of the whole cure."""
    radii = np.linspace(0.0, 0.5 * vessel.diameter, rings + 1)
    thick = 0.5 * vessel.depth / layers
    ring_area = pi * (radii[1:] ** 2 - radii[:-1] ** 2)
    volume = np.repeat(ring_area * thick, layers)
    index = np.arange(rings * layers).reshape(rings, layers)
    middles = 0.5 * (radii[1:] + radii[:-1])
    k = stuff.conductivity
    links: list[Link] = []
    for i in range(rings - 1):
        across = 2.0 * pi * radii[i + 1] * thick * k / (middles[i + 1] - middles[i])
        links.append((index[i], index[i + 1], np.full(layers, across)))
    links += [(index[:, j], index[:, j + 1], ring_area * k / thick) for j in range(layers - 1)]
    film = np.zeros(rings * layers)
    half = radii[-1] - middles[-1]
    film[index[-1]] += 2.0 * pi * radii[-1] * thick / (1.0 / vessel.film + half / k)
    film[index[:, -1]] += ring_area / (1.0 / vessel.film + 0.5 * thick / k)
    return ThermalBody(
        volume * stuff.density * stuff.specific_heat,
        conduction_matrix(len(volume), links, film),
        film,
        volume * heat,
    )


def conduction_matrix(count: int, links: list[Link], film: Floats) -> csc_array:
    """The matrix of conductances between pairs of nodes, with films on its diagonal."""
    a = np.concatenate([link[0] for link in links]) if links else np.zeros(0, int)
    b = np.concatenate([link[1] for link in links]) if links else np.zeros(0, int)
    g = np.concatenate([link[2] for link in links]) if links else np.zeros(0)
    rows = np.concatenate([a, b, a, b, np.arange(count)])
    columns = np.concatenate([a, b, b, a, np.arange(count)])
    values = np.concatenate([g, g, -g, -g, film])
    return coo_array((values, (rows, columns)), shape=(count, count)).tocsc()


@dataclass(frozen=True, slots=True)
class Calibration:
    """A resin's kinetics, and the cup test they reproduce."""

    kinetics: Kinetics
    vessel: Vessel
    cup_peak: Kelvin
    """Hottest the cup gets if it is left standing."""
    end: str
    isothermal_ratio: Ratio
    """Rate that an isothermal reading of the same pot life would give, over the calibrated one."""


@lru_cache(maxsize=64)
def calibrated(resin: ResinSystem, end: str = "likely") -> Calibration:
    """Kinetics whose cup test ends at the stated pot life. `end` picks low, likely or high heat.

    Raises `NotStated` naming what the data sheet does not say.
    """
    path = resin.path
    life = stated(resin.pot_life, f"{path}.pot_life")
    mass = stated(resin.pot_life_mass, f"{path}.pot_life_mass")
    room = stated(resin.pot_life_room, f"{path}.pot_life_room")
    definition = stated(resin.pot_life_end, f"{path}.pot_life_end")
    if life <= 0.0 or mass <= 0.0:
        raise NotStated(
            f"{path}.pot_life", reason=f"{resin.name}: pot life and its test mass must be above zero"
        )
    liquid = mixed(resin)
    stuff = neat(resin)
    film = WattPerSquareMetreKelvin(assumption("film of a cup").likely)
    cup = resin.pot_life_cup
    if cup is not None and cup.film is not None:
        film = cup.film
    volume = CubicMetre(mass / liquid.density)
    vessel = Vessel.as_high_as_wide(volume, film)
    if cup is not None and cup.diameter is not None:
        vessel = Vessel(cup.diameter, Metre(volume / (pi * cup.diameter**2 / 4.0)), film)
    raw = uncalibrated(resin, room, end=end)
    body = vessel_body(vessel, stuff, stuff.resin_mass * raw.heat)
    ended = _ending(resin, definition, raw)
    try:
        rate = _rate_for(life, body, raw, room, ended)
    except ValueError as none:
        raise NotStated(
            f"{path}.pot_life", reason=f"{resin.name}: no rate of cure ends this cup test as stated"
        ) from none
    kinetics = raw.with_rate(PerSecond(rate))
    left = march(
        body,
        kinetics,
        np.full(len(body.heat), float(room)),
        room=room,
        until=Second(6.0 * life),
        tolerance=CUP_TOLERANCE,
    )
    still = _isothermal_rate(life, raw, room, ended)
    return Calibration(
        kinetics, vessel, Kelvin(float(left.temperatures.max())), definition, Ratio(still / rate)
    )


def neat(resin: ResinSystem) -> Stuff:
    """The mixed resin on its own."""
    liquid = mixed(resin)
    return Stuff(
        liquid.density,
        JoulePerKilogramKelvin(property_range(resin, "specific_heat").likely),
        WattPerMetreKelvin(property_range(resin, "conductivity").likely),
        liquid.density,
    )


Ended = tuple[Callable[[Floats, Floats], float], float]
"""What is watched in the cup (of its temperatures and conversions), and the level that ends the pot life."""


def _ending(resin: ResinSystem, definition: str, kinetics: Kinetics) -> Ended:
    if definition == "gel":
        return (lambda _, cured: float(cured.mean())), kinetics.gel
    if definition == "viscosity":
        level = stated(resin.pot_life_end_conversion, f"{resin.path}.pot_life_end_conversion")
        if not 0.0 < level < 1.0:
            raise NotStated(
                f"{resin.path}.pot_life_end_conversion", reason=f"{resin.name}: it lies between 0 and 1"
            )
        return (lambda _, cured: float(cured.mean())), level
    if definition == "temperature":
        hottest = stated(resin.pot_life_end_temperature, f"{resin.path}.pot_life_end_temperature")
        return (lambda temperature, _: float(temperature.max())), hottest
    raise NotStated(
        f"{resin.path}.pot_life_end", reason=f"{resin.name}: a pot life ends by gel, temperature or viscosity"
    )


def time_to(
    body: ThermalBody, kinetics: Kinetics, start: Kelvin, room: Kelvin, ended: Ended, until: Second
) -> Second | None:
    """When the watched quantity reaches its level; `None` if it does not in the time allowed."""
    watched, level = ended
    history = march(
        body,
        kinetics,
        np.full(len(body.heat), float(start)),
        room=room,
        until=until,
        tolerance=CUP_TOLERANCE,
        stop=lambda temperature, cured: watched(temperature, cured) >= level,
    )
    series = np.array([watched(t, c) for t, c in zip(history.temperatures, history.conversions, strict=True)])
    return history.when(series, level)


def _rate_for(life: Second, body: ThermalBody, raw: Kinetics, room: Kelvin, ended: Ended) -> float:
    """The rate with which the cup's pot life is `life`: the root of ln(time/life) over ln(rate).

    Raises `ValueError` where there is none, such as for an end that the cup never reaches.
    """
    horizon = Second(30.0 * life)

    def late(log_rate: float) -> float:
        found = time_to(body, raw.with_rate(PerSecond(exp(log_rate))), room, room, ended, horizon)
        return log((horizon if found is None else found) / life)

    fast = log(_isothermal_rate(life, raw, room, ended))
    low, high = fast - 3.0, fast + 0.05
    for _ in range(8):
        if late(low) > 0.0:
            break
        low -= 2.0
    for _ in range(8):
        if late(high) < 0.0:
            break
        high += 2.0
    return float(exp(brentq(late, low, high, xtol=2e-3)))


def _isothermal_rate(life: Second, raw: Kinetics, room: Kelvin, ended: Ended) -> float:
    """The rate that an isothermal reading of the pot life would give, by the conversion that ends it."""
    level = ended[1] if ended[1] < 1.0 else float(raw.gel)
    grid = np.linspace(0.0, level, 2001)
    speed = raw.speed(np.full(len(grid), float(room)), grid)
    return float(np.trapezoid(1.0 / speed, grid) / life)
