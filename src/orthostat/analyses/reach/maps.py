"""What a tool machines of a face: region, share, full-width lines, and what blocks the rest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from orthostat.analyses.reach import minkowski, positions
from orthostat.analyses.reach.obstacles import Obstacles, Task, joined, obstacles, obstacles_of
from orthostat.analyses.reach.scene import EMPTY, Array, Mask, Objects
from orthostat.analyses.reach.stack import is_mill
from orthostat.base.dimensions import Metre, Radian, Ratio
from orthostat.model.bodies import Face
from orthostat.model.tools import Tool

CAP = Metre(0.025)
"""How far past its edges a face is looked at, to say how much reach there is to spare [m]."""
SLIVER = 1e-7
"""Strips thinner than this are rounding [m]."""
EDGE = 0.001


@dataclass(frozen=True, slots=True)
class Blocker:
    """Something that keeps a tool from ground, by name, and the share of the lost ground it
    keeps from the tool on its own; 0 where it does so only together with others.
    """

    name: str
    kind: str
    """`travel` or `body`."""
    member: str
    """Part of the tool that would hit it: `cutter`, `shank`, `holder`, `head`; empty for travel."""
    share: Ratio


@dataclass(frozen=True)
class LostPart:
    """A connected part of the wanted ground that is out of reach."""

    ground: shapely.Polygon
    blockers: tuple[Blocker, ...]


@dataclass(frozen=True)
class Ground:
    """The answer for one task on one wanted region, in machine X, Y [m] (u, v of the view)."""

    wanted: shapely.Polygon
    machinable: shapely.Geometry
    lost: shapely.Geometry
    permitted: shapely.Geometry
    """Axis positions near the region that hit nothing and can be entered."""
    overrun: Metre
    """How far the reach goes past the region's edges at least (up to `CAP`), or minus the largest
    distance from lost ground to reached ground."""
    z_blocked: str
    radius: Metre
    """Of what the cutter covers about its axis; 0 for a tool that only plunges."""
    against: Obstacles = field(compare=False)
    outside: bool = field(default=False, compare=False)
    """Whether what stands far from the region had a say: the way in was looked for there."""
    shared: Ground | None = field(default=None, compare=False, repr=False)
    """The answer of an alike face, which this one is but for names."""

    @cached_property
    def mirrored(self) -> Ground:
        """The answer with left and right changed."""

        def flipped(shape: Any) -> Any:
            return shapely.transform(shape, lambda points: points * (-1.0, 1.0))

        return replace(
            self,
            wanted=flipped(self.wanted),
            machinable=flipped(self.machinable),
            lost=flipped(self.lost),
            permitted=flipped(self.permitted),
            against=replace(self.against, outlines=flipped(self.against.outlines)),
        )

    @cached_property
    def pieces(self) -> list[shapely.Polygon]:
        """The connected parts of what is lost, as they come: in the same order for a mirror image."""
        return [part for part in shapely.get_parts(self.lost) if part.area > 0.0]

    @cached_property
    def order(self) -> list[int]:
        """Which of the `pieces` each of the `lost_parts` is."""
        return sorted(range(len(self.pieces)), key=lambda number: place_of(self.pieces[number]))

    @property
    def lost_parts(self) -> list[shapely.Polygon]:
        """The connected parts of what is lost: the lowest first, of those as low the one furthest left."""
        return [self.pieces[number] for number in self.order]

    @property
    def largest(self) -> int:
        """The number of the largest lost part, of those as large the first; there must be one."""
        areas = [round(part.area, 10) for part in self.lost_parts]
        return areas.index(max(areas))

    def kept_by(self, part: int) -> tuple[tuple[int, Ratio], ...]:
        """The rows of `against` near one of the lost parts, each with the share that it keeps off alone."""
        share_out([(self, part)])
        return (self.shared or self).shares[self.order[part]]

    @cached_property
    def shares(self) -> dict[int, tuple[tuple[int, Ratio], ...]]:
        """What `share_out` has worked out, by the number of a piece."""
        return {}

    @property
    def share(self) -> Ratio:
        return Ratio(1.0 if self.lost.is_empty else self.machinable.area / self.wanted.area)

    @property
    def whole(self) -> bool:
        return bool(self.lost.is_empty)

    @property
    def lowest_line(self) -> Metre | None:
        """Lowest height v at which the whole width is reached; `None` where there is none."""
        lines = self.full_lines()
        return lines[0][0] if lines else None

    @property
    def highest_line(self) -> Metre | None:
        lines = self.full_lines()
        return lines[-1][1] if lines else None

    @property
    def lost_band(self) -> Metre:
        """Height from the region's lower edge to the lowest full-width line, or all of it."""
        low, high = self.wanted.bounds[1], self.wanted.bounds[3]
        line = self.lowest_line
        return Metre(high - low if line is None else line - low)

    def full_lines(self) -> list[tuple[Metre, Metre]]:
        """Ranges of v over which the whole width of the region is reached."""
        low, high = self.wanted.bounds[1], self.wanted.bounds[3]
        bands = sorted((part.bounds[1], part.bounds[3]) for part in shapely.get_parts(self.lost))
        free, at = [], low
        for start, end in bands:
            if start > at + SLIVER:
                free.append((Metre(at), Metre(start)))
            at = max(at, end)
        if high > at + SLIVER:
            free.append((Metre(at), Metre(high)))
        return free


@dataclass(frozen=True)
class FaceMap:
    """What one tool machines of one face with its tip at one depth over it."""

    face: Face
    tool: Tool
    tip: Metre
    """Height of the tip plane over the face as drawn, before truing; negative into it [m]."""
    loaded: bool
    """Whether the other faces carry their stations."""
    b_angle: Radian
    ground: Ground
    unknown: tuple[str, ...]
    """Key paths not stated that could take away reach; the map is then the most it can be."""


def face_region(face: Face) -> shapely.Polygon:
    """The whole of a face in (u, v), which are machine X, Y when it looks at the spindle."""
    return shapely.box(face.u_low, face.v_low, face.u_high, face.v_high)


def ground(task: Task, wanted: shapely.Polygon, *, mill: bool | None = None) -> Ground:
    """Work out one task over a region given in machine X, Y [m]."""
    return grounds([task], [wanted], mill=is_mill(task.tool) if mill is None else mill)[0]


def grounds(tasks: Sequence[Task], wanted: Sequence[shapely.Polygon], *, mill: bool) -> list[Ground]:
    """Work out several tasks of one design at once, all of mills or all of other tools."""
    if not tasks:
        return []
    chord = tasks[0].scene.chord
    radii = np.array([task.tool.flat_radius if mill else 0.0 for task in tasks])
    around = _grown_boxes(wanted, np.full(len(tasks), CAP))
    windows = _grown_boxes(wanted, np.array([margin(task, mill=mill) for task in tasks]))
    against = obstacles_of(tasks, windows, sweep=not mill)
    allowed = positions.permitted_of(tasks, windows, against)
    outside = np.zeros(len(tasks), dtype=bool)
    if mill:
        allowed, outside = positions.entered_of(tasks, allowed, windows)
        lost_around = minkowski.missed_of(allowed, radii, around, chord)
    else:
        lost_around = shapely.difference(around, allowed)
    lost_around = all_without_slivers(lost_around)
    lost = all_without_slivers(shapely.intersection(lost_around, wanted))
    machinable = shapely.difference(wanted, lost)
    overruns = _overruns(wanted, machinable, lost, lost_around)
    return [
        Ground(
            wanted[k],
            machinable[k],
            lost[k],
            allowed[k],
            overruns[k],
            positions.z_blocked(task),
            Metre(float(radii[k])),
            against.of_task(k),
            bool(outside[k]),
        )
        for k, task in enumerate(tasks)
    ]


def margin(task: Task, *, mill: bool) -> float:
    """How far outside a region the axis matters for it and what lies `CAP` around it [m]."""
    return CAP + EDGE + (_widest(task.tool) + task.clearances.radial if mill else 0.0)


def _widest(tool: Tool) -> float:
    return max([tool.flat_radius, *(step.radius for step in tool.steps if step.cuts)])


def whole(task: Task, wanted: shapely.Polygon) -> bool:
    """Whether a mill reaches all of a region: `ground(...).whole` without the rest of the answer."""
    tool = task.tool
    if positions.z_blocked(task):
        return False
    window = grown_box(wanted, _widest(tool) + task.clearances.radial + EDGE)
    allowed = positions.permitted(task, window, obstacles(task, window))
    if not covers(task, allowed, wanted):
        return False
    return covers(task, positions.entered(task, allowed, window), wanted)


def covers(task: Task, allowed: shapely.Geometry, wanted: shapely.Polygon) -> bool:
    """Whether the cutter covers all of a region with its axis in `allowed`."""
    return bool(cover([task], np.array([allowed], dtype=object), [wanted])[0])


def cover(tasks: Sequence[Task], allowed: Objects, wanted: Sequence[shapely.Polygon]) -> Mask:
    """As `covers`, of several cutters of one design at once."""
    radii = np.array([task.tool.flat_radius for task in tasks])
    missed = minkowski.missed_of(allowed, radii, np.array(wanted, dtype=object), tasks[0].scene.chord)
    return np.asarray(shapely.is_empty(all_without_slivers(missed)), dtype=bool)


def grown_box(region: shapely.Geometry, by: float) -> shapely.Polygon:
    """The upright box around a region, grown on all sides [m]."""
    x_low, y_low, x_high, y_high = region.bounds
    return shapely.box(x_low - by, y_low - by, x_high + by, y_high + by)


def _grown_boxes(regions: Sequence[shapely.Geometry], by: Array) -> Objects:
    x_low, y_low, x_high, y_high = shapely.bounds(regions).T
    return np.asarray(shapely.box(x_low - by, y_low - by, x_high + by, y_high + by), dtype=object)


def place_of(part: shapely.Geometry) -> tuple[float, float]:
    """What sorts connected ground by where it is: how low its centroid, then how far left, but for rounding
    [m]. An overlay may leave lines without area on a part, which its bounds would count.
    """
    return round(part.centroid.y, 6), round(part.centroid.x, 6)


def without_slivers(shape: shapely.Geometry) -> shapely.Geometry:
    """The polygons of a shape that are more than rounding."""
    return all_without_slivers(np.array([shape], dtype=object))[0]


def all_without_slivers(shapes: Objects) -> Objects:
    """The polygons of each shape that are more than rounding."""
    parts, of = shapely.get_parts(shapes, return_index=True)
    kept = shapely.get_type_id(parts) == 3
    kept &= 2.0 * shapely.area(parts) > SLIVER * shapely.length(parts)
    parts, of = parts[kept], of[kept]
    made = np.full(len(shapes), EMPTY, dtype=object)
    for number in np.unique(of).tolist():
        mine = parts[of == number]
        made[number] = mine[0] if len(mine) == 1 else shapely.multipolygons(mine)
    return made


def _overruns(
    wanted: Sequence[shapely.Polygon], machinable: Objects, lost: Objects, lost_around: Objects
) -> list[Metre]:
    """How far the reach goes past the edges of each region, or falls short of them; see `Ground.overrun`."""
    x_low, y_low, x_high, y_high = shapely.bounds(wanted).T
    made = -np.maximum(x_high - x_low, y_high - y_low)
    whole = shapely.is_empty(lost)
    made[whole] = np.fmin(CAP, shapely.distance(np.asarray(wanted)[whole], lost_around[whole]))
    some = ~whole & ~shapely.is_empty(machinable)
    points, of = shapely.get_coordinates(lost[some], return_index=True)
    worst = np.zeros(int(some.sum()))
    np.maximum.at(worst, of, shapely.distance(shapely.points(points), machinable[some][of]))
    parts, of = shapely.get_parts(lost[some], return_index=True)
    edges = shapely.boundary(np.asarray(wanted)[some])
    for k in np.flatnonzero(~shapely.intersects(parts, edges[of])).tolist():
        within = shapely.maximum_inscribed_circle(parts[k], tolerance=1e-5)
        worst[of[k]] = max(worst[of[k]], within.length)
    made[some] = -worst
    return list(map(Metre, made.tolist()))


def blamed(task: Task, found: Ground) -> tuple[LostPart, ...]:
    """The lost parts of a region, each with what blocks it, the greatest share first."""
    return tuple(blamed_part(task, found, number) for number in range(len(found.lost_parts)))


def keeping_off(lost: Sequence[LostPart]) -> tuple[Blocker, ...]:
    """What blocks the lost parts, each with its share of all of them, the greatest first."""
    every = sum(part.ground.area for part in lost)
    named: dict[tuple[str, str], Blocker] = {}
    for part in lost:
        for blocker in part.blockers:
            key = blocker.name, blocker.member
            before = named[key].share if key in named else 0.0
            share = Ratio(before + blocker.share * part.ground.area / every)
            named[key] = replace(blocker, share=share)
    return tuple(sorted(named.values(), key=lambda blocker: -round(blocker.share, 9)))


def blamed_part(task: Task, found: Ground, number: int) -> LostPart:
    """One of the lost parts of a region, with what blocks it."""
    part = found.lost_parts[number]
    if found.z_blocked:
        return LostPart(part, (Blocker(found.z_blocked, "travel", "", Ratio(1.0)),))
    return LostPart(part, _blockers(task, found, part, found.kept_by(number)))


def _blockers(
    task: Task, ground: Ground, part: shapely.Polygon, rows: tuple[tuple[int, Ratio], ...]
) -> tuple[Blocker, ...]:
    against = ground.against
    alone = _travel_shares(task, part, ground.radius)
    for row, share in rows:
        solid, member = task.scene.solids[int(against.owner[row])], against.members[int(against.member[row])]
        alone.append(Blocker(solid.name, "body", member.name, share))
    named: dict[tuple[str, str], Blocker] = {}
    for blocker in alone:
        key = (blocker.name, blocker.member)
        if key not in named or named[key].share < blocker.share:
            named[key] = blocker
    found = sorted(named.values(), key=_rank)
    telling = [blocker for blocker in found if blocker.share > 0.01]
    if telling:
        return tuple(telling)
    return tuple(found[:4]) or (Blocker("no way in", "body", "cutter", Ratio(1.0)),)


def _rank(blocker: Blocker) -> tuple[float, str, str]:
    """The greatest share first; shares that differ by rounding alone go by their names."""
    return -round(blocker.share, 9), blocker.name, blocker.member


def _travel_shares(task: Task, part: shapely.Polygon, radius: Metre) -> list[Blocker]:
    limits = task.limits
    far = 2.0 * positions.FAR
    sides: Sequence[tuple[str, Metre | None, int, bool]] = (
        ("X travel, low end", limits.x_low, 0, True),
        ("X travel, high end", limits.x_high, 0, False),
        ("Y travel, low end", limits.y_low, 1, True),
        ("Y travel, high end", limits.y_high, 1, False),
    )
    bounds = part.bounds
    made = []
    for name, limit, axis, low in sides:
        if limit is None:
            continue
        edge = limit - radius if low else limit + radius
        beyond = [-far, -far, far, far]
        beyond[axis + 2 if low else axis] = edge
        end = bounds[axis] if low else bounds[axis + 2]
        near = end < limit if low else end > limit
        share = 0.0
        if (end < edge) if low else (end > edge):
            within = bounds[axis + 2] <= edge + SLIVER if low else bounds[axis] >= edge - SLIVER
            share = 1.0 if within else shapely.intersection(part, shapely.box(*beyond)).area / part.area
        if share > 0.0 or (near and radius > 0.0):
            made.append(Blocker(name, "travel", "", Ratio(share)))
    return made


def share_out(asked: Iterable[tuple[Ground, int]]) -> None:
    """Work out together which rows are near some lost parts of one design's grounds, and what each keeps off.

    For a disc of the cutter's flat radius to miss ground, all its centres must be forbidden: one obstacle
    does so alone where the ground lies `radius` inside what it forbids.
    """
    open_: dict[tuple[int, int], Ground] = {}
    for named, part in asked:
        ground, number = named.shared or named, named.order[part]
        if number not in ground.shares:
            open_[id(ground), number] = ground
    if not open_:
        return
    numbers = [number for _, number in open_]
    against = joined([ground.against for ground in open_.values()])
    lost = [ground.pieces[number] for (_, number), ground in open_.items()]
    parts = np.array(lost, dtype=object)[against.task]
    radii = np.array([ground.radius for ground in open_.values()])[against.task]
    near = positions.near(against, parts, radii)
    some, parts = against.only(near), parts[near]
    inner = positions.kept_off(some, radii[near], parts)
    plunging = radii[near] == 0.0
    inner[plunging] = positions.forbidden(some.only(plunging))
    shares = shapely.area(shapely.intersection(parts, inner)) / shapely.area(parts)
    first = np.searchsorted(against.task, some.task)
    for k, (number, ground) in enumerate(zip(numbers, open_.values(), strict=True)):
        mine = some.task == k
        rows = (near - first)[mine].tolist()
        ground.shares[number] = tuple(zip(rows, map(Ratio, shares[mine].tolist()), strict=True))
