"""Findings one by one, as a sheet shows them: the answer in a line, and why when it is opened."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache

from orthostat.base.findings import Finding, Sense, Verdict
from orthostat.base.showing import System, show_pair
from orthostat.presentation import svg
from orthostat.presentation.findings import WORST_FIRST, reasons, share_of
from orthostat.presentation.marks import verdict_colour

BAR = (96.0, 10.0)
"""Width and height of a margin bar [px]."""
_LIMIT_AT = 32.0
"""Where the limit stands on the bar [px]."""
_FULL = 1.0
"""The margin that fills the bar."""


@dataclass(frozen=True, slots=True)
class Card:
    """One finding in words and numbers as they are shown; no reader of it does arithmetic."""

    slug: str
    subject: str
    verdict: str
    question: str
    about: str
    """What the worst answer is about, such as a face or a stud."""
    value: str
    value_unit: str
    limit: str
    """With its sign."""
    limit_unit: str
    margin: str
    bar: str
    """The margin as a small picture (SVG)."""
    why: str
    reasons: tuple[str, ...]
    """The same sentences as the command line prints."""
    levers: tuple[str, ...]
    source: str
    hangs_on: str
    depends_on: tuple[str, ...]
    """Document paths of what went in, or of what is missing."""


def cards(findings: Iterable[Finding], system: System) -> tuple[Card, ...]:
    """One card a finding, in the order given."""
    return tuple(_card(finding, system) for finding in findings)


_ORDER = {verdict.value: rank for rank, verdict in enumerate(WORST_FIRST)}


def rank(card: Card) -> int:
    """Its verdict's place, the worst being 0."""
    return _ORDER[card.verdict]


@lru_cache(maxsize=2048)
def _card(finding: Finding, system: System) -> Card:
    """Kept: most findings stay as they are from key to key."""
    rule, row = finding.rule, finding.worst
    value = value_unit = limit = limit_unit = ""
    if row.value is not None and row.limit is not None:
        value_text, limit_text = show_pair(row.value, row.limit, rule.kind, system)
        value, _, value_unit = _set(value_text).partition(" ")
        limit, _, limit_unit = _set(limit_text).partition(" ")
        limit = ("≤ " if rule.sense is Sense.AT_MOST else "≥ ") + limit
    return Card(
        slug=finding.slug,
        subject=rule.subject,
        verdict=finding.verdict.value,
        question=rule.question,
        about=row.subject,
        value=value,
        value_unit=value_unit,
        limit=limit,
        limit_unit=limit_unit,
        margin=share_of(finding),
        bar=margin_bar(row.margin, finding.verdict, _margin_in_words(finding)),
        why=row.why,
        reasons=tuple(reasons(finding, system)),
        levers=rule.levers,
        source=rule.source,
        hangs_on=rule.hangs_on,
        depends_on=row.depends_on,
    )


def _set(text: str) -> str:
    """A unit as it is set in print: kg·m² for kg*m^2."""
    return text.replace("^2", "²").replace("^3", "³").replace("*", "·")


def _margin_in_words(finding: Finding) -> str:
    if finding.margin is None:
        return "margin unknown"
    return (
        f"the limit is zero: {finding.verdict.value}"
        if finding.share is None
        else f"margin {share_of(finding)}"
    )


def margin_bar(margin: float | None, verdict: Verdict, words: str) -> str:
    """How far from the limit: to the right of the tick when it is kept, to the left when it is not."""
    width, height = BAR
    colour = verdict_colour(verdict.value)
    top, bottom = 2.0, height - 2.0
    parts = []
    if margin is None:
        parts.append(
            svg.rectangle(
                (0.5, top), (width - 0.5, bottom), stroke=colour, width=0.75, stroke_dasharray="2 2"
            )
        )
    else:
        share = max(-1.0, min(1.0, margin / _FULL))
        end = _LIMIT_AT + share * (width - _LIMIT_AT if share > 0.0 else _LIMIT_AT)
        fill = "none" if verdict is Verdict.TIGHT else colour
        parts.append(svg.rectangle((_LIMIT_AT, top), (end, bottom), fill=fill, stroke=colour, width=1.0))
        if abs(margin) > _FULL:  # an arrow head: the bar goes on beyond its end
            tip, back = (width, width - 4.0) if margin > 0.0 else (0.0, 4.0)
            arrow = [(back, top - 1.5), (tip, height / 2.0), (back, bottom + 1.5)]
            parts.append(svg.polygon(arrow, fill=colour, stroke=None))
    title, drawn = svg.element("title", words).render(), "".join(part.render() for part in parts)
    head, middle, tail = _frame()
    return f"{head}{title}{middle}{drawn}{tail}"


@cache
def _frame() -> tuple[str, str, str]:
    """What all bars have in common: what stands before their title, before the bar and after it."""
    width, height = BAR
    here = "\0"
    made = svg.element(
        "svg",
        here,
        svg.line((0.0, height - 0.5), (width, height - 0.5), stroke=svg.HAIRLINE, width=0.5),
        here,
        svg.line((_LIMIT_AT, 0.0), (_LIMIT_AT, height), stroke=svg.INK, width=1.25),
        width=width,
        height=height,
        viewBox=f"0 0 {svg.number(width)} {svg.number(height)}",
        role="img",
    )
    head, middle, tail = made.render().split(here)
    return head, middle, tail
