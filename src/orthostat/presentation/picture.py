"""Everything that was asked to be laid over the picture of one design."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.stiffness import Stiffness
from orthostat.base.findings import NotStated
from orthostat.base.showing import System
from orthostat.presentation.painting import Chosen, Option, Painting, Picture, ToolShown, cut_key
from orthostat.presentation.painting_body import mode_words, paint_mode, paint_movement
from orthostat.presentation.painting_reach import paint_reach
from orthostat.presentation.tool_at_cut import tool_at

MODES = 10
"""Modes offered before any are worked out."""


def picture_of(evaluation: Any, chosen: Chosen, system: System) -> Picture:
    """What was chosen, and what can be chosen; what can't be known is said instead."""
    unknown: list[str] = []
    painting: Painting | None = None
    tool: ToolShown | None = None
    if chosen.paint:
        try:
            painting = _painted(evaluation, chosen, system)
        except NotStated as gap:
            unknown.append(f"This can't be painted: {gap}.")
    if chosen.cut:
        try:
            tool = tool_at(evaluation, chosen.cut, chosen.place, system)
        except NotStated as gap:
            unknown.append(f"The tool can't be shown: {gap}.")
    cuts = _cuts(evaluation)
    return Picture(
        tools=_tools(evaluation),
        moves=(
            Option("", "the hardest cut"),
            *cuts,
            *(Option(each.name, each.name, "a force at") for each in evaluation.column.stations),
        ),
        modes=_modes(evaluation, system, solved=painting is not None and chosen.paint != "reach"),
        cuts=cuts,
        painting=painting,
        tool=tool,
        unknown=tuple(unknown),
    )


def _painted(evaluation: Any, chosen: Chosen, system: System) -> Painting:
    if chosen.paint == "reach":
        reach = evaluation.reach
        if not reach.inputs.tools or not reach.inputs.faces:
            raise NotStated("tools", reason="the shop states no tools" if reach.inputs.faces else "no faces")
        names = {tool.name for tool in reach.inputs.tools}
        tool = chosen.of if chosen.of in names else ""
        return paint_reach(reach, tool, system, loaded=chosen.loaded)
    stiffness: Stiffness = evaluation.stiffness
    if chosen.paint == "movement":
        return paint_movement(stiffness, evaluation.column, chosen.of, system)
    return paint_mode(stiffness, evaluation.column, chosen.of, system)


def _tools(evaluation: Any) -> tuple[Option, ...]:
    named = tuple(Option(tool.name, tool.name) for tool in evaluation.column.tools)
    return (Option("", "every tool"), *named) if named else ()


def _cuts(evaluation: Any) -> tuple[Option, ...]:
    return tuple(
        Option(cut_key(station.name, cut.name), cut.name, station.name)
        for station in evaluation.column.stations
        for cut in station.cuts
    )


def _modes(evaluation: Any, system: System, *, solved: bool) -> tuple[Option, ...]:
    if not solved:
        return tuple(Option(str(number), f"mode {number}") for number in range(1, MODES + 1))
    modes = evaluation.stiffness.governing_quick.modes
    return tuple(Option(str(k), mode_words(k, mode, system)) for k, mode in enumerate(modes, 1))
