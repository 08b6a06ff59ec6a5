"""Where the spindle axis may stand for one tool at one depth: travel less what would be hit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf

import numpy as np
import shapely

from orthostat.analyses.reach import minkowski
from orthostat.analyses.reach.inputs import Clearances, Limits
from orthostat.analyses.reach.scene import (
    EMPTY,
    TOUCH,
    Array,
    Indices,
    Mask,
    Objects,
    Scene,
    View,
    holes_seen,
    project,
    view,
)
from orthostat.analyses.reach.stack import Member, members
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Point2
from orthostat.model.tools import Tool

FAR = 10.0
"""A travel limit that nobody stated is taken this far out [m]; answers then name the gap."""


@dataclass(frozen=True, slots=True)
class Task:
    """One tool, its tip at `tip` over the B axis, with a direction of the column to the spindle."""

    scene: Scene
    angle: Radian
    tool: Tool
    tip: Metre
    """Z of the tip plane from the B axis [m]."""
    limits: Limits
    clearances: Clearances
    stock: frozenset[int] = frozenset()
    """Indices of the solids that are being cut."""
    removed: tuple[tuple[Point2, ...], ...] = ()
    """Ground (X, Y) that is cut away before a shank wider than the cutter gets there."""


@dataclass(frozen=True, slots=True)
class Obstacles:
    """Projections that a member of the stack must keep clear of, one row each."""

    outlines: Objects
    """Convex, but for holes; machine X, Y."""
    member: Indices
    owner: Indices
    members: tuple[Member, ...]
    clearances: Clearances
    chord: Metre
    kept_off: Objects | None = None
    """Axis positions that each row forbids at its own `room`, where they have been worked out."""

    def room(self) -> Array:
        """Radial clearance to keep, by row [m]."""
        gaps = [self.clearances.cutting_radial if m.cuts else self.clearances.radial for m in self.members]
        return np.array(gaps)[self.member]

    def of(self, wanted: Callable[[Member], bool]) -> Mask:
        """Rows whose member is wanted."""
        chosen: Mask = np.array([wanted(member) for member in self.members], dtype=bool)[self.member]
        return chosen

    def only(self, rows: Mask) -> Obstacles:
        """The chosen rows alone."""
        return replace(
            self,
            outlines=self.outlines[rows],
            member=self.member[rows],
            owner=self.owner[rows],
            kept_off=None if self.kept_off is None else self.kept_off[rows],
        )

    def forbidding(self) -> Obstacles:
        """With what each row forbids worked out."""
        return replace(self, kept_off=forbidden(self, self.room()))


def travel(limits: Limits) -> shapely.Polygon:
    """The rectangle of axis positions in X and Y."""
    x_low = -FAR if limits.x_low is None else limits.x_low
    x_high = FAR if limits.x_high is None else limits.x_high
    y_low = -FAR if limits.y_low is None else limits.y_low
    y_high = FAR if limits.y_high is None else limits.y_high
    return shapely.box(x_low, y_low, x_high, y_high)


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


def obstacles(
    task: Task,
    window: shapely.Polygon,
    *,
    sweep: bool = False,
    into_stock: bool = True,
    spare: float = 0.0,
) -> Obstacles:
    """What the stack could hit with its axis in `window`.

    `sweep` takes the whole way of the tool out along Z instead of its place at depth. `into_stock`
    False makes the cutting part shy of what is being cut too, as a cutter that can't plunge is on its way in.
    `spare` also takes what lies that much further out [m].
    """
    seen = view(task.scene, task.angle)
    stack = members(task.tool, task.limits)
    bounds = window.bounds
    stock = np.zeros(len(seen.along), dtype=bool)
    stock[list(task.stock)] = True
    cutter = max((m.radius or 0.0 for m in stack if m.cuts), default=0.0)
    rows: list[tuple[Objects, Indices, int]] = []
    for number, member in enumerate(stack):
        axial = task.clearances.cutting_axial if member.cuts else task.clearances.axial
        radial = task.clearances.cutting_radial if member.cuts else task.clearances.radial
        low = Metre(task.tip + member.start - axial)
        high = Metre(inf if sweep else task.tip + member.end + axial)
        wanted = _near(seen, bounds, member, radial + spare)
        follows = member.cuts or (member.radius is not None and member.radius <= cutter + TOUCH)
        if follows and into_stock:
            wanted &= ~stock
        outlines, owner = _outlines(seen, low, high, wanted)
        if stock.any() and task.removed and not follows:
            outlines, owner = _less_removed(outlines, owner, stock, task.removed)
        rows.append((outlines, owner, number))
    return Obstacles(
        np.concatenate([row[0] for row in rows]) if rows else np.empty(0, dtype=object),
        np.concatenate([np.full(len(row[0]), row[2]) for row in rows])
        if rows
        else np.empty(0, dtype=np.int64),
        np.concatenate([row[1] for row in rows]) if rows else np.empty(0, dtype=np.int64),
        stack,
        task.clearances,
        task.scene.chord,
    )


def _near(seen: View, bounds: tuple[float, float, float, float], member: Member, radial: float) -> Mask:
    """Solids whose XY box comes within the member's reach of the window."""
    room = member.reach + radial + 0.001
    near: Mask = (
        (seen.low[:, 0] < bounds[2] + room)
        & (seen.high[:, 0] > bounds[0] - room)
        & (seen.low[:, 1] < bounds[3] + room)
        & (seen.high[:, 1] > bounds[1] - room)
    )
    return near


def _outlines(seen: View, low: Metre, high: Metre, wanted: Mask) -> tuple[Objects, Indices]:
    shapes = project(seen, low, high, wanted)
    present = np.flatnonzero(shapely.area(shapes) > 0.0)
    found = shapes[present]
    for row, index in enumerate(present):
        if seen.holed[index]:
            found[row] = shapely.difference(found[row], shapely.union_all(holes_seen(seen, int(index))))
    return found, present


@lru_cache(maxsize=256)
def _ground_of(removed: tuple[tuple[Point2, ...], ...]) -> shapely.Geometry:
    return shapely.union_all([shapely.polygons(np.array(ring)) for ring in removed])


def _less_removed(
    outlines: Objects, owner: Indices, stock: Mask, removed: tuple[tuple[Point2, ...], ...]
) -> tuple[Objects, Indices]:
    """Stock outlines without the ground already cut away, in convex pieces again."""
    ground = _ground_of(removed)
    touched = stock[owner] & shapely.intersects(ground, outlines)
    if not touched.any():
        return outlines, owner
    shapes, owners = [outlines[~touched]], [owner[~touched]]
    for outline, index in zip(outlines[touched], owner[touched], strict=True):
        left = shapely.difference(outline, ground)
        pieces = shapely.get_parts(shapely.constrained_delaunay_triangles(left))
        pieces = pieces[shapely.area(pieces) > 1e-14]
        shapes.append(pieces)
        owners.append(np.full(len(pieces), index))
    return np.concatenate(shapes), np.concatenate(owners)


def forbidden(against: Obstacles, room: Array) -> Objects:
    """Axis positions that each row forbids when it keeps `room` [m] by row; shape as the rows."""
    if against.kept_off is not None and np.array_equal(room, against.room()):
        return against.kept_off
    made = np.full(len(against.outlines), EMPTY, dtype=object)
    holed = shapely.get_num_interior_rings(against.outlines) > 0
    for number, member in enumerate(against.members):
        of_member = against.member == number
        for gap in np.unique(room[of_member]):
            chosen = np.flatnonzero(of_member & (room == gap))
            made[chosen] = grown(against.outlines[chosen], member, float(gap), against.chord)
            for row in chosen[holed[chosen]]:
                made[row] = _opened(made[row], against.outlines[row], member, float(gap))
    return made


def grown(outlines: Objects, member: Member, gap: float, chord: Metre) -> Objects:
    """Outlines grown by a member and its clearance `gap` [m]: the axis positions they forbid."""
    bare = shapely.polygons(shapely.get_exterior_ring(outlines))
    if member.radius is not None:
        radius = member.radius + gap
        if radius <= 0.0:
            return np.array([minkowski.shrunk(outline, Metre(-radius)) for outline in bare], dtype=object)
        return minkowski.rounded(bare, Metre(radius), chord)
    low = (member.low[0] - gap, member.low[1] - gap)
    high = (member.high[0] + gap, member.high[1] + gap)
    if high[0] <= low[0] or high[1] <= low[1]:
        return np.full(len(outlines), EMPTY, dtype=object)
    return minkowski.sums(bare, minkowski.box_reflected(low, high))


def _opened(grown: shapely.Polygon, outline: shapely.Polygon, member: Member, gap: float) -> shapely.Geometry:
    """A round member may stand inside a hole that is wide enough for it."""
    if member.radius is None:
        return grown
    radius = Metre(member.radius + gap)
    doors = [minkowski.shrunk(shapely.Polygon(ring), radius) for ring in outline.interiors]
    return shapely.difference(grown, shapely.union_all(doors))


def permitted(
    task: Task, window: shapely.Polygon, against: Obstacles, room: Array | None = None
) -> shapely.Geometry:
    """Axis positions in the window that hit nothing and are within all travels."""
    if z_blocked(task):
        return shapely.Polygon()
    ground = shapely.intersection(window, travel(task.limits))
    shapes = forbidden(against, against.room() if room is None else room)
    shapes = shapes[shapely.intersects(ground, shapes)]
    return shapely.difference(ground, shapely.union_all(shapes)) if len(shapes) else ground


def gaps(against: Obstacles, places: Array) -> Array:
    """Distance from the surface of a member to each obstacle, negative inside; shape (places, rows).

    Inside an obstacle it is minus the way out of it in the XY plane. For boxes it is measured from the
    obstacle grown by the reflected box.
    """
    made = np.full((len(places), len(against.outlines)), inf)
    points = shapely.points(places)
    for number, member in enumerate(against.members):
        chosen = np.flatnonzero(against.member == number)
        if not len(chosen):
            continue
        if member.radius is not None:
            shapes, radius = against.outlines[chosen], float(member.radius)
        else:
            shapes, radius = (
                minkowski.sums(against.outlines[chosen], minkowski.box_reflected(member.low, member.high)),
                0.0,
            )
        made[:, chosen] = _signed(points, shapes) - radius
    return made


def _signed(points: Objects, shapes: Objects) -> Array:
    outside = shapely.distance(points[:, None], shapes[None, :])
    inside = outside == 0.0
    if inside.any():
        rows, columns = np.nonzero(inside)
        outside[rows, columns] = -shapely.distance(points[rows], shapely.boundary(shapes[columns]))
    return np.asarray(outside, dtype=float)


def enterable(component: shapely.Polygon, against: Obstacles) -> bool:
    """Whether a component of permitted positions can be entered along Z from clear air, or holds a
    place that can, from where the tool comes in sideways. `against` stands in the way there.
    """
    if not len(against.outlines):
        return True
    corners = shapely.get_coordinates(component.exterior)
    tries = np.vstack(
        (
            corners[
                [
                    corners[:, 0].argmin(),
                    corners[:, 0].argmax(),
                    corners[:, 1].argmin(),
                    corners[:, 1].argmax(),
                ]
            ],
            [component.point_on_surface().coords[0]],
        )
    )
    clear = np.all(gaps(against, tries) >= against.room()[None, :] - TOUCH, axis=1)
    if clear.any():
        return True
    shapes = forbidden(against, against.room())
    free = shapely.difference(component, shapely.union_all(shapes))
    return bool(free.area > 1e-12)


def entered(task: Task, allowed: shapely.Geometry, window: shapely.Polygon) -> shapely.Geometry:
    """The components of permitted positions that the tool can get into.

    A component that leaves the window goes on outside it, so it is looked at again without the window.
    """
    parts = [part for part in shapely.get_parts(allowed) if part.geom_type == "Polygon" and part.area > 0.0]
    kept: list[shapely.Geometry] = []
    doubtful: list[shapely.Geometry] = []
    on_the_way = obstacles(task, window, sweep=True, into_stock=task.tool.plunges) if parts else None
    for part in parts:
        (kept if on_the_way is None or enterable(part, on_the_way) else doubtful).append(part)
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
    return shapely.union_all(kept) if len(kept) != 1 else kept[0]


def whole_window(task: Task) -> shapely.Polygon:
    """All of the travel that could matter: the scene with room for the tool round it, or the travel."""
    seen = view(task.scene, task.angle)
    if not len(seen.points):
        return travel(task.limits)
    room = max((member.reach for member in members(task.tool, task.limits)), default=0.0) + 0.01
    low, high = seen.low[:, :2].min(axis=0) - room, seen.high[:, :2].max(axis=0) + room
    return shapely.intersection(shapely.box(*low, *high), travel(task.limits))
