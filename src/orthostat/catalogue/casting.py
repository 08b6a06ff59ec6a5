"""Casting practice: compaction indices, sieves, tube walls in damp and heat, and stated assumptions."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Kelvin, Metre, Ratio
from orthostat.catalogue.materials import Range
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class CompactionRow(Row):
    """One way of filling a measure or a form, and the compaction index of the packing model."""

    index: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class SieveRow(Row):
    """A test sieve by its designation."""

    opening: Metre
    series: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeWallRow(Row):
    """What is left of a tube wall's stiffness when damp or warm, as a share of dry at 20 °C."""

    damp_low: Ratio
    damp: Ratio
    damp_high: Ratio
    warm_at: Kelvin | None = None
    warm: Ratio | None = None
    warm_low: Ratio | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AssumptionRow(Row):
    """A value taken where the shop states none: low, likely and high, in `unit`."""

    low: float
    likely: float
    high: float
    unit: str
    means: str
    """What is assumed, in words for the pour sheet."""

    @property
    def range(self) -> Range:
        return Range(self.low, self.likely, self.high)


COMPACTIONS = Table("compaction", CompactionRow)
SIEVES = Table("sieves", SieveRow)
TUBE_WALLS = Table("tube_walls", TubeWallRow)
ASSUMPTIONS = Table("casting", AssumptionRow)


def assumption(name: str) -> AssumptionRow:
    """One assumption of casting practice; raises `UnknownRow`."""
    return ASSUMPTIONS.row(name)
