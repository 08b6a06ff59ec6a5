"""Everything of one design into a folder."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from orthostat.base.findings import NotStated
from orthostat.base.progress import SILENT, Progress
from orthostat.base.showing import System
from orthostat.book import dxf, pdf, sheets, step
from orthostat.book.typeset import Paper

_STEPS = 4
"""Kinds of files."""


@dataclass
class Written:
    """Files that were written, and notes of what could not be or wants a look."""

    folder: Path
    files: list[Path] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def write_all(
    evaluation: Any,
    revision: str,
    system: System,
    folder: Path,
    progress: Progress = SILENT,
    *,
    title: str = "",
    paper: Paper | None = None,
) -> Written:
    """Write the book (under `title`, by default the column's name) and every file.

    One kind of file that fails leaves a note and the others.
    Files of an earlier run with other names are left alone. Raises `OSError` where the folder can't
    be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    done = Written(folder)
    for number, part in enumerate(evaluation.pieces.drawn, 1):
        progress.at(number - 1, len(evaluation.pieces.drawn) * _STEPS, f"drawing {number} (DXF)")
        done.files += dxf.write(part, system, folder)
    progress.at(1, _STEPS, "tables (CSV, XLSX)")
    _tables(evaluation, system, folder, done)
    _solids(evaluation, folder, done, progress.step(2, _STEPS, "solids (STEP, GLB)"))
    path = folder / "build-book.pdf"
    written = progress.step(3, _STEPS, "build book (PDF)")
    made = pdf.book(evaluation, revision, system, title, paper=paper, progress=written)
    path.write_bytes(made.data)
    done.files.append(path)
    if made.lacking:
        done.notes.append(
            f"the book's fonts lack {made.lacking[:20]}: they are set in a font of this machine, "
            "or as boxes where it has none"
        )
    return done


def _tables(evaluation: Any, system: System, folder: Path, done: Written) -> None:
    done.files += sheets.write_holes(evaluation.pieces, system, folder)
    try:
        cost = evaluation.cost
    except NotStated as gap:
        done.notes.append(f"no bill: {gap}")
        return
    done.files.append(sheets.write_bill(cost, folder / "bill.csv"))
    done.files.append(sheets.write_spreadsheet(evaluation, system, folder / "bill.xlsx"))
    if cost.missing:
        done.notes.append(f"not in the bill for want of a price or rate: {'; '.join(cost.missing[:5])}")


def _solids(evaluation: Any, folder: Path, done: Written, progress: Progress) -> None:
    if not step.available():
        done.notes.append("no STEP and GLB files: the CAD kernel is not installed (cadquery-ocp-novtk)")
        return
    try:
        made = step.write(evaluation, folder, progress)
    except step.KernelFault as fault:
        done.notes.append(f"no STEP and GLB files: {fault}")
        return
    done.notes += made.notes
    done.files += [folder / f"{name}.step" for name in made.measures["pieces"]]
    done.files += [folder / "assembly.step", folder / "assembly.glb"]
