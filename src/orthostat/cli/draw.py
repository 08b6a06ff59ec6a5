"""`orthostat draw`: the pictures of chapters, as files."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from orthostat.base.problems import Problem
from orthostat.cli.check import open_columns
from orthostat.cli.main import OK, UNREADABLE
from orthostat.cli.terminal import print_problems
from orthostat.presentation.blocks import Figure
from orthostat.presentation.chapters import chapter_names, chapters_of


def run(chosen: argparse.Namespace) -> int:
    """Write pictures; 2 when a document can't be read or a file can't be written."""
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
    written = 0
    for column in columns:
        for chapter in chapters_of(column.evaluate(), column.system, only=chosen.chapter):
            folder = Path(chosen.to) / column.name / chapter.slug
            for figure in (block for block in chapter.blocks if isinstance(block, Figure)):
                try:
                    _write(figure, folder, chosen.format)
                except OSError as fault:
                    problems.append(Problem(str(folder), f"can't be written ({fault.strerror or fault})"))
                    break
                written += 1
                if sys.stderr.isatty():
                    print(
                        f"\r{written} pictures, now {column.name}/{chapter.slug}/{figure.name:<50}",
                        end="",
                        file=sys.stderr,
                    )
    if sys.stderr.isatty():
        print(file=sys.stderr)
    print(f"wrote {written} pictures to {chosen.to}")
    print_problems(problems)
    return UNREADABLE if problems else OK


def _write(figure: Figure, folder: Path, form: str) -> None:
    from orthostat.document.folder import write_whole

    folder.mkdir(parents=True, exist_ok=True)
    if form in ("svg", "both"):
        write_whole(folder / f"{figure.name}.svg", figure.svg)
    if form in ("png", "both"):
        from orthostat.presentation.raster import png

        (folder / f"{figure.name}.png").write_bytes(png(figure.svg))
