"""What to buy: whole kits and bags for low, likely and high resin, and what is left over."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from orthostat.analyses.pour.mix import Mix
from orthostat.base.dimensions import CubicMetre, Kilogram
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue.casting import assumption
from orthostat.model.pouring import Pour
from orthostat.model.prices import Price


@dataclass(frozen=True, slots=True)
class Count:
    """For one of low, likely, high: mass needed, whole units to buy, what is then left over."""

    needed: Kilogram
    buy: int
    left: Kilogram
    cost_low: float | None
    cost: float | None
    cost_high: float | None


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to buy. `unit` is `kit` or `bag`; `unit_mass` is of one, as delivered."""

    name: str
    path: str
    unit: str
    unit_mass: Kilogram
    stock: int
    low: Count
    likely: Count
    high: Count
    currency: str


def purchase(pour: Pour, mix: Mix, net: CubicMetre) -> tuple[Item, ...]:
    """The list to order from. Raises `NotStated` where a kit or bag size is missing."""
    resin = pour.resin
    if resin is None:
        raise NotStated(f"{pour.path}.resin")
    blend = mix.used
    kit = stated(mix.resin.kit_mass, f"{resin.path}.kit_mass")
    kept = assumption("kept in buckets")
    made = list(zip((blend.low, blend.likely, blend.high), (kept.low, kept.likely, kept.high), strict=True))
    resin_masses = [net * p.resin_mass * (1.0 + loss) for p, loss in made]
    items = [_item(resin.name, resin.path, "kit", kit, resin.stock, resin_masses, resin.price)]
    for part in blend.parts:
        if part.mass_share <= 0.0:
            continue
        aggregate = part.aggregate
        bag = stated(aggregate.bag_mass, f"{aggregate.path}.bag_mass")
        moist = 1.0 + stated(aggregate.moisture, f"{aggregate.path}.moisture")
        masses = sorted(net * p.stone_mass * part.mass_share * moist * (1.0 + loss) for p, loss in made)
        items.append(
            _item(aggregate.name, aggregate.path, "bag", bag, aggregate.stock, masses, aggregate.price)
        )
    return tuple(items)


def total_cost(items: tuple[Item, ...]) -> tuple[float, float, float] | None:
    """Low, likely and high cost of the whole list; `None` where a price is missing or in another currency."""
    lows = [item.low.cost_low for item in items]
    likely = [item.likely.cost for item in items]
    highs = [item.high.cost_high for item in items]
    if any(cost is None for cost in (*lows, *likely, *highs)) or len({each.currency for each in items}) > 1:
        return None
    return (sum(c or 0.0 for c in lows), sum(c or 0.0 for c in likely), sum(c or 0.0 for c in highs))


def _item(
    name: str,
    path: str,
    unit: str,
    each: Kilogram,
    stock: int | None,
    masses: list[float],
    price: Price | None,
) -> Item:
    if each <= 0.0:
        raise NotStated(f"{path}.{unit}_mass", reason=f"{name}: the mass of a {unit} must be above zero")
    held = stock or 0
    low, likely, high = (_count(mass, each, held, price) for mass in masses)
    return Item(name, path, unit, each, held, low, likely, high, "" if price is None else price.currency)


def _count(mass: float, each: Kilogram, held: int, price: Price | None) -> Count:
    buy = max(0, ceil(mass / each - 1e-9) - held)
    left = Kilogram((buy + held) * each - mass)
    if price is None:
        return Count(Kilogram(mass), buy, left, None, None, None)
    size = each if price.per == "kg" else 1.0
    return Count(
        Kilogram(mass), buy, left, buy * size * price.low, buy * size * price.likely, buy * size * price.high
    )
