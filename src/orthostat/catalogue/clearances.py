"""Room to leave between tool and work where the shop states none."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Metre
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearanceRow(Row):
    """Clearances of a tool in use: what must not touch, and what a cutting edge may graze."""

    radial: Metre
    """Beside shank, holder, nose and head."""
    axial: Metre
    """In front of any tip plane and of every shoulder of the stack."""
    cutting_radial: Metre
    """Beside the cutting part."""


CLEARANCES = Table("clearances", ClearanceRow)


def clearances(name: str) -> ClearanceRow:
    """A row by its name; raises `UnknownRow` with the nearest names."""
    return CLEARANCES.row(name)
