"""`orthostat study`: one column with some of its fields varied, as a table."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from orthostat.base.problems import DocumentError, Problem
from orthostat.base.progress import Progress
from orthostat.cli.main import OK, UNREADABLE
from orthostat.cli.terminal import Terminal, print_problems
from orthostat.document.folder import write_whole
from orthostat.evaluation import open_shop
from orthostat.presentation.study import study_blocks, study_csv
from orthostat.studies import ORDERS, axes_of, sweep
from orthostat.studies.keeping import cache_folder
from orthostat.studies.sweeping import ranked


def run(chosen: argparse.Namespace) -> int:
    """Sweep; 2 when a document, a key or a range can't be read or the file can't be written."""
    problems: list[Problem] = []
    shop = axes = column = None
    try:
        axes = axes_of(chosen.vary)
    except DocumentError as fault:
        problems += fault.problems
    if chosen.by not in ORDERS:
        problems.append(Problem("--by", "is nothing to rank by", read=chosen.by, allowed=", ".join(ORDERS)))
    if chosen.best < 0:
        problems.append(Problem("--best", "counts designs", read=str(chosen.best), allowed="0 or more"))
    try:
        shop = open_shop(chosen.shop)
        column = shop.column(chosen.column)
    except DocumentError as fault:
        problems += fault.problems
    if problems or shop is None or axes is None or column is None:
        print_problems(problems)
        return UNREADABLE
    folder = None if chosen.afresh else cache_folder()
    try:
        study = sweep(
            shop,
            chosen.column,
            axes,
            by=chosen.by,
            best=chosen.best,
            worth=chosen.learn_from,
            folder=folder,
            progress=Progress(_told),
        )
    except DocumentError as fault:
        print_problems(fault.problems)
        return UNREADABLE
    if sys.stderr.isatty():
        print("\r" + " " * 78 + "\r", end="", file=sys.stderr)
    Terminal(column.system).blocks(study_blocks(study, ranked(study.rows, chosen.by)))
    if chosen.to is not None:
        try:
            write_whole(Path(chosen.to), study_csv(study))
        except OSError as fault:
            print_problems([Problem(chosen.to, f"can't be written ({fault.strerror or fault})")])
            return UNREADABLE
        print(f"wrote {len(study.rows)} designs to {chosen.to}")
    return OK


def _told(doing: str, share: float) -> None:
    if sys.stderr.isatty():
        print(f"\r{share:4.0%} {doing:<70.70}", end="", file=sys.stderr, flush=True)
