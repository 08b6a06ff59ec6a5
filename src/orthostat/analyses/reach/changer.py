"""The tool changer's limits: which of them a tool breaks, and which nobody stated."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import pi

from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, NewtonMetre
from orthostat.model.machine import Magazine
from orthostat.model.tools import Tool


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit beside a tool's own value, SI; `None` where not stated."""

    name: str
    kind: str
    """Kind of quantity for showing."""
    value: float | None
    limit: float | None
    note: str = ""


def widest(tool: Tool) -> Metre:
    """Largest diameter of the assembly in front of the gauge line [m]."""
    return Metre(2.0 * max([tool.largest_radius, *(step.radius for step in tool.steps)]))


def tilting_moment(tool: Tool) -> NewtonMetre | None:
    """Weight times the overhang of the centre of mass from the gauge line, with the assembly taken as
    one solid of even density: an estimate, since holders are bored and cutters are hollow.
    """
    if tool.mass is None or tool.gauge_length is None or not tool.steps:
        return None
    volumes = [pi * s.radius**2 * (s.end - s.start) for s in tool.steps]
    if sum(volumes) <= 0.0:
        return None
    density = KilogramPerCubicMetre(tool.mass / sum(volumes))
    overhang = sum(
        density * volume * (tool.gauge_length - 0.5 * (s.start + s.end))
        for volume, s in zip(volumes, tool.steps, strict=True)
    )
    return NewtonMetre(STANDARD_GRAVITY * overhang)


def limits_of(tool: Tool, magazine: Magazine) -> tuple[Limit, ...]:
    """All the changer's limits beside the tool's values."""
    beside_full = magazine.diameter
    empty = magazine.diameter_beside_empty
    needs_empty = empty is not None and (beside_full is None or widest(tool) > beside_full)
    note = "the pockets beside it must stay empty" if needs_empty else "beside full pockets"
    return (
        Limit("diameter", "length", widest(tool), empty if needs_empty else beside_full, note),
        Limit("length", "length", tool.gauge_length, magazine.length, "from the gauge line"),
        Limit("mass", "mass", tool.mass, magazine.mass),
        Limit("tilting moment", "moment", tilting_moment(tool), magazine.moment, "even density assumed"),
    )


@lru_cache(maxsize=128)
def refused(tool: Tool, magazine: Magazine) -> tuple[str, ...]:
    """Names of the stated limits that the tool breaks."""
    return tuple(
        each.name
        for each in limits_of(tool, magazine)
        if each.value is not None and each.limit is not None and each.value > each.limit
    )
