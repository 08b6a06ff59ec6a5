"""From the loads of cuts to the forces and milling cuts that the stiffness analysis asks for."""

from __future__ import annotations

from math import atan2, hypot

import numpy as np

from orthostat.analyses.loads import CutInput, CutLoads, Result
from orthostat.analyses.loads import Inputs as LoadsInputs
from orthostat.analyses.loads.milling import engagements
from orthostat.analyses.stiffness.column_inputs import body_turn, turned_vector
from orthostat.analyses.stiffness.inputs import CutForce, Milling, ToolMode
from orthostat.base.dimensions import Metre, Radian, Ratio
from orthostat.base.findings import NotStated
from orthostat.model.column import Column
from orthostat.model.tools import MILLS, Tool


def forces_of(
    column: Column, given: LoadsInputs, loads: Result
) -> tuple[tuple[CutForce, ...], tuple[Milling, ...]]:
    """One force for each place of each known cut, and one milling for each way a mill may engage.

    Forces are the largest across and along the spindle over all positions of the cutter, at the high end of
    their range. A milling cut is asked about at its highest place, where the column yields most.
    """
    turn = body_turn(column)
    numbers = {station.name: k for k, station in enumerate(column.stations)}
    by_path = {cut.cut.path: cut for cut in given.cuts}
    cuts: list[CutForce] = []
    millings: list[Milling] = []
    for known in loads.cuts:
        first = len(cuts)
        cuts.extend(_forces(known, by_path[known.path], numbers[known.station], turn))
        highest = max(range(first, len(cuts)), key=lambda k: cuts[k].at[1])
        millings.extend(_millings(highest, known, by_path[known.path], given))
    return tuple(cuts), tuple(millings)


def _forces(known: CutLoads, given: CutInput, place: int, turn: float) -> list[CutForce]:
    actions = known.forces.actions
    in_plane = max(actions, key=lambda action: hypot(action.force[0], action.force[1]))
    across = hypot(in_plane.force[0], in_plane.force[1])
    direction = (
        None if in_plane.turns or across == 0.0 else Radian(atan2(in_plane.force[1], in_plane.force[0]))
    )
    where = sorted(set(map(tuple, np.round(known.at, 7).tolist())))
    first, out = (turned_vector(axis, turn) for axis in (given.frame.first, given.frame.third))
    axial = max(abs(action.force[2]) for action in actions)
    torque = max(abs(action.moment[2]) for action in actions)
    return [
        CutForce(
            name=known.name,
            path=known.path,
            place=place,
            at=turned_vector((x, y, z), turn),
            across=first,
            out=out,
            in_plane=across,
            axial=axial,
            direction=direction,
            tolerance=given.cut.tolerance,
            torque=torque,
        )
        for x, y, z in where
    ]


def _millings(highest: int, known: CutLoads, given: CutInput, loads: LoadsInputs) -> list[Milling]:
    cut, tool = given.cut, given.tool
    if known.forces.kind != "milling" or tool is None or tool.kind not in MILLS or tool.teeth is None:
        return []
    width = Metre(tool.diameter) if cut.kind == "slot" else cut.width
    if width is None:
        return []
    entering = tool.entering_angle if tool.entering_angle is not None else Radian(0.5 * np.pi)
    depth = cut.pass_depth if cut.pass_depth is not None else Metre(cut.top - cut.bottom)
    return [
        Milling(
            cut=highest,
            teeth=tool.teeth,
            tangential=known.forces.specific_force,
            radial=loads.practice.edge_normal.likely,
            axial=Ratio(0.0),
            entering=entering,
            entry=way.entry,
            exit=way.leave,
            depth=depth,
            speed=known.forces.speed,
            cutting_length=tool.cutting_length,
            feed=cut.feed_direction,
            tool=tool.name,
            tool_mode=tool_mode(tool),
            way=way.name,
        )
        for way in engagements(cut.kind, width=width, diameter=Metre(tool.diameter))
    ]


def tool_mode(tool: Tool) -> ToolMode | None:
    """The tool side's own mode; `None` where not all of it is stated."""
    if tool.mode_frequency is None or tool.mode_stiffness is None or tool.mode_damping is None:
        return None
    if not 0.0 < tool.mode_damping < 1.0:
        raise NotStated(f"{tool.path}.mode_damping", reason="a damping ratio lies between 0 and 1")
    return ToolMode(tool.mode_frequency, tool.mode_stiffness, tool.mode_damping)
