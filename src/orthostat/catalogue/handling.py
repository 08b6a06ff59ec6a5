"""Tilt that something standing free must bear."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Radian
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class StabilityRow(Row):
    """A tilt test that a free-standing body must pass without toppling."""

    tilt: Radian


HANDLING = Table("handling", StabilityRow)
