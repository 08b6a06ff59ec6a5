"""Packing, conduction, curing and running away, beside published values and closed forms."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, pi

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.pour.cup import Stuff, Vessel, conduction_matrix, vessel_body
from orthostat.analyses.pour.kinetics import Kinetics
from orthostat.analyses.pour.march import ThermalBody, Tolerance, march
from orthostat.analyses.pour.section import stiffness_matrix
from orthostat.base.dimensions import (
    JoulePerKilogram,
    JoulePerKilogramKelvin,
    JoulePerMole,
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
from orthostat.formulas import conduction, cure, grading, packing
from orthostat.meshing import Region, mesh_section
from orthostat.validation.cases import case

Floats = NDArray[np.float64]
_FINE = Tolerance(KelvinDifference(2e-3), 2e-5)


def _two_sizes(fine: float, beta: float, index: float) -> float:
    sizes, each = np.array([1.0, 1e-9]), np.array([beta, beta])
    matrix = packing.compressible_packing_matrix(sizes, each)
    return packing.compressible_packing(np.array([1.0 - fine, fine]), matrix, each, Ratio(index))


@case(
    "two far-apart sizes at their best, compressible packing",
    expected=0.84, unit="1", source="furnas-1931, voids of a system of two sizes: 0.4² of the volume",
    tolerance=0.002, reason="grains of 1 : 10⁹ and a compaction index of 10⁷ stand for the limit",
)  # fmt: skip
def _furnas_compressible() -> float:
    return _two_sizes(2.0 / 7.0, 0.6, 1e7)


@case(
    "two far-apart sizes at their best, linear packing density",
    expected=0.84, unit="1", source="furnas-1931, voids of a system of two sizes: 0.4² of the volume",
    tolerance=1e-6, reason="the model reduces to Furnas' limit exactly",
)  # fmt: skip
def _furnas_linear() -> float:
    matrix = packing.linear_packing_matrix(np.array([1.0, 1e-12]), np.array([0.6, 0.6]))
    return packing.linear_packing(np.array([5.0 / 7.0, 2.0 / 7.0]), matrix)


@case(
    "equal spheres poured loosely",
    expected=0.60, unit="1", source="scott-kilgour-1969, loose random packing, from memory",
    tolerance=0.015, reason="β 0.74 (closest packing) at the index of pouring; measured: 0.59 to 0.61",
)  # fmt: skip
def _loose_spheres() -> float:
    return packing.packing_at_index(Ratio(0.7405), index=Ratio(4.1))


@case(
    "Fuller's curve at a quarter of the largest size",
    expected=0.5, unit="1", source="fuller-thompson-1907, the parabola as used today", tolerance=1e-12,
    reason="exact",
)  # fmt: skip
def _fuller_quarter() -> float:
    curve = grading.fuller_thompson(np.array([4e-3]), largest=Metre(16e-3), exponent=Ratio(0.5))
    return float(curve[0])


@case("first root of a slab, Bi = 1", expected=0.8603, unit="1", source="incropera-2007, table 5.1",
      tolerance=5e-5, reason="the table has four places")  # fmt: skip
def _slab_root() -> float:
    return conduction.slab_first_term(Ratio(1.0)).root


@case("first coefficient of a slab, Bi = 1", expected=1.1191, unit="1", source="incropera-2007, table 5.1",
      tolerance=5e-5, reason="the table has four places")  # fmt: skip
def _slab_coefficient() -> float:
    return conduction.slab_first_term(Ratio(1.0)).coefficient


@case("first root of a long cylinder, Bi = 1", expected=1.2558, unit="1", source="incropera-2007, table 5.1",
      tolerance=5e-5, reason="the table has four places")  # fmt: skip
def _cylinder_root() -> float:
    return conduction.cylinder_first_term(Ratio(1.0)).root


@case("first coefficient of a long cylinder, Bi = 1", expected=1.2071, unit="1",
      source="incropera-2007, table 5.1", tolerance=5e-5, reason="the table has four places")  # fmt: skip
def _cylinder_coefficient() -> float:
    return conduction.cylinder_first_term(Ratio(1.0)).coefficient


@dataclass(frozen=True)
class _Given(Kinetics):
    """Kinetics with a rate given outright, for cases with closed forms."""

    exponential: bool = False

    def speed(self, temperature: Floats, conversion: Floats) -> Floats:
        if self.exponential:
            return np.asarray(np.exp(np.minimum(temperature, 50.0)))
        return self.speed_and_slope(temperature, conversion)[0]

    def speed_and_slope(self, temperature: Floats, conversion: Floats) -> tuple[Floats, Floats]:
        if self.exponential:
            return self.speed(temperature, conversion), np.zeros_like(conversion)
        k, a, left = self.rate, self.rate_ratio + conversion, 1.0 - conversion
        if self.order == 0.0:
            return k * left**self.final_order, -k * self.final_order * left ** (self.final_order - 1.0)
        return k * a * left, k * (left - a)


def _given(**changes: float | bool) -> Kinetics:
    usual = {
        "reference": 300.0, "rate": 1.0, "rate_ratio": 0.02, "activation_energy": 0.0, "order": 1.0,
        "final_order": 1.0, "glass_uncured": 200.0, "glass_cured": 201.0, "glass_shape": 1.0, "lead": 0.0,
        "width": 1.0, "heat": 0.0, "gel": 0.5,
    }  # fmt: skip
    return _Given(**{**usual, **changes})  # type: ignore[arg-type]  # numbers for each unit type


def _single(heat: float) -> ThermalBody:
    return ThermalBody(
        np.ones(1),
        conduction_matrix(1, [], np.zeros(1)),
        np.zeros(1),
        np.array([heat if heat > 0.0 else 1e-12]),
    )


_STUFF = Stuff(
    KilogramPerCubicMetre(1000.0), JoulePerKilogramKelvin(1000.0), WattPerMetreKelvin(1.0),
    KilogramPerCubicMetre(200.0),
)  # fmt: skip


def _middle_at(vessel: Vessel, half: float, rings: int, layers: int) -> float:
    """Middle temperature over the first one at Fo = 0.5, by the solver."""
    body = vessel_body(vessel, _STUFF, 0.0, rings=rings, layers=layers)
    diffusivity = 1.0 / (1000.0 * 1000.0)
    time = Second(0.5 * half**2 / diffusivity)
    history = march(
        body, _given(), np.full(len(body.heat), 1.0), room=Kelvin(0.0), until=time, tolerance=_FINE
    )
    return float(history.at(time)[0][0])


@case("middle of a slab cooling at Bi = 1, Fo = 0.5, by the solver",
      expected=1.1191 * exp(-0.5 * 0.8603**2), unit="1", source="incropera-2007, table 5.1 and equation 5.40",
      relative=0.004, reason="one term of the series, and the middle of the first of 40 layers")  # fmt: skip
def _slab_solver() -> float:
    half = 0.05
    vessel = Vessel(Metre(1e4), Metre(2.0 * half), WattPerSquareMetreKelvin(1.0 / half))
    return _middle_at(vessel, half, 1, 40)


@case("middle of a long cylinder cooling at Bi = 1, Fo = 0.5, by the solver",
      expected=1.2071 * exp(-0.5 * 1.2558**2), unit="1", source="incropera-2007, table 5.1 and equation 5.49",
      relative=0.004, reason="one term of the series and the middle of the first of 40 rings")  # fmt: skip
def _cylinder_solver() -> float:
    radius = 0.05
    vessel = Vessel(Metre(2.0 * radius), Metre(1e4), WattPerSquareMetreKelvin(1.0 / radius))
    return _middle_at(vessel, radius, 40, 1)


@case("steady flux through two layers and two films, by finite elements",
      expected=30.0 / (1.0 / 8.0 + 0.025 / 160.0 + 0.1 / 1.5 + 1.0 / 5.0), unit="W/m^2",
      source="incropera-2007, section 3.1 (series of resistances)", relative=1e-6,
      reason="linear elements hold a linear field exactly; node places are rounded to 1e-9 m")  # fmt: skip
def _two_layers() -> float:
    tall = 0.04
    left = Region("aluminium", ((0.0, 0.0), (0.025, 0.0), (0.025, tall), (0.0, tall)))
    right = Region("fill", ((0.025, 0.0), (0.125, 0.0), (0.125, tall), (0.025, tall)))
    mesh = mesh_section((left, right), Metre(0.01))
    matrix = stiffness_matrix(mesh, np.array([160.0, 1.5])[mesh.region]).toarray()
    edges, _ = mesh.boundary_edges()
    warm, cold = np.zeros(len(mesh.points)), np.zeros(len(mesh.points))
    for a, b in edges.tolist():
        length = float(np.linalg.norm(mesh.points[a] - mesh.points[b]))
        for film, x, h in ((warm, 0.0, 8.0), (cold, 0.125, 5.0)):
            if abs(mesh.points[a, 0] - x) < 1e-9 and abs(mesh.points[b, 0] - x) < 1e-9:
                film[a] += 0.5 * h * length
                film[b] += 0.5 * h * length
    field = np.linalg.solve(matrix + np.diag(warm + cold), warm * 30.0)
    return float(warm @ (30.0 - field)) / tall


@case("adiabatic rise of a curing fill, by the solver", expected=0.22 * 1100.0 * 420e3 / (2300.0 * 950.0),
      unit="K", source="incropera-2007, section 1.3 (heat balance)", relative=1e-3,
      reason="followed until 99.95 % has cured")  # fmt: skip
def _adiabatic() -> float:
    body = ThermalBody(
        np.array([2300.0 * 950.0]), conduction_matrix(1, [], np.zeros(1)), np.zeros(1),
        np.array([0.22 * 1100.0 * 420e3]),
    )  # fmt: skip
    history = march(
        body, _given(rate=1e-3, order=0.0), np.array([293.0]), room=Kelvin(293.0), until=Second(7600.0)
    )
    return float(history.temperatures[-1, 0] - 293.0)


@case("isothermal second-order cure at k t = 2", expected=2.0 / 3.0, unit="1",
      source="levenspiel-1999, chapter 3: 1 - 1/(1 + k t)", tolerance=2e-4,
      reason="the step tolerance of the run")  # fmt: skip
def _second_order() -> float:
    history = march(
        _single(0.0), _given(order=0.0, final_order=2.0), np.array([300.0]), room=Kelvin(300.0),
        until=Second(2.0), tolerance=_FINE,
    )  # fmt: skip
    return float(history.at(Second(2.0))[1][0])


_LOGISTIC = 0.02 * (exp(1.02 * 5.0) - 1.0) / (1.0 + 0.02 * exp(1.02 * 5.0))


@case("isothermal autocatalytic cure at k t = 5", expected=_LOGISTIC, unit="1",
      source="kamal-sourour-1973, with m = n = 1 the logistic curve", tolerance=3e-4,
      reason="the step tolerance of the run")  # fmt: skip
def _autocatalytic() -> float:
    history = march(
        _single(0.0), _given(), np.array([300.0]), room=Kelvin(300.0), until=Second(5.0), tolerance=_FINE
    )
    return float(history.at(Second(5.0))[1][0])


@case("a resin cured at 40 °C for 1 h: share cured over that of a general-purpose integrator",
      expected=1.0, unit="1", source="scipy, solve_ivp (LSODA, tolerance 1e-10)", tolerance=2e-3,
      reason="the step tolerance of the run", needs="scipy")  # fmt: skip
def _against_integrator() -> float:
    from scipy.integrate import solve_ivp

    kinetics = Kinetics(
        Kelvin(296.15), PerSecond(6e-4), Ratio(0.02), JoulePerMole(55e3), Ratio(1.0), Ratio(2.0),
        Kelvin(235.0),
        Kelvin(353.0), Ratio(0.45), KelvinDifference(10.0), KelvinDifference(4.0), JoulePerKilogram(380e3),
        Ratio(0.577),
    )  # fmt: skip
    warm = np.array([313.15])
    found = solve_ivp(
        lambda _, a: kinetics.speed(warm, a), (0.0, 3600.0), [0.0], method="LSODA", rtol=1e-10, atol=1e-12
    )
    history = march(_single(0.0), kinetics, warm, room=Kelvin(313.15), until=Second(3600.0), tolerance=_FINE)
    return float(history.at(Second(3600.0))[1][0] / found.y[0, -1])


def _runs_away(body: ThermalBody, parameter: float) -> bool:
    hot = ThermalBody(body.capacity, body.conduction, body.film, body.capacity * parameter)
    start = np.zeros(len(body.capacity))
    history = march(
        hot, _given(exponential=True), start, room=Kelvin(0.0), until=Second(40.0),
        tolerance=Tolerance(KelvinDifference(0.02), 1e9), stop=lambda t, _: bool(t.max() > 8.0),
    )  # fmt: skip
    return history.stopped


def _critical(body: ThermalBody, low: float, high: float) -> float:
    """The Frank-Kamenetskii parameter at which the solver's body runs away, by halving."""
    for _ in range(9):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if _runs_away(body, middle) else (middle, high)
    return 0.5 * (low + high)


_COLD = WattPerSquareMetreKelvin(1e6)
_UNIT = Stuff(
    KilogramPerCubicMetre(1.0),
    JoulePerKilogramKelvin(1.0),
    WattPerMetreKelvin(1.0),
    KilogramPerCubicMetre(1.0),
)
_FK = "frank-kamenetskii-1969, chapter VI"


@case("critical parameter of a slab, by the transient", expected=0.878, unit="1", source=_FK, relative=0.01,
      reason="the wanted 1 %; near the critical size a run-away takes long to show")  # fmt: skip
def _critical_slab() -> float:
    return _critical(
        vessel_body(Vessel(Metre(1e4), Metre(2.0), _COLD), _UNIT, 0.0, rings=1, layers=30), 0.7, 1.1
    )


@case("critical parameter of a long cylinder, by the transient", expected=2.00, unit="1", source=_FK,
      relative=0.01, reason="the wanted 1 %")  # fmt: skip
def _critical_cylinder() -> float:
    return _critical(
        vessel_body(Vessel(Metre(2.0), Metre(1e4), _COLD), _UNIT, 0.0, rings=30, layers=1), 1.6, 2.4
    )


@case("critical parameter of a sphere, by the transient", expected=3.32, unit="1", source=_FK, relative=0.01,
      reason="the wanted 1 %")  # fmt: skip
def _critical_sphere() -> float:
    shells = 30
    radii = np.linspace(0.0, 1.0, shells + 1)
    middles = 0.5 * (radii[1:] + radii[:-1])
    volume = 4.0 / 3.0 * pi * (radii[1:] ** 3 - radii[:-1] ** 3)
    links = [
        (np.array([i]), np.array([i + 1]), np.array([4.0 * pi * radii[i + 1] ** 2 * shells]))
        for i in range(shells - 1)
    ]
    film = np.zeros(shells)
    film[-1] = 4.0 * pi / (1.0 - middles[-1])
    return _critical(
        ThermalBody(volume, conduction_matrix(shells, links, film), film, np.zeros(shells)), 2.7, 3.9
    )


@case("critical parameter of a cylinder as high as wide, by the transient", expected=2.77, unit="1",
      source=_FK, relative=0.015, reason="published 2.76 to 2.77; 20 rings by 20 layers")  # fmt: skip
def _critical_bucket() -> float:
    return _critical(
        vessel_body(Vessel(Metre(2.0), Metre(2.0), _COLD), _UNIT, 0.0, rings=20, layers=20), 2.3, 3.3
    )


@case("gel of a diglycidyl ether with a four-functional amine", expected=0.577, unit="1",
      source="flory-1953, chapter 9", tolerance=5e-4, reason="three places")  # fmt: skip
def _gel() -> float:
    return cure.gel_conversion(ratio=Ratio(1.0), epoxide_functionality=2.0, hydrogen_functionality=4.0)
