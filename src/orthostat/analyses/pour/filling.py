"""The fill as one continuum: density, heat, conductivity and stiffness from stone, resin and air."""

from __future__ import annotations

from orthostat.analyses.pour.cup import Stuff
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.mix import Blend, Mix, Proportions
from orthostat.analyses.pour.resin import property_range
from orthostat.base.dimensions import (
    JoulePerKilogramKelvin,
    Ratio,
    WattPerMetreKelvin,
)
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue import Range
from orthostat.catalogue.casting import assumption
from orthostat.formulas.conduction import hashin_shtrikman_conductivity


def fill_stuff(inputs: Inputs, mix: Mix, made: Proportions, *, end: str = "likely") -> Stuff:
    """The fill of stated proportions. `end` picks low, likely or high conductivity.

    Raises `NotStated` naming a stone's missing conductivity or specific heat.
    """
    resin = stated(inputs.pour.resin, f"{inputs.pour.path}.resin")
    stone_heat = _stone(mix.used, "specific_heat")
    resin_heat = property_range(resin, "specific_heat").likely
    share = made.resin_mass_share
    return Stuff(
        made.density,
        JoulePerKilogramKelvin(share * resin_heat + (1.0 - share) * stone_heat),
        WattPerMetreKelvin(getattr(fill_conductivity(inputs, mix, made), end)),
        made.resin_mass,
    )


def fill_conductivity(inputs: Inputs, mix: Mix, made: Proportions) -> Range:
    """Between the Hashin–Shtrikman bounds of stone and resin, air taken into the resin first.

    Low is resin around stone, high is stone around resin; likely lies half way, since stones touch.
    """
    resin = stated(inputs.pour.resin, f"{inputs.pour.path}.resin")
    liquid = WattPerMetreKelvin(property_range(resin, "conductivity").likely)
    air = WattPerMetreKelvin(assumption("air, conductivity").likely)
    stone = WattPerMetreKelvin(_stone(mix.used, "conductivity"))
    binder = made.resin + made.air
    matrix = hashin_shtrikman_conductivity(
        matrix=liquid, grains=air, grain_share=Ratio(made.air / binder if binder > 0.0 else 0.0)
    )
    low = hashin_shtrikman_conductivity(matrix=matrix, grains=stone, grain_share=made.stone)
    high = hashin_shtrikman_conductivity(matrix=stone, grains=matrix, grain_share=Ratio(1.0 - made.stone))
    return Range(low, 0.5 * (low + high), high)


def _stone(blend: Blend, name: str) -> float:
    """A property of the blend's stones: by volume for conductivity, by mass for heat."""
    total = 0.0
    for part in blend.parts:
        if part.mass_share <= 0.0:
            continue
        material = stated(part.aggregate.material, f"{part.aggregate.path}.material")
        value: float | None = getattr(material, name)
        if value is None:
            raise NotStated(f"{material.path or part.aggregate.path}.{name}")
        total += value * (part.mass_share if name == "specific_heat" else part.volume_share)
    return total
