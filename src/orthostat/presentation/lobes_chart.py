"""Stability lobes: limit depth over spindle speed, with the planned cut marked on it."""

from __future__ import annotations

from math import isfinite, pi

import numpy as np
import numpy.typing as npt

from orthostat.analyses.stiffness import Milling, Solved, lobes
from orthostat.base.dimensions import RadianPerSecond
from orthostat.base.showing import System, show
from orthostat.presentation.blocks import Figure
from orthostat.presentation.chart import Chart, Limit, Line

Floats = npt.NDArray[np.float64]

_UNPLANNED = RadianPerSecond(2.0 * pi * 25.0)
"""Middle of the speeds shown where no speed is planned: 1500 turns a minute."""


def lobes_figure(solved: Solved, number: int, system: System) -> Figure:
    """Limit depth of one milling cut, for the likely damping and both ends of its range."""
    milling = solved.inputs.millings[number]
    cut = solved.inputs.cuts[milling.cut]
    middle = milling.speed or _UNPLANNED
    ends = (RadianPerSecond(0.35 * middle), RadianPerSecond(2.0 * middle))
    unit, scale = ("in", 1.0 / 0.0254) if system == "inch" else ("mm", 1e3)
    curves = []
    tool = milling.tool_mode
    with_tool = f", with the mode of {milling.tool}" if tool else ""
    for name, body in (
        ("likely damping", solved.ports),
        ("low damping", solved.ports_at(0)),
        ("high damping", solved.ports_at(1)),
    ):
        found = lobes(body, cut, milling, slowest=ends[0], fastest=ends[1])
        curves.append((name, found.speeds, found.depths))
    if tool is not None:
        found = lobes(solved.ports, cut, milling, slowest=ends[0], fastest=ends[1], tool=tool)
        curves.append((f"likely{with_tool}", found.speeds, found.depths))
    top = _top(curves, milling)
    lines = tuple(
        Line(name, tuple(_points(speeds, depths, top, scale)), width=1.8 if k == 0 else 1.0)
        for k, (name, speeds, depths) in enumerate(curves)
    )
    limits = []
    if milling.depth is not None:
        limits.append(Limit(milling.depth * scale, f"planned {show(milling.depth, 'length', system)}"))
    if milling.speed is not None:
        limits.append(Limit(_rpm(milling.speed), f"planned {_rpm(milling.speed):.0f} rpm", vertical=True))
    words = (
        f"Limit depth of {milling.tool} at {cut.name}, engaging {milling.way}; chatter lies above the lines."
    )
    chart = Chart(
        f"{milling.tool}: {cut.name}, {milling.way}",
        "spindle speed, rpm",
        f"limit depth, {unit}",
        lines,
        tuple(limits),
        x_range=(_rpm(ends[0]), _rpm(ends[1])),
        y_range=(0.0, top * scale),
        description=words,
    )
    return Figure(f"lobes-{number + 1}", chart.render(), words, words)


def _rpm(speed: float) -> float:
    return speed * 60.0 / (2.0 * pi)


def _top(curves: list[tuple[str, Floats, Floats]], milling: Milling) -> float:
    lows = [float(depths.min()) for _, _, depths in curves if isfinite(float(depths.min()))]
    reach = [5.0 * min(lows)] if lows else []
    if milling.depth is not None:
        reach.append(1.6 * milling.depth)
    return max(reach, default=0.01)


def _points(speeds: Floats, depths: Floats, top: float, scale: float) -> list[tuple[float, float]]:
    shown = np.where(np.isfinite(depths), depths, 2.0 * top)
    return [
        (_rpm(s), min(d, 2.0 * top) * scale) for s, d in zip(speeds.tolist(), shown.tolist(), strict=True)
    ]
