"""Materials: one row each, with low and high values where the world does not agree on one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from orthostat.base.dimensions import (
    JoulePerKilogramKelvin,
    KilogramPerCubicMetre,
    Pascal,
    PerKelvin,
    Ratio,
    WattPerMetreKelvin,
)
from orthostat.catalogue.rows import Row, cite
from orthostat.catalogue.tables import Table
from orthostat.model.materials import Material


@dataclass(frozen=True, slots=True)
class Range:
    """Low, likely and high value of one property, in its SI unit."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow(Row):
    """Properties at room temperature. `source` stands for all that `sources` does not name."""

    family: str
    density: KilogramPerCubicMetre | None = None
    youngs_modulus: Pascal | None = None
    poissons_ratio: Ratio | None = None
    expansion: PerKelvin | None = None
    loss_factor: Ratio | None = None
    yield_strength: Pascal | None = None
    """Least 0.2 % proof stress; for grey iron, least 0.1 % proof stress."""
    tensile_strength: Pascal | None = None
    shear_strength: Pascal | None = None
    bearing_limit: Pascal | None = None
    """Limiting surface pressure under a bolt head or washer (VDI 2230 p_G)."""
    conductivity: WattPerMetreKelvin | None = None
    specific_heat: JoulePerKilogramKelvin | None = None
    sources: tuple[tuple[str, str], ...] = ()
    """(property, source) where it differs from the row's."""
    marks: tuple[tuple[str, str], ...] = ()
    """(property, mark) where it differs from the row's."""
    ranges: tuple[tuple[str, tuple[float, float]], ...] = ()
    """(property, (low, high)) in the property's SI unit; the property itself is the likely value."""

    def source_of(self, property_name: str) -> str:
        """The citation of one property, its mark included."""
        source = dict(self.sources).get(property_name, self.source)
        return cite(source, dict(self.marks).get(property_name, self.mark))

    def range_of(self, property_name: str) -> Range | None:
        """Low, likely, high of one property; equal where no range is stated, `None` if unknown."""
        likely: float | None = getattr(self, property_name)
        if likely is None:
            return None
        low, high = dict(self.ranges).get(property_name, (likely, likely))
        return Range(low, likely, high)

    @property
    def material(self) -> Material:
        """The row as the analyses see a material: likely values."""
        return Material(
            name=self.name,
            density=self.density,
            youngs_modulus=self.youngs_modulus,
            poissons_ratio=self.poissons_ratio,
            expansion=self.expansion,
            loss_factor=self.loss_factor,
            yield_strength=self.yield_strength,
            tensile_strength=self.tensile_strength,
            shear_strength=self.shear_strength,
            bearing_limit=self.bearing_limit,
            conductivity=self.conductivity,
            specific_heat=self.specific_heat,
            source=self.citation,
        )


MATERIALS = Table("materials", MaterialRow)


@lru_cache(maxsize=512)
def material(name: str) -> Material:
    """A material by any of its names; raises `UnknownRow` with the nearest names."""
    return MATERIALS.row(name).material


def material_row(name: str) -> MaterialRow:
    """The whole row: sources by property, marks and ranges."""
    return MATERIALS.row(name)
