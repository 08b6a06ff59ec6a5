"""What making and buying cost, as the shop states it: stock, quotes, rates, prices."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Kilogram, Metre, Ratio, Second
from orthostat.model.prices import Price

NO_DAY = ""


@dataclass(frozen=True, slots=True)
class StockItem:
    """Something a supplier sells: `[stock.NAME]`."""

    name: str
    path: str
    form: str
    """`plate`, `bar`, `tube`, `piece` or `consumable`."""
    material: str | None = None
    """Name of the material as the column's bodies have it."""
    thickness: Metre | None = None
    width: Metre | None = None
    length: Metre | None = None
    diameter: Metre | None = None
    wall: Metre | None = None
    what: str | None = None
    """Of a `piece`: `stud`, `nut`, `washer`, `pin`, `insert` or `screw`."""
    thread: str | None = None
    count: int | None = None
    """How many a column takes, of a consumable."""
    price: Price | None = None


@dataclass(frozen=True, slots=True)
class Quote:
    """An offer for a bought column: `[quotes.NAME]`."""

    name: str
    path: str
    price: Price
    freight: Price | None = None
    mass: Kilogram | None = None
    lead_time: Second | None = None
    material: str | None = None


@dataclass(frozen=True, slots=True)
class Rates:
    """What an hour costs and how the shop works: `[rates]`. Money is per second, in `currency`."""

    labour: float | None = None
    machine: float | None = None
    waiting: float | None = None
    """What it costs to be without the column."""
    labour_currency: str = ""
    machine_currency: str = ""
    waiting_currency: str = ""
    exchange: tuple[tuple[str, float], ...] = ()
    """(currency, value of one unit of it in the shop's own)."""
    batch: int = 1
    """Columns alike that are made together: what is done once is shared among them."""
    pour_failure: Ratio | None = None
    """Chance that a pour has to be thrown away."""
    making_time: Second | None = None
    """From order to finished column when the shop makes it."""
    as_of: str = NO_DAY
    """Day the cost is worked out for, ISO 8601; prices are as old as they were then."""
    price_age: Second | None = None
    """How old a price may be."""
    kerf: Metre | None = None
    clean_up: Metre | None = None
    """Left on each sawn edge for milling."""
    times: tuple[tuple[str, Second], ...] = ()
    """(operation, the shop's own time for one) in place of the catalogue's."""


@dataclass(frozen=True, slots=True)
class Buying:
    """Everything the shop states about money."""

    currency: str = ""
    """ISO 4217 code that sums are in; empty where nothing says it."""
    rates: Rates = Rates()
    stock: tuple[StockItem, ...] = ()
    quotes: tuple[Quote, ...] = ()
    material_prices: tuple[tuple[str, Price], ...] = ()
    """(material, price) of `[materials.NAME] price`."""
