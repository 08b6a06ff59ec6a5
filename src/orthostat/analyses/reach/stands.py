"""Where a tool may be looked at along a cut: each hole; a milled region at its tightest and its middle."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.reach.cuts import CutReach, Room, nearest_axis, room_at
from orthostat.analyses.reach.stack import Member, members


@dataclass(frozen=True, slots=True)
class Stand:
    """One position of the spindle axis (u, v) [m] in the view of the cut."""

    name: str
    at: tuple[float, float]
    reached: bool


def stands(found: CutReach) -> tuple[Stand, ...]:
    """The positions to look at, in order: holes as the document lists them; for a milled region what is out
    of reach, then where holder and head have least room, then its middle.
    """
    if found.cut.region is None:
        count = len(found.cut.places)
        return tuple(
            Stand(f"place {number} of {count}", place, place not in found.missed)
            for number, place in enumerate(found.cut.places, 1)
        )
    return tuple(_milled(found))


def tightest(found: CutReach) -> int:
    """Number of the stand to show first: one out of reach, else the one with least room."""
    every = stands(found)
    for number, each in enumerate(every):
        if not each.reached:
            return number
    rooms = [room for room in (found.holder, found.head) if room is not None and room.at is not None]
    if rooms:
        least = min(rooms, key=lambda room: room.clearance)
        return next((number for number, each in enumerate(every) if each.at == least.at), 0)
    return 0


def _milled(found: CutReach) -> list[Stand]:
    ground = found.ground
    if ground is None:
        return []
    made = []
    if not ground.lost.is_empty:
        part = ground.lost_parts[ground.largest]
        point = part.representative_point()
        near = nearest_axis(ground.permitted, part)
        made.append(Stand("as near as it gets to what it misses", near or (point.x, point.y), reached=False))
    for name, room in (("shank and holder", found.holder), ("nose and head", found.head)):
        if room is not None and room.at is not None:
            made.append(Stand(f"where {name} have least room", room.at, reached=True))
    middle = nearest_axis(ground.permitted, ground.wanted)
    if middle is not None:
        reached = not ground.lost.intersects(ground.wanted.representative_point())
        name = "at the middle of the region" if reached else "as near as it gets to the middle of the region"
        made.append(Stand(name, middle, reached))
    return made


@dataclass(frozen=True, slots=True)
class Standing:
    """The tool at one stand: what comes nearest there, and the stack itself from the tip on."""

    stand: Stand
    holder: Room | None
    head: Room | None
    stack: tuple[Member, ...]


def standing(found: CutReach, stand: Stand) -> Standing:
    """The tool of a cut at one of its stands."""
    return Standing(
        stand,
        room_at(found, stand.at, head=False),
        room_at(found, stand.at, head=True),
        members(found.task.tool, found.task.limits),
    )
