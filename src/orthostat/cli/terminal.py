"""Blocks on a terminal: tables fitted to its width, colour only where there is one."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from orthostat.base.problems import Problem
from orthostat.base.showing import System, show
from orthostat.presentation.blocks import (
    Block,
    Caution,
    Cell,
    Chapter,
    Figure,
    Heading,
    Paragraph,
    Quantity,
    Steps,
    Table,
    VerdictMark,
)

if TYPE_CHECKING:
    from rich.console import Console

_MARKS = {"fails": "x", "unknown": "?", "tight": "!", "holds": "+"}
_STYLES = {"fails": "bold yellow", "unknown": "bold", "tight": "cyan", "holds": "blue"}
_PIPE_WIDTH = 140


class Terminal:
    """Renders blocks to a stream with rich; knows no finding by name and does no arithmetic."""

    def __init__(self, system: System = "metric") -> None:
        self.system = system
        width = None if sys.stdout.isatty() else _PIPE_WIDTH
        self._console = _console_class()(width=width, highlight=False, emoji=False, markup=False)

    def line(self, text: str = "", style: str | None = None) -> None:
        """One line, wrapped at words."""
        self._console.print(_printable(text), style=style)

    def chapter(self, chapter: Chapter) -> None:
        """A chapter under its title."""
        self.line(chapter.title, "bold")
        self.line("=" * len(chapter.title))
        self.blocks(chapter.blocks)

    def blocks(self, blocks: Iterable[Block]) -> None:
        """Blocks in order."""
        for block in blocks:
            self._block(block)

    def _block(self, block: Block) -> None:
        if isinstance(block, Table):
            self.table(block)
        elif isinstance(block, Heading):
            self.line()
            self.line(block.text, "bold")
        elif isinstance(block, Caution):
            self.line(f"CAUTION  {block.text}", "bold")
        elif isinstance(block, Steps):
            for number, item in enumerate(block.items, 1):
                self.line(f"{number:>3}. {item}")
        elif isinstance(block, Figure):
            self.line(f"[picture {block.name}] {block.caption}")
            self.line(f"    {block.text_equivalent}")
        elif isinstance(block, Paragraph):
            self.line(block.text)

    def table(self, table: Table) -> None:
        """A table with its caption above and its note beneath."""
        from rich import box
        from rich.table import Table as RichTable

        made = RichTable(
            box=box.SIMPLE_HEAD, title=table.caption or None, title_justify="left", pad_edge=False
        )
        for column in table.columns:
            made.add_column(
                column.heading,
                justify="right" if column.numeric else "left",
                no_wrap=column.numeric,
                overflow="fold",
            )
        for row in table.rows:
            made.add_row(*(self._cell(cell) for cell in row))
        self._console.print(made)
        if table.note:
            self.line(table.note)

    def _cell(self, cell: Cell) -> Any:
        from rich.text import Text

        if isinstance(cell, VerdictMark):
            words = _printable(f"{_MARKS[cell.verdict]} {cell.words}")
            return Text(words, style=_STYLES[cell.verdict], no_wrap=not cell.says)
        if isinstance(cell, Quantity):
            return _printable(show(cell.value, cell.kind, self.system))
        return _printable(str(cell))


_PLAIN = str.maketrans(
    {"≤": "<=", "≥": ">=", "–": "-", "·": "*", "²": "^2", "³": "^3", "⁴": "^4", "µ": "u", "°": " deg"}
)


def _printable(text: str) -> str:
    """`text`, with signs spelt out where the terminal's encoding has not got them."""
    try:
        text.encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return text.translate(_PLAIN)
    return text


def _console_class() -> type[Console]:
    from rich.console import Console

    class QuietConsole(Console):
        """Leaves a closed pipe to the command line, which ends quietly for it."""

        def on_broken_pipe(self) -> None:
            raise BrokenPipeError

    return QuietConsole


def print_problems(problems: Iterable[Problem]) -> None:
    """Problems on the error stream, one a line."""
    for problem in problems:
        print(problem.sentence(), file=sys.stderr)
