"""The column against the machine, in one result."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.fit.envelope import (
    Beyond,
    Outermost,
    ToolAtRest,
    beyond,
    door_sides,
    outline_piece,
    radii,
    resting_tools,
    tops,
)
from orthostat.analyses.fit.landing import Landing, column_landings
from orthostat.analyses.fit.standing import Lift, Tip, lifts, tips
from orthostat.analyses.fit.travel import CutTravel, Index, cut_travels, index_angles
from orthostat.analyses.solids import Solids
from orthostat.model.column import Column


@dataclass(frozen=True, slots=True)
class Inputs:
    """The column and the results of its solids."""

    column: Column
    solids: Solids


def inputs_from(column: Column, solids: Solids) -> Inputs:
    """The inputs of one column."""
    return Inputs(column, solids)


@dataclass(frozen=True, slots=True)
class Fit:
    """Measurements to hold against the limits of machine, pallet and hands.

    Lengths in metres, angles in radians, column frame; see each part's own class.
    """

    radii: tuple[Outermost, ...]
    tops: tuple[Outermost, ...]
    door_sides: tuple[Outermost, ...]
    changer: tuple[Beyond, ...]
    tools: tuple[ToolAtRest, ...]
    travels: tuple[CutTravel, ...]
    indexes: tuple[Index, ...]
    landings: tuple[Landing, ...]
    tips: tuple[Tip, ...]
    lifts: tuple[Lift, ...]


def solve(inputs: Inputs) -> Fit:
    """Measure one column. Never raises for what is not stated; the checks do."""
    column, solids = inputs.column, inputs.solids
    load = (*solids.load_pieces, outline_piece(column))
    machine = column.machine
    travels = cut_travels(column)
    return Fit(
        radii=radii(load),
        tops=tops(load),
        door_sides=door_sides(load),
        changer=()
        if machine is None or machine.changer_envelope is None
        else beyond(load, machine.changer_envelope, machine.changer_b),
        tools=resting_tools(column),
        travels=travels,
        indexes=index_angles(column, travels),
        landings=column_landings(column),
        tips=tips(column, solids),
        lifts=lifts(column, solids),
    )
