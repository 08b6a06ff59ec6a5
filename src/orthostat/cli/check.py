"""`orthostat check`: findings of one column or all, for people or for programs."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from orthostat.base.findings import Finding, Rule, Verdict
from orthostat.base.problems import DocumentError, Problem
from orthostat.checks import all_rules, rules_of
from orthostat.cli.main import FAILS, OK, UNREADABLE
from orthostat.cli.terminal import Terminal, print_problems
from orthostat.document.folder import ShopFolder
from orthostat.evaluation import OpenColumn, OpenShop, open_shop
from orthostat.presentation.findings import as_data, findings_table, reasons, summary


def run(chosen: argparse.Namespace) -> int:
    """Check columns; 0 nothing fails, 1 something fails, 2 a document can't be read or asked for."""
    if not _asked(chosen.only):
        print_problems([_no_subject(chosen.only)])
        return UNREADABLE
    columns, problems = open_columns(chosen)
    results: list[tuple[OpenColumn, tuple[Finding, ...]]] = []
    for index, column in enumerate(columns):
        _progress(index, len(columns), column.name)
        results.append((column, column.evaluate().findings(only=chosen.only, quick=chosen.quick)))
    _progress(len(columns), len(columns), "")
    if chosen.json:
        data: dict[str, Any] = {"columns": [as_data(column.name, found) for column, found in results]}
        if problems:
            data["problems"] = [problem.sentence() for problem in problems]
        print(json.dumps(data, indent=2, ensure_ascii=False))
    else:
        for column, found in results:
            _print(column, found, why=chosen.why, all_of_it=not chosen.open)
        if chosen.quick and (left := [rule.slug for rule in _asked(chosen.only) if rule.long]):
            print(f"left out by --quick: {', '.join(left)}")
    print_problems(problems)
    if problems:
        return UNREADABLE
    failing = any(finding.verdict is Verdict.FAILS for _, found in results for finding in found)
    return FAILS if failing else OK


def _asked(subject: str | None) -> tuple[Rule, ...]:
    return all_rules() if subject is None else rules_of(subject)


def _no_subject(read: str) -> Problem:
    subjects = dict.fromkeys(rule.subject for rule in all_rules())
    return Problem("--only", "there is no such subject", read=read, allowed=", ".join(subjects))


def open_columns(chosen: argparse.Namespace) -> tuple[list[OpenColumn], list[Problem]]:
    """The columns asked for that can be read, and the problems of those that can't."""
    try:
        shop: OpenShop = open_shop(chosen.shop)
        names = chosen.columns or shop.columns
    except DocumentError as error:
        return [], [*error.problems, *ShopFolder(Path(chosen.shop)).faults_of_columns(chosen.columns)]
    if not names:
        return [], [
            Problem("columns", "this shop has no columns yet; write columns/NAME.toml (see docs/document.md)")
        ]
    columns: list[OpenColumn] = []
    problems: list[Problem] = []
    for name in names:
        try:
            columns.append(shop.column(name))
        except DocumentError as error:
            problems += error.problems
    return columns, problems


def _print(column: OpenColumn, found: tuple[Finding, ...], *, why: bool, all_of_it: bool) -> None:
    terminal = Terminal(column.system)
    title = f"{column.name}: {summary(found)}"
    terminal.line(title, "bold")
    shown = tuple(each for each in found if all_of_it or each.verdict is not Verdict.HOLDS)
    if shown:
        terminal.table(findings_table(shown, column.system, ""))
    if why:
        for finding in shown:
            terminal.line(f"{finding.slug}  {finding.rule.question}", "bold")
            for line in reasons(finding, column.system):
                terminal.line(f"    {line}")
            terminal.line()


def _progress(done: int, total: int, name: str) -> None:
    """Which column is being worked on, on a terminal's error stream only."""
    if not sys.stderr.isatty() or total < 2:
        return
    text = f"checking {name} ({done + 1} of {total})" if name else ""
    print(f"\r{text:<70}", end="" if name else "\r", file=sys.stderr, flush=True)
