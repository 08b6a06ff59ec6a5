"""A tool with the spindle behind it, as coaxial cylinders and boxes along the tip's Z axis."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from orthostat.analyses.reach.inputs import Clearances, Limits
from orthostat.analyses.reach.scene import Array
from orthostat.base.dimensions import Metre
from orthostat.model.tools import MILLS, Tool


@dataclass(frozen=True, slots=True)
class Member:
    """One cylinder or box of the stack over `start..end` [m] from the tip toward the spindle."""

    name: str
    """`cutter`, `shank`, `holder` or `head`, for people."""
    start: Metre
    end: Metre
    radius: Metre | None
    low: tuple[float, float] = (0.0, 0.0)
    high: tuple[float, float] = (0.0, 0.0)
    """For a box: x and y ranges about the axis [m]."""
    cuts: bool = False
    head: bool = False

    @property
    def reach(self) -> float:
        """How far it extends from the axis along X or Y at most [m]."""
        if self.radius is not None:
            return self.radius
        return max(abs(self.low[0]), abs(self.low[1]), abs(self.high[0]), abs(self.high[1]))


@lru_cache(maxsize=256)
def members(tool: Tool, limits: Limits) -> tuple[Member, ...]:
    """The tool's steps and, where gauge length and head are stated, the nose and head behind them."""
    largest = max((step.radius for step in tool.steps if step.cuts), default=tool.largest_radius)
    made = [
        Member(
            "cutter" if step.cuts else ("shank" if step.radius <= largest else "holder"),
            step.start,
            step.end,
            step.radius,
            cuts=step.cuts,
        )
        for step in tool.steps
    ]
    if tool.gauge_length is not None:
        gauge = tool.gauge_length
        made += [
            Member("head", Metre(gauge + part.start), Metre(gauge + part.end), part.radius, head=True)
            for part in limits.head_cylinders
        ]
        made += [
            Member(
                "head",
                Metre(gauge + part.start),
                Metre(gauge + part.end),
                None,
                (part.x_low, part.y_low),
                (part.x_high, part.y_high),
                head=True,
            )
            for part in limits.head_boxes
        ]
    return tuple(made)


def axial(member: Member, clearances: Clearances) -> float:
    """Clearance to keep along Z [m]."""
    return clearances.cutting_axial if member.cuts else clearances.axial


def radial(member: Member, clearances: Clearances) -> float:
    """Clearance to keep from the axis out [m]."""
    return clearances.cutting_radial if member.cuts else clearances.radial


@lru_cache(maxsize=256)
def extents(tool: Tool, limits: Limits, clearances: Clearances) -> Array:
    """Where each member of a stack begins and ends from the tip on, and how far it comes from the axis, with
    its clearances [m]; shape (3, members).
    """
    stack = members(tool, limits)
    kept = [(axial(m, clearances), radial(m, clearances)) for m in stack]
    ends = [(m.start - a, m.end + a, m.reach + r) for m, (a, r) in zip(stack, kept, strict=True)]
    made = np.array(ends).reshape(-1, 3).T
    made.setflags(write=False)
    return made


def is_mill(tool: Tool) -> bool:
    """Whether the tool cuts sideways: its ground is what its disc covers, not where its axis goes."""
    return tool.kind in MILLS
