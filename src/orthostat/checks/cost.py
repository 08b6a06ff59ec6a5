"""Is it worth making, and are the prices good?"""

from __future__ import annotations

import datetime as dt
from typing import Any

from orthostat.base.findings import Answers, Measured, Open, Sense, finding, stated

_DAY = 86_400.0


@finding(
    "cost.making_cheaper",
    question="Does making cost less than buying?",
    wanted="cost of making, waiting included, at most the cheapest quote's",
    sense=Sense.AT_MOST,
    kind="ratio",
    source="kotz-van-dorp-2004, chapter 1 (sum of triangular variates, drawn at random)",
    hangs_on="rates",
    levers=("quotes", "stock", "rates.labour", "rates.machine", "rates.batch"),
)
def making_cheaper(evaluation: Any) -> Answers:
    if not evaluation.buying.quotes:
        return None
    cost = evaluation.cost
    making = cost.making
    rows: list[Measured | Open] = []
    for offer in cost.offers:
        if offer.cost is None:
            rows.append(Open(f"not stated: {', '.join(offer.missing)}", offer.quote.name, offer.missing))
            continue
        chance = offer.making_cheaper
        often = "" if chance is None else f"; making is cheaper in {100.0 * chance:.0f} of 100 draws"
        why = f"likely {making.likely:,.0f} against {offer.cost.likely:,.0f} {cost.currency}{often}"
        rows.append(
            Measured(
                making.likely / offer.cost.likely, 1.0, why, offer.quote.name, ("rates", offer.quote.path)
            )
        )
    return rows


@finding(
    "cost.price_age",
    question="Are the prices fresh?",
    wanted="every price no older than the shop allows on the day the cost is worked out for",
    sense=Sense.AT_MOST,
    kind="time",
    source="the shop's stated limit",
    hangs_on="stock",
    levers=("stock", "quotes"),
    tight=0.0,
)
def price_age(evaluation: Any) -> Answers:
    prices = {line.path: (line.name, line.price) for line in evaluation.cost.lines if line.price is not None}
    prices |= {each.path: (each.name, each.price) for each in evaluation.buying.quotes}
    if not prices:
        return None
    limit = stated(evaluation.buying.rates.price_age, "limits.price_age")
    today = stated(evaluation.buying.rates.as_of or None, "rates.as_of")
    rows: list[Measured | Open] = []
    for path, (name, price) in prices.items():
        if price.date is None:
            rows.append(Open("its price has no date", name, (f"{path}.price.date",)))
            continue
        days = (dt.date.fromisoformat(today) - dt.date.fromisoformat(price.date)).days
        rows.append(Measured(days * _DAY, limit, f"priced on {price.date}", name, (f"{path}.price",)))
    return rows
