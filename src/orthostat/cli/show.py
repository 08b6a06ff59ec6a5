"""`orthostat show`: chapters of a column as text."""

from __future__ import annotations

import argparse

from orthostat.base.problems import Problem
from orthostat.cli.check import open_columns
from orthostat.cli.main import OK, UNREADABLE
from orthostat.cli.terminal import Terminal, print_problems
from orthostat.presentation.chapters import chapter_names, chapters_of


def run(chosen: argparse.Namespace) -> int:
    """Print chapters; 2 when a document can't be read or there is no such chapter."""
    if chosen.chapter is not None and chosen.chapter not in chapter_names():
        print_problems(
            [
                Problem(
                    "--chapter",
                    "there is no such chapter",
                    read=chosen.chapter,
                    allowed=", ".join(chapter_names()),
                )
            ]
        )
        return UNREADABLE
    columns, problems = open_columns(chosen)
    for column in columns:
        terminal = Terminal(column.system)
        for chapter in chapters_of(column.evaluate(), column.system, only=chosen.chapter):
            terminal.chapter(chapter)
            terminal.line()
    print_problems(problems)
    return UNREADABLE if problems else OK
