"""Room between holes for screws and dowels that join plates and every other hole of the same piece."""

from __future__ import annotations

import numpy as np

from orthostat.analyses.fit.clashes import box_gaps, overlapping_or_nearest
from orthostat.analyses.fit.inside import Room, other_holes
from orthostat.analyses.fit.separation import separation
from orthostat.analyses.solids.extents import prism_extents
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Prism
from orthostat.model.column import Column


def joiner_clearances(column: Column) -> tuple[Room, ...]:
    """Every pair of holes that meet, one of them a screw's or dowel's; where none do, the nearest pair."""
    mine: list[tuple[str, str, float, Prism]] = []
    for joint in column.joints:
        for each in joint.joiners:
            for what, prism in (("head", each.counterbore), ("hole", each.hole), ("thread", each.bored)):
                if prism is not None:
                    said = f"{what} of {each.name}" if each.what == "screw" else f"bore of {each.name}"
                    mine.append((said, joint.path, float(each.diameter), prism))
    if not mine:
        return ()
    owners = [_owner(name) for name, *_ in mine]
    others = other_holes(column)
    prisms = [prism for *_, prism in mine] + [prism for _, prism in others]
    names = [name for name, *_ in mine] + [name for name, _ in others]
    gaps = box_gaps([prism_extents(prism)[:6] for prism in prisms], len(mine))
    same = np.equal.outer(np.array(owners), np.array([*owners, *([""] * len(others))]))
    gaps[same] = np.inf
    pairs = overlapping_or_nearest(gaps, lambda i, j: separation(prisms[i], prisms[j]))
    return tuple(Room(names[i], names[j], Metre(gap), Metre(mine[i][2]), mine[i][1]) for i, j, gap in pairs)


def _owner(name: str) -> str:
    """The screw or dowel that a hole is made for: its own holes may meet."""
    return name.split(" of ", 1)[1]
