"""Findings as tables for people and as plain data for programs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from orthostat.base.findings import Finding, Row, Rule, Sense, Verdict
from orthostat.base.showing import System, show, show_pair
from orthostat.base.units import unit_of
from orthostat.presentation.blocks import Cell, Column, Table, VerdictMark

WORST_FIRST = (Verdict.FAILS, Verdict.UNKNOWN, Verdict.TIGHT, Verdict.HOLDS)


def findings_table(findings: Iterable[Finding], system: System, caption: str) -> Table:
    """One row a finding, worst first: verdict, question, value, limit, margin."""
    ordered = sorted(findings, key=lambda finding: WORST_FIRST.index(finding.verdict))
    columns = (
        Column("verdict"),
        Column("question"),
        Column("finding"),
        Column("value", numeric=True),
        Column("limit", numeric=True),
        Column("margin", numeric=True),
    )
    return Table(caption, columns, tuple(_row(finding, system) for finding in ordered))


def _row(finding: Finding, system: System) -> tuple[Cell, ...]:
    row = finding.worst
    question = finding.rule.question
    if row.subject:
        question += f" ({row.subject})"
    if row.value is None or row.limit is None:
        return (VerdictMark(row.verdict.value), f"{question} {row.why}", finding.slug, "–", "–", "–")
    value, limit = show_pair(row.value, row.limit, finding.rule.kind, system)
    sign = "≤" if finding.rule.sense is Sense.AT_MOST else "≥"
    return (
        VerdictMark(row.verdict.value),
        question,
        finding.slug,
        value,
        f"{sign} {limit}",
        share_of(finding),
    )


def share_of(finding: Finding) -> str:
    """The margin as it is shown; a dash where there is none, or where the value says as much."""
    return "–" if finding.share is None else show(finding.share, "share")


def reasons(finding: Finding, system: System) -> list[str]:
    """Why a finding is as it is: the wanted condition, the reasons, what could mend it, the source."""
    rule = finding.rule
    lines = [f"wanted: {rule.wanted}"]
    shown = sorted(finding.rows, key=lambda row: WORST_FIRST.index(row.verdict))[:6]
    lines += [reason(row, rule, system) for row in shown]
    if len(finding.rows) > len(shown):
        lines.append(f"and {len(finding.rows) - len(shown)} more that fare no worse")
    if rule.levers and finding.verdict in (Verdict.FAILS, Verdict.TIGHT):
        lines.append(f"can be changed by: {', '.join(rule.levers)}")
    lines.append(f"source: {rule.source}")
    return lines


def reason(row: Row, rule: Rule, system: System, *, head: bool = True) -> str:
    """One answer of a finding in words; `head` says what it is about and its verdict."""
    begin = (f"{row.subject}: " if row.subject else "") + f"{row.verdict.value}: " if head else ""
    if row.value is None or row.limit is None:
        return f"{begin}{row.why}"
    value, limit = show_pair(row.value, row.limit, rule.kind, system)
    return f"{begin}{value} against {limit}: {row.why}"


def as_data(column: str, findings: Iterable[Finding]) -> dict[str, Any]:
    """A column's findings as plain data in SI."""
    return {"column": column, "findings": [_finding_data(finding) for finding in findings]}


def _finding_data(finding: Finding) -> dict[str, Any]:
    rule = finding.rule
    worst = _row_data(finding.worst)
    return {
        "finding": rule.slug,
        "question": rule.question,
        **worst,
        "unit": unit_of(rule.kind),
        "sense": rule.sense.value,
        "source": rule.source,
        "wanted": rule.wanted,
        "levers": list(rule.levers),
        "hangs_on": rule.hangs_on,
        "rows": [_row_data(row) for row in finding.rows],
    }


def _row_data(row: Row) -> dict[str, Any]:
    return {
        "subject": row.subject,
        "verdict": row.verdict.value,
        "value": row.value,
        "limit": row.limit,
        "margin": row.margin,
        "depends_on": list(row.depends_on),
        "why": row.why,
    }


def rules_table(rules: Iterable[Rule]) -> Table:
    """Every rule with its question, what is wanted, and its source."""
    columns = (Column("finding"), Column("question"), Column("wanted"), Column("source"))
    return Table("Findings", columns, tuple((r.slug, r.question, r.wanted, r.source) for r in rules))


def summary(findings: Iterable[Finding]) -> str:
    """How many of each verdict, worst first: `1 fails, 2 unknown, 12 hold`."""
    counts = dict.fromkeys(WORST_FIRST, 0)
    for finding in findings:
        counts[finding.verdict] += 1
    words = {
        Verdict.FAILS: ("fails", "fail"),
        Verdict.UNKNOWN: ("unknown",) * 2,
        Verdict.TIGHT: ("is tight", "are tight"),
        Verdict.HOLDS: ("holds", "hold"),
    }
    said = [f"{n} {words[verdict][n != 1]}" for verdict, n in counts.items() if n]
    return ", ".join(said) or "no findings"
