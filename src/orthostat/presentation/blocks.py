"""Format-neutral blocks: what a leaf must be able to render, and nothing else.

A cell that is a quantity carries its SI value and its kind; the leaf asks `base.units.show` for the
text, so that every surface rounds and picks units alike.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number of a known kind (see `base.units.KINDS`), in SI. `None` is shown as a dash."""

    value: float | None
    kind: str


@dataclass(frozen=True, slots=True)
class VerdictMark:
    """A verdict word (`holds`, `tight`, `fails`, `unknown`), and what may stand behind it in the cell."""

    verdict: str
    says: str = ""

    @property
    def words(self) -> str:
        """The word with what it says."""
        return f"{self.verdict}: {self.says}" if self.says else self.verdict


Cell = str | int | Quantity | VerdictMark


@dataclass(frozen=True, slots=True)
class Column:
    """A table column: heading, and whether its cells are numbers (set right-aligned)."""

    heading: str
    numeric: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under headings, with a caption that says what the table answers."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture as SVG text, with a caption and the same facts in words."""

    name: str
    """File stem, unique within a chapter: lower case, digits, hyphens."""
    svg: str
    caption: str
    text_equivalent: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A sentence or a few."""

    text: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that must not be missed; rendered with the word CAUTION and a rule."""

    text: str


@dataclass(frozen=True, slots=True)
class Steps:
    """Numbered instructions in order."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading inside a chapter; level 1 is the chapter's own."""

    text: str
    level: int = 2


Block = Table | Figure | Paragraph | Caution | Steps | Heading


@dataclass(frozen=True, slots=True)
class Chapter:
    """One subject of the job as an ordered list of blocks."""

    slug: str
    title: str
    blocks: tuple[Block, ...] = ()
