"""The validation table: source, quantity, expected, computed, deviation, tolerance."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from orthostat.presentation.blocks import Cell, Column, Table, VerdictMark
from orthostat.validation import Outcome


def outcomes_table(outcomes: Sequence[Outcome]) -> list[Table]:
    """One table a subject, each row a published value."""
    columns = (
        Column("verdict"),
        Column("quantity"),
        Column("source"),
        Column("expected", numeric=True),
        Column("computed", numeric=True),
        Column("deviation", numeric=True),
        Column("tolerance", numeric=True),
        Column("unit"),
    )
    tables = []
    ordered = sorted(outcomes, key=lambda outcome: outcome.case.subject)
    for subject, group in groupby(ordered, key=lambda outcome: outcome.case.subject):
        rows = tuple(_row(outcome) for outcome in group)
        tables.append(Table(f"Validation: {subject}", columns, rows))
    inside = sum(outcome.inside is True for outcome in outcomes)
    absent = sum(outcome.inside is None for outcome in outcomes)
    note = f"{inside} of {len(outcomes)} rows inside their tolerance"
    if absent:
        note += f"; {absent} not run, since the reference library they need is not installed here"
    if tables:
        last = tables[-1]
        tables[-1] = Table(last.caption, last.columns, last.rows, note)
    return tables


def _row(outcome: Outcome) -> tuple[Cell, ...]:
    case = outcome.case
    verdict = {True: "holds", False: "fails", None: "unknown"}[outcome.inside]
    computed = f"needs {case.needs}" if outcome.computed is None else f"{outcome.computed:.6g}"
    deviation = "–" if outcome.deviation is None else f"{outcome.deviation:.2g}"
    return (
        VerdictMark(verdict),
        case.name,
        case.source,
        f"{case.expected:.6g}",
        computed,
        deviation,
        f"± {case.tolerance:.2g}",
        case.unit,
    )


def outcomes_data(outcomes: Iterable[Outcome]) -> list[dict[str, Any]]:
    """The same rows for programs."""
    return [
        {
            "subject": outcome.case.subject,
            "quantity": outcome.case.name,
            "source": outcome.case.source,
            "expected": outcome.case.expected,
            "computed": outcome.computed,
            "deviation": outcome.deviation,
            "tolerance": outcome.case.tolerance,
            "unit": outcome.case.unit,
            "reason": outcome.case.reason,
            "inside": outcome.inside,
        }
        for outcome in outcomes
    ]
