"""Declaring, finding and running validation cases."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Case:
    """One published value and the function that computes ours.

    `expected` and `tolerance` are in `unit`; the tolerance is absolute. `reason` says in a sentence
    why the tolerance is what it is. `needs` names a general-purpose library that must be installed
    for the case to run (a development dependency).
    """

    name: str
    subject: str
    expected: float
    unit: str
    tolerance: float
    source: str
    reason: str
    compute: Callable[[], float] = field(compare=False)
    needs: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A case after running: `computed` is `None` when a needed library is absent."""

    case: Case
    computed: float | None

    @property
    def deviation(self) -> float | None:
        return None if self.computed is None else self.computed - self.case.expected

    @property
    def inside(self) -> bool | None:
        """Whether the deviation is within the tolerance; `None` when it could not be run."""
        return None if self.deviation is None else abs(self.deviation) <= self.case.tolerance


_CASES: dict[str, Case] = {}


def case(
    name: str,
    *,
    expected: float,
    unit: str,
    source: str,
    reason: str,
    tolerance: float | None = None,
    relative: float | None = None,
    needs: str = "",
) -> Callable[[Callable[[], float]], Case]:
    """Declare a case. Give `tolerance` (absolute) or `relative` (times |expected|), not both.

    `source` is a reference key with page, clause, table or example; `common practice, no source`
    and `from memory` stand in it where that is the truth.
    """
    if (tolerance is None) == (relative is None):
        raise ValueError(f"{name}: give either tolerance or relative")
    allowed = tolerance if tolerance is not None else abs(expected) * (relative or 0.0)

    def declare(compute: Callable[[], float]) -> Case:
        subject = compute.__module__.rsplit(".", 1)[-1]
        made = Case(name, subject, expected, unit, allowed, source, reason, compute, needs)
        if name in _CASES:
            raise ValueError(f"two validation cases are called {name!r}")
        _CASES[name] = made
        return made

    return declare


def all_cases() -> tuple[Case, ...]:
    """Every case of every module in this room, in module and declaration order."""
    package = importlib.import_module("orthostat.validation")
    for module in sorted(found.name for found in pkgutil.iter_modules(package.__path__)):
        importlib.import_module(f"orthostat.validation.{module}")
    return tuple(_CASES.values())


def run(case: Case) -> Outcome:
    """Compute one case; a missing reference library leaves it open, any other error is a bug."""
    if case.needs:
        try:
            importlib.import_module(case.needs)
        except ModuleNotFoundError:
            return Outcome(case, None)
    return Outcome(case, float(case.compute()))
