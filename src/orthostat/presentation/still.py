"""The column as a line picture: by itself for the book, on what it stands on for the page and its paper."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from orthostat.model.bodies import Body, Role
from orthostat.model.column import Column
from orthostat.presentation.blocks import Figure
from orthostat.presentation.scene import words_of
from orthostat.presentation.solid_picture import picture

_INSIDE = frozenset({Role.FILL, Role.ANCHOR, Role.SLEEVE, Role.VOID_FORMER, Role.SCREW, Role.STUD, Role.PIN})


@lru_cache(maxsize=8)
def alone(column: Column) -> Figure:
    """The column with its stations. Cover and chapter show the same picture: it is drawn once."""
    bodies = _shown(column)
    caption = "The column with its stations" if column.stations else "The column"
    words = f"{len(bodies)} bodies seen from the front right and above"
    return Figure("whole", picture(_in_place(bodies), column.name), caption, words)


def standing(column: Column) -> Figure:
    """The column with its stations on what it stands on."""
    words = words_of(column)
    bodies = [*column.platforms, *_shown(column)]
    drawn = picture(
        _in_place(bodies), "The column on its pallet", width=420.0, height=420.0, description=words
    )
    return Figure("column", drawn, "The column on its pallet, from the front right and above.", words)


def _shown(column: Column) -> list[Body]:
    own = [_outside(body) for body in column.bodies if body.role not in _INSIDE]
    return own + [body for station in column.stations for body in station.bodies]


def _outside(body: Body) -> Body:
    """A lid without the lip that the walls hide."""
    return replace(body, adds=body.adds[:1]) if body.role is Role.LID else body


def _in_place(bodies: list[Body]) -> list[tuple[Body, tuple[float, float, float]]]:
    return [(body, (0.0, 0.0, 0.0)) for body in bodies]
