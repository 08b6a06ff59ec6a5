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

    def room(self) -> Array:
        """Radial clearance to keep, by row [m]."""
        return np.array([_radial(m, self.clearances) for m in self.members])[self.member]

    def of(self, wanted: Callable[[Member], bool]) -> Mask:
        """Rows whose member is wanted."""
        chosen: Mask = np.array([wanted(member) for member in self.members], dtype=bool)[self.member]
        return chosen

    def only(self, rows: Mask | Indices) -> Obstacles:
        """The chosen rows alone."""
        return replace(
            self,
            outlines=self.outlines[rows],
            member=self.member[rows],
            owner=self.owner[rows],
        )

    def telling(self) -> Obstacles:
        """Without the rows of which another row of the same solid forbids all that they do: a round member no
        wider than another one by a chord, before an outline that the other's covers.
        """
        radius = self.radii() + self.room()
        wider = (self.owner[:, None] == self.owner) & (radius[:, None] >= radius + self.chord)
        wider &= np.isfinite(radius)[:, None]
        over, under = np.nonzero(wider)
        idle = shapely.covers(self.outlines[over], self.outlines[under])
        return self.only(np.isin(np.arange(len(radius)), under[idle], invert=True))

    def radii(self) -> Array:
        """Radius of each row's member, infinite for a box."""
        return np.array([inf if m.radius is None else m.radius for m in self.members])[self.member]


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
    stock = np.zeros(len(seen.along), dtype=bool)
    stock[list(task.stock)] = True
    follows = _follows(stack)
    low = np.array([task.tip + m.start - _axial(m, task.clearances) for m in stack])
    high = np.array([inf if sweep else task.tip + m.end + _axial(m, task.clearances) for m in stack])
    wanted = _near(seen, window.bounds, stack, task.clearances, spare)
    wanted &= (seen.high[:, 2] > low[:, None] + TOUCH) & (seen.low[:, 2] < high[:, None] - TOUCH)
    if into_stock:
        wanted &= ~(follows[:, None] & stock)
    number, owner = np.nonzero(wanted)
    outlines = project(seen, owner, low[number], high[number])
    present = shapely.area(outlines) > 0.0
    number, owner, outlines = number[present], owner[present], outlines[present]
    for row in np.flatnonzero(seen.holed[owner]):
        holes = shapely.union_all(holes_seen(seen, int(owner[row])))
        outlines[row] = shapely.difference(outlines[row], holes)
    if task.removed:
        cut_away = stock[owner] & ~follows[number]
        outlines, number, owner = _less_removed(outlines, number, owner, cut_away, task.removed)
    return Obstacles(outlines, number, owner, stack, task.clearances, task.scene.chord)


def _axial(member: Member, clearances: Clearances) -> float:
    return clearances.cutting_axial if member.cuts else clearances.axial


def _radial(member: Member, clearances: Clearances) -> float:
    return clearances.cutting_radial if member.cuts else clearances.radial


def _follows(stack: tuple[Member, ...]) -> Mask:
    """Which members go into what is being cut: the cutting part, and a shank no wider than it."""
    cutter = max((m.radius or 0.0 for m in stack if m.cuts), default=0.0) + TOUCH
    return np.array([m.cuts or (m.radius is not None and m.radius <= cutter) for m in stack], dtype=bool)


def _near(
    seen: View,
    bounds: tuple[float, float, float, float],
    stack: tuple[Member, ...],
    clearances: Clearances,
    spare: float,
) -> Mask:
    """Which solids' XY boxes come within each member's reach of the window; shape (members, solids)."""
    room = np.array([m.reach + (_radial(m, clearances) + spare) + 0.001 for m in stack])[:, None]
    near: Mask = (
        (seen.low[:, 0] < bounds[2] + room)
        & (seen.high[:, 0] > bounds[0] - room)
        & (seen.low[:, 1] < bounds[3] + room)
        & (seen.high[:, 1] > bounds[1] - room)
    )
    return near


@lru_cache(maxsize=256)
def _ground_of(removed: tuple[tuple[Point2, ...], ...]) -> shapely.Geometry:
    return shapely.union_all([shapely.polygons(np.array(ring)) for ring in removed])


def _less_removed(
    outlines: Objects,
    number: Indices,
    owner: Indices,
    chosen: Mask,
    removed: tuple[tuple[Point2, ...], ...],
) -> tuple[Objects, Indices, Indices]:
    """Outlines, the chosen ones without the ground already cut away and in convex pieces again."""
    ground = _ground_of(removed)
    touched = np.flatnonzero(chosen)
    touched = touched[shapely.intersects(ground, outlines[touched])]
    if not len(touched):
        return outlines, number, owner
    left = shapely.constrained_delaunay_triangles(shapely.difference(outlines[touched], ground))
    pieces, of = shapely.get_parts(left, return_index=True)
    large = shapely.area(pieces) > 1e-14
    rows = np.concatenate((np.delete(np.arange(len(outlines)), touched), touched[of[large]]))
    order = np.argsort(rows, kind="stable")
    shapes = np.concatenate((np.delete(outlines, touched), pieces[large]))
    return shapes[order], number[rows[order]], owner[rows[order]]


def forbidden(against: Obstacles, room: Array | None = None) -> Objects:
    """Axis positions that each row forbids when it keeps `room` [m] by row, or its own room; as the rows."""
    room = against.room() if room is None else room
    made = grown(against, room)
    for row in np.flatnonzero(shapely.get_num_interior_rings(against.outlines)):
        member = against.members[int(against.member[row])]
        made[row] = _opened(made[row], against.outlines[row], member, float(room[row]))
    return made


def grown(against: Obstacles, room: Array, drawn: Array | None = None) -> Objects:
    """Outlines by row, their holes filled, grown by the row's member and `room` [m]; negative room shrinks.

    Circles are drawn as fine as those of `drawn` room, where that is given.
    """
    made = np.full(len(against.outlines), EMPTY, dtype=object)
    radii = against.radii()
    radius = radii + room
    for row in np.flatnonzero(radius <= 0.0):
        made[row] = minkowski.shrunk(against.outlines[row], Metre(-radius[row]))
    rows = (radius > 0.0) & (radius < inf)
    finer = None if drawn is None else (radii + drawn)[rows]
    made[rows] = minkowski.rounded(against.outlines[rows], radius[rows], against.chord, finer)
    boxes = np.flatnonzero(radius == inf)
    for number, gap in {(int(against.member[k]), float(room[k])) for k in boxes}:
        member = against.members[number]
        low = (member.low[0] - gap, member.low[1] - gap)
        high = (member.high[0] + gap, member.high[1] + gap)
        if high[0] > low[0] and high[1] > low[1]:
            rows = (against.member == number) & (room == gap)
            made[rows] = minkowski.sums(against.outlines[rows], minkowski.box_reflected(low, high))
    return made


def kept_off(against: Obstacles, radius: Metre) -> Objects:
    """Ground that a disc of `radius` about the axis can't touch because of one row alone: what the row
    forbids, shrunk by `radius`. Nothing for an outline with holes.
    """
    room = against.room()
    made = grown(against, room - radius, room)
    made[shapely.get_num_interior_rings(against.outlines) > 0] = EMPTY
    return made


def _opened(grown: shapely.Polygon, outline: shapely.Polygon, member: Member, gap: float) -> shapely.Geometry:
    """A round member may stand inside a hole that is wide enough for it."""
    if member.radius is None:
        return grown
    radius = Metre(member.radius + gap)
    doors = [minkowski.shrunk(shapely.Polygon(ring), radius) for ring in outline.interiors]
    return shapely.difference(grown, shapely.union_all(doors))


def permitted(task: Task, window: shapely.Polygon, against: Obstacles) -> shapely.Geometry:
    """Axis positions in the window that hit nothing and are within all travels."""
    if z_blocked(task):
        return shapely.Polygon()
    ground = shapely.intersection(window, travel(task.limits))
    shapes = forbidden(against.telling())
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
    tries = np.vstack((_outermost(component), [component.point_on_surface().coords[0]]))
    clear = np.all(gaps(against, tries) >= against.room()[None, :] - TOUCH, axis=1)
    if clear.any():
        return True
    shapes = forbidden(against)
    free = shapely.difference(component, shapely.union_all(shapes))
    return bool(free.area > 1e-12)


def _outermost(component: shapely.Polygon) -> Array:
    """Where a component goes furthest to each side; shape (4, 2)."""
    corners = shapely.get_coordinates(component.exterior)
    return np.asarray(corners[np.concatenate((corners.argmin(axis=0), corners.argmax(axis=0)))])


def _clear_air(task: Task, places: Array) -> bool:
    """Whether the tool can surely come straight in along Z at one of some places: there the boxes around all
    solids that could be in the way, what is cut among them, stand clear of it.
    """
    seen = view(task.scene, task.angle)
    stack = members(task.tool, task.limits)
    low = np.array([task.tip + m.start - _axial(m, task.clearances) for m in stack])
    room = np.array([m.reach + _radial(m, task.clearances) for m in stack])
    away = np.maximum(seen.low[:, :2] - places[:, None], places[:, None] - seen.high[:, :2]).max(axis=2)
    meets = (seen.high[:, 2] > low[:, None] + TOUCH) & (away[:, None] < room[:, None])
    return bool((~meets.any(axis=(1, 2))).any())


def entered(task: Task, allowed: shapely.Geometry, window: shapely.Polygon) -> shapely.Geometry:
    """The components of permitted positions that the tool can get into.

    A component that leaves the window goes on outside it, so it is looked at again without the window.
    """
    parts = [part for part in shapely.get_parts(allowed) if part.geom_type == "Polygon" and part.area > 0.0]
    unsure = [part for part in parts if not _clear_air(task, _outermost(part))]
    if not unsure:
        return _joined(parts)
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
    return _joined(kept)


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
