"""Where the spindle axis may stand for one tool at one depth: travel less what would be hit."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, nan

import numpy as np
import shapely

from orthostat.analyses.reach import minkowski
from orthostat.analyses.reach.inputs import Limits
from orthostat.analyses.reach.obstacles import Obstacles, Task, extents_of, obstacles, side_by_side_of
from orthostat.analyses.reach.scene import EMPTY, OUT, TOUCH, Array, Indices, Mask, Objects, ranges, view
from orthostat.analyses.reach.stack import Member, members
from orthostat.base.dimensions import Metre

_MARGIN = 0.001
"""How far beyond the ground looked at shapes are cut off [m]."""
FAR = 10.0
"""A travel limit that nobody stated is taken this far out [m]; answers then name the gap."""


def travel(limits: Limits) -> shapely.Polygon:
    """The rectangle of axis positions in X and Y."""
    return shapely.box(*_travel(limits))


def _travel(limits: Limits) -> tuple[float, float, float, float]:
    return (
        -FAR if limits.x_low is None else limits.x_low,
        -FAR if limits.y_low is None else limits.y_low,
        FAR if limits.x_high is None else limits.x_high,
        FAR if limits.y_high is None else limits.y_high,
    )


def z_blocked(task: Task) -> str:
    """The Z limit that keeps the tip from its depth, by name; empty when it gets there."""
    gauge = task.tool.gauge_length
    if gauge is None:
        return ""
    nose = task.tip + gauge
    if task.limits.nose_near is not None and nose < task.limits.nose_near - TOUCH:
        return "Z travel, near end"
    if task.limits.nose_far is not None and nose > task.limits.nose_far + TOUCH:
        return "Z travel, far end"
    return ""


def unknowns(task: Task) -> tuple[str, ...]:
    """Key paths whose absence leaves the answer open."""
    gaps = list(task.limits.travel_gaps)
    if task.tool.gauge_length is None:
        gaps.append(f"{task.tool.path}.gauge_length")
    if not task.limits.head_stated:
        gaps.append(task.limits.head_key)
    return (*gaps, *task.limits.unseen)


def forbidden(against: Obstacles, room: Array | None = None, looked_at: Array | None = None) -> Objects:
    """Axis positions that each row forbids when it keeps `room` [m] by row, or its own room; as the rows.

    Outside the boxes `looked_at` by row, where these are given, some more may count as forbidden.
    """
    room = against.room() if room is None else room
    made = grown(against, room, looked_at=looked_at)
    for row in np.flatnonzero(shapely.get_num_interior_rings(against.outlines)):
        member = against.members[int(against.member[row])]
        made[row] = _opened(made[row], against.outlines[row], member, float(room[row]))
    return made


def grown(
    against: Obstacles, room: Array, drawn: Array | None = None, looked_at: Array | None = None
) -> Objects:
    """Outlines by row, their holes filled, grown by the row's member and `room` [m]; negative room shrinks.

    Circles are drawn as fine as those of `drawn` room, where that is given; see `minkowski.rounded`.
    """
    made = np.full(len(against.outlines), EMPTY, dtype=object)
    if not len(made):
        return made
    radii = against.radii()
    radius = radii + room
    made[radius == 0.0] = against.outlines[radius == 0.0]
    for row in np.flatnonzero(radius < 0.0):
        made[row] = minkowski.shrunk(against.outlines[row], Metre(-radius[row]))
    rows = (radius > 0.0) & (radius < inf)
    finer = None if drawn is None else (radii + drawn)[rows]
    boxes_at = None if looked_at is None else looked_at[rows]
    made[rows] = minkowski.rounded(against.outlines[rows], radius[rows], against.chord, finer, boxes_at)
    boxes = np.flatnonzero(radius == inf)
    for number, gap in {(int(against.member[k]), float(room[k])) for k in boxes}:
        member = against.members[number]
        low = (member.low[0] - gap, member.low[1] - gap)
        high = (member.high[0] + gap, member.high[1] + gap)
        if high[0] > low[0] and high[1] > low[1]:
            rows = (against.member == number) & (room == gap)
            made[rows] = minkowski.sums(against.outlines[rows], low, high)
    return made


def near(against: Obstacles, parts: Objects, radius: Array) -> Indices:
    """Rows that forbid ground no further than a radius each from a part of the plane each."""
    radii = against.radii()
    plain = np.isfinite(radii) & (shapely.get_num_interior_rings(against.outlines) == 0)
    away = np.where(plain, shapely.distance(parts, against.outlines) - radii - against.room(), nan)
    found = away <= radius
    # Drawn around its circle, what a row forbids comes nearer by no more than the chord.
    unsure = np.flatnonzero(~found & ~(away > radius + 1.1 * against.chord))
    if len(unsure):
        at = _boxes_around(parts[unsure], radius[unsure])
        drawn = forbidden(against.only(unsure), looked_at=at)
        found[unsure] = shapely.dwithin(parts[unsure], drawn, radius[unsure])
    return np.flatnonzero(found)


def kept_off(against: Obstacles, radius: Array, parts: Objects | None = None) -> Objects:
    """Ground that a disc about the axis, of a radius by row, can't touch because of one row alone: what the
    row forbids, shrunk by it. Nothing for an outline with holes, or where that is all off a part each.
    """
    room = against.room()
    some = shapely.get_num_interior_rings(against.outlines) == 0
    at = None
    if parts is not None:
        more = np.maximum(against.radii() + room - radius, 0.0)
        some &= shapely.distance(parts, against.outlines) <= more + 1.1 * against.chord
        at = _boxes_around(parts[some], np.full(int(some.sum()), _MARGIN))
    made = np.full(len(some), EMPTY, dtype=object)
    made[some] = grown(against.only(some), (room - radius)[some], room[some], at)
    return made


def _boxes_around(shapes: Objects, margin: Array) -> Array:
    """The box around each shape and a margin each [m]; shape (n, 4)."""
    boxes: Array = shapely.bounds(shapes) + margin[:, None] * OUT
    return boxes


def _opened(grown: shapely.Polygon, outline: shapely.Polygon, member: Member, gap: float) -> shapely.Geometry:
    """A round member may stand inside a hole that is wide enough for it."""
    if member.radius is None:
        return grown
    radius = Metre(member.radius + gap)
    doors = [minkowski.shrunk(shapely.Polygon(ring), radius) for ring in outline.interiors]
    return shapely.difference(grown, shapely.union_all(doors))


def permitted(task: Task, window: shapely.Polygon, against: Obstacles) -> shapely.Geometry:
    """Axis positions in the window, an upright rectangle, that hit nothing and are within all travels."""
    return permitted_of([task], [window], against)[0]


def permitted_of(
    tasks: Sequence[Task], windows: Sequence[shapely.Polygon] | Objects, against: Obstacles
) -> Objects:
    """As `permitted`, of several tasks at once; `against` is of all of them."""
    ends, travels = shapely.bounds(windows), np.array([_travel(task.limits) for task in tasks])
    low, high = np.maximum(ends, travels)[:, :2], np.minimum(ends, travels)[:, 2:]
    open_ = (low < high).all(axis=1) & [not z_blocked(task) for task in tasks]
    ground = np.full(len(tasks), EMPTY, dtype=object)
    ground[open_] = shapely.box(*low[open_].T, *high[open_].T)
    short = against.undominated()
    return left_of(ground, short, short.task)


def left_of(ground: Objects, against: Obstacles, of: Indices, room: Array | None = None) -> Objects:
    """Each ground without what some rows forbid, `of` telling whose ground each row is about, with `room` [m]
    by row or their own.

    Of a shape no more is looked at than is near the ground, and the largest first: the others then have
    little left to take away.
    """
    boxes = _boxes_around(ground, np.full(len(ground), _MARGIN))
    shapes = forbidden(against, room, boxes[of])
    meets = shapely.intersects(ground[of], shapes)
    shapes, of = shapes[meets], of[meets]
    plain = (shapely.get_type_id(shapes) == 3) & (shapely.get_num_interior_rings(shapes) == 0)
    for task in np.unique(of).tolist():
        mine = plain & (of == task)
        shapes[mine] = shapely.clip_by_rect(shapes[mine], *boxes[task].tolist())
    left = ground.copy()
    order = np.lexsort((-shapely.area(shapes), of))
    count = np.bincount(of, minlength=len(ground))
    place = np.arange(len(of)) - (np.cumsum(count) - count)[of[order]]
    for turn in range(int(count.max(initial=0))):
        rows = order[place == turn]
        rows = rows[shapely.intersects(left[of[rows]], shapes[rows])]
        left[of[rows]] = shapely.difference(left[of[rows]], shapes[rows])
    return left


def gaps(against: Obstacles, places: Array) -> Array:
    """Distance from the surface of a member to each obstacle, negative inside; shape (places, rows).

    Inside an obstacle it is minus the way out of it in the XY plane. For boxes it is measured from the
    obstacle grown by the reflected box.
    """
    return gaps_of(against, [places])[0]


def gaps_of(against: Obstacles, places: Sequence[Array]) -> list[Array]:
    """As `gaps`, of several tasks at once, each at its own places."""
    radii = against.radii()
    shapes = against.outlines.copy()
    boxes: dict[tuple[tuple[float, float], tuple[float, float]], list[int]] = {}
    for row in np.flatnonzero(radii == inf).tolist():
        member = against.members[against.member[row]]
        boxes.setdefault((member.low, member.high), []).append(row)
        radii[row] = 0.0
    for box, rows in boxes.items():
        shapes[rows] = minkowski.sums(shapes[rows], *box)
    count = np.array([len(spots) for spots in places])
    of_row = np.repeat(np.arange(len(shapes)), count[against.task])
    place, _ = ranges((np.cumsum(count) - count)[against.task], count[against.task])
    points = shapely.points(np.concatenate(places))
    far = _signed(points[place], shapes[of_row]) - radii[of_row]
    ends = np.cumsum([0, *count[against.task]])
    rows_of = [np.flatnonzero(against.task == number) for number in range(len(places))]
    return [
        np.stack([far[ends[k] : ends[k + 1]] for k in rows], axis=1) if len(rows) else np.zeros((int(n), 0))
        for rows, n in zip(rows_of, count, strict=True)
    ]


def _signed(points: Objects, shapes: Objects) -> Array:
    away = np.asarray(shapely.distance(points, shapes), dtype=float)
    inside = away == 0.0
    if inside.any():
        away[inside] = -shapely.distance(points[inside], shapely.boundary(shapes[inside]))
    return away


def enterable(component: shapely.Polygon, against: Obstacles) -> bool:
    """Whether a component of permitted positions can be entered along Z from clear air, or holds a
    place that can, from where the tool comes in sideways. `against` stands in the way there.
    """
    if not len(against.outlines):
        return True
    tries = np.vstack((_outermost(np.array([component])), [component.point_on_surface().coords[0]]))
    clear = np.all(gaps(against, tries) >= against.room()[None, :] - TOUCH, axis=1)
    if clear.any():
        return True
    shapes = forbidden(against)
    free = shapely.difference(component, shapely.union_all(shapes))
    return bool(free.area > 1e-12)


def _outermost(parts: Objects) -> Array:
    """Where each of some components goes furthest to each side; shape (4 × components, 2)."""
    points, row = shapely.get_coordinates(parts, return_index=True)
    ends = np.searchsorted(row, np.arange(len(parts) + 1))
    along_x, along_y = (np.lexsort((points[:, axis], row)) for axis in (0, 1))
    found = [along[at] for at in (ends[:-1], ends[1:] - 1) for along in (along_x, along_y)]
    return np.asarray(points[np.stack(found, axis=1).ravel()])


def entered(task: Task, allowed: shapely.Geometry, window: shapely.Polygon) -> shapely.Geometry:
    """The components of permitted positions that the tool can get into.

    A component that leaves the window goes on outside it, so it is looked at again without the window.
    """
    return entered_of([task], np.array([allowed], dtype=object), [window])[0][0]


def entered_of(
    tasks: Sequence[Task], allowed: Objects, windows: Sequence[shapely.Polygon] | Objects
) -> tuple[Objects, Mask]:
    """As `entered`, of several tasks at once, and whether anything was looked at outside each window."""
    parts, of = shapely.get_parts(allowed, return_index=True)
    kept = (shapely.get_type_id(parts) == 3) & (shapely.area(parts) > 0.0)
    parts, of = parts[kept], of[kept]
    clear = _clear_air(tasks, parts, of)
    made = allowed.copy()
    outside = np.zeros(len(tasks), dtype=bool)
    for number, task in enumerate(tasks):
        mine = of == number
        if clear[mine].all():
            made[number] = _joined(list(parts[mine]))
        else:
            unsure = parts[mine & ~clear]
            made[number], outside[number] = _entered(task, list(parts[mine]), list(unsure), windows[number])
    return made, outside


def _clear_air(tasks: Sequence[Task], parts: Objects, of: Indices) -> Mask:
    """Whether a tool can surely come straight in along Z somewhere on a component of its positions: there the
    boxes around all solids that could be in the way, what is cut among them, stand clear of it.
    """
    _, seen, _, own = side_by_side_of(tasks)
    begins, _, room = extents_of(tasks)
    count = [len(members(task.tool, task.limits)) for task in tasks]
    widest = np.full(own.shape, -inf)
    reaches = np.where(seen.high[:, 2] > begins[:, None] + TOUCH, room[:, None], -inf)
    np.maximum.at(widest, np.repeat(np.arange(len(tasks)), count), reaches)
    widest[~own] = -inf
    places = _outermost(parts)
    away = np.maximum(seen.low[:, :2] - places[:, None], places[:, None] - seen.high[:, :2]).max(axis=2)
    clear: Mask = (away >= widest[np.repeat(of, 4)]).all(axis=1).reshape(-1, 4).any(axis=1)
    return clear


def _entered(
    task: Task, parts: list[shapely.Geometry], unsure: list[shapely.Geometry], window: shapely.Polygon
) -> tuple[shapely.Geometry, bool]:
    on_the_way = obstacles(task, window, sweep=True, into_stock=task.tool.plunges)
    doubtful = [part for part in unsure if not enterable(part, on_the_way)]
    kept = [part for part in parts if all(part is not each for each in doubtful)]
    if doubtful:
        everywhere = whole_window(task)
        if not shapely.covers(window, everywhere):
            allowed_there = permitted(task, everywhere, obstacles(task, everywhere))
            on_the_way = obstacles(task, everywhere, sweep=True, into_stock=task.tool.plunges)
            for whole in shapely.get_parts(allowed_there):
                inside = [
                    part for part in doubtful if shapely.intersection(part, whole).area > 0.5 * part.area
                ]
                if inside and enterable(whole, on_the_way):
                    kept.extend(inside)
    return _joined(kept), bool(doubtful)


def _joined(parts: list[shapely.Geometry]) -> shapely.Geometry:
    return parts[0] if len(parts) == 1 else shapely.union_all(parts)


def whole_window(task: Task) -> shapely.Polygon:
    """All of the travel that could matter: the scene with room for the tool round it, or the travel."""
    seen = view(task.scene, task.angle)
    if not len(seen.points):
        return travel(task.limits)
    room = max((member.reach for member in members(task.tool, task.limits)), default=0.0) + 0.01
    low, high = seen.low[:, :2].min(axis=0) - room, seen.high[:, :2].max(axis=0) + room
    return shapely.intersection(shapely.box(*low, *high), travel(task.limits))
