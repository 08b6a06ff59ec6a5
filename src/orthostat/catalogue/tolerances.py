"""General tolerances of a drawing: ISO 2768-1 and ISO 2768-2."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Metre
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class GeneralRow(Row):
    """Deviations allowed over a range of nominal sizes (`over` exclusive, `up_to` inclusive)."""

    over: Metre
    up_to: Metre
    linear: Metre
    """± for a length, class m."""
    flatness: Metre
    """Straightness and flatness, class K."""
    perpendicularity: Metre
    """Class K, by the shorter leg."""


GENERAL = Table("general_tolerances", GeneralRow)


def general(size: Metre) -> GeneralRow | None:
    """The row for a nominal size [m]; `None` outside the standard's ranges (0.5 mm to 3 m)."""
    return next((row for row in GENERAL if row.over < size <= row.up_to + 1e-12), None)
