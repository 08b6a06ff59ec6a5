"""Making against each offer: how often it is cheaper, where it breaks even, what drives it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orthostat.analyses.cost.amounts import (
    NOTHING,
    Amount,
    Draws,
    Line,
    NoRate,
    drawn,
    in_own_currency,
    priced,
    total,
)
from orthostat.analyses.cost.inputs import Inputs
from orthostat.base.dimensions import Ratio
from orthostat.model.buying import Quote


@dataclass(frozen=True, slots=True)
class Offer:
    """A quote with freight and the cost of waiting for it, beside making."""

    quote: Quote
    cost: Amount | None
    waiting: float
    """Of it, the value of the days waited."""
    making_cheaper: Ratio | None
    """How often making is cheaper among the draws; `None` where either is not known."""
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BreakEven:
    """Where making costs as much as the cheapest offer, all else likely; `None`: nowhere."""

    plate_factor: float | None
    """Price of plate over today's."""
    columns: float | None
    """Columns alike, sharing what is done once."""


@dataclass(frozen=True, slots=True)
class Driver:
    """What the sum becomes with one group at its low and high end, all else likely."""

    name: str
    low: float
    high: float

    @property
    def swing(self) -> float:
        return self.high - self.low


def offers(inputs: Inputs, making: Draws | None) -> tuple[Offer, ...]:
    """Every quote, in the order they are stated."""
    return tuple(_offer(inputs, quote, making) for quote in inputs.buying.quotes)


def _offer(inputs: Inputs, quote: Quote, making: Draws | None) -> Offer:
    buying = inputs.buying
    try:
        price = priced(buying, quote.price, 1.0)
        freight = priced(buying, quote.freight, 1.0) if quote.freight is not None else NOTHING
        waiting = waiting_cost(inputs, quote.lead_time)
    except NoRate as gap:
        return Offer(quote, None, 0.0, None, gap.missing)
    firm = Amount(waiting, waiting, waiting)
    cost = price.plus(freight).plus(firm)
    if making is None:
        return Offer(quote, cost, waiting, None)
    buy = drawn(price, quote.path, making.size, inputs.seed) + waiting
    buy = buy + drawn(freight, f"{quote.path}.freight", making.size, inputs.seed)
    return Offer(quote, cost, waiting, Ratio(float(np.mean(making < buy))))


def waiting_cost(inputs: Inputs, time: float | None) -> float:
    """Value of the time waited [own currency]; nothing where the shop states no value of it."""
    rates = inputs.buying.rates
    if rates.waiting is None or time is None:
        return 0.0
    return in_own_currency(inputs.buying, rates.waiting * time, rates.waiting_currency)


def break_even(inputs: Inputs, lines: tuple[Line, ...], once: float, cheapest: float | None) -> BreakEven:
    """Solved from likely costs, which are linear in both. `once` is the cost for the whole batch."""
    if cheapest is None:
        return BreakEven(None, None)
    making = total(line.cost for line in lines if line.cost is not None).likely
    plate = total(line.cost for line in lines if line.cost is not None and line.group == "plate").likely
    factor = (cheapest - (making - plate)) / plate if plate > 0.0 else None
    each = making - once / inputs.buying.rates.batch
    columns = once / (cheapest - each) if cheapest > each else None
    return BreakEven(factor if factor is None or factor > 0.0 else None, columns)


def drivers(lines: tuple[Line, ...]) -> tuple[Driver, ...]:
    """Keys by how far they move the sum, widest first; lines of one key move together."""
    known = [line for line in lines if line.cost is not None]
    middle = total(line.cost for line in known if line.cost is not None).likely
    keys: dict[str, list[Line]] = {}
    for line in known:
        keys.setdefault(line.key, []).append(line)
    made = []
    for same in keys.values():
        summed = total(line.cost for line in same if line.cost is not None)
        made.append(
            Driver(same[0].name, middle + summed.low - summed.likely, middle + summed.high - summed.likely)
        )
    return tuple(sorted((d for d in made if d.swing > 0.0), key=lambda d: -d.swing))
