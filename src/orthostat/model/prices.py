"""Prices as the shop states them: a range, a currency and what it is the price of."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Price:
    """What one unit of something costs; `low` ≤ `likely` ≤ `high`, all equal for a firm price.

    Document: a text with a unit (`"38 USD/bag"`), or a table
    `{ low = "30 USD/bag", likely = "38 USD/bag", high = "45 USD/bag", date = 2026-11-02 }`.
    """

    low: float
    likely: float
    high: float
    currency: str
    """ISO 4217 code."""
    per: str
    """`kg`, `piece`, `kit` or `bag`."""
    date: str | None = None
    """Day of the quote, ISO 8601."""
