"""`orthostat validation`: published values beside what is computed here and now."""

from __future__ import annotations

import argparse
import json
import sys

from orthostat.base.problems import Problem
from orthostat.cli.main import FAILS, OK, UNREADABLE
from orthostat.cli.terminal import Terminal, print_problems
from orthostat.presentation.published import outcomes_data, outcomes_table
from orthostat.validation import all_cases
from orthostat.validation import run as run_case


def run(chosen: argparse.Namespace) -> int:
    """Print the table; 1 when some row lies outside its tolerance."""
    cases = all_cases()
    subjects = sorted({case.subject for case in cases})
    if chosen.subject is not None and chosen.subject not in subjects:
        print_problems(
            [Problem("subject", "there is no such subject", read=chosen.subject, allowed=", ".join(subjects))]
        )
        return UNREADABLE
    outcomes = []
    chosen_cases = [case for case in cases if chosen.subject in (None, case.subject)]
    for number, case in enumerate(chosen_cases, 1):
        if sys.stderr.isatty():
            print(
                f"\r{number} of {len(chosen_cases)}: {case.name:<60.60}", end="", file=sys.stderr, flush=True
            )
        outcomes.append(run_case(case))
    if sys.stderr.isatty():
        print("\r" + " " * 80 + "\r", end="", file=sys.stderr)
    if chosen.json:
        print(json.dumps({"cases": outcomes_data(outcomes)}, indent=2, ensure_ascii=False))
    else:
        terminal = Terminal()
        for table in outcomes_table(outcomes):
            terminal.table(table)
    return FAILS if any(outcome.inside is False for outcome in outcomes) else OK
