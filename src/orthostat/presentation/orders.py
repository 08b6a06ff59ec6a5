"""The cut list and what to order, by kind of supplier."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.cost import Blank, Cost, Line
from orthostat.analyses.cost.amounts import SUPPLIERS
from orthostat.base.showing import System, show, show_parts
from orthostat.model.prices import Price
from orthostat.presentation.blocks import Block, Cell, Column, Paragraph, Quantity, Table
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.lengths import length_text
from orthostat.presentation.money import exact


def blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    """The cut list, then one order a supplier, then what they add up to."""
    cost: Cost = evaluation.cost
    found: list[Block] = [cut_list(cost, system)]
    found += orders(cost, system)
    bought = [line.cost for line in cost.lines if line.group in SUPPLIERS and line.cost is not None]
    total = sum(each.likely for each in bought)
    missing = [line for line in cost.lines if line.group in SUPPLIERS and line.cost is None]
    count = "One line has" if len(missing) == 1 else f"{len(missing)} lines have"
    more = f" {count} no price yet; the sum is without." if missing else ""
    found.append(Paragraph(f"All orders together: {exact(total, cost.currency)} at likely prices.{more}"))
    return tuple(found)


def cut_list(cost: Cost, system: System) -> Table:
    """Every piece with its blank, the stock it comes from and its finished mass."""
    columns = (
        Column("no.", numeric=True),
        Column("piece"),
        Column("count", numeric=True),
        Column("material"),
        Column("blank to saw"),
        Column("from stock"),
        Column("finished mass of one", numeric=True),
    )
    rows = tuple(_cut_row(blank, cost, system) for blank in cost.blanks)
    note = (
        f"Blanks are longer by {length_text(_clean_up(cost), system)} on each sawn edge for milling; "
        f"the saw takes {length_text(_kerf(cost), system)} more between blanks."
    )
    return Table("Cut list", columns, rows, note)


def _kerf(cost: Cost) -> float:
    from orthostat.analyses.cost.stock import kerf

    return kerf(cost.inputs.buying)


def _clean_up(cost: Cost) -> float:
    from orthostat.analyses.cost.stock import clean_up

    return clean_up(cost.inputs.buying)


def _cut_row(blank: Blank, cost: Cost, system: System) -> tuple[Cell, ...]:
    part = blank.part
    if part.is_cast:
        size, source = "raw casting", "foundry"
    elif part.views:
        size = " × ".join(length_text(each, system) for each in (blank.length, blank.width, blank.thickness))
        source = blank.stock.name if blank.stock else "none that is large enough"
    else:
        sides = [length_text(each, system) for each in (blank.width, blank.thickness)]
        outside = f"Ø{sides[0]}" if part.is_round else " × ".join(sides)
        size = f"{outside} × {length_text(blank.length, system)}"
        source = blank.stock.name if blank.stock else "none of this size"
    mass, _ = cost.inputs.mass(part)
    material = part.material.name if part.material else "not stated"
    return (part.number, part.name, part.count, material, size, source, Quantity(mass, "mass"))


def orders(cost: Cost, system: System) -> list[Block]:
    """One table for each kind of supplier that is needed."""
    found: list[Block] = []
    for group in SUPPLIERS:
        lines = cost.line_group(group)
        if lines:
            found.append(_order(lines, cost, group, system))
    return found


def _order(lines: tuple[Line, ...], cost: Cost, group: str, system: System) -> Table:
    columns = (
        Column("item"),
        Column("buy", numeric=True),
        Column("of it spare", numeric=True),
        Column("price of one"),
        Column("priced on"),
        Column("low", numeric=True),
        Column("likely", numeric=True),
        Column("high", numeric=True),
    )
    rows = tuple(_order_row(line, system) for line in lines)
    known = [line.cost.likely for line in lines if line.cost is not None]
    note = f"Together {exact(sum(known), cost.currency)} at likely prices"
    gone = [line for line in lines if line.cost is None]
    if gone:
        lacking = "; ".join(
            f"{line.name}: {line.reason or 'not known'} ({', '.join(line.missing)})" for line in gone
        )
        note += f", without {len(gone)} that can't be priced. {lacking}"
    return Table(f"Order: {group} ({cost.currency})", columns, rows, f"{note}.")


def _order_row(line: Line, system: System) -> tuple[Cell, ...]:
    price = line.price
    each = "not stated" if price is None else price_text(price, system)
    amount = line.cost
    what = line.name if not line.note else f"{line.name} ({line.note})"
    return (
        what,
        quantity_text(line, system),
        f"{line.spare:g}" if line.spare else "",
        each,
        (price.date if price is not None else None) or "no date",
        exact(amount.low if amount else None),
        exact(amount.likely if amount else None),
        exact(amount.high if amount else None),
    )


def price_text(price: Price, system: System) -> str:
    """`7.90 EUR/kg`, by the pound where the shop works in inches."""
    if price.per != "kg":
        return f"{price.likely:,.2f} {price.currency}/{price.per}"
    number, unit = show_parts(price.likely, "price per mass", system)
    return f"{number} {unit.replace('currency', price.currency)}"


def quantity_text(line: Line, system: System) -> str:
    """`3 bags`, `53.6 kg`, `1.25 m²`."""
    if line.unit in ("piece", "kit", "bag"):
        number = f"{line.quantity:.0f}"
        return f"{number} {line.unit}" if number == "1" else f"{number} {line.unit}s"
    if line.unit == "kg":
        return show(line.quantity, "mass", system)
    return f"{line.quantity:.3g} {line.unit}"


CHAPTER = ChapterMaker("orders", "Cut list and orders", 70, blocks, short="Orders")
