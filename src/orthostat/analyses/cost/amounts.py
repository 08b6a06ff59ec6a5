"""Amounts of money with their range, lines of a bill, and drawing them at random.

An amount's ends are hard: it is a triangular variate on low..high with its mode at likely (Kotz and
van Dorp 2004, chapter 1). Lines that share a key (one quote, one operation) move together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orthostat.base.findings import NotStated
from orthostat.model.buying import Buying
from orthostat.model.prices import Price

Draws = NDArray[np.float64]


class NoRate(NotStated):
    """A price is in a currency that the shop states no rate for."""


@dataclass(frozen=True, slots=True)
class Amount:
    """Money in the shop's currency: low ≤ likely ≤ high."""

    low: float
    likely: float
    high: float

    @property
    def mean(self) -> float:
        """Mean of the triangular variate: (a + b + c)/3."""
        return (self.low + self.likely + self.high) / 3.0

    @property
    def variance(self) -> float:
        """Variance of the triangular variate: (a² + b² + c² − ab − ac − bc)/18."""
        a, b, c = self.low, self.high, self.likely
        return (a * a + b * b + c * c - a * b - a * c - b * c) / 18.0

    @property
    def deviation(self) -> float:
        """Standard deviation."""
        return sqrt(max(self.variance, 0.0))

    def times(self, factor: float) -> Amount:
        """The amount times a number not below zero."""
        return Amount(self.low * factor, self.likely * factor, self.high * factor)

    def plus(self, other: Amount) -> Amount:
        """End by end: both at their lowest, both likely, both at their highest."""
        return Amount(self.low + other.low, self.likely + other.likely, self.high + other.high)

    def at(self, share: Draws) -> Draws:
        """The value below which the variate falls with probability `share` (an array of 0..1)."""
        width = self.high - self.low
        if width <= 0.0:
            return np.full_like(share, self.likely)
        turn = (self.likely - self.low) / width
        rising = self.low + np.sqrt(np.maximum(share * width * (self.likely - self.low), 0.0))
        falling = self.high - np.sqrt(np.maximum((1.0 - share) * width * (self.high - self.likely), 0.0))
        return np.where(share < turn, rising, falling)


NOTHING = Amount(0.0, 0.0, 0.0)


def total(amounts: Iterable[Amount]) -> Amount:
    """Sum, end by end."""
    summed = NOTHING
    for amount in amounts:
        summed = summed.plus(amount)
    return summed


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the bill."""

    group: str
    """Supplier kind (`castings`, `plate`, `bar`, `tube and sleeves`, `fasteners`, `resin and aggregate`,
    `consumables`) or `labour`, `machine`, `lost production`, `failed pour`, `waiting`."""
    name: str
    quantity: float
    """How many `unit`s are bought or worked."""
    unit: str
    cost: Amount | None
    """`None` where it is not known; `missing` says what would give it."""
    key: str
    """Lines of one key move together."""
    missing: tuple[str, ...] = ()
    reason: str = ""
    price: Price | None = None
    path: str = ""
    spare: float = 0.0
    """Of `quantity`, how many are spare."""
    lost_with_pour: bool = False
    """Whether it is lost when the pour has to be thrown away."""
    note: str = field(default="", compare=False)

    def unknown(self, reason: str, *missing: str) -> Line:
        """The line with why its cost is not known, and the key paths that would give it."""
        return replace(self, reason=reason, missing=missing)

    def costed(self, buying: Buying, price: Price, quantity: float | None = None) -> Line:
        """The line with the cost of its quantity (or of another), or with the rate of exchange it lacks."""
        line = replace(self, price=price)
        try:
            return replace(line, cost=priced(buying, price, self.quantity if quantity is None else quantity))
        except NoRate as gap:
            return line.unknown(gap.reason, *gap.missing)


SUPPLIERS = (
    "castings",
    "plate",
    "bar",
    "tube and sleeves",
    "fasteners",
    "resin and aggregate",
    "consumables",
)
"""Kinds of supplier, in the order a shop would ring them."""


def in_own_currency(buying: Buying, amount: float, currency: str) -> float:
    """`amount` in the shop's currency. Raises `NoRate` naming the rate that is missing."""
    if not buying.currency or not currency:
        raise NoRate("units.currency", reason="no currency is stated to add costs up in")
    if currency == buying.currency:
        return amount
    rate = dict(buying.rates.exchange).get(currency)
    if rate is None:
        path = f"rates.exchange.{currency}"
        raise NoRate(
            path,
            reason=f"a price is in {currency}, and {path} does not say what that is in {buying.currency}",
        )
    return amount * rate


def priced(buying: Buying, price: Price, quantity: float) -> Amount:
    """`quantity` times a price, in the shop's currency. Raises `NoRate`."""
    rate = in_own_currency(buying, 1.0, price.currency)
    return Amount(price.low * rate, price.likely * rate, price.high * rate).times(quantity)


def draw(lines: Iterable[Line], count: int, seed: int) -> Draws:
    """Random sums of the lines with a known cost, `count` draws.

    A key's stream depends on the seed and the key alone, so that a line added elsewhere changes no
    other line's draws (common random numbers between designs).
    """
    made = np.zeros(count)
    for line in lines:
        if line.cost is not None:
            made += drawn(line.cost, line.key, count, seed)
    return made


def drawn(amount: Amount, key: str, count: int, seed: int) -> Draws | float:
    """`count` draws of an amount of a key; a firm one is what it is."""
    width = amount.high - amount.low
    if width <= 0.0:
        return amount.likely
    return amount.low + width * _of_width_one(
        key, round((amount.likely - amount.low) / width, 12), count, seed
    )


@lru_cache(maxsize=160)
def _of_width_one(key: str, turn: float, count: int, seed: int) -> Draws:
    """Draws of a key from 0 to 1 with the mode at `turn`: the same for any size of a price or a time."""
    made = Amount(0.0, turn, 1.0).at(uniform(key, count, seed))
    made.setflags(write=False)
    return made


@lru_cache(maxsize=96)
def uniform(key: str, count: int, seed: int) -> Draws:
    """`count` numbers in 0..1 that belong to a key."""
    words: Any = [seed, *key.encode("utf-8")]
    made = np.random.default_rng(words).random(count)
    made.setflags(write=False)
    return made
