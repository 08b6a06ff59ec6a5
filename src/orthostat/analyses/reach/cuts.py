"""Each cut of each station: reached or not, what blocks it, and the least clearance along it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf, tan

import numpy as np
import shapely

from orthostat.analyses.reach import alike, maps, minkowski, positions
from orthostat.analyses.reach.maps import Blocker, Ground
from orthostat.analyses.reach.positions import Obstacles, Task
from orthostat.analyses.reach.scene import TOUCH, Array, Indices, within
from orthostat.analyses.reach.stack import members
from orthostat.base.dimensions import Metre, Radian, Ratio
from orthostat.model.bodies import Point2
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


@lru_cache(maxsize=192)
def removed_by(cut: Cut, tool: Tool, chord: Metre) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Ground that is gone before a wider shank or holder follows: the region, or the holes."""
    if cut.region is not None:
        return (cut.region.points,)
    radius = Metre(max(tool.flat_radius, 0.5 * (cut.start_diameter or 0.0)))
    return tuple(tuple(within(place, radius, chord)) for place in cut.places)


def cut_reach(station: str, cut: Cut, task: Task, b_angle: Radian) -> CutReach:
    """Work out one cut: a region to mill, or places for the axis. Cuts that look alike are worked out once,
    without the names of what stands there.
    """
    milled = cut.region is not None
    ground = cut.places if cut.region is None else cut.region.points
    shown = alike.nameless_task(task)
    if shown is None:
        found, owner = _answer(task, ground, milled=milled), np.arange(len(task.scene.solids))
    else:
        shared, owner = shown
        found = _answer(shared, alike.to_the_picometre(ground), milled=milled)
    stated: dict[Point2 | None, Point2] = dict(
        zip(alike.to_the_picometre(cut.places), cut.places, strict=True)
    )
    own = found.ground
    if own is not None and shown is not None:
        against = replace(own.against, owner=owner[own.against.owner])
        own = replace(own, against=against, shared=own)
    return CutReach(
        station,
        cut,
        task.tool,
        b_angle,
        task,
        own,
        found.share,
        _blockers(task, found, owner) if own is None else _lost_to(task, own),
        tuple(stated.get(place, place) for place in found.missed),
        _room(task, found.holder, owner, stated),
        _room(task, found.head, owner, stated),
        positions.unknowns(task),
    )


@dataclass(frozen=True, slots=True)
class _Nearest:
    """Least clearance of a part of the stack [m]; the rows that have it, each by its member and solid with
    where the axis then stands.
    """

    clearance: Metre
    rows: tuple[tuple[int, int, Point2 | None], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """What is found of a cut, solids by their numbers."""

    ground: Ground | None
    share: Ratio
    holder: _Nearest | None
    head: _Nearest | None
    missed: tuple[Point2, ...] = ()
    travel: tuple[Blocker, ...] = ()
    hits: tuple[tuple[float, int, int, Ratio], ...] = ()
    """What keeps a hole from the tool: how near it comes, its member and solid, the share of the places."""


@lru_cache(maxsize=192)
def _answer(task: Task, ground: tuple[Point2, ...], *, milled: bool) -> _Found:
    return _milled(task, shapely.Polygon(ground)) if milled else _holes(task, ground)


def _room(
    task: Task, found: _Nearest | None, owner: Indices, stated: Mapping[Point2 | None, Point2]
) -> Room | None:
    """By name, at a place as it is stated; of what is equally near, the first of the first member near it."""
    if found is None:
        return None
    _, solid, at = min((number, int(owner[solid]), at) for number, solid, at in found.rows)
    return Room(found.clearance, task.scene.solids[solid].name, stated.get(at, at))


def _lost_to(task: Task, ground: Ground) -> tuple[Blocker, ...]:
    """What blocks a region, by name."""
    named = {(b.name, b.member): b for part in maps.blamed(task, ground) for b in part.blockers}
    return tuple(named.values())


def _blockers(task: Task, found: _Found, owner: Indices) -> tuple[Blocker, ...]:
    """What blocks holes, by name: travel, then what stands most in the way."""
    named = {(b.name, b.member): b for b in found.travel}
    stack = members(task.tool, task.limits)
    hits = [(round(gap, 9), number, int(owner[solid]), share) for gap, number, solid, share in found.hits]
    for _, number, solid, share in sorted(hits):
        blocker = Blocker(task.scene.solids[solid].name, "body", stack[number].name, share)
        named.setdefault((blocker.name, blocker.member), blocker)
    return tuple(named.values())


def _milled(task: Task, wanted: shapely.Polygon) -> _Found:
    found = maps.ground(task, wanted, mill=True)
    window = maps.grown_box(wanted, max(task.tool.flat_radius, task.tool.largest_radius))
    every = positions.obstacles(task, window, spare=CAP)
    free = positions.permitted(task, window, every.only(every.of(lambda m: m.cuts)))
    holder, head = (_milled_room(task, wanted, every, free, head=head) for head in (False, True))
    return _Found(found, found.share, holder, head)


def _milled_room(
    task: Task, wanted: shapely.Polygon, every: Obstacles, free: shapely.Geometry, *, head: bool
) -> _Nearest | None:
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
    rows, ground = _tightest(task, free, part, low + 2.0 * STEP, wanted)
    at = nearest_axis(_left(free, part, low), ground)
    return _Nearest(Metre(low), tuple((int(part.member[k]), int(part.owner[k]), at) for k in rows))


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
    task: Task, free: shapely.Geometry, part: Obstacles, room: float, wanted: shapely.Polygon
) -> tuple[Indices, shapely.Geometry]:
    """The rows that keep the tool from the ground lost once `room` is asked for, and that ground."""
    lost = minkowski.missed(_left(free, part, room), task.tool.flat_radius, wanted, task.scene.chord)
    shapes = positions.forbidden(part, np.full(len(part.outlines), room))
    lost = lost if not lost.is_empty else wanted
    near = np.where(shapely.is_empty(shapes), inf, shapely.distance(lost, shapes))
    return np.flatnonzero(near <= near.min() + TOUCH), lost


def _holes(task: Task, spots: tuple[Point2, ...]) -> _Found:
    places = np.array(spots, dtype=float).reshape(-1, 2)
    window = maps.grown_box(shapely.MultiPoint(places), maps.EDGE)
    against = positions.obstacles(task, window, sweep=True, spare=CAP)
    gaps = positions.gaps(against, places)
    short = gaps < against.room()[None, :] - TOUCH
    blocked = positions.z_blocked(task)
    outside = ~shapely.dwithin(positions.travel(task.limits), shapely.points(places), TOUCH)
    missed = short.any(axis=1) | outside | bool(blocked)
    travel = [Blocker(blocked, "travel", "", Ratio(1.0))] if blocked else []
    hits = tuple(
        (
            float(gaps[:, k].min()),
            int(against.member[k]),
            int(against.owner[k]),
            Ratio(float(short[:, k].mean())),
        )
        for k in np.flatnonzero(short.any(axis=0))
    )
    return _Found(
        None,
        Ratio(1.0 - float(missed.sum()) / max(len(places), 1)),
        _nearest(against, gaps, places, head=False),
        _nearest(against, gaps, places, head=True),
        tuple(spot for spot, gone in zip(spots, missed, strict=True) if gone),
        (*travel, *_travel_names(task, places)),
        hits,
    )


def _travel_names(task: Task, places: Array) -> list[Blocker]:
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


def _nearest(against: Obstacles, gaps: Array, places: Array, *, head: bool) -> _Nearest | None:
    """Of shank and holder or of the head, over the places; `None` where nothing stands within `CAP`."""
    rows = np.flatnonzero(against.of(lambda member: not member.cuts and member.head is head))
    if not len(rows):
        return None
    least = gaps[:, rows].min(axis=0)
    if least.min() > CAP:
        return None
    found = []
    for row in rows[least <= least.min() + TOUCH]:
        at = places[int(np.argmax(gaps[:, row] <= gaps[:, row].min() + TOUCH))]
        found.append((int(against.member[row]), int(against.owner[row]), (float(at[0]), float(at[1]))))
    return _Nearest(Metre(float(least.min())), tuple(found))


def room_at(found: CutReach, at: tuple[float, float], *, head: bool) -> Room | None:
    """Room beside shank and holder, or beside nose and head, with the axis at one place of a cut (for a hole
    all the way in); `None` where nothing stands within `CAP`.
    """
    window = maps.grown_box(shapely.Point(at), maps.EDGE)
    against = positions.obstacles(found.task, window, sweep=found.cut.region is None, spare=CAP)
    places = np.array([at], dtype=float)
    nearest = _nearest(against, positions.gaps(against, places), places, head=head)
    return _room(found.task, nearest, np.arange(len(found.task.scene.solids)), {})
