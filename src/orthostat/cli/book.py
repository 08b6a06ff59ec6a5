"""`orthostat book`: the build book and the files that go with it."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from orthostat.base.problems import Problem
from orthostat.base.progress import Progress
from orthostat.cli.check import open_columns
from orthostat.cli.main import OK, UNREADABLE
from orthostat.cli.terminal import print_problems
from orthostat.evaluation import OpenColumn


def run(chosen: argparse.Namespace) -> int:
    """Write files; 2 when a document can't be read or a file can't be written."""
    columns, problems = open_columns(chosen)
    for column in columns:
        try:
            _write(column, Path(chosen.to) / column.name)
        except OSError as fault:
            problems.append(
                Problem(str(Path(chosen.to) / column.name), f"can't be written ({fault.strerror or fault})")
            )
    print_problems(problems)
    return UNREADABLE if problems else OK


def _write(column: OpenColumn, folder: Path) -> None:
    from orthostat.book import write_all

    def told(doing: str, share: float) -> None:
        if sys.stderr.isatty():
            print(f"\r{column.name}: {share:4.0%} {doing:<50.50}", end="", file=sys.stderr, flush=True)

    title = column.document.name or column.name
    done = write_all(column.evaluate(), column.revision, column.system, folder, Progress(told), title=title)
    if sys.stderr.isatty():
        print("\r" + " " * 70 + "\r", end="", file=sys.stderr)
    kinds: dict[str, int] = {}
    for path in done.files:
        kinds[path.suffix.lstrip(".")] = kinds.get(path.suffix.lstrip("."), 0) + 1
    counted = ", ".join(f"{count} {kind.upper()}" for kind, count in sorted(kinds.items()))
    print(f"wrote {folder / 'build-book.pdf'} and what goes with it ({counted})")
    for note in done.notes:
        print(f"    note: {note}")
