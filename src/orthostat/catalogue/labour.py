"""Times of bench and machine work, and how much of it needs a person and a machine."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Kilogram, Metre, Ratio, Second
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationRow(Row):
    """The time one of an operation takes: hard ends and the likely value."""

    low: Second
    likely: Second
    high: Second
    per: str
    """What one is: `hole`, `piece`, `square metre`, `kilogram`, `column` …"""
    labour: Ratio
    """Share of the time that a person is bound."""
    machine: Ratio
    """Share of the time that the machining centre is taken."""
    once: bool = False
    """Done once for a batch of columns alike."""
    stage: str = "make"
    """`make`, `pour`, `finish` or `true`; what comes before `finish` is lost with a failed pour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowanceRow(Row):
    """A length or share of stock that is needed beyond the piece."""

    length: Metre | None = None
    share: Ratio | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EyeRow(Row):
    """A lifting eye by its thread: working load limit [kg] pulled along its axis, and at 45°."""

    axial: Kilogram
    slanting: Kilogram
    system: str


OPERATIONS = Table("labour", OperationRow)
ALLOWANCES = Table("allowances", AllowanceRow)
EYES = Table("lifting_eyes", EyeRow)
