"""Each cut of each station: reached or not, what blocks it, and the least clearance along it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf, tan

import numpy as np
import shapely

from orthostat.analyses.reach import alike, maps, minkowski, positions
from orthostat.analyses.reach.maps import Blocker, Ground
from orthostat.analyses.reach.obstacles import Obstacles, Task, joined, obstacles, obstacles_of
from orthostat.analyses.reach.scene import TOUCH, Array, Indices, Mask, Objects
from orthostat.analyses.reach.stack import members
from orthostat.base.dimensions import Metre, Radian, Ratio
from orthostat.base.kept import Kept
from orthostat.model.bodies import Disc, Point2, Section
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
def removed_by(cut: Cut, tool: Tool) -> tuple[Section, ...]:
    """Ground that is gone before a wider shank or holder follows: the region, or the holes."""
    if cut.region is not None:
        return (cut.region,)
    radius = Metre(max(tool.flat_radius, 0.5 * (cut.start_diameter or 0.0)))
    return tuple(Disc(place, radius) for place in cut.places)


@dataclass(frozen=True, slots=True)
class Planned:
    """One cut to be worked out: a region to mill, or places for the axis."""

    station: str
    cut: Cut
    task: Task
    b_angle: Radian


def cut_reaches(planned: Sequence[Planned]) -> tuple[CutReach, ...]:
    """Work out some cuts of one design. Those that look alike are worked out once, without the names of what
    stands there.
    """
    tasks = [each.task for each in planned]
    boxes = [_box(each) for each in planned]
    shown = alike.nameless_nearby(tasks, boxes)
    answers = _ANSWERS.answers(
        [_asked(each, found) for each, found in zip(planned, shown, strict=True)], _answered
    )
    for k in (k for k, each in enumerate(answers) if each.ground is not None and each.ground.outside):
        [shown[k]] = alike.nameless_tasks([tasks[k]])
        [answers[k]] = _ANSWERS.answers([_asked(planned[k], shown[k])], _answered)
    return tuple(
        _named(each, answer, None if found is None else found[1])
        for each, answer, found in zip(planned, answers, shown, strict=True)
    )


def _box(planned: Planned) -> tuple[float, ...]:
    """A box around wherever the axis, or what lies within `CAP` of the stack, is looked at for a cut."""
    tool, (xs, ys) = planned.task.tool, zip(*_ground(planned.cut), strict=True)
    more = max(maps.margin(planned.task, mill=True), max(tool.flat_radius, tool.largest_radius) + CAP)
    return min(xs) - more, min(ys) - more, max(xs) + more, max(ys) + more


def _asked(planned: Planned, found: alike.Found | None) -> _Asked:
    """What is asked of a cut, by itself or as it looks without names."""
    ground, milled = _ground(planned.cut), planned.cut.region is not None
    if found is None:
        return _Asked(planned.task, ground, milled)
    return _Asked(found[0], alike.to_the_picometre(ground), milled)


def _ground(cut: Cut) -> tuple[Point2, ...]:
    return cut.places if cut.region is None else cut.region.points


def _named(planned: Planned, found: _Found, owner: Indices | None) -> CutReach:
    """The answer for one cut, `owner` telling which solids of its scene those of the answer are."""
    task, cut = planned.task, planned.cut
    stated: dict[Point2 | None, Point2] = dict(
        zip(alike.to_the_picometre(cut.places), cut.places, strict=True)
    )
    own = found.ground
    if owner is None:
        owner = np.arange(len(task.scene.solids))
    elif own is not None:
        against = replace(own.against, owner=owner[own.against.owner])
        own = replace(own, against=against, shared=own)
    return CutReach(
        planned.station,
        cut,
        task.tool,
        planned.b_angle,
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


@dataclass(frozen=True, slots=True)
class _Asked:
    task: Task
    ground: tuple[Point2, ...]
    """The region's corners, or the places."""
    milled: bool


def _answered(asked: list[_Asked]) -> list[_Found]:
    milled = [each for each in asked if each.milled]
    holes = [each for each in asked if not each.milled]
    found = {
        **dict(zip(milled, _milled(milled), strict=True)),
        **dict(zip(holes, _holes(holes), strict=True)),
    }
    return [found[each] for each in asked]


_ANSWERS: Kept[_Asked, _Found] = Kept(192)


def _room(
    task: Task, found: _Nearest | None, owner: Indices, stated: Mapping[Point2 | None, Point2]
) -> Room | None:
    """By name, at a place as it is stated; of what is equally near, the first of the first member near it."""
    if found is None:
        return None
    _, solid, at = min((number, int(owner[solid]), at) for number, solid, at in found.rows)
    return Room(found.clearance, task.scene.solids[solid].name, stated.get(at, at))


def _lost_to(task: Task, ground: Ground) -> tuple[Blocker, ...]:
    """What blocks a region, by name, what keeps the tool from most of it first."""
    if ground.whole:
        return ()
    return maps.keeping_off(maps.blamed(task, ground))


def _blockers(task: Task, found: _Found, owner: Indices) -> tuple[Blocker, ...]:
    """What blocks holes, by name: travel, then what stands most in the way."""
    if not found.hits:
        return found.travel
    named = {(b.name, b.member): b for b in found.travel}
    stack = members(task.tool, task.limits)
    hits = [(round(gap, 9), number, int(owner[solid]), share) for gap, number, solid, share in found.hits]
    for _, number, solid, share in sorted(hits):
        blocker = Blocker(task.scene.solids[solid].name, "body", stack[number].name, share)
        named.setdefault((blocker.name, blocker.member), blocker)
    return tuple(named.values())


def _milled(asked: list[_Asked]) -> list[_Found]:
    if not asked:
        return []
    tasks = [each.task for each in asked]
    wanted = [shapely.Polygon(each.ground) for each in asked]
    found = maps.grounds(tasks, wanted, mill=True)
    windows = [
        maps.grown_box(region, max(task.tool.flat_radius, task.tool.largest_radius))
        for task, region in zip(tasks, wanted, strict=True)
    ]
    every = obstacles_of(tasks, windows, spare=CAP)
    cutting = every.only(every.of(lambda m: m.cuts))
    free = positions.permitted_of(tasks, windows, cutting)
    behind = (every.of(lambda m: not m.cuts and not m.head), every.of(lambda m: not m.cuts and m.head))
    rooms = [
        _Rooms(number, head, task, region, left, every.only(rows).of_task(number))
        for number, (task, region, left) in enumerate(zip(tasks, wanted, free, strict=True))
        for head in (False, True)
        if (rows := behind[head] & (every.task == number)).any()
    ]
    nearest = _nearest_milled(rooms)
    return [
        _Found(ground, ground.share, nearest.get((number, False)), nearest.get((number, True)))
        for number, ground in enumerate(found)
    ]


@dataclass(frozen=True, slots=True, eq=False)
class _Rooms:
    """A part of a stack, and what stands around it while a region is milled."""

    number: int
    head: bool
    task: Task
    wanted: shapely.Polygon
    free: shapely.Geometry
    """Where the cutting part may be."""
    part: Obstacles


def _nearest_milled(rooms: list[_Rooms]) -> dict[tuple[int, bool], _Nearest]:
    """The greatest clearance with which the whole of each region can still be milled, and what limits it;
    left out where the region can't be milled anyhow, or nothing stands within `CAP`.
    """
    milled = _cover(rooms, None)
    rooms = [each for each, whole in zip(rooms, milled, strict=True) if whole]
    clear = _cover(rooms, np.full(len(rooms), CAP))
    rooms = [each for each, whole in zip(rooms, clear, strict=True) if not whole]
    low = np.array(
        [-max(member.reach for member in members(each.task.tool, each.task.limits)) - CAP for each in rooms]
    )
    high = np.full(len(rooms), float(CAP))
    while len(open_ := np.flatnonzero(high - low > STEP)):
        middle = 0.5 * (low[open_] + high[open_])
        whole = _cover([rooms[k] for k in open_], middle)
        low[open_[whole]], high[open_[~whole]] = middle[whole], middle[~whole]
    return {
        (each.number, each.head): _tightest(each, float(room)) for each, room in zip(rooms, low, strict=True)
    }


def _cover(rooms: list[_Rooms], clearance: Array | None) -> Mask:
    """Whether each region can be milled with a clearance of the part each, or with what cuts alone."""
    if not rooms:
        return np.zeros(0, dtype=bool)
    allowed = np.array([each.free for each in rooms], dtype=object)
    if clearance is not None:
        allowed = _left(rooms, clearance)
    return maps.cover([each.task for each in rooms], allowed, [each.wanted for each in rooms])


def _left(rooms: list[_Rooms], clearance: Array) -> Objects:
    """Where the axis may be with a clearance of each part."""
    free = np.array([each.free for each in rooms], dtype=object)
    of = np.repeat(np.arange(len(rooms)), [len(each.part.outlines) for each in rooms])
    return positions.left_of(free, joined([each.part for each in rooms]), of, np.asarray(clearance)[of])


def _tightest(each: _Rooms, room: float) -> _Nearest:
    """The rows that keep the tool from the ground lost once a little more room is asked for."""
    part, more = each.part, room + 2.0 * STEP
    [left], [closer] = (_left([each], np.array([gap])) for gap in (room, more))
    lost = minkowski.missed(closer, each.task.tool.flat_radius, each.wanted, each.task.scene.chord)
    lost = lost if not lost.is_empty else each.wanted
    shapes = positions.forbidden(part, np.full(len(part.outlines), more))
    near = np.where(shapely.is_empty(shapes), inf, shapely.distance(lost, shapes))
    at = nearest_axis(left, lost)
    rows = np.flatnonzero(near <= near.min() + TOUCH)
    return _Nearest(Metre(room), tuple((int(part.member[k]), int(part.owner[k]), at) for k in rows))


def nearest_axis(allowed: shapely.Geometry, ground: shapely.Geometry) -> tuple[float, float] | None:
    """The axis position among `allowed` nearest to the middle of some ground, of several parts that of the
    lowest, then of the one furthest left; `None` where there is none.
    """
    if allowed.is_empty or ground.is_empty:
        return None
    point = min(shapely.get_parts(ground), key=maps.place_of).representative_point()
    u, v = shapely.get_coordinates(shapely.shortest_line(allowed, point))[0].tolist()
    return float(u), float(v)


def _holes(asked: list[_Asked]) -> list[_Found]:
    if not asked:
        return []
    tasks = [each.task for each in asked]
    places = [np.array(each.ground, dtype=float).reshape(-1, 2) for each in asked]
    windows = [maps.grown_box(shapely.MultiPoint(spots), maps.EDGE) for spots in places]
    against = obstacles_of(tasks, windows, sweep=True, spare=CAP)
    gaps = positions.gaps_of(against, places)
    return [
        _hole(each, spots, against.of_task(number), gaps[number])
        for number, (each, spots) in enumerate(zip(asked, places, strict=True))
    ]


def _hole(asked: _Asked, places: Array, against: Obstacles, gaps: Array) -> _Found:
    task = asked.task
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
        tuple(spot for spot, gone in zip(asked.ground, missed, strict=True) if gone),
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
    against = obstacles(found.task, window, sweep=found.cut.region is None, spare=CAP)
    places = np.array([at], dtype=float)
    nearest = _nearest(against, positions.gaps(against, places), places, head=head)
    return _room(found.task, nearest, np.arange(len(found.task.scene.solids)), {})
