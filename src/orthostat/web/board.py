"""What is known of one design at one moment: which answers are fresh, stale, or on their way."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, field
from typing import Literal

from orthostat.base.problems import Problem
from orthostat.presentation.cards import Card
from orthostat.presentation.scene import Scene
from orthostat.web.asking import Design, Told
from orthostat.web.typists import Run

_LOOK = 5.0
"""A design that is looked at is asked for at least as often as this [s]."""

Status = Literal["fresh", "coming", "waiting", "running", "stopped", "broken"]


@dataclass(frozen=True, slots=True)
class Part:
    """The answers of one subject."""

    subject: str
    status: Status = "waiting"
    """`coming`: it will be answered at once; `waiting`: beside the page."""
    cards: tuple[Card, ...] = ()
    screened: tuple[Card, ...] = ()
    """Answers to this design by the quick model, until those of the full one are there."""
    known: bool = False
    """Whether there are answers at all, of this design or of one before it."""
    version: int = 0
    """That of the board when its answers last changed."""
    since: float = 0.0
    """When it began to run (monotonic) [s]."""
    took: float | None = None
    """How long it took last time [s]."""
    broke: str = ""
    told: Told | None = None
    """How far it has come while it runs."""

    @property
    def stale(self) -> bool:
        """Whether its answers are of a design before this one."""
        return self.status != "fresh"

    @property
    def shown(self) -> tuple[Card, ...]:
        """Its cards, those of the quick model in the place of the full one's."""
        quick = {card.slug: card for card in self.screened}
        full = tuple(quick.pop(card.slug, card) for card in self.cards)
        return (*full, *quick.values())


@dataclass(frozen=True, slots=True)
class Snapshot:
    """All answers of one column at one moment."""

    version: int
    design: Design
    problems: tuple[Problem, ...]
    parts: tuple[Part, ...]
    more: bool = False
    """Whether more is coming at once."""
    scene: Scene | None = None
    """The picture, where it has just come."""

    @property
    def settled(self) -> bool:
        """Whether nothing more will come by itself."""
        return bool(self.problems) or all(
            part.status in ("fresh", "stopped", "broken") for part in self.parts
        )


@dataclass
class Board:
    """The answers to one design, as they come."""

    design: Design
    parts: dict[str, Part]
    problems: tuple[Problem, ...] = ()
    run: Run | None = None
    coming: bool = False
    """Whether quick answers are on their way."""
    answered: bool = False
    """Whether one has come, if only that the document can't be read."""
    rehearsed: bool = False
    """Whether the workers have gone through all of it, or are to."""
    offered: frozenset[str] = frozenset()
    """What was asked for as quick since the design was changed."""
    version: int = 0
    changed: float = field(default_factory=time.monotonic)
    watched: float = -math.inf
    """When somebody last looked at it (monotonic) [s]."""

    @property
    def was_opened(self) -> bool:
        """Whether somebody ever looked at it: long work waits for that."""
        return self.watched > -math.inf

    @property
    def is_watched(self) -> bool:
        """Whether somebody looks at it now."""
        return time.monotonic() - self.watched < _LOOK
