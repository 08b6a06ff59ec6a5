"""Blocks as Typst source: every block kind once, no subject by name, no arithmetic."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from typing import Literal

from orthostat.base.showing import System, show
from orthostat.presentation import svg
from orthostat.presentation.blocks import (
    Block,
    Caution,
    Cell,
    Chapter,
    Column,
    Figure,
    Heading,
    Paragraph,
    Quantity,
    Steps,
    Table,
    VerdictMark,
)

Paper = Literal["a4", "letter"]
PAPERS: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}
MARKS = {"fails": "×", "unknown": "?", "tight": "!", "holds": "✓"}
ROOM = 487.0
"""Width of the page between its margins [pt]."""
TYPE_SIZE, SMALLEST = 8.0, 4.6
LETTER, INSET = 0.62, 8.5
"""Width of a letter over the type size, on the safe side, and the blank beside a cell's text [pt]."""
SHORT = 15
"""Letters below which a text is not broken into lines."""
HANDWRITING = 92.0
"""Width of a column that is left empty, to be filled in [pt]."""
WHOLE = 10
"""Rows up to which a table is kept on one page."""
COMFORTABLE = 34
"""Letters of a line that reads well in a table."""
WIDEST_MM, TALLEST_MM = 172.0, 228.0
MM_PER_UNIT = 25.4 / 96.0
PRINT = "#ffffff"
"""Pictures stand on white in print."""


def quoted(text: str) -> str:
    """A Typst string literal."""
    kept = "".join(c if c.isprintable() or c == "\n" else " " for c in text)
    return json.dumps(kept, ensure_ascii=False)


class Typesetter:
    """Gathers source and the pictures it names."""

    def __init__(self, system: System) -> None:
        self.system = system
        self.pictures: dict[str, str] = {}
        self._shown: set[str] = set()
        """Pictures that are in the book already: none is set twice."""
        self._lines: list[str] = []

    @property
    def source(self) -> str:
        return "\n".join(self._lines) + "\n"

    def cover_figure(self, figure: Figure) -> None:
        """A picture with room for the words of a cover beneath it."""
        self._figure(figure, tallest=150.0)

    def raw(self, text: str) -> None:
        """Typst source as it is."""
        self._lines.append(text)

    def chapter(self, chapter: Chapter) -> None:
        """A chapter on a page of its own; one that only says a sentence stays on the page before it."""
        if len(chapter.blocks) > 1 or not all(isinstance(block, Paragraph) for block in chapter.blocks):
            self.raw("#pagebreak(weak: true)")
        self.raw(f"#heading(level: 1, {quoted(chapter.title)})")
        self.blocks(chapter.blocks)

    def blocks(self, blocks: Iterable[Block]) -> None:
        """Blocks in order."""
        for block in blocks:
            self.block(block)

    def block(self, block: Block) -> None:
        """One block."""
        if isinstance(block, Table):
            self._table(block)
        elif isinstance(block, Heading):
            self.raw(f"#heading(level: {block.level}, {quoted(block.text)})")
        elif isinstance(block, Caution):
            self.raw(f"#caution({quoted(block.text)})")
        elif isinstance(block, Steps):
            items = ", ".join(f"text({quoted(item)})" for item in block.items)
            self.raw(f"#enum({items})")
        elif isinstance(block, Figure):
            self._figure(block)
        elif isinstance(block, Paragraph):
            self.raw(f"#par(text({quoted(block.text)}))")

    def _figure(self, figure: Figure, *, tallest: float = TALLEST_MM) -> None:
        if figure.svg in self._shown:
            return
        self._shown.add(figure.svg)
        name = f"picture-{len(self.pictures) + 1}.svg"
        self.pictures[name] = figure.svg.replace(svg.PAPER, PRINT)
        wide, tall = _size(figure.svg)
        factor = min(1.0, WIDEST_MM / wide, tallest / tall)
        caption, words = quoted(figure.caption), quoted(figure.text_equivalent)
        self.raw(f"#figure-of({quoted(name)}, {wide * factor:.2f}mm, {caption}, {words})")

    def _table(self, table: Table) -> None:
        if not table.rows:
            self.raw(f"#par(text({quoted(table.caption + ': nothing to list.')}))")
            return
        texts = [[self._plain(cell) for cell in row] for row in table.rows]
        widths, size = _widths(table.columns, texts)
        heads = ", ".join(f"head({quoted(column.heading)})" for column in table.columns)
        cells = ",\n  ".join(
            ", ".join(
                self._cell(cell, numeric=column.numeric)
                for cell, column in zip(row, table.columns, strict=True)
            )
            for row in table.rows
        )
        aligns = ("right" if column.numeric else "left" for column in table.columns)
        align = "(" + ", ".join(f"{each} + top" for each in aligns) + ",)"
        given = "(" + ", ".join(f"{each:.1f}pt" for each in widths) + ",)"
        self.raw(f"#table-title({quoted(table.caption)})" if table.caption else "")
        made = f"table(columns: {given}, align: {align}, table.header({heads}),\n  {cells})"
        whole = "true" if len(table.rows) <= WHOLE else "false"
        self.raw(f"#sized-table({size:.2f}pt, {whole}, {made})")
        if table.note:
            self.raw(f"#note({quoted(table.note)})")

    def _plain(self, cell: Cell) -> str:
        if isinstance(cell, VerdictMark):
            return f"{MARKS[cell.verdict]} {cell.words}"
        if isinstance(cell, Quantity):
            return show(cell.value, cell.kind, self.system)
        return str(cell)

    def _cell(self, cell: Cell, *, numeric: bool) -> str:
        if isinstance(cell, VerdictMark):
            said = quoted(_breakable(cell.words.removeprefix(cell.verdict)))
            return f"verdict({quoted(cell.verdict)}, {quoted(MARKS[cell.verdict])}, {said})"
        plain = self._plain(cell)
        text = quoted(plain.replace(" ", "\u00a0") if numeric else _breakable(plain))
        return f"number({text})" if numeric else f"text({text})"


def _widths(columns: Sequence[Column], texts: list[list[str]]) -> tuple[list[float], float]:
    """Widths of columns [pt] and the type size [pt] at which no word runs over its column."""
    letter = LETTER * TYPE_SIZE
    least, wanted = [], []
    for index, column in enumerate(columns):
        cells = [row[index] for row in texts]
        words = [
            word for text in (column.heading, *([] if column.numeric else cells)) for word in _words(text)
        ]
        whole = [len(cell) for cell in cells] if column.numeric else []
        full = max(len(column.heading), *(len(cell) for cell in cells))
        lines = [] if column.numeric else [min(full, SHORT)]
        narrow = max([len(word) for word in words] + whole + lines, default=1) * letter + INSET
        if not column.numeric and not any(cells):
            narrow = max(narrow, HANDWRITING)
        least.append(narrow)
        wanted.append(max(narrow, min(full, COMFORTABLE if not column.numeric else full) * letter + INSET))
    if sum(wanted) <= ROOM:
        return _stretched(wanted, columns, texts), TYPE_SIZE
    if sum(least) >= ROOM:
        shrink = ROOM / sum(least)
        return [width * shrink for width in least], max(TYPE_SIZE * shrink * 0.97, SMALLEST)
    share = (ROOM - sum(least)) / (sum(wanted) - sum(least))
    return [low + share * (high - low) for low, high in zip(least, wanted, strict=True)], TYPE_SIZE


def _stretched(widths: list[float], columns: Sequence[Column], texts: list[list[str]]) -> list[float]:
    """Words' columns take the room that is left where a text is longer than its line."""
    long = [
        index
        for index, column in enumerate(columns)
        if not column.numeric and max(len(row[index]) for row in texts) > COMFORTABLE
    ]
    if not long:
        return widths
    more = (ROOM - sum(widths)) / len(long)
    return [width + more if index in long else width for index, width in enumerate(widths)]


def _words(text: str) -> list[str]:
    """What a line may not break within."""
    return re.split(r"[\s\u200b]+|(?<=-)", _breakable(text))


def _breakable(text: str) -> str:
    """Long words without a space may break after a dot or an underscore."""
    return re.sub(r"(\S{14,}?[._/])(?=\S)", "\\1\u200b", text)


def _size(text: str) -> tuple[float, float]:
    """Width and height of a picture [mm]."""
    found = re.search(r'<svg[^>]*\swidth="([\d.]+)"[^>]*\sheight="([\d.]+)"', text)
    if found is None:
        return WIDEST_MM, 0.6 * WIDEST_MM
    return float(found[1]) * MM_PER_UNIT, max(float(found[2]) * MM_PER_UNIT, 1.0)


PREAMBLE = """
#let paper-name = {paper}
#let ink = rgb("#26221d")
#let quiet = rgb("#6f675a")
#let hair = rgb("#c9bfae")
#let blue = rgb("#2b5c8a")
#let rust = rgb("#a5461c")
#set document(title: {title}, author: "orthostat", date: none)
#set page(paper: paper-name, margin: (x: 19mm, top: 22mm, bottom: 20mm),
  header: context {{ if counter(page).get().first() > 1 {{
    set text(8pt, fill: quiet)
    grid(columns: (1fr, auto), text({title}), text({revision}))
    line(length: 100%, stroke: 0.4pt + hair)
  }} }},
  footer: context {{
    set text(8pt, fill: quiet)
    align(center, counter(page).display("1 of 1", both: true))
  }})
#set text(font: ("IBM Plex Sans", "IBM Plex Mono"), size: 9.5pt, fill: ink, lang: "en",
  hyphenate: true, ligatures: false)
#set par(justify: false, leading: 0.62em, spacing: 0.9em)
#set enum(spacing: 0.7em)
#show heading.where(level: 1): it => block(below: 10pt, text(17pt, it.body))
#let under(size, above, below, body) = block(above: above, below: below, breakable: false, sticky: true,
  text(size, weight: 600, body))
#show heading.where(level: 2): it => under(12pt, 15pt, 7pt, it.body)
#show heading.where(level: 3): it => under(10.5pt, 11pt, 5pt, it.body)
#set table(inset: (x: 4pt, y: 3pt),
  stroke: (x, y) => (bottom: 0.4pt + hair, top: if y == 0 {{ 0.8pt + ink }}))
#let sized-table(size, whole, body) = block(above: 5pt, below: 5pt, breakable: not whole, {{
  set text(size, hyphenate: false)
  body
}})
#show table: set par(leading: 0.5em)
#let head(t) = text(weight: 600, t)
#let number(t) = text(font: "IBM Plex Mono", t)
#let table-title(t) = under(9.5pt, 11pt, 5pt, t)
#let note(t) = block(above: 4pt, below: 9pt, text(8pt, fill: quiet, t))
#let caution(t) = block(above: 8pt, below: 8pt, width: 100%, breakable: false,
  stroke: (left: 2.5pt + rust), inset: (left: 8pt, y: 4pt),
  [#text(weight: 600, fill: rust, "CAUTION") #h(4pt) #text(t)])
#let verdict(word, mark, says) = text(
  fill: if word == "fails" {{ rust }} else if word == "unknown" {{ quiet }} else {{ blue }},
  [#mark #word#text(fill: ink, says)])
#let figure-of(name, width, caption, words) = block(above: 9pt, below: 9pt, width: 100%, breakable: false, {{
  align(center, image(name, width: width, alt: words))
  align(center, text(8.5pt, fill: quiet, caption))
}})
"""


def preamble(title: str, revision: str, paper: Paper) -> str:
    """Page, type and helper functions."""
    return PREAMBLE.format(paper=quoted(PAPERS[paper]), title=quoted(title), revision=quoted(revision))
