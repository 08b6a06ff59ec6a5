"""Making beside buying: sums, ranges, chance, break-even and what drives them."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.cost import Cost, Driver
from orthostat.base.findings import NotStated
from orthostat.base.showing import System, show
from orthostat.presentation import svg
from orthostat.presentation.blocks import Block, Column, Figure, Paragraph, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.chart import ticks
from orthostat.presentation.money import exact, judged
from orthostat.presentation.versions import cost_tables

MOST_DRIVERS = 12


def blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    """The verdict in a sentence, the sums, the offers, the drivers, the hours, the assumptions."""
    cost: Cost = evaluation.cost
    found: list[Block] = [Paragraph(_sentence(cost)), _sums(cost)]
    if cost.offers:
        found.append(_offers(cost, system))
        found.append(Paragraph(_break_even(cost)))
    found += _otherwise(evaluation, system)
    if cost.drivers:
        found.append(_drivers_figure(cost))
    found.append(_hours(cost))
    found += [Paragraph(f"Assumed: {text}") for text in cost.assumptions]
    return tuple(found)


def _otherwise(evaluation: Any, system: System) -> tuple[Block, ...]:
    """Other ways to make the envelope, beside their findings; or why they can't be told."""
    try:
        return cost_tables(evaluation, system)
    except NotStated as gap:
        return (Paragraph(f"What other ways to make it would cost and give is unknown: {gap}."),)


def _sentence(cost: Cost) -> str:
    spread = cost.spread
    words = (
        f"{judged(spread.low, cost.currency)} to {judged(spread.high, cost.currency)} in 8 of 10 draws, "
        f"{judged(spread.likely, cost.currency)} in the middle"
    )
    if cost.missing:
        return (
            f"What making costs is unknown: not stated are {'; '.join(cost.missing)}. "
            f"The rest comes to {words}; making costs more than that."
        )
    return f"Making one column costs {words}."


def _sums(cost: Cost) -> Table:
    columns = (Column("group"), *(Column(name, numeric=True) for name in ("low", "likely", "high")))
    rows = [(name, exact(each.low), exact(each.likely), exact(each.high)) for name, each in cost.groups]
    rows.append(
        (
            "all at their ends together",
            exact(cost.known.low),
            exact(cost.known.likely),
            exact(cost.known.high),
        )
    )
    rows.append(
        (
            "10th, 50th, 90th percentile",
            exact(cost.spread.low),
            exact(cost.spread.likely),
            exact(cost.spread.high),
        )
    )
    drawn = f"{cost.inputs.draws:,} draws, seed {cost.inputs.seed}"
    note = f"{drawn}; lines that share a price or an operation move together."
    return Table(f"Cost of making one column ({cost.currency})", columns, tuple(rows), note)


def _offers(cost: Cost, system: System) -> Table:
    columns = (
        Column("offer"),
        Column("low", numeric=True),
        Column("likely", numeric=True),
        Column("high", numeric=True),
        Column("of it waiting", numeric=True),
        Column("lead time", numeric=True),
        Column("mass", numeric=True),
        Column("making is cheaper in", numeric=True),
    )
    rows = []
    for offer in cost.offers:
        amount = offer.cost
        chance = offer.making_cheaper
        rows.append(
            (
                offer.quote.name,
                exact(amount.low if amount else None),
                exact(amount.likely if amount else None),
                exact(amount.high if amount else None),
                exact(offer.waiting),
                show(offer.quote.lead_time, "time", system),
                show(offer.quote.mass, "mass", system),
                "unknown" if chance is None else f"{100.0 * chance:.0f} of 100 draws",
            )
        )
    lacking = [path for offer in cost.offers for path in offer.missing]
    note = "Price, freight and the value of the days waited."
    return Table(
        f"Buying one ({cost.currency})",
        columns,
        tuple(rows),
        f"{note} Not stated: {', '.join(lacking)}." if lacking else note,
    )


def _break_even(cost: Cost) -> str:
    even = cost.break_even
    if cost.missing:
        return "Where making breaks even is unknown until every price is stated."
    said = []
    if even.plate_factor is not None:
        said.append(
            f"plate may cost {even.plate_factor:.2g} times what it does now "
            "before making costs as much as the cheapest offer"
        )
    if even.columns is None:
        said.append("no number of columns alike makes it break even at likely prices")
    elif even.columns <= 1.0:
        said.append("one column alone pays for its planning")
    else:
        said.append(f"planning and programs are paid back from {even.columns:.1f} columns alike")
    text = "; ".join(said)
    return text[0].upper() + text[1:] + "."


def _drivers_figure(cost: Cost) -> Figure:
    shown = cost.drivers[:MOST_DRIVERS]
    middle = cost.known.likely
    low = min(driver.low for driver in shown)
    high = max(driver.high for driver in shown)
    width, left, right, row = 640.0, 230.0, 620.0, 22.0
    height = 70.0 + row * len(shown)

    def across(value: float) -> float:
        return left + (value - low) / max(high - low, 1e-9) * (right - left)

    parts = [svg.text((10.0, 20.0), "What moves the cost of making", size=13.0, bold=True)]
    for value in ticks(low, high, 4):
        x = across(value)
        parts.append(svg.line((x, 34.0), (x, height - 30.0), stroke=svg.HAIRLINE, width=0.5))
        parts.append(svg.text((x, height - 14.0), f"{value:,.0f}", size=10.0, anchor="middle", mono=True))
    for index, driver in enumerate(shown):
        parts += _bar(driver, 44.0 + row * index, across, middle)
    x = across(middle)
    parts.append(svg.line((x, 34.0), (x, height - 30.0), stroke=svg.INK, width=1.0))
    words = "; ".join(f"{d.name} {d.low:,.0f} to {d.high:,.0f}" for d in shown)
    return Figure(
        "drivers",
        svg.document(width, height, *parts, title="What moves the cost of making", description=words),
        f"Cost of making with one line at its low and high end, all else likely ({cost.currency}). "
        f"The line is the likely sum, {judged(middle, cost.currency)}.",
        words,
    )


def _bar(driver: Driver, y: float, across: Any, middle: float) -> list[svg.Element]:
    name = driver.name if len(driver.name) <= 36 else f"{driver.name[:35]}…"
    return [
        svg.text((222.0, y + 11.0), name, size=10.0, anchor="end"),
        svg.rectangle((across(driver.low), y), (across(middle), y + 14.0), fill=svg.SHADE, width=0.6),
        svg.rectangle((across(middle), y), (across(driver.high), y + 14.0), fill=svg.HATCH_CUT, width=0.6),
    ]


def _hours(cost: Cost) -> Table:
    columns = (
        Column("operation"),
        Column("how many", numeric=True),
        Column("of"),
        Column("low", numeric=True),
        Column("likely", numeric=True),
        Column("high", numeric=True),
        Column("person", numeric=True),
        Column("machine", numeric=True),
        Column("whose time"),
    )
    rows = tuple(
        (
            each.row.name,
            f"{each.count:.3g}",
            each.row.per,
            f"{each.low / 3600.0:.2f} h",
            f"{each.likely / 3600.0:.2f} h",
            f"{each.high / 3600.0:.2f} h",
            show(each.row.labour, "share"),
            show(each.row.machine, "share"),
            "the shop's" if each.own else each.row.mark or "catalogue",
        )
        for each in cost.works
    )
    labour = sum(each.likely * each.row.labour for each in cost.works) / 3600.0
    machine = sum(each.likely * each.row.machine for each in cost.works) / 3600.0
    note = f"Together {labour:.3g} hours of people and {machine:.3g} hours of the machine, likely."
    return Table("Hours by operation", columns, rows, note)


CHAPTER = ChapterMaker("cost", "Cost: make or buy", 72, blocks, short="Cost")
