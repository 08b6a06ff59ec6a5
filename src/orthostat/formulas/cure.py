"""Curing of an epoxy: rate, gel point, glass transition, heat, and when it runs away.

Symbols: α share cured (conversion), k rate constants, m and n reaction orders, E activation energy,
R gas constant, T_g glass transition. Temperatures are absolute [K]. Arrays are of any shape (), (n,) …
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from orthostat.base.constants import GAS_CONSTANT
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
    WattPerMetreKelvin,
)
from orthostat.formulas.exempt import not_dimensional

Floats = NDArray[np.float64]


@not_dimensional("takes arrays over nodes")
def arrhenius_factor(temperature: Floats, *, reference: Kelvin, activation_energy: JoulePerMole) -> Floats:
    """Rate at a temperature over that at a reference, exp(-E/R (1/T - 1/T0)).

    E 55 kJ/mol from 23 °C to 33 °C gives 2.07. Source: any text on kinetics; kamal-sourour-1973.
    """
    exponent = -activation_energy / GAS_CONSTANT * (1.0 / temperature - 1.0 / reference)
    return np.asarray(np.exp(exponent))


@not_dimensional("takes arrays over nodes")
def autocatalytic_rate(
    conversion: Floats, *, initial: Floats, catalysed: Floats, order: Ratio, final_order: Ratio
) -> Floats:
    """dα/dt = (k1 + k2 α^m)(1 - α)^n, with k1 `initial`, k2 `catalysed`, m `order`, n `final_order`.

    k1 1e-5, k2 1e-3 1/s, m 1, n 2 at α 0.3 gives 1.52e-4 1/s. Valid until the resin turns glassy.
    Source: kamal-sourour-1973; m = 1, n = 2 for an equal-parts amine: horie-1970.
    """
    return np.asarray((initial + catalysed * conversion**order) * (1.0 - conversion) ** final_order)


def gel_conversion(*, ratio: Ratio, epoxide_functionality: float, hydrogen_functionality: float) -> Ratio:
    """Conversion at which an unbounded network first exists, α = 1/√(r (f - 1)(g - 1)).

    f epoxides a molecule, g active hydrogens a molecule, r hydrogens over epoxides (≤ 1). A
    diglycidyl ether with a diamine (2, 4, 1) gives 0.577. Source: flory-1953, chapter 9;
    stockmayer-1943. Assumes equal reactivity and no loops; measured gels come up to some 0.05 later.
    """
    return Ratio((ratio * (epoxide_functionality - 1.0) * (hydrogen_functionality - 1.0)) ** -0.5)


@not_dimensional("takes arrays over nodes")
def glass_transition(conversion: Floats, *, uncured: Kelvin, cured: Kelvin, shape: Ratio) -> Floats:
    """T_g = T_g0 + (T_g∞ - T_g0) λ α / (1 - (1 - λ) α), with λ `shape`.

    238 K, 358 K, λ 0.4, α 0.7 gives 296 K. Source: di-benedetto-1987 in the form of pascault-1990.
    """
    return np.asarray(uncured + (cured - uncured) * shape * conversion / (1.0 - (1.0 - shape) * conversion))


@not_dimensional("takes arrays over nodes")
def diffusion_factor(
    temperature: Floats, *, glass: Floats, width: KelvinDifference, lead: KelvinDifference
) -> Floats:
    """Share of the chemical rate that remains as the resin turns glassy, 1 / (1 + exp((T_g - T - δ)/w)).

    One half when T_g leads the temperature by δ; the logistic switch of chern-poehlein-1987 written
    in T_g - T, since T_g and conversion are one to one (wisanrakkit-gillham-1990). T_g = T with δ 10 K
    and w 4 K gives 0.924.
    """
    exponent = np.clip((glass - temperature - lead) / width, -60.0, 60.0)
    return np.asarray(1.0 / (1.0 + np.exp(exponent)))


def adiabatic_rise(
    *,
    resin_share: Ratio,
    resin_density: KilogramPerCubicMetre,
    heat_of_reaction: JoulePerKilogram,
    mix_density: KilogramPerCubicMetre,
    specific_heat: JoulePerKilogramKelvin,
) -> KelvinDifference:
    """Rise of temperature with no heat lost, ΔT = φ ρr H / (ρ c): an upper bound.

    0.22 by volume of 1100 kg/m³ at 420 kJ/kg in a mix of 2300 kg/m³ and 950 J/(kg K) gives 46.5 K.
    Source: heat balance, incropera-2007, section 1.3.
    """
    return KelvinDifference(resin_share * resin_density * heat_of_reaction / (mix_density * specific_heat))


@not_dimensional("holds the gas constant as a number")
def frank_kamenetskii_parameter(
    *,
    half_size: Metre,
    heat_per_volume: float,
    rate: PerSecond,
    activation_energy: JoulePerMole,
    conductivity: WattPerMetreKelvin,
    room: Kelvin,
) -> float:
    """δ = (E / R T²) · r² q k / λ: heat made against heat led away; above a critical value it runs away.

    `heat_per_volume` q [J/m³], `rate` [1/s] the largest over α at room temperature, `half_size` r the
    half thickness or radius. Critical: 0.878 slab, 2.00 long cylinder, 3.32 sphere, 2.77 cylinder as
    high as wide. 20 mm, 4.6e8 J/m³, 1e-5 1/s, 55 kJ/mol, 0.2 W/(m K), 293 K gives 0.71. Valid for
    surfaces held at room temperature and E ≫ R T. Source: frank-kamenetskii-1969, chapter VI.
    """
    sharpness = activation_energy / (GAS_CONSTANT * room**2)
    return float(sharpness * half_size**2 * heat_per_volume * rate / conductivity)


def frank_kamenetskii_radius(critical: float, *, half_size: Metre, parameter: float) -> Metre:
    """Half size at which the parameter reaches `critical`, r √(δc/δ). 20 mm, δ 0.71, δc 2.0: 33.6 mm.

    Source: frank-kamenetskii-1969, chapter VI.
    """
    return Metre(half_size * (critical / parameter) ** 0.5)
