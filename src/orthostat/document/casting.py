"""What the shop states about casting a fill: aggregates, resins, mixers, and one column's pour.

The keys are explained one by one in `orthostat.model.pouring`.
"""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from orthostat.document.parts import Name, Pair, Part, Positive, PriceOf, Text, Whole
from orthostat.document.quantities import (
    Conductivity,
    Density,
    Expansion,
    Force,
    HeatTransfer,
    Length,
    Mass,
    MassRate,
    MolarEnergy,
    PoissonsRatio,
    PositiveRatio,
    Share,
    Size,
    SpecificEnergy,
    SpecificHeat,
    Stress,
    Temperature,
    Time,
    Volume,
)


class SievePoint(Part):
    """One point of a sieve curve."""

    size: Size | Name
    passing: Share


class Aggregate(Part):
    """A stone, sand or filler the shop can buy."""

    smallest: Size | None = None
    largest: Size | None = None
    sieve: tuple[SievePoint, ...] = ()
    particle_density: Density | None = None
    bulk_density: Density | None = None
    bulk_state: Literal["poured", "rodded", "vibrated", "compressed"] | None = None
    moisture: Share | None = None
    moisture_limit: Share | None = None
    bag_mass: Mass | None = None
    price: PriceOf | None = None
    stock: Whole | None = None
    material: Name | None = None
    note: Text | None = None


class Cup(Part):
    """The cup a pot life was measured in."""

    diameter: Size | None = None
    film: HeatTransfer | None = None


class Resin(Part):
    """A resin and its hardener as sold."""

    family: Name | None = None
    resin_density: Density | None = None
    hardener_density: Density | None = None
    ratio: Name | None = None
    """Parts of resin to parts of hardener, such as "100:30"."""
    ratio_by: Literal["mass", "volume"] | None = None
    kit_mass: Mass | None = None
    kit_volume: Volume | None = None
    price: PriceOf | None = None
    stock: Whole | None = None
    pot_life: Time | None = None
    pot_life_mass: Mass | None = None
    pot_life_cup: Cup | None = None
    pot_life_room: Temperature | None = None
    pot_life_end: Literal["gel", "temperature", "viscosity"] | None = None
    pot_life_end_temperature: Temperature | None = None
    pot_life_end_conversion: Share | None = None
    temperature_limit: Temperature | None = None
    layer_limit: Size | None = None
    heat_of_reaction: SpecificEnergy | None = None
    activation_energy: MolarEnergy | None = None
    resin_functionality: PositiveRatio | None = None
    hardener_functionality: PositiveRatio | None = None
    stoichiometry: PositiveRatio | None = None
    glass_transition: Temperature | None = None
    glass_transition_uncured: Temperature | None = None
    density: Density | None = None
    shrinkage: Share | None = None
    modulus: Stress | None = None
    poissons_ratio: PoissonsRatio | None = None
    expansion: Expansion | None = None
    conductivity: Conductivity | None = None
    specific_heat: SpecificHeat | None = None
    note: Text | None = None


class Crew(Part):
    """Who pours."""

    people: Positive | None = None
    placing_rate: MassRate | None = None


class Mixer(Part):
    """A mixer or bucket, and who pours."""

    capacity: Volume | None = None
    mass_limit: Mass | None = None
    mixing_time: Time | None = None
    cleaning_time: Time | None = None
    crew: Crew = Crew()
    note: Text | None = None


class Recipe(Part):
    """The shop's own mix: shares of the dry aggregate's mass, and the resin's share of the mix."""

    parts: dict[Name, Share]
    resin: Share | None = None


class AirVoids(Part):
    """Air left in the compacted fill, as a share of its volume."""

    low: Share
    likely: Share
    high: Share


class FormClamps(Part):
    """What keeps the plates shut while the fill is liquid."""

    heights: tuple[Length, ...] = ()
    force: Force | None = None
    per_level: Positive | None = None


class TubeStock(Part):
    """A void tube as a form."""

    material: Name | None = None
    damp: Annotated[bool, Field(strict=True)] | None = None
    hold_down: Force | None = None


class Lift(Part):
    """One layer of the pour."""

    top: Size
    wait: Time | None = None


def _films(raw: Any) -> Any:
    return raw if isinstance(raw, list) else [raw]


class Pour(Part):
    """How this column is to be cast."""

    aggregates: tuple[Name, ...] | None = None
    resin: Name | None = None
    mixer: Name | None = None
    recipe: Recipe | None = None
    compaction: Literal["poured", "rodded", "vibrated", "compressed"] | None = None
    surplus: Share | None = None
    air: AirVoids | None = None
    objective: Literal["resin", "cost"] = "resin"
    spread: Share | None = None
    room: Temperature | None = None
    room_low: Temperature | None = None
    room_high: Temperature | None = None
    mix_temperature: Temperature | None = None
    film: HeatTransfer | None = None
    film_sides: Annotated[tuple[HeatTransfer, ...], BeforeValidator(_films)] = ()
    lifts: tuple[Lift, ...] = ()
    clamps: FormClamps | None = None
    tubes: dict[Name, TubeStock] = {}
    lean_limit: Size | None = None
    strip_conversion: Share | None = None
    bolt_conversion: Share | None = None
    post_cure: Temperature | None = None
    post_cure_time: Time | None = None
    vent_holes: tuple[Pair, ...] = ()
