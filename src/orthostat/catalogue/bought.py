"""What a finished column costs when it is bought, per mass: only for where no quote is stated."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class BoughtRow(Row):
    """Price of one kilogram of a column, machined and drilled, in `currency` of `year`; ends are hard."""

    low: float
    likely: float
    high: float
    currency: str
    year: int


BOUGHT = Table("bought", BoughtRow)


def bought(name: str) -> BoughtRow | None:
    """The row of a way to make a column, such as `welded steel`; `None` where shops make it themselves."""
    return BOUGHT.row(name) if name in BOUGHT.names else None
