"""A complete pour for tests and benchmarks: aggregates, resin, mixer and crew. Every number is invented."""

from __future__ import annotations

from dataclasses import replace

from columns import square_filled
from orthostat.base.dimensions import (
    CubicMetre,
    JoulePerKilogramKelvin,
    Kelvin,
    Kilogram,
    KilogramPerCubicMetre,
    KilogramPerSecond,
    Metre,
    Newton,
    Pascal,
    PerKelvin,
    Ratio,
    Second,
    WattPerMetreKelvin,
)
from orthostat.model.column import Column
from orthostat.model.materials import Material
from orthostat.model.pouring import (
    Aggregate,
    AirVoids,
    Crew,
    Cup,
    FormClamps,
    Mixer,
    Pour,
    ResinSystem,
    SievePoint,
    TubeStock,
)
from orthostat.model.prices import Price

GRANITE = Material(
    "granite", KilogramPerCubicMetre(2650.0), Pascal(55e9), Ratio(0.23), PerKelvin(8e-6),
    conductivity=WattPerMetreKelvin(2.8), specific_heat=JoulePerKilogramKelvin(790.0),
    path="materials.granite",
)  # fmt: skip


def firm(amount: float, per: str) -> Price:
    """A price without a range."""
    return Price(amount, amount, amount, "EUR", per)


def gravel() -> Aggregate:
    """Crushed granite, 2 to 5 mm."""
    return Aggregate(
        "gravel", "aggregates.gravel", Metre(0.002), Metre(0.005),
        particle_density=KilogramPerCubicMetre(2650.0), bulk_density=KilogramPerCubicMetre(1480.0),
        bulk_state="poured", moisture=Ratio(0.004), moisture_limit=Ratio(0.002), bag_mass=Kilogram(25.0),
        price=firm(9.0, "bag"), material=GRANITE,
    )  # fmt: skip


def sand() -> Aggregate:
    """A sieved sand with a stated curve."""
    curve = ((0.0014, 1.0), (0.001, 0.92), (0.0005, 0.41), (0.00025, 0.08), (0.000125, 0.0))
    return Aggregate(
        "sand", "aggregates.sand", sieve=tuple(SievePoint(Metre(d), Ratio(p)) for d, p in curve),
        particle_density=KilogramPerCubicMetre(2650.0), bulk_density=KilogramPerCubicMetre(1560.0),
        bulk_state="poured", moisture=Ratio(0.002), bag_mass=Kilogram(25.0), price=firm(7.0, "bag"),
        material=GRANITE, stock=1,
    )  # fmt: skip


def flour() -> Aggregate:
    """A mineral filler, 20 to 120 µm."""
    return Aggregate(
        "flour", "aggregates.flour", Metre(20e-6), Metre(120e-6),
        particle_density=KilogramPerCubicMetre(2700.0), bulk_density=KilogramPerCubicMetre(1290.0),
        bulk_state="poured", moisture=Ratio(0.001), bag_mass=Kilogram(20.0), price=firm(14.0, "bag"),
        material=GRANITE,
    )  # fmt: skip


def resin() -> ResinSystem:
    """A slow casting epoxy with a data sheet's pot life."""
    return ResinSystem(
        "casting", "resins.casting", "epoxy, polyether amine", KilogramPerCubicMetre(1130.0),
        KilogramPerCubicMetre(960.0), 100.0 / 32.0, "mass", Kilogram(6.6), price=firm(118.0, "kit"),
        pot_life=Second(75 * 60.0), pot_life_mass=Kilogram(0.1), pot_life_cup=Cup(Metre(0.06)),
        pot_life_room=Kelvin(296.15), pot_life_end="gel", temperature_limit=Kelvin(333.15),
        layer_limit=Metre(0.1),
    )  # fmt: skip


def mixer() -> Mixer:
    """A 20 litre paddle mixer and two people."""
    return Mixer(
        "paddle", "mixers.paddle", CubicMetre(0.012), Kilogram(30.0), Second(300.0), Second(180.0),
        Crew(2, KilogramPerSecond(4.0 / 60.0)),
    )  # fmt: skip


def pour() -> Pour:
    """Gravel, sand and flour in a slow epoxy, tamped by hand at 20 °C, in one go."""
    return Pour(
        "columns.square.pour", (gravel(), sand(), flour()), resin(), mixer(), compaction="rodded",
        surplus=Ratio(0.06), air=AirVoids(Ratio(0.01), Ratio(0.03), Ratio(0.05)), room=Kelvin(293.15),
        room_low=Kelvin(288.15), room_high=Kelvin(299.15), mix_temperature=Kelvin(295.15),
        clamps=FormClamps((Metre(0.08), Metre(0.25), Metre(0.42)), Newton(2000.0), 2),
        tubes=(TubeStock("tube", "card", damp=False, hold_down=None),), lean_limit=Metre(20e-6),
    )  # fmt: skip


THERMAL = {"aluminium plate": (160.0, 900.0), "card": (0.08, 1400.0), "steel": (50.0, 470.0)}
"""Conductivity and specific heat that the test columns' materials leave out."""


def warm(material: Material | None) -> Material | None:
    """The material with its conductivity and specific heat."""
    if material is None or material.name not in THERMAL:
        return material
    k, c = THERMAL[material.name]
    return replace(material, conductivity=WattPerMetreKelvin(k), specific_heat=JoulePerKilogramKelvin(c))


def poured(column: Column | None = None, **changes: object) -> Column:
    """The filled square test column with `pour()`; `changes` replace fields of the pour."""
    wanted = replace(pour(), **changes)  # type: ignore[arg-type]  # tests name the fields they change
    given = square_filled() if column is None else column
    return replace(
        given,
        pour=wanted,
        bodies=tuple(replace(body, material=warm(body.material)) for body in given.bodies),
        tubes=tuple(replace(tube, material=warm(tube.material)) for tube in given.tubes),
        studs=tuple(replace(stud, sleeve_material=warm(stud.sleeve_material)) for stud in given.studs),
    )
