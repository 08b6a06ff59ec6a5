"""The build book as PDF: cover, the job in one page, bench chapters, reasons, sources."""

from __future__ import annotations

import tempfile
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from orthostat.base.findings import Finding, Verdict
from orthostat.base.progress import SILENT, Progress
from orthostat.base.references import reference_key
from orthostat.base.showing import System
from orthostat.book.typeset import Paper, Typesetter, preamble, quoted
from orthostat.catalogue.bibliography import references
from orthostat.presentation.blocks import Caution, Chapter, Column, Heading, Paragraph, Table
from orthostat.presentation.chapters import BENCH, chapters_of, makers
from orthostat.presentation.findings import findings_table, reasons, summary
from orthostat.presentation.still import alone

FONTS = ("fontpkg_ibm_plex_sans", "fontpkg_ibm_plex_mono")


@dataclass(frozen=True)
class Book:
    """The PDF, and the letters in it that its own fonts lack."""

    data: bytes
    lacking: str


def book(
    evaluation: Any,
    revision: str,
    system: System,
    title: str = "",
    *,
    paper: Paper | None = None,
    progress: Progress = SILENT,
) -> Book:
    """The book of one design; the same design gives the same bytes.

    `paper` is by default that of the system of units.
    """
    column = evaluation.column
    steps = len(makers()) + 2
    progress.at(0, steps, "findings")
    findings = evaluation.findings()
    made = Typesetter(system)
    title = title or column.name
    paper = paper or ("a4" if system == "metric" else "letter")
    made.raw(preamble(title, f"{column.name}, revision {revision[:12]}", paper))
    _cover(made, evaluation, findings, revision, title)
    made.chapter(_job(evaluation, findings, system))
    bench: list[Chapter] = []
    others: list[Chapter] = []
    for number, maker in enumerate(makers(), 1):
        progress.at(number, steps, f"chapter {number} of {len(makers())}")
        (bench if maker.order >= BENCH else others).extend(chapters_of(evaluation, system, only=maker.slug))
    for chapter in (*bench, *others, _why(findings, system), _sources(findings)):
        made.chapter(chapter)
    progress.at(steps - 1, steps, "typesetting")
    return Book(compiled(made), foreign_letters(made))


def _cover(made: Typesetter, evaluation: Any, findings: Iterable[Finding], revision: str, title: str) -> None:
    made.raw("#v(10mm)")
    made.raw(f"#text(24pt, {quoted(title)})")
    made.raw("#v(2mm)")
    made.raw(f"#text(12pt, fill: quiet, {quoted(f'Build book, revision {revision[:12]}')})")
    made.raw("#v(6mm)")
    made.cover_figure(alone(evaluation.column))
    made.raw("#v(4mm)")
    made.raw(f"#text(12pt, {quoted(summary(findings)[0].upper() + summary(findings)[1:] + '.')})")
    made.raw("#v(3mm)")
    made.block(
        Caution(
            "Computed from what the documents state; no substitute for a drawing check, "
            "a competent person's judgement, the makers' data sheets and local rules. "
            "Findings marked unknown have not been shown to hold."
        )
    )


def _job(evaluation: Any, findings: tuple[Finding, ...], system: System) -> Chapter:
    """What it is for, what fails, is unknown or tight, and how much holds."""
    column = evaluation.column
    machine = column.machine.name if column.machine else "no machine stated"
    pallet = column.pallet.name if column.pallet else "no pallet stated"
    parts = sum(1 for station in column.stations for body in station.bodies if body.role.value == "part")
    told = (
        f"{_counted(len(column.stations), 'station')} with {_counted(parts, 'part')} "
        f"on {len(column.faces)} faces"
        if column.stations
        else "no stations"
    )
    blocks: list[Any] = [
        Paragraph(f"A {column.shape} column for {machine} on {pallet}: {told}."),
        Paragraph(f"Of {len(findings)} findings: {summary(findings)}."),
    ]
    for verdict, title in (
        (Verdict.FAILS, "Fails: mend before building"),
        (Verdict.UNKNOWN, "Unknown: state what is missing"),
        (Verdict.TIGHT, "Tight: little in hand"),
    ):
        same = [f for f in findings if f.verdict is verdict]
        if same:
            blocks += [Heading(title), findings_table(same, system, "")]
    return Chapter("job", "The job in one page", tuple(blocks))


def _counted(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _why(findings: Iterable[Finding], system: System) -> Chapter:
    """Reasons of everything that does not plainly hold."""
    blocks: list[Any] = []
    for finding in findings:
        if finding.verdict is not Verdict.HOLDS:
            blocks.append(Heading(f"{finding.rule.question} ({finding.verdict.value})", 3))
            blocks += [Paragraph(line) for line in reasons(finding, system)]
    holding = [f for f in findings if f.verdict is Verdict.HOLDS]
    if holding:
        rows = tuple((f.rule.question, f.slug) for f in holding)
        blocks += [Heading("What holds"), Table("", (Column("question"), Column("finding")), rows)]
    return Chapter("reasons", "Reasons", tuple(blocks) or (Paragraph("Every finding holds."),))


def _sources(findings: Iterable[Finding]) -> Chapter:
    """The works that the findings name."""
    known = references()
    keys: dict[str, None] = {}
    for finding in findings:
        for part in finding.rule.source.replace(":", ";").split(";"):
            key = reference_key(part)
            if key in known:
                keys[key] = None
    rows = tuple(
        (key, known[key].title, known[key].authors, str(known[key].year or "")) for key in sorted(keys)
    )
    columns = (Column("key"), Column("work"), Column("by"), Column("year", numeric=True))
    return Chapter(
        "sources",
        "Sources",
        (Table("", columns, rows, "Values and rules that have no source say so where they stand."),),
    )


SCRIPTS = ("LATIN", "GREEK", "CYRILLIC")
"""Scripts that the book's own fonts hold."""


def foreign_letters(made: Typesetter) -> str:
    """Letters of the book that its own fonts lack, each once, in the order they come."""
    seen = dict.fromkeys(c for text in (made.source, *made.pictures.values()) for c in text if ord(c) > 0x24F)
    return "".join(
        c for c in seen if unicodedata.category(c) == "Lo" or (c.isalpha() and _script(c) not in SCRIPTS)
    )


def _script(letter: str) -> str:
    return unicodedata.name(letter, "").split(" ", 1)[0]


def compiled(made: Typesetter) -> bytes:
    """The PDF of typeset source, without a date.

    No font of the machine is used, unless there are letters that only such a font may hold.
    """
    import typst

    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        for name, text in made.pictures.items():
            (root / name).write_text(text, encoding="utf-8")
        (root / "book.typ").write_text(made.source, encoding="utf-8")
        with (
            as_file(files(FONTS[0]).joinpath("files")) as sans,
            as_file(files(FONTS[1]).joinpath("files")) as mono,
        ):
            result = typst.compile(
                str(root / "book.typ"),
                root=str(root),
                font_paths=[str(sans), str(mono)],
                ignore_system_fonts=not foreign_letters(made),
                format="pdf",
            )
    return bytes(result)
