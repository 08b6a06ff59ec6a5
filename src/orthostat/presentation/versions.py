"""The same envelope made otherwise: what each way gives, what it costs, and what it fails."""

from __future__ import annotations

from typing import Any

import numpy as np

from orthostat.analyses.stiffness import Solved
from orthostat.base.findings import Finding, Row, Sense
from orthostat.base.showing import System, show, show_pair
from orthostat.presentation.blocks import Cell, Column, Paragraph, Quantity, Table, VerdictMark
from orthostat.presentation.money import exact, judged

DEEPEST = 1.0
"""A limit depth beyond this [m] is no limit."""


def envelope_table(evaluation: Any, system: System) -> Table:
    """Mass, movement, first mode, damping, limit depth and cost of every version."""
    envelope = evaluation.stiffness.inputs.envelope
    currency = evaluation.buying.currency
    return Table(
        "The same envelope made otherwise",
        (
            Column("Made as"),
            Column("Mass", numeric=True),
            Column("Movement per force", numeric=True),
            Column("First mode", numeric=True),
            Column("What it does"),
            Column("Damping ratio", numeric=True),
            Column("Lowest limit depth", numeric=True),
            Column(f"Cost, likely ({currency or 'no currency stated'})", numeric=True),
        ),
        tuple(_row(version, currency) for version in evaluation.versions),
        f"Quick model, walls of {show(envelope.wall, 'length', system)}, plates bonded to a fill, on the "
        "same joint with the same stations and cuts. Movement is outward at the station that yields most. "
        "How each cost is known, its range and what each way fails stand in the chapter on cost.",
    )


def _row(version: Any, currency: str) -> tuple[Cell, ...]:
    solved: Solved | None = version.solved
    cost = _likely(version.cost, currency)
    if solved is None:
        kinds = ("mass", "compliance", "frequency")
        unknown = (Quantity(None, kind) for kind in kinds)
        return (version.name, *unknown, version.why, Quantity(None, "share"), Quantity(None, "length"), cost)
    first = solved.first
    limits = [limit.lowest for limit in solved.limits if limit is not None]
    lowest = min(limits, default=None)
    return (
        version.name,
        Quantity(solved.mass, "mass"),
        Quantity(_softest(solved), "compliance"),
        Quantity(first.frequency, "frequency"),
        first.kind,
        Quantity(None if first.loss is None else 0.5 * first.loss, "share"),
        Quantity(None if lowest is None or lowest > DEEPEST else lowest, "length"),
        cost,
    )


def _likely(cost: Any, currency: str) -> str:
    if cost.amount is not None:
        return judged(cost.amount.likely)
    return "unknown" if cost.at_least is None or not currency else f"over {judged(cost.at_least)}"


def _softest(solved: Solved) -> float | None:
    found = []
    for number, place in enumerate(solved.inputs.places):
        at = solved.ports.centre(number)
        out = np.asarray(place.out)
        found.append(float(out @ solved.ports.static(number, at) @ out))
    return max(found, default=None)


def cost_tables(evaluation: Any, system: System) -> tuple[Table | Paragraph, ...]:
    """What every version costs and how that is known; then its findings, so that cost is not read alone."""
    return (_costs(evaluation), *_findings(evaluation, system))


def _costs(evaluation: Any) -> Table:
    return Table(
        f"The same envelope made or bought otherwise ({evaluation.buying.currency or 'no currency stated'})",
        (
            Column("Made as"),
            Column("low", numeric=True),
            Column("likely", numeric=True),
            Column("high", numeric=True),
            Column("Mass", numeric=True),
            Column("Mass quoted", numeric=True),
            Column("How it is known"),
        ),
        tuple(_cost_row(version) for version in evaluation.versions),
        "What the shop makes is counted with the design's own plates and holes. A quote is the cheapest for "
        "that family of material; it may be for another size, and says nothing of a lid. An estimate per "
        "mass holds no freight and no waiting.",
    )


def _cost_row(version: Any) -> tuple[Cell, ...]:
    cost = version.cost
    mass = Quantity(None if version.solved is None else version.solved.mass, "mass")
    quoted = Quantity(cost.quoted_mass, "mass")
    if cost.amount is None:
        least = "" if cost.at_least is None else f"; over {judged(cost.at_least)} so far"
        return (version.name, "unknown", "unknown", "unknown", mass, quoted, f"{cost.how}{least}")
    amount = cost.amount
    return (
        version.name,
        exact(amount.low),
        exact(amount.likely),
        exact(amount.high),
        mass,
        quoted,
        cost.how,
    )


def _findings(evaluation: Any, system: System) -> tuple[Table | Paragraph, ...]:
    """One row a question, one column a version with a lid (and the design, however it is)."""
    shown = [version for version in evaluation.versions if version.has_lid]
    answers = [{finding.slug: finding for finding in version.findings} for version in shown]
    asked: dict[str, Finding] = {}
    for found in answers:
        asked |= {slug: finding for slug, finding in found.items() if slug not in asked}
    if not asked:
        return (Paragraph("No question arises for the versions side by side."),)
    rows = tuple(
        (finding.rule.question, *(_answer(found.get(slug), system) for found in answers))
        for slug, finding in asked.items()
    )
    table = Table(
        "What each of them holds and fails",
        (Column("Question"), *(Column(version.name) for version in shown)),
        rows,
        "Worst case of each question: found, and wanted. Stiffness by the quick model, the design too, so "
        "that like stands beside like; the design's verdicts in its own chapters come from the verified "
        "model. Joint and studs are the design's. A dash: the question does not arise.",
    )
    return (table,)


def _answer(finding: Finding | None, system: System) -> Cell:
    if finding is None:
        return "–"
    row: Row = finding.worst
    if row.value is None or row.limit is None:
        return VerdictMark(row.verdict.value)
    value, limit = show_pair(row.value, row.limit, finding.rule.kind, system)
    sign = "≤" if finding.rule.sense is Sense.AT_MOST else "≥"
    return VerdictMark(row.verdict.value, f"{value}, {sign} {limit}")
