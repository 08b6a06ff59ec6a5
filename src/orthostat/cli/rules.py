"""`orthostat findings`: every rule there is."""

from __future__ import annotations

import argparse
import json

from orthostat.checks import all_rules
from orthostat.cli.main import OK
from orthostat.cli.terminal import Terminal
from orthostat.presentation.findings import rules_table


def run(chosen: argparse.Namespace) -> int:
    """List the rules."""
    rules = all_rules()
    if chosen.json:
        rows = [
            {
                "finding": r.slug,
                "question": r.question,
                "wanted": r.wanted,
                "sense": r.sense.value,
                "kind": r.kind,
                "levers": list(r.levers),
                "source": r.source,
            }
            for r in rules
        ]
        print(json.dumps({"findings": rows}, indent=2, ensure_ascii=False))
    else:
        Terminal().table(rules_table(rules))
    return OK
