"""The bill, its sum with a range, and making beside buying."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orthostat.analyses.cost.amounts import Amount, Draws, Line, draw, total, uniform
from orthostat.analyses.cost.bill import material_lines
from orthostat.analyses.cost.compare import (
    BreakEven,
    Driver,
    Offer,
    break_even,
    drivers,
    offers,
    waiting_cost,
)
from orthostat.analyses.cost.hours import Work, labour_lines, work
from orthostat.analyses.cost.inputs import Inputs
from orthostat.analyses.cost.stock import Blank, Fastener, blanks, fasteners
from orthostat.base.findings import NotStated

PERCENTILES = (10.0, 50.0, 90.0)
"""Low, likely and high of a sum of draws."""


@dataclass(frozen=True)
class Cost:
    """What `solve` gives, in the shop's currency."""

    inputs: Inputs
    currency: str
    blanks: tuple[Blank, ...]
    fasteners: tuple[Fastener, ...]
    works: tuple[Work, ...]
    lines: tuple[Line, ...]
    groups: tuple[tuple[str, Amount], ...]
    """Sums by group of the lines that are known, end by end."""
    known: Amount
    """Sum of the known lines, end by end (hard ends)."""
    spread: Amount
    """10th, 50th and 90th percentile of the sum of the known lines."""
    offers: tuple[Offer, ...]
    break_even: BreakEven
    drivers: tuple[Driver, ...]
    missing: tuple[str, ...]
    """What would give the lines that are not known; then sums are a lower bound."""
    assumptions: tuple[str, ...]

    @property
    def making(self) -> Amount:
        """10th, 50th and 90th percentile of making; raises `NotStated` where a line is not known."""
        if self.missing:
            count = len(self.missing)
            lacking = "a price or rate is" if count == 1 else f"{count} prices or rates are"
            raise NotStated(*self.missing, reason=f"{lacking} missing: {'; '.join(self.missing[:4])}")
        return self.spread

    @property
    def cheapest(self) -> Offer | None:
        """The offer with the least likely cost."""
        known = [offer for offer in self.offers if offer.cost is not None]
        return min(known, key=lambda offer: offer.cost.likely if offer.cost else 0.0, default=None)

    def line_group(self, group: str) -> tuple[Line, ...]:
        """Lines of one group."""
        return tuple(line for line in self.lines if line.group == group)


def solve(inputs: Inputs) -> Cost:
    """Bill, hours and comparison. Never raises for a missing price: the line then says what it lacks."""
    cut, screws = blanks(inputs), fasteners(inputs)
    works = work(inputs, cut)
    lines = [*material_lines(inputs, cut, screws), *labour_lines(inputs, works)]
    lines += _waiting(inputs)
    kept, lost = (
        draw([line for line in lines if line.lost_with_pour is with_pour], inputs.draws, inputs.seed)
        for with_pour in (False, True)
    )
    drawn = kept + lost
    risk = _risk(inputs, lines)
    if risk is not None:
        drawn += _failures(inputs, lost)
        lines.append(risk)
    known = total(line.cost for line in lines if line.cost is not None)
    missing = tuple(dict.fromkeys(path for line in lines if line.cost is None for path in line.missing))
    low, middle, high = (float(p) for p in np.percentile(drawn, PERCENTILES))
    offered = offers(inputs, None if missing else drawn)
    likely = [offer.cost.likely for offer in offered if offer.cost is not None]
    names = tuple(dict.fromkeys(line.group for line in lines))
    summed = tuple(
        (name, total(line.cost for line in lines if line.group == name and line.cost)) for name in names
    )
    whole = tuple(lines)
    return Cost(
        inputs=inputs,
        currency=inputs.buying.currency,
        blanks=cut,
        fasteners=screws,
        works=works,
        lines=whole,
        groups=summed,
        known=known,
        spread=Amount(low, middle, high),
        offers=offered,
        break_even=break_even(inputs, whole, _once(inputs, works, whole), min(likely, default=None)),
        drivers=drivers(whole),
        missing=missing,
        assumptions=_assumptions(inputs, works),
    )


def _once(inputs: Inputs, works: tuple[Work, ...], lines: tuple[Line, ...]) -> float:
    """Likely cost of what is done once, for the whole batch."""
    names = {each.row.name for each in works if each.row.once}
    mine = [line.cost.likely for line in lines if line.name in names and line.cost is not None]
    return sum(mine) * inputs.buying.rates.batch


def _waiting(inputs: Inputs) -> list[Line]:
    rates = inputs.buying.rates
    if rates.making_time is None or rates.waiting is None:
        return []
    try:
        cost = waiting_cost(inputs, rates.making_time)
    except NotStated as gap:
        return [
            Line(
                "waiting",
                "days until it is made",
                rates.making_time / 86400.0,
                "day",
                None,
                "waiting",
                gap.missing,
                gap.reason,
            )
        ]
    firm = Amount(cost, cost, cost)
    return [
        Line(
            "waiting",
            "days until it is made",
            rates.making_time / 86400.0,
            "day",
            firm,
            "waiting",
            path="rates.making_time",
        )
    ]


def _risk(inputs: Inputs, lines: list[Line]) -> Line | None:
    """The mean cost of a failed pour: its chance times what is lost with it."""
    chance = inputs.buying.rates.pour_failure
    if chance is None or not inputs.has_fill or chance <= 0.0:
        return None
    lost = total(line.cost for line in lines if line.lost_with_pour and line.cost is not None)
    return Line(
        "failed pour",
        "chance of a failed pour",
        float(chance),
        "times",
        lost.times(chance),
        "failed pour",
        path="rates.pour_failure",
    )


def _failures(inputs: Inputs, lost: Draws) -> Draws:
    """What failed pours cost in each draw: all that is lost, again, with the stated chance."""
    chance = float(inputs.buying.rates.pour_failure or 0.0)
    return np.where(uniform("pour fails", inputs.draws, inputs.seed) < chance, lost, 0.0)


def _assumptions(inputs: Inputs, works: tuple[Work, ...]) -> tuple[str, ...]:
    rates = inputs.buying.rates
    said = ["Ends of prices and times are hard limits with the likely value the most frequent (triangular)."]
    own = [each.row.name for each in works if each.own]
    said.append(
        f"The shop's own times: {', '.join(own)}; others are estimates without a source."
        if own
        else "Times of work are estimates without a source; state the shop's own under rates.times."
    )
    if inputs.has_fill and rates.pour_failure is None:
        said.append("The risk of a failed pour is left out: rates.pour_failure is not stated.")
    if rates.waiting is None:
        said.append("Days waited cost nothing here: rates.waiting is not stated.")
    elif rates.making_time is None:
        said.append(
            "No waiting is counted for making: the shop's own time is not stated (rates.making_time)."
        )
    said.append("Tooling, fixtures, energy and overheads are in the shop's rates, if anywhere.")
    if rates.batch > 1:
        said.append(f"Planning and programs are shared among {rates.batch} columns.")
    return tuple(said)
