"""The table turns while a tool is in the spindle: how far back the tool must be."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from orthostat.analyses.reach.inputs import Limits
from orthostat.analyses.reach.scene import TOUCH, Array, Scene, view
from orthostat.analyses.reach.stack import members
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.tools import Tool


@dataclass(frozen=True, slots=True)
class Turning:
    """One tool while the table turns, with the spindle axis anywhere in its travel."""

    tool: Tool
    swing: Metre
    """Largest radius about B of what the tool can meet at its heights [m]."""
    widest: str
    """Name of what sets it."""
    part: str
    """Part of the stack that comes nearest: `cutter`, `holder`, `head` …"""
    tip_needed: Metre
    """Least Z of the tip from the B axis at which the table may turn, without clearance [m]."""
    tip_retracted: Metre | None
    """Z of the tip with the spindle all the way back; `None` where that is not stated."""
    clearance: Metre | None
    """Room left between stack and swing circle with the spindle all the way back [m]."""


@lru_cache(maxsize=8)
def _swings(scene: Scene) -> Array:
    """Largest radius about B of each solid [m]."""
    seen = view(scene, Radian(0.0))
    found = np.maximum.reduceat(np.hypot(seen.points[:, 0], seen.points[:, 2]), seen.first[:-1])
    return np.asarray(found)


@lru_cache(maxsize=128)
def turning(scene: Scene, tool: Tool, limits: Limits) -> Turning:
    """How far back one tool must be for the table to turn with it in the spindle.

    Every solid sweeps a ring about B; a part of the stack at a height meets those whose heights it
    can get to. The axis is taken at X = 0, where it is worst, and at every Y of the travel.
    """
    seen = view(scene, Radian(0.0))
    radii = _swings(scene)
    y_low = -np.inf if limits.y_low is None else limits.y_low
    y_high = np.inf if limits.y_high is None else limits.y_high
    stack = members(tool, limits)
    ends = [(-m.low[1], m.high[1]) if m.radius is None else (m.radius, m.radius) for m in stack]
    below, above = np.array(ends).reshape(-1, 2).T[:, :, None]
    meets = (seen.high[:, 1] > y_low - below + TOUCH) & (seen.low[:, 1] < y_high + above - TOUCH)
    met = np.where(meets, radii, -np.inf)
    furthest, reach = met.argmax(axis=1).tolist(), met.max(axis=1).tolist()
    needed, swing, widest, part = -np.inf, 0.0, "", ""
    for member, index, radius in zip(stack, furthest, reach, strict=True):
        if radius - member.start > needed:
            needed, swing, widest, part = radius - member.start, radius, scene.solids[index].name, member.name
    back = None
    if limits.nose_far is not None and tool.gauge_length is not None:
        back = Metre(limits.nose_far - tool.gauge_length)
    tip_needed = Metre(needed if np.isfinite(needed) else 0.0)
    return Turning(
        tool,
        Metre(swing),
        widest,
        part,
        tip_needed,
        back,
        None if back is None else Metre(back - tip_needed),
    )
