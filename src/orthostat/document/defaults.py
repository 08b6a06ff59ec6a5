"""Default units of a document: what a bare number is read in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from orthostat.base.problems import Problem
from orthostat.base.units import KINDS, UnitFault, dimension_of, resolve
from orthostat.document.lines import Lines
from orthostat.document.shop import Units


def default_units(data: Mapping[str, Any], inherited: Mapping[str, str] | None = None) -> dict[str, str]:
    """Kind -> unit from a document's `[units]` table, over what it inherits; unusable entries are
    told by `unit_problems`.
    """
    units = dict(inherited or {})
    table = data.get("units")
    if isinstance(table, Mapping):
        for kind in _kinds():
            unit = table.get(kind)
            if isinstance(unit, str):
                # where it is told as a fault, the numbers that lean on it are not told as well
                units[kind] = unit if _fault(kind, unit) is None else KINDS[kind].metric[-1]
    return units


def unit_problems(data: Mapping[str, Any], text: str, shown: str) -> list[Problem]:
    """Default units that are no unit of their kind."""
    table = data.get("units")
    if not isinstance(table, Mapping):
        return []
    problems = []
    for kind in _kinds():
        unit = table.get(kind)
        if isinstance(unit, str) and (fault := _fault(kind, unit)) is not None:
            line = Lines(text).line_of(("units", kind))
            problems.append(
                Problem(
                    shown, fault, f"units.{kind}", line, f"`{unit}`", f"such as `{KINDS[kind].metric[-1]}`"
                )
            )
    return problems


def _kinds() -> list[str]:
    return [kind for kind in Units.model_fields if kind in KINDS]


def _fault(kind: str, unit: str) -> str | None:
    try:
        found = resolve(unit)
    except UnitFault as fault:
        return str(fault)
    if found.dimension != dimension_of(kind):
        return f"is not a unit of {kind}"
    return None
