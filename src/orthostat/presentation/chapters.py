"""Chapters in the order a shop asks; a module of this room with a `CHAPTER` slots in by itself."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from orthostat.base.findings import NotStated
from orthostat.base.showing import System
from orthostat.presentation.blocks import Block, Chapter, Paragraph

BENCH = 60
"""Chapters from this order on are what the bench needs; earlier ones say why it holds."""


@dataclass(frozen=True, slots=True)
class ChapterMaker:
    """A chapter's place and how its blocks are made: `blocks(evaluation, system)`."""

    slug: str
    title: str
    order: int
    """Among the chapters: 10 fit, 20 reach, 30 hold, 40 stiffness, 50 pour; later ones above."""
    blocks: Callable[[Any, System], tuple[Block, ...]]
    short: str = ""
    """For a narrow line of titles; the title itself where none is given."""


@cache
def makers() -> tuple[ChapterMaker, ...]:
    """Every chapter, in order."""
    package = importlib.import_module("orthostat.presentation")
    found = []
    for module in sorted(each.name for each in pkgutil.iter_modules(package.__path__)):
        maker = getattr(importlib.import_module(f"orthostat.presentation.{module}"), "CHAPTER", None)
        if isinstance(maker, ChapterMaker):
            found.append(maker)
    return tuple(sorted(found, key=lambda maker: (maker.order, maker.slug)))


def chapter_names() -> list[str]:
    """Slugs of the chapters there are."""
    return [maker.slug for maker in makers()]


def chapters_of(evaluation: Any, system: System, *, only: str | None = None) -> Iterator[Chapter]:
    """The chapters of one design; one whose inputs are missing says which."""
    for maker in makers():
        if only is not None and maker.slug != only:
            continue
        try:
            blocks = maker.blocks(evaluation, system)
        except NotStated as gap:
            blocks = (Paragraph(f"Unknown: {gap}."),)
        yield Chapter(maker.slug, maker.title, blocks)
