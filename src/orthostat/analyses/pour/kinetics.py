"""How fast the resin cures at a temperature and a share cured, and how much heat that gives."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.pour.resin import family_of, property_range
from orthostat.base.dimensions import (
    JoulePerKilogram,
    JoulePerMole,
    Kelvin,
    KelvinDifference,
    PerSecond,
    Ratio,
)
from orthostat.base.findings import NotStated
from orthostat.formulas import cure as formula
from orthostat.model.pouring import ResinSystem

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Kinetics:
    """dα/dt = k (ρ + α^m)(1 - α)^n · diffusion factor, with k by Arrhenius from a reference."""

    reference: Kelvin
    rate: PerSecond
    """k2 at the reference temperature."""
    rate_ratio: Ratio
    """ρ = k1/k2."""
    activation_energy: JoulePerMole
    order: Ratio
    final_order: Ratio
    glass_uncured: Kelvin
    glass_cured: Kelvin
    glass_shape: Ratio
    lead: KelvinDifference
    width: KelvinDifference
    heat: JoulePerKilogram
    """Of full conversion, per mass of mixed resin."""
    gel: Ratio

    def speed(self, temperature: Floats, conversion: Floats) -> Floats:
        """dα/dt [1/s] at temperatures (n,) [K] and shares cured (n,)."""
        chemical, left, _ = self._parts(temperature, conversion)
        return chemical * left

    def speed_and_slope(self, temperature: Floats, conversion: Floats) -> tuple[Floats, Floats]:
        """dα/dt (n,) [1/s] and its derivative over the share cured (n,) [1/s]."""
        chemical, left, shares = self._parts(temperature, conversion)
        ahead = self.order * shares ** (self.order - 1.0) / (self.rate_ratio + shares**self.order)
        rest = 1.0 - (1.0 - self.glass_shape) * shares
        climb = (self.glass_cured - self.glass_uncured) * self.glass_shape / rest**2
        change = (
            ahead - self.final_order / np.maximum(1.0 - shares, 1e-12) - (1.0 - left) / self.width * climb
        )
        return chemical * left, chemical * left * change

    def _parts(self, temperature: Floats, conversion: Floats) -> tuple[Floats, Floats, Floats]:
        """Chemical rate, share of it left by diffusion, conversion held between 0 and 1."""
        shares = np.minimum(np.maximum(conversion, 0.0), 1.0)
        k = self.rate * formula.arrhenius_factor(
            temperature, reference=self.reference, activation_energy=self.activation_energy
        )
        chemical = formula.autocatalytic_rate(
            shares, initial=k * self.rate_ratio, catalysed=k, order=self.order, final_order=self.final_order
        )
        left = formula.diffusion_factor(
            temperature, glass=self.glass(shares), width=self.width, lead=self.lead
        )
        return chemical, left, shares

    def glass(self, conversion: Floats) -> Floats:
        """Glass transition [K] at shares cured (n,)."""
        return formula.glass_transition(
            conversion, uncured=self.glass_uncured, cured=self.glass_cured, shape=self.glass_shape
        )

    def with_rate(self, rate: PerSecond) -> Kinetics:
        """The same resin, faster or slower."""
        return replace(self, rate=rate)


def uncalibrated(resin: ResinSystem, reference: Kelvin, *, end: str = "likely") -> Kinetics:
    """Kinetics of a resin before its rate is known (k2 = 1/s). `end` picks low, likely or high heat.

    Raises `NotStated` naming the missing property.
    """
    heat = getattr(property_range(resin, "heat_of_reaction"), end)
    row = family_of(resin)
    first = property_range(resin, "resin_functionality").likely
    second = property_range(resin, "hardener_functionality").likely
    ratio = 1.0 if resin.stoichiometry is None else resin.stoichiometry
    ratio = min(ratio, 1.0 / ratio) if ratio > 0.0 else 0.0
    if ratio * (first - 1.0) * (second - 1.0) <= 1.0:
        raise NotStated(
            f"{resin.path}.resin_functionality",
            reason=f"{resin.name}: parts of these functionalities never gel",
        )
    gel = formula.gel_conversion(
        ratio=Ratio(ratio), epoxide_functionality=first, hydrogen_functionality=second
    )
    return Kinetics(
        reference=reference,
        rate=PerSecond(1.0),
        rate_ratio=row.rate_ratio,
        activation_energy=JoulePerMole(property_range(resin, "activation_energy").likely),
        order=row.order,
        final_order=row.final_order,
        glass_uncured=Kelvin(property_range(resin, "glass_transition_uncured").likely),
        glass_cured=Kelvin(property_range(resin, "glass_transition").likely),
        glass_shape=row.glass_transition_shape,
        lead=row.vitrification_lead,
        width=row.vitrification_width,
        heat=JoulePerKilogram(heat),
        gel=gel,
    )
