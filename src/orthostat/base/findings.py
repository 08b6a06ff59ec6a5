"""Findings: engineering answers with value, limit, margin and verdict.

A rule is declared once with `@finding(...)` on the function that measures it. The function takes
the evaluation and returns one or more `Measured` (one for each subject: a face, a stud, a cut), or
`None` where the question does not arise; what is not stated is raised as `NotStated` by `stated()`
and becomes the verdict `unknown`. Margin and verdict are worked out here and nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, TypeVar

Value = TypeVar("Value")


class Verdict(str, Enum):
    """The four answers, worst first."""

    FAILS = "fails"
    UNKNOWN = "unknown"
    TIGHT = "tight"
    HOLDS = "holds"


_ORDER = {Verdict.FAILS: 0, Verdict.UNKNOWN: 1, Verdict.TIGHT: 2, Verdict.HOLDS: 3}


class Sense(str, Enum):
    """Which side of the limit is wanted."""

    AT_MOST = "at most"
    AT_LEAST = "at least"


class NotStated(Exception):
    """Inputs that a question needs were not stated, or lie outside a rule's range of validity.

    Carries document key paths (`missing`) and a sentence (`reason`). Control flow inside the
    engine: it always ends as an `unknown` verdict.
    """

    def __init__(self, *missing: str, reason: str = "") -> None:
        self.missing = missing
        self.reason = reason
        super().__init__(reason or "not stated: " + ", ".join(missing))

    @property
    def sentence(self) -> str:
        """The reason, and every key path that would supply what is missing and that it does not name."""
        if not self.missing:
            return self.reason
        listed = ", ".join(key for key in dict.fromkeys(self.missing) if key not in self.reason)
        if not self.reason:
            return f"not stated: {listed}"
        return f"{self.reason} (see {listed})" if listed else self.reason


def stated(value: Value | None, path: str) -> Value:
    """`value`, or `NotStated` naming the key path that would supply it."""
    if value is None:
        raise NotStated(path)
    return value


@dataclass(frozen=True, slots=True)
class Gap:
    """A figure of a result that is not known, with what is missing; the figures beside it stand."""

    missing: tuple[str, ...]
    reason: str = ""

    def ask(self) -> NotStated:
        """What to raise when the figure is wanted."""
        return NotStated(*self.missing, reason=self.reason)


def known(value: Value | Gap) -> Value:
    """The value, or `NotStated` saying what is missing."""
    if isinstance(value, Gap):
        raise value.ask()
    return value


@dataclass(frozen=True, slots=True)
class Measured:
    """One measurement of a rule, in SI.

    `scale` is what the distance to the limit is divided by to give the margin, where the limit
    itself will not do (a limit of zero); default |limit|.
    """

    value: float
    limit: float
    why: str
    subject: str = ""
    depends_on: tuple[str, ...] = ()
    scale: float | None = None


@dataclass(frozen=True, slots=True)
class Open:
    """A subject whose answer is unknown, among others that are known."""

    why: str
    subject: str = ""
    missing: tuple[str, ...] = ()


def opened(gap: NotStated, subject: str = "") -> Open:
    """An open row that says what is missing."""
    return Open(gap.sentence, subject, gap.missing)


Answer = Measured | Open | None
Answers = Answer | Sequence[Measured | Open]


@dataclass(frozen=True, slots=True)
class Rule:
    """The declaration of a finding."""

    slug: str
    question: str
    wanted: str
    sense: Sense
    kind: str
    """Kind of quantity (see `base.units.KINDS`), which gives the unit."""
    source: str
    levers: tuple[str, ...]
    hangs_on: str
    """Document path the finding stands beside."""
    tight: float | None
    """Margin below which it is `tight`; `None` to take the shop's wanted margin, 0 for never."""
    measure: Callable[[Any], Answers] = field(compare=False)
    long: bool = False
    """Whether its answer takes seconds (a full finite-element model, the heat of a cure)."""
    beside: bool = False
    """Whether it is asked of the same envelope made otherwise, side by side."""
    screened: bool = False
    """Whether a quick model answers it too, before the long work that verifies it is done."""

    @property
    def subject(self) -> str:
        """The part of the slug before the dot, such as `fit`."""
        return self.slug.split(".", 1)[0]


@dataclass(frozen=True, slots=True)
class Row:
    """One subject's answer within a finding."""

    subject: str
    verdict: Verdict
    value: float | None
    limit: float | None
    margin: float | None
    why: str
    depends_on: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule applied to one design: its worst row, and all rows."""

    rule: Rule
    worst: Row
    rows: tuple[Row, ...]

    @property
    def slug(self) -> str:
        return self.rule.slug

    @property
    def verdict(self) -> Verdict:
        return self.worst.verdict

    @property
    def margin(self) -> float | None:
        return self.worst.margin

    @property
    def share(self) -> float | None:
        """The margin where it tells more than the value does.

        `None` for a limit of zero that nobody wants more than kept: the value itself is the distance to it,
        and two bodies that touch are as good as two apart.
        """
        return None if self.rule.tight == 0.0 and self.worst.limit == 0.0 else self.margin


def finding(
    slug: str,
    *,
    question: str,
    wanted: str,
    sense: Sense,
    kind: str,
    source: str,
    hangs_on: str,
    levers: Iterable[str] = (),
    tight: float | None = None,
    long: bool = False,
    beside: bool = False,
    screened: bool = False,
) -> Callable[[Callable[[Any], Answers]], Rule]:
    """Declare a rule beside the function that measures it; the function becomes a `Rule`."""

    def declare(measure: Callable[[Any], Answers]) -> Rule:
        return Rule(
            slug=slug,
            question=question,
            wanted=wanted,
            sense=sense,
            kind=kind,
            source=source,
            levers=tuple(levers),
            hangs_on=hangs_on,
            tight=tight,
            measure=measure,
            long=long,
            beside=beside,
            screened=screened,
        )

    return declare


def margin_of(measured: Measured, sense: Sense) -> float:
    """Distance to the limit on the wanted side, over the scale; negative when it fails.

    Continuous in value and limit. Raises `ValueError` for a zero limit with no scale.
    """
    scale = abs(measured.limit) if measured.scale is None else measured.scale
    if scale == 0.0:
        raise ValueError("a limit of zero needs a scale")
    distance = measured.limit - measured.value if sense is Sense.AT_MOST else measured.value - measured.limit
    return distance / scale


ROUNDING = 1e-9
"""A margin this far below zero is rounding of a value that equals its limit, not a failure."""


def verdict_of(margin: float, tight: float) -> Verdict:
    """`fails` below zero, `tight` below the wanted margin, else `holds`; NaN is `unknown`."""
    if math.isnan(margin):
        return Verdict.UNKNOWN
    if margin < -ROUNDING:
        return Verdict.FAILS
    return Verdict.TIGHT if margin < tight - ROUNDING else Verdict.HOLDS


def apply(rule: Rule, evaluation: Any, wanted_margin: float) -> Finding | None:
    """The finding of `rule` on `evaluation`; `None` where the question does not arise."""
    try:
        answers = rule.measure(evaluation)
    except NotStated as gap:
        answers = opened(gap)
    if answers is None:
        return None
    listed = [answers] if isinstance(answers, Measured | Open) else list(answers)
    if not listed:
        return None
    tight = wanted_margin if rule.tight is None else rule.tight
    rows = tuple(_row(rule, answer, tight) for answer in listed)
    worst = min(rows, key=_rank)
    return Finding(rule, worst, rows)


def _rank(row: Row) -> tuple[int, float]:
    """Worst first; margins that differ by rounding alone are alike, and the first of them counts."""
    margin = row.margin or 0.0
    return _ORDER[row.verdict], round(margin / ROUNDING) * ROUNDING if math.isfinite(margin) else margin


def _row(rule: Rule, answer: Measured | Open, tight: float) -> Row:
    if isinstance(answer, Open):
        unsaid = ", ".join(key for key in dict.fromkeys(answer.missing) if key not in answer.why)
        why = answer.why
        if unsaid:
            why += f" (see {unsaid})" if "not stated" in why else f"; not stated: {unsaid}"
        return Row(answer.subject, Verdict.UNKNOWN, None, None, None, why, answer.missing)
    margin = margin_of(answer, rule.sense)
    return Row(
        answer.subject,
        verdict_of(margin, tight),
        answer.value,
        answer.limit,
        margin,
        answer.why,
        answer.depends_on,
    )
