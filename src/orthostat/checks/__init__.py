"""The rules: one file a subject, one function a finding, each declared with `@finding`.

A new rule is found by itself: `all_rules` walks the modules of this room.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from orthostat.base.findings import Rule

SUBJECTS = (
    "fit", "handling", "body", "reach", "truing", "loads", "hold", "fixture", "stiffness", "pour",
)  # fmt: skip
"""Order in which a shop asks; subjects not named here follow in alphabetical order."""


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule, in the order of subjects, then of declaration. Raises on two of one slug."""
    found: dict[str, Rule] = {}
    package = importlib.import_module("orthostat.checks")
    for module in sorted(each.name for each in pkgutil.iter_modules(package.__path__)):
        for value in vars(importlib.import_module(f"orthostat.checks.{module}")).values():
            if isinstance(value, Rule) and found.setdefault(value.slug, value) is not value:
                raise ValueError(f"two rules are called {value.slug}")
    rank = {subject: index for index, subject in enumerate(SUBJECTS)}
    return tuple(
        sorted(
            found.values(),
            key=lambda rule: (
                rank.get(rule.subject, len(rank)),
                rule.subject if rule.subject not in rank else "",
            ),
        )
    )
