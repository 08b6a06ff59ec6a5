"""Room between holes for screws and dowels that join plates and every other hole of the same piece."""

from __future__ import annotations

from orthostat.analyses.fit.inside import HoleBeside, Room, other_holes, rooms_beside
from orthostat.base.dimensions import Metre
from orthostat.model.column import Column


def joiner_clearances(column: Column) -> tuple[Room, ...]:
    """Every pair of holes that meet, one of them a screw's or dowel's; where none do, the nearest pair."""
    mine = tuple(
        HoleBeside(
            f"{what if each.what == 'screw' else 'bore'} of {each.name}",
            joint.path,
            prism,
            Metre(each.diameter),
            each.name,
        )
        for joint in column.joints
        for each in joint.joiners
        for what, prism in (("head", each.counterbore), ("hole", each.hole), ("thread", each.bored))
        if prism is not None
    )
    return rooms_beside(mine, tuple(other_holes(column))) if mine else ()
