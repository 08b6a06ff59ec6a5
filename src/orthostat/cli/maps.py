"""`orthostat maps`: every picture of reach, as files."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated
from orthostat.base.problems import Problem
from orthostat.base.units import UnitFault, parse
from orthostat.cli.check import open_columns
from orthostat.cli.main import OK, UNREADABLE
from orthostat.cli.terminal import print_problems
from orthostat.document.folder import write_whole
from orthostat.presentation.reach import all_maps


def run(chosen: argparse.Namespace) -> int:
    """Write the maps; 2 when a document can't be read or a file can't be written."""
    try:
        tip = None if chosen.tip is None else Metre(parse(chosen.tip, "length").si)
    except UnitFault as fault:
        print_problems([Problem("--tip", str(fault), read=chosen.tip)])
        return UNREADABLE
    columns, problems = open_columns(chosen)
    written = 0
    for column in columns:
        folder = Path(chosen.to) / column.name
        try:
            folder.mkdir(parents=True, exist_ok=True)
            for stem, picture in all_maps(column.evaluate(), column.system, tip=tip, loaded=chosen.loaded):
                _write(folder, stem, picture, chosen.format)
                written += 1
                if sys.stderr.isatty():
                    print(f"\r{written} maps, now {column.name}/{stem:<60}", end="", file=sys.stderr)
        except NotStated as gap:
            problems.append(Problem(column.name, str(gap)))
        except OSError as fault:
            problems.append(Problem(str(folder), f"can't be written ({fault.strerror or fault})"))
    if sys.stderr.isatty():
        print(file=sys.stderr)
    print(f"wrote {written} maps to {chosen.to}")
    print_problems(problems)
    return UNREADABLE if problems else OK


def _write(folder: Path, stem: str, picture: str, form: str) -> None:
    if form in ("svg", "both"):
        write_whole(folder / f"{stem}.svg", picture)
    if form in ("png", "both"):
        from orthostat.presentation.raster import png

        (folder / f"{stem}.png").write_bytes(png(picture))
