"""The rules: one file a subject, one function a finding, each declared with `@finding`.

A new rule is found by itself: `all_rules` walks the modules of this room. The rules of a subject stand
in the module of its name, or in one whose name begins with it (`pour_cure` for `pour`), so that a check
of one subject imports no other.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from orthostat.base.findings import Rule

SUBJECTS = (
    "fit", "handling", "body", "joining", "reach", "truing", "loads", "hold", "fixture", "stiffness", "pour",
)  # fmt: skip
"""Order in which a shop asks; subjects not named here follow in alphabetical order."""

FIRST = frozenset({"fit", "handling", "reach", "loads", "hold", "fixture", "pour"})
"""Subjects whose quick answers come before those of all others while somebody types."""


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule, in the order of subjects, then of declaration. Raises on two of one slug."""
    names = {_subject_of(module) for module in _modules()}
    rank = {subject: index for index, subject in enumerate(SUBJECTS)}
    ordered = sorted(names, key=lambda subject: (rank.get(subject, len(rank)), subject))
    return tuple(rule for subject in ordered for rule in rules_of(subject))


@cache
def rules_of(subject: str) -> tuple[Rule, ...]:
    """The rules of one subject in the order of declaration; none where there is no such subject.

    Raises on two of one slug, and on a rule that stands in the module of another subject.
    """
    found: dict[str, Rule] = {}
    for module in _modules():
        if _subject_of(module) != subject:
            continue
        for value in vars(importlib.import_module(f"{__name__}.{module}")).values():
            if not isinstance(value, Rule):
                continue
            if found.setdefault(value.slug, value) is not value:
                raise ValueError(f"two rules are called {value.slug}")
            if value.subject != subject:
                raise ValueError(f"{value.slug} stands in the module of another subject: {module}")
    return tuple(found.values())


def _modules() -> list[str]:
    return sorted(each.name for each in pkgutil.iter_modules(__path__))


def _subject_of(module: str) -> str:
    return module.split("_", 1)[0]
