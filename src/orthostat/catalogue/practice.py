"""Ratios of practice that no single design states: ranges in cutting and factors wanted of a joint."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import PascalPerMetre, Ratio
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeRow(Row):
    """A pure number with its range; the three are equal where there is none."""

    low: Ratio
    likely: Ratio
    high: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactRow(Row):
    """Normal stiffness of a joint per area, over the pressures a clamped base sees (1 to 5 MPa)."""

    low: PascalPerMetre
    likely: PascalPerMetre
    high: PascalPerMetre


PRACTICE = Table("practice", PracticeRow)
CONTACT = Table("contact", ContactRow)


def practice(name: str) -> PracticeRow:
    """A row such as `wear factor` or `slip factor, reversing`; raises `UnknownRow`."""
    return PRACTICE.row(name)


def contact(name: str) -> ContactRow:
    """Contact stiffness by finish: `machined`, `ground`, `scraped`; raises `UnknownRow`."""
    return CONTACT.row(name)
