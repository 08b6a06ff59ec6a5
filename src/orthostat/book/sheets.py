"""Tables as files: CSV for programs, one spreadsheet with its formulas alive."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

from orthostat.analyses.cost import Cost
from orthostat.analyses.cost.amounts import SUPPLIERS, in_own_currency
from orthostat.analyses.pieces import Part, Pieces
from orthostat.base.findings import NotStated
from orthostat.base.showing import System
from orthostat.base.units import resolve
from orthostat.book.exchange import piece_file, plain
from orthostat.presentation.drawings import call
from orthostat.presentation.lengths import UNIT

Rows = list[list[Any]]


def hole_rows(part: Part, index: int, system: System) -> Rows:
    """Heading and one row a hole of a view, lengths in mm or inches at full precision."""
    unit = UNIT[system]
    rows: Rows = [
        ["hole", f"x [{unit}]", f"y [{unit}]", "what", f"diameter [{unit}]", f"depth [{unit}]", "through"]
    ]
    factor = resolve(unit).factor

    def number(length: float | None) -> Any:
        return "" if length is None else round(length / factor, 6)

    for hole in part.features[index]:
        depth = "" if hole.hidden or hole.through else number(hole.depth)
        rows.append(
            [
                hole.label,
                number(hole.at[0]),
                number(hole.at[1]),
                call(hole, system),
                number(hole.diameter),
                depth,
                "yes" if hole.through else "no",
            ]
        )
    return rows


def write_holes(pieces: Pieces, system: System, folder: Path) -> list[Path]:
    """A CSV for each view with holes."""
    written = []
    for part in pieces.drawn:
        for index, (view, holes) in enumerate(zip(part.views, part.features, strict=True)):
            if holes:
                path = folder / f"{piece_file(part)}-{plain(view.name)}-holes.csv"
                _write_csv(path, hole_rows(part, index, system))
                written.append(path)
    return written


def bill_rows(cost: Cost) -> Rows:
    """The bill as plain rows, money in the shop's currency."""
    rows: Rows = [
        [
            "group",
            "item",
            "quantity",
            "unit",
            "spare",
            "price",
            "currency",
            "per",
            "priced on",
            f"low [{cost.currency}]",
            f"likely [{cost.currency}]",
            f"high [{cost.currency}]",
            "missing",
        ]
    ]
    for line in cost.lines:
        price, amount = line.price, line.cost
        money = (
            ("", "", "")
            if amount is None
            else tuple(round(v, 2) for v in (amount.low, amount.likely, amount.high))
        )
        asked = (
            ("", "", "", "") if price is None else (price.likely, price.currency, price.per, price.date or "")
        )
        told = (line.group, line.name, round(line.quantity, 6), line.unit, line.spare or "")
        rows.append([*told, *asked, *money, "; ".join(line.missing)])
    return rows


def write_bill(cost: Cost, path: Path) -> Path:
    """The bill as CSV."""
    _write_csv(path, bill_rows(cost))
    return path


def _write_csv(path: Path, rows: Rows) -> None:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(rows)
    path.write_text("\ufeff" + stream.getvalue(), encoding="utf-8", newline="\n")


def write_spreadsheet(evaluation: Any, system: System, path: Path) -> Path:
    """One workbook: orders and work with live formulas, cut list, and every hole table."""
    import datetime as dt

    import xlsxwriter

    book = xlsxwriter.Workbook(str(path), {"in_memory": True})
    book.set_properties({"title": f"{evaluation.column.name}: bill", "created": dt.datetime(1980, 1, 1)})  # noqa: DTZ001  # no time zone in this file format
    styles = {
        "head": book.add_format({"bold": True, "bottom": 1}),
        "money": book.add_format({"num_format": "#,##0.00"}),
        "total": book.add_format({"num_format": "#,##0.00", "bold": True, "top": 1}),
        "note": book.add_format({"italic": True}),
    }
    cost: Cost = evaluation.cost
    _orders(book, cost, styles)
    _work(book, cost, styles)
    _cut(book, cost, system, styles)
    for part in evaluation.pieces.drawn:
        for index, holes in enumerate(part.features):
            if holes:
                _plain(
                    book,
                    _sheet_name(book, f"{part.number} {part.views[index].name}"),
                    hole_rows(part, index, system),
                    styles,
                )
    book.close()
    return path


def _sheet_name(book: Any, wanted: str) -> str:
    kept = "".join(c for c in wanted if c not in "[]:*?/\\'")[:28]
    taken = {sheet.name.lower() for sheet in book.worksheets()}
    name, again = kept, 2
    while name.lower() in taken:
        name, again = f"{kept[:25]} {again}", again + 1
    return name


def _orders(book: Any, cost: Cost, styles: dict[str, Any]) -> None:
    """Quantity times price times the rate of its currency, summed; change a price and it follows."""
    sheet = book.add_worksheet("Orders")
    heads = [
        "supplier",
        "item",
        "quantity",
        "unit",
        "price",
        "currency",
        "rate",
        f"cost [{cost.currency}]",
        "priced on",
        "missing",
    ]
    _heads(sheet, heads, styles)
    row = 1
    for line in (line for line in cost.lines if line.group in SUPPLIERS):
        price = line.price
        quantity = line.quantity
        if price is not None and price.per == "kg" and line.unit in ("kit", "bag"):
            bag = next(b for b in cost.inputs.bagged if b.path == line.path)
            quantity = line.quantity * bag.unit_mass
        sheet.write_row(row, 0, [line.group, line.name, quantity, line.unit])
        if price is not None:
            sheet.write_number(row, 4, price.likely, styles["money"])
            sheet.write_string(row, 5, price.currency)
            try:
                rate = in_own_currency(cost.inputs.buying, 1.0, price.currency)
            except NotStated:
                rate = None
            if rate is not None and line.cost is not None:
                sheet.write_number(row, 6, rate)
                sheet.write_formula(
                    row, 7, f"=C{row + 1}*E{row + 1}*G{row + 1}", styles["money"], line.cost.likely
                )
            sheet.write_string(row, 8, price.date or "no date")
        sheet.write_string(row, 9, "; ".join(line.missing))
        row += 1
    sheet.write_string(row, 1, "together, likely")
    known = sum(line.cost.likely for line in cost.lines if line.group in SUPPLIERS and line.cost is not None)
    sheet.write_formula(row, 7, f"=SUM(H2:H{row})" if row > 1 else "=0", styles["total"], known)
    sheet.set_column(0, 0, 20)
    sheet.set_column(1, 1, 46)
    sheet.set_column(2, 9, 13)
    sheet.freeze_panes(1, 0)


def _work(book: Any, cost: Cost, styles: dict[str, Any]) -> None:
    sheet = book.add_worksheet("Work")
    heads = [
        "operation",
        "how many",
        "of",
        "hours of one",
        "person",
        "machine",
        "person hours",
        "machine hours",
    ]
    _heads(sheet, heads, styles)
    for row, each in enumerate(cost.works, 1):
        hours = each.likely / each.count / 3600.0
        sheet.write_row(
            row, 0, [each.row.name, each.count, each.row.per, hours, each.row.labour, each.row.machine]
        )
        for column, share in ((6, "E"), (7, "F")):
            value = each.count * hours * (each.row.labour if share == "E" else each.row.machine)
            sheet.write_formula(
                row, column, f"=B{row + 1}*D{row + 1}*{share}{row + 1}", styles["money"], value
            )
    last = len(cost.works) + 1
    for column, letter in ((6, "G"), (7, "H")):
        share = "labour" if letter == "G" else "machine"
        value = sum(each.likely / 3600.0 * getattr(each.row, share) for each in cost.works)
        sheet.write_formula(last, column, f"=SUM({letter}2:{letter}{last})", styles["total"], value)
    sheet.write_string(last, 0, "together")
    sheet.set_column(0, 0, 30)
    sheet.set_column(1, 7, 13)


def _cut(book: Any, cost: Cost, system: System, styles: dict[str, Any]) -> None:
    unit = UNIT[system]
    factor = resolve(unit).factor
    rows: Rows = [
        [
            "no.",
            "piece",
            "count",
            "material",
            f"length [{unit}]",
            f"width [{unit}]",
            f"thickness [{unit}]",
            "stock",
        ]
    ]
    for blank in cost.blanks:
        material = blank.part.material.name if blank.part.material else "not stated"
        rows.append(
            [
                blank.part.number,
                blank.part.name,
                blank.count,
                material,
                *(round(x / factor, 4) for x in (blank.length, blank.width, blank.thickness)),
                blank.stock.name if blank.stock else "",
            ]
        )
    _plain(book, "Cut list", rows, styles)


def _plain(book: Any, name: str, rows: Rows, styles: dict[str, Any]) -> None:
    sheet = book.add_worksheet(name)
    _heads(sheet, rows[0], styles)
    for index, row in enumerate(rows[1:], 1):
        sheet.write_row(index, 0, row)
    sheet.set_column(0, len(rows[0]) - 1, 16)


def _heads(sheet: Any, heads: list[Any], styles: dict[str, Any]) -> None:
    for column, head in enumerate(heads):
        sheet.write_string(0, column, str(head), styles["head"])
