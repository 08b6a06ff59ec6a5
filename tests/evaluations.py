"""A small evaluation of one column for tests of checks: solids and fit, and the shop's limits."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from functools import cached_property

from orthostat.analyses import fit, solids
from orthostat.analyses.fit.consistency import Consistency, solve_consistency
from orthostat.base.dimensions import Kilogram, Metre, Radian
from orthostat.base.findings import Finding, Rule, apply
from orthostat.model.column import Column

_HAND_LIFT, _TRANSPORT_TILT, _HOLE_TOLERANCE = Kilogram(25.0), Radian(0.3), Metre(0.5e-3)


@dataclass(frozen=True)
class Limits:
    """What the shop wants; every one may be missing."""

    hand_lift: Kilogram | None = _HAND_LIFT
    transport_tilt: Radian | None = _TRANSPORT_TILT
    hole_tolerance: Metre | None = _HOLE_TOLERANCE
    margin: float = 0.1


@dataclass(frozen=True)
class Fitted:
    """What the checks of fit, handling and body ask for."""

    column: Column
    limits: Limits = Limits()

    @cached_property
    def solids(self) -> solids.Solids:
        return solids.solve(solids.inputs_from(self.column))

    @cached_property
    def fit(self) -> fit.Fit:
        return fit.solve(fit.inputs_from(self.column, self.solids))

    @cached_property
    def consistency(self) -> Consistency:
        return solve_consistency(fit.inputs_from(self.column, self.solids))


ROOMS = ("fit", "handling", "body")


def rules() -> dict[str, Rule]:
    """The rules of those rooms by slug."""
    modules = (importlib.import_module(f"orthostat.checks.{room}") for room in ROOMS)
    return {v.slug: v for module in modules for v in vars(module).values() if isinstance(v, Rule)}


def findings(column: Column, limits: Limits | None = None) -> dict[str, Finding]:
    """Every finding of those rooms that arises for a column."""
    evaluation = Fitted(column, limits or Limits())
    found = {slug: apply(rule, evaluation, evaluation.limits.margin) for slug, rule in rules().items()}
    return {slug: one for slug, one in found.items() if one is not None}
