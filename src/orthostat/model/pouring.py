"""What the shop states about casting a fill: aggregates, resins, mixer and crew, and the pour.

Document keys (each field below names its own): `[aggregates.NAME]`, `[resins.NAME]` and
`[mixers.NAME]` in `shop.toml`, `[pour]` in the column. A field the shop leaves out is `None`; what
may then be taken from the catalogue (with a range and a source) is said at the field.
"""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import (
    CubicMetre,
    JoulePerKilogram,
    JoulePerKilogramKelvin,
    JoulePerMole,
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
    WattPerSquareMetreKelvin,
)
from orthostat.model.bodies import Point2
from orthostat.model.materials import Material
from orthostat.model.prices import Price


@dataclass(frozen=True, slots=True)
class SievePoint:
    """One point of a sieve curve: the share of the mass that passes a sieve of this opening."""

    size: Metre
    """`size = "4 mm"` (or a sieve's designation, `"No. 8"`, `"#200"`, from the catalogue)."""
    passing: Ratio
    """`passing = "62 %"`."""


@dataclass(frozen=True, slots=True)
class Aggregate:
    """A stone, sand or filler the shop can buy: `[aggregates.NAME]`."""

    name: str
    path: str
    smallest: Metre | None = None
    """`smallest = "2 mm"`: lower size of the range; used where no sieve curve is stated."""
    largest: Metre | None = None
    """`largest = "4 mm"`."""
    sieve: tuple[SievePoint, ...] = ()
    """`sieve = [{ size = "4 mm", passing = "98 %" }, …]`, any order; wins over the range."""
    particle_density: KilogramPerCubicMetre | None = None
    """`particle_density = "2650 kg/m^3"`."""
    bulk_density: KilogramPerCubicMetre | None = None
    """`bulk_density = "1480 kg/m^3"`: of the dry material in a measure."""
    bulk_state: str | None = None
    """`bulk_state = "poured"`: how the measure was filled: `poured`, `rodded`, `vibrated` or
    `compressed` (sets the compaction index of the packing model)."""
    moisture: Ratio | None = None
    """`moisture = "0.3 %"`: water over dry mass, as delivered."""
    moisture_limit: Ratio | None = None
    """`moisture_limit = "0.2 %"`: what the resin maker allows."""
    bag_mass: Kilogram | None = None
    """`bag_mass = "25 kg"`."""
    price: Price | None = None
    """`price = "9.50 USD/bag"` (or per kg)."""
    stock: int | None = None
    """`stock = 2`: whole bags on the shelf; `None` counts as none."""
    material: Material | None = None
    """`material = "granite"`: for heat and stiffness of the fill."""


@dataclass(frozen=True, slots=True)
class Cup:
    """The cup a pot life was measured in: `pot_life_cup = { diameter = "60 mm", insulated = false }`."""

    diameter: Metre | None = None
    """`diameter`: of a round cup; `None` takes a cup filled as high as it is wide."""
    film: WattPerSquareMetreKelvin | None = None
    """`film = "8 W/(m^2*K)"`: to the room, all round; `None` takes the catalogue row for still air."""


@dataclass(frozen=True, slots=True)
class ResinSystem:
    """A resin and its hardener as sold: `[resins.NAME]`."""

    name: str
    path: str
    family: str | None = None
    """`family = "epoxy, cycloaliphatic amine"`: the catalogue row that supplies, with ranges and
    sources, every property of reaction below that the shop did not state."""
    resin_density: KilogramPerCubicMetre | None = None
    """`resin_density = "1.15 g/cm^3"`."""
    hardener_density: KilogramPerCubicMetre | None = None
    """`hardener_density = "1.00 g/cm^3"`."""
    ratio: float | None = None
    """`ratio = "100:30"` (or `"2:1"`): parts of resin to one part of hardener."""
    ratio_by: str | None = None
    """`ratio_by = "mass"` or `"volume"`; must be stated with the ratio."""
    kit_mass: Kilogram | None = None
    """`kit_mass = "13 kg"`: resin and hardener together."""
    kit_volume: CubicMetre | None = None
    """`kit_volume = "3 gal"`: instead of the mass."""
    price: Price | None = None
    """`price = "210 USD/kit"` (or per kg)."""
    stock: int | None = None
    """`stock = 0`: whole kits on the shelf; `None` counts as none."""
    pot_life: Second | None = None
    """`pot_life = "45 min"`."""
    pot_life_mass: Kilogram | None = None
    """`pot_life_mass = "100 g"`: mixed mass in the test cup. Without it the pot life says nothing."""
    pot_life_cup: Cup | None = None
    pot_life_room: Kelvin | None = None
    """`pot_life_room = "23 degC"`: of room and of the components."""
    pot_life_end: str | None = None
    """`pot_life_end = "gel"`, `"temperature"` (with `pot_life_end_temperature`) or `"viscosity"`
    (with `pot_life_end_conversion`): what the maker calls the end of it."""
    pot_life_end_temperature: Kelvin | None = None
    """`pot_life_end_temperature = "40 degC"`."""
    pot_life_end_conversion: Ratio | None = None
    """`pot_life_end_conversion = 0.2`: the share cured at which it is too thick to work."""
    temperature_limit: Kelvin | None = None
    """`temperature_limit = "60 degC"`: the most the maker allows while it cures."""
    layer_limit: Metre | None = None
    """`layer_limit = "100 mm"`: thickest layer the maker allows in one pour (neat)."""
    heat_of_reaction: JoulePerKilogram | None = None
    """`heat_of_reaction = "420 J/g"` of the mixed resin."""
    activation_energy: JoulePerMole | None = None
    """`activation_energy = "55 kJ/mol"`."""
    resin_functionality: float | None = None
    """`resin_functionality = 2`: epoxides in a resin molecule."""
    hardener_functionality: float | None = None
    """`hardener_functionality = 4`: active hydrogens in a hardener molecule."""
    stoichiometry: Ratio | None = None
    """`stoichiometry = 1.0`: active hydrogens over epoxides, at most 1 by swapping them."""
    glass_transition: Kelvin | None = None
    """`glass_transition = "85 degC"`: fully cured."""
    glass_transition_uncured: Kelvin | None = None
    """`glass_transition_uncured = "-35 degC"`."""
    density: KilogramPerCubicMetre | None = None
    """`density = "1.12 g/cm^3"`: cured; `None` mixes resin and hardener."""
    shrinkage: Ratio | None = None
    """`shrinkage = "3 %"`: of the resin's volume, from mixing to cured."""
    modulus: Pascal | None = None
    """`modulus = "3.2 GPa"`: cured."""
    poissons_ratio: Ratio | None = None
    expansion: PerKelvin | None = None
    """`expansion = "60e-6 / K"`: linear, cured, below the glass transition."""
    conductivity: WattPerMetreKelvin | None = None
    specific_heat: JoulePerKilogramKelvin | None = None


@dataclass(frozen=True, slots=True)
class Crew:
    """Who pours, in `[mixers.NAME]`."""

    people: int | None = None
    """`people = 2`."""
    placing_rate: KilogramPerSecond | None = None
    """`placing_rate = "4 kg/min"`: mix that one person places and compacts [kg/s]."""


@dataclass(frozen=True, slots=True)
class Mixer:
    """A mixer or bucket and its crew: `[mixers.NAME]`."""

    name: str
    path: str
    capacity: CubicMetre | None = None
    """`capacity = "20 L"`: mix that it turns over properly, not the rim."""
    mass_limit: Kilogram | None = None
    """`mass_limit = "35 kg"`: what it can turn, or what a person should lift."""
    mixing_time: Second | None = None
    """`mixing_time = "5 min"`: from joining resin and hardener to the first scoop."""
    cleaning_time: Second | None = None
    """`cleaning_time = "3 min"`: between batches."""
    crew: Crew = Crew()


@dataclass(frozen=True, slots=True)
class RecipePart:
    """One aggregate of a recipe: its share of the total dry aggregate mass."""

    aggregate: str
    share: Ratio


@dataclass(frozen=True, slots=True)
class Recipe:
    """The shop's own mix: `[pour.recipe]`, `parts = { gravel = "55 %", sand = "45 %" }` and `resin`."""

    parts: tuple[RecipePart, ...]
    resin_share: Ratio | None = None
    """`resin = "11 %"`: mass of mixed resin over mass of the whole mix."""


@dataclass(frozen=True, slots=True)
class AirVoids:
    """Air left in the compacted fill, as a share of its volume: `air = { low, likely, high }`."""

    low: Ratio
    likely: Ratio
    high: Ratio


@dataclass(frozen=True, slots=True)
class FormClamps:
    """What keeps the plates shut while the fill is liquid: `[pour.clamps]`."""

    heights: tuple[Metre, ...]
    """`heights = ["100 mm", "350 mm"]`: above the column's underside, a ring of clamps at each."""
    force: Newton | None = None
    """`force = "2 kN"`: of one clamp."""
    per_level: int | None = None
    """`per_level = 2`: clamps that pull across each pair of opposite plates, at each height."""


@dataclass(frozen=True, slots=True)
class TubeStock:
    """Where the tube under `[tubes.NAME]` came from, for the form: key `[pour.tubes.NAME]`."""

    name: str
    """The tube's name in the column."""
    material: str | None = None
    """`material = "spiral paper tube"`: a catalogue row of tube materials (hoop modulus dry, damp)."""
    damp: bool | None = None
    """`damp = true`: whether it stood in a damp shop or meets a wet mix."""
    hold_down: Newton | None = None
    """`hold_down = "150 N"`: what keeps it from floating."""


@dataclass(frozen=True, slots=True)
class Lift:
    """One layer of the pour, filled up to `top` [m] above the column's underside."""

    top: Metre
    wait: Second | None = None
    """Time after the lift before it was full, before the next lift is poured."""


@dataclass(frozen=True, slots=True)
class Pour:
    """How this column is to be cast: `[pour]` in the column."""

    path: str
    aggregates: tuple[Aggregate, ...]
    """`aggregates = ["gravel", "sand"]`: those the blend may use; all of the shop's if left out."""
    resin: ResinSystem | None
    """`resin = "casting"`."""
    mixer: Mixer | None = None
    """`mixer = "paddle"`."""
    recipe: Recipe | None = None
    compaction: str | None = None
    """`compaction = "tamped"`: `poured`, `rodded` (tamped by hand), `vibrated` or `compressed`."""
    surplus: Ratio | None = None
    """`surplus = "8 %"`: resin beyond the filled voids that makes it workable, over the mix volume."""
    air: AirVoids | None = None
    objective: str = "resin"
    """`objective = "resin"` (least resin) or `"cost"`."""
    spread: Ratio | None = None
    """`spread = "10 %"`: relative uncertainty of the predicted void fraction; `None` takes the
    catalogue's figure for packing models."""
    room: Kelvin | None = None
    """`room = "20 degC"`: air around the form."""
    room_low: Kelvin | None = None
    room_high: Kelvin | None = None
    """`room_low`, `room_high`: the coldest and warmest the shop gets over the cure."""
    mix_temperature: Kelvin | None = None
    """`mix_temperature = "25 degC"`: of the mix when placed; `None` takes the room's."""
    film: WattPerSquareMetreKelvin | None = None
    """`film = "8 W/(m^2*K)"` outside the plates; `None` takes the catalogue row for still air."""
    film_sides: tuple[WattPerSquareMetreKelvin | None, ...] = ()
    """`film_sides`: by face, where the surroundings differ (a face against a wall or a fan)."""
    lifts: tuple[Lift, ...] = ()
    """`lifts = [{ top = "300 mm", wait = "6 h" }, …]`; empty asks for one go."""
    clamps: FormClamps | None = None
    tubes: tuple[TubeStock, ...] = ()
    lean_limit: Metre | None = None
    """`lean_limit = "20 um"`: what may lock in over the column's height."""
    strip_conversion: Ratio | None = None
    """`strip_conversion = 0.8`: share cured at which the form may come off."""
    bolt_conversion: Ratio | None = None
    """`bolt_conversion = 0.95`: share cured (of what the post-cure reaches) for bolting down."""
    post_cure: Kelvin | None = None
    """`post_cure = "50 degC"`."""
    post_cure_time: Second | None = None
    vent_holes: tuple[Point2, ...] = ()
    """Plan places (x, z) [m] of openings in the top through which the mix is filled and vented."""
