"""The fill as one continuum: density, heat, conductivity and stiffness from stone, resin and air."""

from __future__ import annotations

from orthostat.analyses.pour.cup import Stuff
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.mix import Blend, Mix, Proportions
from orthostat.analyses.pour.resin import property_range
from orthostat.base.dimensions import (
    JoulePerKilogramKelvin,
    Pascal,
    Ratio,
    WattPerMetreKelvin,
)
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue import Range
from orthostat.catalogue.casting import assumption
from orthostat.formulas import mixtures
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
    """A property of the blend's stones: by mass for heat, by volume for the others."""
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


def fill_modulus(inputs: Inputs, mix: Mix, made: Proportions) -> Range:
    """Young's modulus of the cured fill: Hashin–Shtrikman's bounds in two steps, likely half way.

    Air goes into the resin first (upper bound, since with empty pores the lower one is nothing), then
    stone into that porous resin: resin around stone is low, stone around resin is high.
    """
    resin = stated(inputs.pour.resin, f"{inputs.pour.path}.resin")
    soft, contraction = (
        property_range(resin, "modulus").likely,
        property_range(resin, "poissons_ratio").likely,
    )
    bulk = mixtures.bulk_modulus(Pascal(soft), Ratio(contraction))
    shear = mixtures.shear_modulus(Pascal(soft), Ratio(contraction))
    binder = made.resin + made.air
    pores = Ratio(made.air / binder if binder > 0.0 else 0.0)
    resin_bulk = mixtures.porous_bulk(pores, solid_bulk=bulk, solid_shear=shear)
    resin_shear = mixtures.porous_shear(pores, solid_bulk=bulk, solid_shear=shear)
    hard, ratio = _stone(mix.used, "youngs_modulus"), _stone(mix.used, "poissons_ratio")
    stone_bulk = mixtures.bulk_modulus(Pascal(hard), Ratio(ratio))
    stone_shear = mixtures.shear_modulus(Pascal(hard), Ratio(ratio))
    low = two_phase_modulus(made.stone, inside=(stone_bulk, stone_shear), around=(resin_bulk, resin_shear))
    high = two_phase_modulus(
        Ratio(binder), inside=(resin_bulk, resin_shear), around=(stone_bulk, stone_shear)
    )
    return Range(low, 0.5 * (low + high), high)


def two_phase_modulus(
    share: Ratio, *, inside: tuple[Pascal, Pascal], around: tuple[Pascal, Pascal]
) -> Pascal:
    """Young's modulus of one Hashin–Shtrikman bound; phases as (bulk, shear)."""
    bulk = mixtures.bound_bulk(share, inclusion_bulk=inside[0], matrix_bulk=around[0], matrix_shear=around[1])
    shear = mixtures.bound_shear(
        share, inclusion_shear=inside[1], matrix_bulk=around[0], matrix_shear=around[1]
    )
    return mixtures.youngs_modulus(bulk=bulk, shear=shear)
