"""Blocks, findings and forms as HTML, through the templates; everything is escaped there."""

from __future__ import annotations

import re
import time
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from hashlib import blake2b
from pathlib import Path
from types import MappingProxyType
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from orthostat.base.problems import Problem
from orthostat.base.showing import System, show_parts
from orthostat.presentation import marks, svg
from orthostat.presentation.blocks import Block, Cell, Quantity, VerdictMark
from orthostat.presentation.cards import Card, rank
from orthostat.presentation.findings import WORST_FIRST
from orthostat.presentation.painting import Band
from orthostat.web.board import Part, Snapshot
from orthostat.web.links import Link, Links, place_of

TEMPLATES = Path(__file__).parent / "templates"
STATIC = Path(__file__).parent / "static"
_NOTHING: Mapping[str, str] = MappingProxyType({})


@cache
def environment() -> Environment:
    """The templates, with escaping on."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters["verdict"] = verdict_sign
    made.filters["figure"] = figure_markup
    made.filters["drawn"] = drawn
    made.filters["ident"] = ident
    made.filters["place"] = place_of
    made.filters["swatch"] = band_swatch
    made.tests["of"] = lambda block, name: type(block).__name__ == name
    made.globals["cell"] = cell_parts
    return made


def drawn(text: str) -> Markup:
    """HTML and pictures that templates and the SVG builder made: escaped already."""
    return Markup(text)  # noqa: S704  # see above


def render(template: str, **values: Any) -> str:
    """One template with its values."""
    return environment().get_template(template).render(**values)


@cache
def verdict_sign(verdict: str) -> Markup:
    """The mark of a verdict as a small picture; the word stands beside it."""
    sign = svg.element(
        "svg",
        marks.sign(verdict, (7.0, 7.0), 10.0),
        width=14.0,
        height=14.0,
        viewBox="0 0 14 14",
        aria_hidden="true",
        class_="mark",
    )
    return Markup(sign.render())  # noqa: S704  # made of numbers here


def band_swatch(band: Band) -> Markup:
    """A band's tint, or its strokes, as a small picture; its number and words stand beside it."""
    low, high = (0.5, 0.5), (21.5, 13.5)
    parts = [svg.rectangle(low, high, fill=band.shade or svg.PAPER, stroke=svg.INK, width=0.75)]
    if band.hatched:
        parts += [svg.line((x, 13.0), (x + 8.0, 1.0), stroke=svg.RUST, width=1.2) for x in (1.5, 7.0, 12.5)]
    sign = svg.element(
        "svg", *parts, width=22.0, height=14.0, viewBox="0 0 22 14", aria_hidden="true", class_="swatch"
    )
    return Markup(sign.render())  # noqa: S704  # made of numbers here


def figure_markup(picture: str, unique: str) -> Markup:
    """A figure's SVG for the page, its hatches named so that no two figures share an id."""
    return drawn(
        picture.replace("#hatch-", f"#{unique}-hatch-").replace('id="hatch-', f'id="{unique}-hatch-')
    )


def ident(key: str) -> str:
    """An id for a key path: letters and digits only, and unlike that of any other key."""
    return "f-" + re.sub(r"\W+", "-", key) + f"-{zlib.crc32(key.encode()):x}"


def cell_parts(cell: Cell, system: System) -> tuple[str, str, str]:
    """Text, unit and verdict of a table's cell."""
    if isinstance(cell, Quantity):
        number, unit = show_parts(cell.value, cell.kind, system)
        return number, unit, ""
    if isinstance(cell, VerdictMark):
        return cell.words, "", cell.verdict
    return str(cell), "", ""


def blocks_html(blocks: tuple[Block, ...], system: System, unique: str) -> str:
    """Blocks in order."""
    return render("blocks.html", blocks=blocks, system=system, unique=unique)


def findings_shown(
    snapshot: Snapshot, after: int, links: Links, held: Mapping[str, str] = _NOTHING
) -> dict[str, Any]:
    """The findings as data and HTML: of each part whether it is stale, and its cards where they changed
    after the version `after`. A card whose mark is `held` by whoever asks comes without its HTML.
    """
    broken = bool(snapshot.problems)
    parts = {}
    for number, part in enumerate(snapshot.parts):
        told: dict[str, Any] = {"stale": part.stale or broken, "screened": bool(part.screened)}
        if part.version > after:
            told["cards"] = [
                _card(card, 1000 * number + place, links, held, by_model=card in part.screened)
                for place, card in enumerate(part.shown)
            ]
        parts[part.subject] = told
    working = () if broken else tuple(work for part in snapshot.parts if (work := _working(part)))
    return {
        "version": snapshot.version,
        "head": _head(snapshot.problems, working, known=any(part.known for part in snapshot.parts)),
        "parts": parts,
        "settled": snapshot.settled,
        "more": snapshot.more,
        "readable": not broken,
    }


@lru_cache(maxsize=64)
def _head(problems: tuple[Problem, ...], working: tuple[Work, ...], *, known: bool) -> str:
    verdicts = [verdict.value for verdict in WORST_FIRST]
    return render("state.html", problems=problems, known=known, working=working, verdicts=verdicts)


def _card(card: Card, place: int, links: Links, held: Mapping[str, str], *, by_model: bool) -> dict[str, Any]:
    """A card with its place in the list, worst first; alike ones in the order of the rules."""
    went_in = tuple(map(links.link, card.depends_on))
    levers = tuple(map(links.link, card.levers))
    made, mark = _card_made(card, went_in, levers, links.name, has_chapter=card.subject in links.chapters)
    shown = {
        "slug": card.slug,
        "verdict": card.verdict,
        "rank": 1_000_000 * rank(card) + place,
        "screened": by_model,
        "mark": mark,
    }
    return shown if held.get(card.slug) == mark else {**shown, **made}


@lru_cache(maxsize=1024)
def _card_made(
    card: Card, went_in: tuple[Link, ...], levers: tuple[Link, ...], name: str, *, has_chapter: bool
) -> tuple[dict[str, Any], str]:
    """One card and a mark that tells it from others; most stay as they were from key to key.

    Its bar and numbers come by themselves, so that nothing else is made anew where only they changed.
    """
    numbers = [card.margin, card.value, card.value_unit, card.limit, card.limit_unit]
    html = _outline(card.slug, card.verdict, card.question, card.about, numbered=bool(card.value))
    cells = [card.bar, *(numbers if card.value else [card.why])]
    why = render("why.html", card=card, went_in=went_in, levers=levers, name=name, has_chapter=has_chapter)
    mark = blake2b("\0".join((html, *cells, why)).encode(), digest_size=9).hexdigest()
    return {"html": html, "cells": cells, "why": why}, mark


@lru_cache(maxsize=512)
def _outline(slug: str, verdict: str, question: str, about: str, *, numbered: bool) -> str:
    """A card without its bar and numbers: the same from key to key, where only these change."""
    values = {"slug": slug, "verdict": verdict, "question": question, "about": about}
    return render("card.html", **values, numbered=numbered)


def counts(snapshot: Snapshot) -> list[tuple[str, int]]:
    """How many findings of each verdict, worst first."""
    cards = [card for part in snapshot.parts for card in part.cards]
    found = [
        (verdict, sum(card.verdict == verdict for card in cards))
        for verdict in (each.value for each in WORST_FIRST)
    ]
    return [each for each in found if each[1]]


@dataclass(frozen=True, slots=True)
class Work:
    """What is to be said of a subject that is not answered yet."""

    subject: str
    status: str
    known: bool
    broke: str = ""
    doing: str = ""
    share: float | None = None
    spent: str = ""


def news_of(part: Part) -> dict[str, Any]:
    """What is being done for a subject that is worked on, the share done, and the time it has taken."""
    spent = f"{time.monotonic() - part.since:.0f} s"
    return {
        "subject": part.subject,
        "doing": "" if part.told is None else part.told.doing,
        "share": None if part.told is None else round(part.told.share, 3),
        "spent": spent if part.took is None else f"{spent} of about {part.took:.0f} s",
    }


def _working(part: Part) -> Work | None:
    if part.status in ("fresh", "coming"):
        return None
    broke = part.broke.strip().splitlines()[-1] if part.broke else ""
    work = Work(part.subject, part.status, part.known, broke)
    return replace(work, **news_of(part)) if part.status == "running" else work
