"""What is laid over the picture of the column: what may be asked, and what is sent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from itertools import groupby
from typing import Any

from orthostat.base.showing import System
from orthostat.presentation.painting import GRAIN, Chosen, Option, Painting, Picture, ToolShown
from orthostat.web.asking import Answer, Ask, Design
from orthostat.web.lanes import Lane, Stopped
from orthostat.web.refusals import BadRequest
from orthostat.web.rendering import blocks_html, render

PAINTS = ("", "reach", "movement", "mode")
_LONGEST = 400


class Painter:
    """A worker of its own for what is painted, started when first needed."""

    def __init__(self, at_once: Callable[[Ask], Answer]) -> None:
        self._lane = Lane()
        self._at_once = at_once
        """Answers what costs next to nothing: what there is to choose from."""

    def close(self) -> None:
        """Stop the worker."""
        self._lane.close()

    def picture(self, design: Design, asked: dict[str, str]) -> dict[str, Any]:
        """What is laid over the picture of a design."""
        chosen = chosen_of(asked)
        ask = Ask("picture", design, chosen=chosen)
        if not chosen.paint and not chosen.cut:
            return picture_shown(self._at_once(ask))
        try:
            return picture_shown(self._lane.ask(ask))
        except Stopped:
            return picture_shown(Answer(broke="stopped"))


def chosen_of(asked: dict[str, str]) -> Chosen:
    """What a request asks to see; raises `BadRequest`."""
    paint, of, cut = (asked.get(key, "") for key in ("paint", "of", "cut"))
    place = asked.get("place", "")
    if paint not in PAINTS or len(of) > _LONGEST or len(cut) > _LONGEST:
        raise BadRequest("This can't be painted.")
    if place and not (place.isascii() and place.isdigit() and len(place) < 6):
        raise BadRequest("place is a whole number.")
    return Chosen(paint, of, asked.get("loaded") == "1", cut, int(place) if place else None)


def picture_shown(answer: Answer) -> dict[str, Any]:
    """The answer as plain data and HTML."""
    if answer.picture is None:
        if answer.problems:
            return {"unreadable": True}
        said = answer.broke.strip().splitlines()[-1] if answer.broke else "no answer"
        return {"unknown": [f"This could not be worked out: {said}."]}
    picture, system = answer.picture, answer.system
    return {
        "grain": GRAIN,
        "choices": _choices(picture),
        "painting": None if picture.painting is None else _painting(picture.painting, system),
        "tool": None if picture.tool is None else _tool(picture.tool, system),
        "unknown": list(picture.unknown),
    }


def _choices(picture: Picture) -> dict[str, Any]:
    return {
        "reach": _grouped(picture.tools),
        "movement": _grouped(picture.moves),
        "mode": _grouped(picture.modes),
        "cuts": _grouped(picture.cuts),
    }


def _grouped(options: tuple[Option, ...]) -> list[dict[str, Any]]:
    return [
        {"group": group, "options": [[each.value, each.words] for each in members]}
        for group, members in groupby(options, key=lambda option: option.group)
    ]


def _painting(painting: Painting, system: System) -> dict[str, Any]:
    return {
        "kind": painting.kind,
        "title": painting.title,
        "shades": [band.shade for band in painting.bands],
        "legend": render("legend.html", bands=painting.bands, title=painting.title, drawn=painting.drawn),
        "words": blocks_html(painting.blocks, system, "painting"),
        "areas": [asdict(area) for area in painting.areas],
        "hatch": painting.hatch,
        "surface": None if painting.surface is None else asdict(painting.surface),
        "labels": [asdict(label) for label in painting.labels],
        "swings": painting.swings,
    }


def _tool(tool: ToolShown, system: System) -> dict[str, Any]:
    return {
        "title": tool.title,
        "turn": tool.turn,
        "tip": tool.tip,
        "parts": [asdict(part) for part in tool.parts],
        "near": tool.near,
        "verdict": tool.verdict,
        "places": tool.places,
        "place": tool.place,
        "legend": render("legend_tool.html", tool=tool),
        "words": blocks_html(tool.blocks, system, "tool"),
    }
