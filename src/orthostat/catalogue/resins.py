"""Resin families: what a supplier's sheet seldom says about how an epoxy cures, with ranges."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import (
    JoulePerKilogram,
    JoulePerKilogramKelvin,
    JoulePerMole,
    Kelvin,
    KelvinDifference,
    KilogramPerCubicMetre,
    Pascal,
    PerKelvin,
    Ratio,
    WattPerMetreKelvin,
)
from orthostat.catalogue.materials import Range
from orthostat.catalogue.rows import Row, cite
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class ResinFamilyRow(Row):
    """Typical values of one family of cold-curing epoxies; a data sheet's value always wins."""

    heat_of_reaction: JoulePerKilogram
    activation_energy: JoulePerMole
    rate_ratio: Ratio
    """k1/k2 of the autocatalytic rate at the calibration temperature."""
    order: Ratio
    """m of the autocatalytic rate."""
    final_order: Ratio
    """n of the autocatalytic rate."""
    resin_functionality: Ratio
    hardener_functionality: Ratio
    glass_transition_uncured: Kelvin
    glass_transition: Kelvin
    glass_transition_shape: Ratio
    """λ of DiBenedetto's relation."""
    vitrification_lead: KelvinDifference
    """How far the glass transition climbs above the temperature before the rate has halved."""
    vitrification_width: KelvinDifference
    density: KilogramPerCubicMetre
    shrinkage: Ratio
    modulus: Pascal
    poissons_ratio: Ratio
    expansion: PerKelvin
    conductivity: WattPerMetreKelvin
    specific_heat: JoulePerKilogramKelvin
    sources: tuple[tuple[str, str], ...] = ()
    marks: tuple[tuple[str, str], ...] = ()
    ranges: tuple[tuple[str, tuple[float, float]], ...] = ()

    def source_of(self, property_name: str) -> str:
        """The citation of one property, its mark included."""
        source = dict(self.sources).get(property_name, self.source)
        return cite(source, dict(self.marks).get(property_name, self.mark))

    def range_of(self, property_name: str) -> Range:
        """Low, likely, high of one property in its SI unit; equal where no range is stated."""
        likely: float = getattr(self, property_name)
        low, high = dict(self.ranges).get(property_name, (likely, likely))
        return Range(low, likely, high)


RESIN_FAMILIES = Table("resins", ResinFamilyRow)


def resin_family(name: str) -> ResinFamilyRow:
    """A family by any of its names; raises `UnknownRow` with the nearest names."""
    return RESIN_FAMILIES.row(name)
