"""A study as a table of its best designs, sentences about it, and rows for a file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from math import isfinite, isnan
from typing import TYPE_CHECKING

from orthostat.presentation.blocks import Block, Cell, Column, Paragraph, Quantity, Table

if TYPE_CHECKING:
    from orthostat.studies import Row, Study
    from orthostat.studies.sweeping import Found

SHOWN = 20
"""Designs shown; the file has them all."""
HEADINGS = (
    "mass_kg",
    "movement_m_per_N",
    "movement_off_at_most",
    "first_mode_Hz",
    "first_mode_off_at_most",
    "limit_depth_m",
    "limit_depth_off_at_most",
    "by",
    "why",
    *(
        f"{which}_{what}"
        for which in ("verified", "verified_not_bonded")
        for what in ("movement_m_per_N", "first_mode_Hz", "limit_depth_m")
    ),
)


def study_blocks(study: Study, order: tuple[int, ...]) -> tuple[Block, ...]:
    """Tables and sentences; `order` is that of the rows, best first, unknown last."""
    unknown = [row for row in study.rows if row.found is None]
    blocks: list[Block] = [_table(study, order[:SHOWN])]
    if study.best:
        blocks.append(_verified(study))
    said = [f"{len(study.rows)} designs, {len(unknown)} of them unknown."]
    if study.learnt:
        kept = "learnt now" if study.fresh else "kept from before"
        said.append(f"The study model was {kept} from {study.learnt} of them, solved one by one.")
        said.append("Off at most: what it was off on those that it had not been taught.")
    if any(row.by == "quick" for row in study.rows):
        said.append("What the quick model is off is not told for each design; see those verified.")
    said += [f"{note[0].upper()}{note[1:]}." for note in study.notes]
    blocks.append(Paragraph(" ".join(said)))
    reasons = dict.fromkeys(row.why for row in unknown)
    for reason in list(reasons)[:5]:
        count = sum(row.why == reason for row in unknown)
        blocks.append(Paragraph(f"unknown ({count}): {reason}"))
    return tuple(blocks)


def _table(study: Study, order: tuple[int, ...]) -> Table:
    off = any(row.by == "study" for row in study.rows)  # else it is told of none
    told = ("movement", "first mode", "limit depth")
    headings = [each for name in told for each in (name, "off at most")[: 1 + off]]
    columns = (
        *(Column(axis.key, numeric=True) for axis in study.axes),
        Column("mass", numeric=True),
        *(Column(heading, numeric=True) for heading in headings),
        Column("by"),
    )
    rows = tuple(_cells(study.rows[number], off=off) for number in order)
    return Table(f"{study.column}: the best by {study.by}", columns, rows)


def _cells(row: Row, *, off: bool) -> tuple[Cell, ...]:
    values = tuple(value if isinstance(value, str) else f"{value:g}" for value in row.values)
    if row.found is None:
        return (*values, "-", *("-" for _ in range(3 + 3 * off)), "unknown")
    mass, *numbers = _quantities(row.found)
    shares = (row.off.moved, row.off.first, row.off.depth)
    told = [each for pair in zip(numbers, map(_share, shares), strict=True) for each in pair[: 1 + off]]
    return (*values, mass, *told, f"{row.by} model")


def _quantities(found: Found) -> tuple[Cell, Cell, Cell, Cell]:
    depth: Cell = Quantity(found.depth, "length")
    if found.depth is not None and not isfinite(found.depth):
        depth = "no limit"
    moved = None if isnan(found.moved) else found.moved
    return (
        Quantity(found.mass, "mass"),
        Quantity(moved, "compliance"),
        Quantity(found.first, "frequency"),
        depth,
    )


def _share(off: float) -> Cell:
    return Quantity(None if isnan(off) else off, "share")


def _verified(study: Study) -> Table:
    columns = (
        *(Column(axis.key, numeric=True) for axis in study.axes), Column("model"),
        Column("mass", numeric=True), Column("movement", numeric=True), Column("first mode", numeric=True),
        Column("limit depth", numeric=True),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for number in study.best:
        row = study.rows[number]
        values = tuple(value if isinstance(value, str) else f"{value:g}" for value in row.values)
        blank = ("",) * len(values)
        if row.found is not None:
            rows.append((*values, f"{row.by} model", *_quantities(row.found)))
        if row.verified is None:
            rows.append((*blank, row.why or "not verified", "-", "-", "-", "-"))
            continue
        rows.append((*blank, "full model", *_quantities(row.verified.bonded)))
        if row.verified.loose is not None:
            rows.append((*blank, "full model, not bonded", *_quantities(row.verified.loose)))
    return Table("The best, verified by the full model", columns, tuple(rows))


def study_rows(study: Study) -> Iterator[tuple[str, ...]]:
    """The headings, then every design, numbers in SI and in full."""
    yield (*(axis.key for axis in study.axes), *HEADINGS)
    for row in study.rows:
        mass, moved, first, depth = _four(row.found)
        values = tuple(str(value) for value in row.values)
        off = [_number(each) for each in (row.off.moved, row.off.first, row.off.depth)]
        bonded, loose = (row.verified.bonded, row.verified.loose) if row.verified else (None, None)
        known = (mass, moved, off[0], first, off[1], depth, off[2], row.by, row.why)
        yield (*values, *known, *_four(bonded)[1:], *_four(loose)[1:])


def study_csv(study: Study) -> str:
    """`study_rows` as comma-separated values."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(study_rows(study))
    return text.getvalue()


def _four(found: Found | None) -> tuple[str, str, str, str]:
    if found is None:
        return "", "", "", ""
    return _number(found.mass), _number(found.moved), _number(found.first), _number(found.depth)


def _number(value: float | None) -> str:
    return "" if value is None or isnan(value) else repr(float(value))
