"""Each cut of each station: reached or not, what blocks it, and the least clearance along it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, tan

import numpy as np
import shapely

from orthostat.analyses.reach import maps, minkowski, positions
from orthostat.analyses.reach.maps import Blocker, Ground
from orthostat.analyses.reach.positions import Obstacles, Task
from orthostat.analyses.reach.scene import TOUCH, within
from orthostat.analyses.reach.stack import Member
from orthostat.base.dimensions import Metre, Radian, Ratio
from orthostat.model.stations import Cut
from orthostat.model.tools import CutterKind, Tool

CAP = maps.CAP
"""Clearances are looked for up to this [m] and given as at least that much beyond."""
STEP = 1e-5
"""How closely the least clearance of a milled region is solved for [m]."""


@dataclass(frozen=True, slots=True)
class Room:
    """Least clearance of a part of the stack along a cut [m] and what comes nearest."""

    clearance: Metre
    nearest: str
    at: tuple[float, float] | None = None
    """Where the spindle axis then stands (u, v) [m]; in a milled region, with the most room that its
    tightest ground leaves.
    """


@dataclass(frozen=True)
class CutReach:
    """The answer for one cut, in the view it is made from."""

    station: str
    cut: Cut
    tool: Tool
    b_angle: Radian
    task: Task
    ground: Ground | None
    """For a milled region; `None` for holes."""
    share: Ratio
    """Of the region's area, or of the places."""
    blockers: tuple[Blocker, ...]
    missed: tuple[tuple[float, float], ...]
    """Hole places out of reach (u, v) [m]."""
    holder: Room | None
    """Room beside shank and holder; `None` where nothing stands within `CAP`."""
    head: Room | None
    """Room beside the nose and head; `None` where nothing stands within `CAP` or no head is stated."""
    unknown: tuple[str, ...]

    @property
    def reached(self) -> bool:
        return self.share >= 1.0


def tip_of(cut: Cut, tool: Tool, plane: Metre) -> Metre:
    """Z of the tip [m] for a cut measured from `plane` [m]: a drill's bottom is that of its full diameter,
    so the tip goes deeper by the height of its point r / tan(σ/2).
    """
    point = 0.0
    if cut.kind == "drill" and tool.kind is CutterKind.DRILL and tool.point_angle is not None:
        point = tool.flat_radius / tan(0.5 * tool.point_angle)
    return Metre(plane + cut.bottom - point)


def removed_by(cut: Cut, tool: Tool, chord: Metre) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Ground that is gone before a wider shank or holder follows: the region, or the holes."""
    if cut.region is not None:
        return (cut.region.points,)
    radius = Metre(max(tool.flat_radius, 0.5 * (cut.start_diameter or 0.0)))
    return tuple(tuple(within(place, radius, chord)) for place in cut.places)


def cut_reach(station: str, cut: Cut, task: Task, b_angle: Radian) -> CutReach:
    """Work out one cut: a region to mill, or places for the axis."""
    made = _milled(task, cut) if cut.region is not None else _holes(task, cut)
    found, share, blockers, missed, holder, head = made
    return CutReach(
        station,
        cut,
        task.tool,
        b_angle,
        task,
        found,
        share,
        blockers,
        missed,
        holder,
        head,
        positions.unknowns(task),
    )


_Answer = tuple[
    Ground | None, Ratio, tuple[Blocker, ...], tuple[tuple[float, float], ...], Room | None, Room | None
]


def _milled(task: Task, cut: Cut) -> _Answer:
    wanted = shapely.Polygon(() if cut.region is None else cut.region.points)
    found = maps.ground(task, wanted, mill=True)
    blockers = tuple(
        {(b.name, b.member): b for part in maps.blamed(task, found) for b in part.blockers}.values()
    )
    window = maps.grown_box(wanted, max(task.tool.flat_radius, task.tool.largest_radius))
    every = positions.obstacles(task, window, spare=CAP)
    free = positions.permitted(task, window, every.only(every.of(lambda m: m.cuts)))
    holder, head = (_milled_room(task, wanted, every, free, head=head) for head in (False, True))
    return found, found.share, blockers, (), holder, head


def _milled_room(
    task: Task, wanted: shapely.Polygon, every: Obstacles, free: shapely.Geometry, *, head: bool
) -> Room | None:
    """The greatest clearance with which the whole region can still be milled, and what limits it; `free` is
    where the cutting part may be.
    """
    part = every.only(every.of(lambda m: not m.cuts and m.head is head))
    if not len(part.outlines):
        return None
    if not maps.covers(task, free, wanted):
        return None
    if maps.covers(task, _left(free, part, CAP), wanted):
        return None
    low, high = -max(member.reach for member in part.members) - CAP, float(CAP)
    while high - low > STEP:
        middle = 0.5 * (low + high)
        if maps.covers(task, _left(free, part, middle), wanted):
            low = middle
        else:
            high = middle
    nearest, ground = _tightest(task, free, part, Metre(low + 2.0 * STEP), wanted)
    return Room(Metre(low), nearest, nearest_axis(_left(free, part, low), ground))


def nearest_axis(allowed: shapely.Geometry, ground: shapely.Geometry) -> tuple[float, float] | None:
    """The axis position among `allowed` nearest to the middle of some ground; `None` where there is none."""
    if allowed.is_empty or ground.is_empty:
        return None
    point = shapely.get_parts(ground)[0].representative_point()
    u, v = shapely.get_coordinates(shapely.shortest_line(allowed, point))[0].tolist()
    return float(u), float(v)


def _left(free: shapely.Geometry, part: Obstacles, room: float) -> shapely.Geometry:
    shapes = positions.forbidden(part, np.full(len(part.outlines), room))
    shapes = shapes[shapely.intersects(free, shapes)]
    return shapely.difference(free, shapely.union_all(shapes)) if len(shapes) else free


def _tightest(
    task: Task, free: shapely.Geometry, part: Obstacles, room: Metre, wanted: shapely.Polygon
) -> tuple[str, shapely.Geometry]:
    """Name of the obstacle that takes the most of the lost ground once `room` is asked for, and that."""
    there = minkowski.covered(_left(free, part, room), task.tool.flat_radius, wanted, task.scene.chord)
    lost = shapely.difference(wanted, there)
    shapes = positions.forbidden(part, np.full(len(part.outlines), room))
    lost = lost if not lost.is_empty else wanted
    near = shapely.distance(lost, shapes)
    return task.scene.solids[int(part.owner[int(np.argmin(near))])].name, lost


def _holes(task: Task, cut: Cut) -> _Answer:
    places = np.array(cut.places, dtype=float).reshape(-1, 2)
    window = maps.grown_box(shapely.MultiPoint(places), maps.EDGE)
    against = positions.obstacles(task, window, sweep=True, spare=CAP)
    gaps = positions.gaps(against, places)
    short = gaps < against.room()[None, :] - TOUCH
    blocked = positions.z_blocked(task)
    outside = ~shapely.dwithin(positions.travel(task.limits), shapely.points(places), TOUCH)
    missed = short.any(axis=1) | outside | bool(blocked)
    count = max(len(places), 1)
    blockers = [Blocker(blocked, "travel", "", Ratio(1.0))] if blocked else []
    blockers += _travel_names(task, places)
    for row in np.argsort(gaps.min(axis=0, initial=inf)):
        if short[:, row].any():
            solid, member = (
                task.scene.solids[int(against.owner[row])],
                against.members[int(against.member[row])],
            )
            blockers.append(Blocker(solid.name, "body", member.name, Ratio(float(short[:, row].mean()))))
    named = {(b.name, b.member): b for b in reversed(blockers)}
    rooms = [_hole_room(task, against, gaps, places, head=head) for head in (False, True)]
    return (
        None,
        Ratio(1.0 - float(missed.sum()) / count),
        tuple(reversed(named.values())),
        tuple((float(u), float(v)) for u, v in places[missed]),
        rooms[0],
        rooms[1],
    )


def _travel_names(task: Task, places: np.typing.NDArray[np.float64]) -> list[Blocker]:
    limits = task.limits
    checks = (
        ("X travel, low end", limits.x_low, 0, -1.0),
        ("X travel, high end", limits.x_high, 0, 1.0),
        ("Y travel, low end", limits.y_low, 1, -1.0),
        ("Y travel, high end", limits.y_high, 1, 1.0),
    )
    made = []
    for name, limit, axis, sign in checks:
        if limit is not None:
            beyond = sign * (places[:, axis] - limit) > TOUCH
            if beyond.any():
                made.append(Blocker(name, "travel", "", Ratio(float(beyond.mean()))))
    return made


def _hole_room(
    task: Task,
    against: Obstacles,
    gaps: np.typing.NDArray[np.float64],
    places: np.typing.NDArray[np.float64],
    *,
    head: bool,
) -> Room | None:
    def wanted(member: Member) -> bool:
        return not member.cuts and member.head is head

    rows = np.flatnonzero(against.of(wanted))
    if not len(rows):
        return None
    least = gaps[:, rows].min(axis=0)
    nearest = int(np.argmin(least))
    if least[nearest] > CAP:
        return None
    name = task.scene.solids[int(against.owner[rows[nearest]])].name
    u, v = places[int(np.argmin(gaps[:, rows[nearest]]))].tolist()
    return Room(Metre(float(least[nearest])), name, (float(u), float(v)))


def room_at(found: CutReach, at: tuple[float, float], *, head: bool) -> Room | None:
    """Room beside shank and holder, or beside nose and head, with the axis at one place of a cut (for a hole
    all the way in); `None` where nothing stands within `CAP`.
    """
    window = maps.grown_box(shapely.Point(at), maps.EDGE)
    against = positions.obstacles(found.task, window, sweep=found.cut.region is None, spare=CAP)
    places = np.array([at], dtype=float)
    return _hole_room(found.task, against, positions.gaps(against, places), places, head=head)
