"""All loads of a design: every cut on its own, so that one unknown cut leaves the others standing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np

from orthostat.analyses.loads.handling import handling
from orthostat.analyses.loads.holes import boring_forces, drilling_forces, tapping_forces
from orthostat.analyses.loads.inputs import CutInput, Inputs, Practice
from orthostat.analyses.loads.milling import milling_forces
from orthostat.analyses.loads.placing import placed
from orthostat.analyses.loads.result import Array, CutForces, CutLoads, Extreme, OpenCut, Result
from orthostat.base.findings import NotStated
from orthostat.base.frames import PLAN
from orthostat.model.tools import Tool

_FORCES: dict[str, Callable[[CutInput, Tool, Practice], CutForces]] = {
    "face": milling_forces,
    "shoulder": milling_forces,
    "slot": milling_forces,
    "thread": milling_forces,
    "drill": drilling_forces,
    "bore": boring_forces,
    "tap": tapping_forces,
}


def solve(inputs: Inputs) -> Result:
    """Loads of every cut and motion. Never raises for what is missing; it is listed as open."""
    known: list[CutLoads] = []
    unknown: list[OpenCut] = []
    for given in inputs.cuts:
        try:
            known.append(cut_loads(given, inputs.practice))
        except NotStated as gap:
            unknown.append(OpenCut.of(given.station, given.cut.name, given.cut.path, gap))
    moved = ((), (), None) if inputs.moving is None else handling(inputs.moving)
    return Result(tuple(known), tuple(unknown), *moved, extremes_of(known), inputs.spindle)


@lru_cache(maxsize=256)
def cut_loads(given: CutInput, practice: Practice) -> CutLoads:
    """Loads of one cut; raises `NotStated` for what is missing."""
    if given.tool is None:
        raise NotStated(f"{given.cut.path}.tool", reason=f"there is no tool called {given.cut.tool}")
    if given.cut.kind not in _FORCES:
        raise NotStated(f"{given.cut.path}.kind", reason=f"no force rule for a cut of kind {given.cut.kind}")
    anywhere = replace(given.cut, name="", places=(), region=None)
    return placed(given, _forces(replace(given, station="", cut=anywhere, frame=PLAN), given.tool, practice))


@lru_cache(maxsize=128)
def _forces(given: CutInput, tool: Tool, practice: Practice) -> CutForces:
    """At the tool, wherever it stands: alike cuts push alike."""
    return _FORCES[given.cut.kind](given, tool, practice)


def extremes_of(cuts: list[CutLoads]) -> tuple[Extreme, ...]:
    """The worst load of every kind, with the cut and the case that make it."""
    found: list[Extreme] = []
    rows = np.concatenate([cut.wrenches for cut in cuts]) if cuts else np.zeros((0, 6))
    kinds: tuple[tuple[str, str, Array], ...] = (
        ("horizontal force", "force", np.hypot(rows[:, 0], rows[:, 2])),
        ("downward force", "force", -rows[:, 1]),
        ("upward force", "force", rows[:, 1]),
        ("tilting moment about the base", "moment", np.hypot(rows[:, 3], rows[:, 5])),
        ("moment about the B axis", "moment", np.abs(rows[:, 4])),
    )
    for name, kind, size in kinds:
        k = int(np.argmax(size)) if cuts else 0
        if cuts and size[k] > 0.0:
            cut, place = _load_at(cuts, k)
            found.append(Extreme(name, float(size[k]), kind, cut.path, cut.labels[place]))
    demands: tuple[tuple[str, Callable[[CutLoads], float], str], ...] = (
        ("spindle torque", lambda cut: cut.forces.torque_mean * cut.forces.span.high, "moment"),
        ("power at the cutter", lambda cut: (cut.forces.power or 0.0) * cut.forces.span.high, "power"),
    )
    for name, demand, kind in demands:
        top = max(cuts, key=demand, default=None)
        if top is not None and demand(top) > 0.0:
            found.append(Extreme(name, demand(top), kind, top.path, top.forces.kind))
    return tuple(found)


def _load_at(cuts: list[CutLoads], k: int) -> tuple[CutLoads, int]:
    """The cut of the k-th of all loads, and the load's place in it."""
    ends = np.cumsum([len(cut.labels) for cut in cuts])
    of = int(np.searchsorted(ends, k, side="right"))
    return cuts[of], k - int(ends[of]) + len(cuts[of].labels)
