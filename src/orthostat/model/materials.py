"""A material as the analyses see it; properties that nobody stated are `None`."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import (
    JoulePerKilogramKelvin,
    KilogramPerCubicMetre,
    Pascal,
    PerKelvin,
    Ratio,
    WattPerMetreKelvin,
)


@dataclass(frozen=True, slots=True)
class Material:
    """Elastic, thermal and strength properties at room temperature."""

    name: str
    density: KilogramPerCubicMetre | None = None
    youngs_modulus: Pascal | None = None
    poissons_ratio: Ratio | None = None
    expansion: PerKelvin | None = None
    """Linear thermal expansion."""
    loss_factor: Ratio | None = None
    yield_strength: Pascal | None = None
    tensile_strength: Pascal | None = None
    shear_strength: Pascal | None = None
    bearing_limit: Pascal | None = None
    """Limiting surface pressure under a bolt head or washer."""
    conductivity: WattPerMetreKelvin | None = None
    specific_heat: JoulePerKilogramKelvin | None = None
    source: str = ""
    """Reference key of the catalogue row, or `shop` for the shop's own."""
    path: str = ""
