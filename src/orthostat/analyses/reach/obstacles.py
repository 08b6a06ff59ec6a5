"""What one tool at one depth could hit, part by part: projections of solids along the spindle."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain
from math import inf

import numpy as np
import shapely

from orthostat.analyses.reach.inputs import Clearances, Limits
from orthostat.analyses.reach.scene import (
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
    within,
)
from orthostat.analyses.reach.stack import Member, members
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Disc, Section
from orthostat.model.tools import Tool


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
    removed: tuple[Section, ...] = ()
    """Ground (X, Y) that is cut away before a shank wider than the cutter gets there."""

    def __hash__(self) -> int:
        return hash((self.scene, self.angle, self.tip, self.tool, self.stock))


@dataclass(frozen=True, slots=True)
class Obstacles:
    """Projections that a member of the stack must keep clear of, one row each, of one task or several."""

    outlines: Objects
    """Convex, but for holes; machine X, Y."""
    task: Indices
    member: Indices
    owner: Indices
    """Solids, by their number in the scene of the task."""
    members: tuple[Member, ...]
    """Those of all tasks, one after the other."""
    stacks: tuple[int, ...]
    """Where the members of each task begin, and the end of the last."""
    clearances: Clearances
    chord: Metre

    def room(self) -> Array:
        """Radial clearance to keep, by row [m]."""
        return np.array([radial(m, self.clearances) for m in self.members])[self.member]

    def of(self, wanted: Callable[[Member], bool]) -> Mask:
        """Rows whose member is wanted."""
        chosen: Mask = np.array([wanted(member) for member in self.members], dtype=bool)[self.member]
        return chosen

    def only(self, rows: Mask | Indices) -> Obstacles:
        """The chosen rows alone."""
        return replace(
            self,
            outlines=self.outlines[rows],
            task=self.task[rows],
            member=self.member[rows],
            owner=self.owner[rows],
        )

    def of_task(self, number: int) -> Obstacles:
        """The rows of one task alone, as if they had been asked for by themselves."""
        mine = self.task == number
        first, end = self.stacks[number], self.stacks[number + 1]
        return Obstacles(
            self.outlines[mine],
            np.zeros(int(mine.sum()), dtype=np.int64),
            self.member[mine] - first,
            self.owner[mine],
            self.members[first:end],
            (0, end - first),
            self.clearances,
            self.chord,
        )

    def telling(self) -> Obstacles:
        """Without the rows of which another row of the same solid forbids all that they do: a round member no
        wider than another one by a chord, before an outline that the other's covers.
        """
        radius = self.radii() + self.room()
        same = (self.owner[:, None] == self.owner) & (self.task[:, None] == self.task)
        wider = same & (radius[:, None] >= radius + self.chord)
        wider &= np.isfinite(radius)[:, None]
        over, under = np.nonzero(wider)
        idle = shapely.covers(self.outlines[over], self.outlines[under])
        return self.only(np.isin(np.arange(len(radius)), under[idle], invert=True))

    def radii(self) -> Array:
        """Radius of each row's member, infinite for a box."""
        return np.array([inf if m.radius is None else m.radius for m in self.members])[self.member]


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
    return obstacles_of([task], [window], sweep=sweep, into_stock=into_stock, spare=spare)


def obstacles_of(
    tasks: Sequence[Task],
    windows: Sequence[shapely.Polygon],
    *,
    sweep: bool = False,
    into_stock: bool = True,
    spare: float = 0.0,
) -> Obstacles:
    """As `obstacles`, of several tasks of one design at once."""
    together: dict[tuple[Scene, Radian], list[int]] = {}
    for number, task in enumerate(tasks):
        together.setdefault((task.scene, task.angle), []).append(number)
    found = [
        _obstacles_in_view(tasks, windows, numbers, sweep=sweep, into_stock=into_stock, spare=spare)
        for numbers in together.values()
    ]
    stacks = [members(task.tool, task.limits) for task in tasks]
    outlines, of, member, owner = (np.concatenate(column) for column in zip(*found, strict=True))
    order = np.argsort(of, kind="stable")
    of = of[order]
    begins = np.cumsum([0, *map(len, stacks)])
    return Obstacles(
        outlines[order],
        of,
        member[order] + begins[of],
        owner[order],
        tuple(chain.from_iterable(stacks)),
        tuple(begins.tolist()),
        tasks[0].clearances,
        tasks[0].scene.chord,
    )


def _obstacles_in_view(
    tasks: Sequence[Task],
    windows: Sequence[shapely.Polygon],
    numbers: Sequence[int],
    *,
    sweep: bool,
    into_stock: bool,
    spare: float,
) -> tuple[Objects, Indices, Indices, Indices]:
    """Of the numbered tasks, which all see the same: outlines, and whose each is: task, member, solid."""
    seen = view(tasks[numbers[0]].scene, tasks[numbers[0]].angle)
    stacks = [members(tasks[k].tool, tasks[k].limits) for k in numbers]
    of = np.repeat(numbers, [len(stack) for stack in stacks])
    begin = np.repeat(np.cumsum([0, *map(len, stacks)])[:-1], [len(stack) for stack in stacks])
    every = list(chain.from_iterable(stacks))
    follows = np.concatenate([_follows(stack) for stack in stacks])
    owners = [(tasks[k], member) for k, member in zip(of.tolist(), every, strict=True)]
    low = np.array([task.tip + m.start - axial(m, task.clearances) for task, m in owners])
    high = np.array([inf if sweep else task.tip + m.end + axial(m, task.clearances) for task, m in owners])
    room = np.array([m.reach + (radial(m, task.clearances) + spare) + 0.001 for task, m in owners])
    stock = np.zeros((len(tasks), len(seen.along)), dtype=bool)
    for k in numbers:
        stock[k, list(tasks[k].stock)] = True
    bounds = shapely.bounds(np.array(windows, dtype=object)[of])
    wanted = _near(seen, bounds, room)
    wanted &= (seen.high[:, 2] > low[:, None] + TOUCH) & (seen.low[:, 2] < high[:, None] - TOUCH)
    if into_stock:
        wanted &= ~(follows[:, None] & stock[of])
    number, owner = np.nonzero(wanted)
    outlines = project(seen, owner, low[number], high[number])
    present = shapely.area(outlines) > 0.0
    number, owner, outlines = number[present], owner[present], outlines[present]
    for row in np.flatnonzero(seen.holed[owner]):
        holes = shapely.union_all(holes_seen(seen, int(owner[row])))
        outlines[row] = shapely.difference(outlines[row], holes)
    for k in numbers:
        if tasks[k].removed:
            cut_away = (of[number] == k) & stock[k, owner] & ~follows[number]
            ground = _ground_of(tasks[k].removed, seen.scene.chord)
            outlines, number, owner = _less_removed(outlines, number, owner, cut_away, ground)
    return outlines, of[number], number - begin[number], owner


def axial(member: Member, clearances: Clearances) -> float:
    """Clearance to keep along Z [m]."""
    return clearances.cutting_axial if member.cuts else clearances.axial


def radial(member: Member, clearances: Clearances) -> float:
    """Clearance to keep from the axis out [m]."""
    return clearances.cutting_radial if member.cuts else clearances.radial


def _follows(stack: tuple[Member, ...]) -> Mask:
    """Which members go into what is being cut: the cutting part, and a shank no wider than it."""
    cutter = max((m.radius or 0.0 for m in stack if m.cuts), default=0.0) + TOUCH
    return np.array([m.cuts or (m.radius is not None and m.radius <= cutter) for m in stack], dtype=bool)


def _near(seen: View, bounds: Array, room: Array) -> Mask:
    """Which solids' XY boxes come within each member's room of its window; shape (members, solids)."""
    near: Mask = (
        (seen.low[:, 0] < (bounds[:, 2] + room)[:, None])
        & (seen.high[:, 0] > (bounds[:, 0] - room)[:, None])
        & (seen.low[:, 1] < (bounds[:, 3] + room)[:, None])
        & (seen.high[:, 1] > (bounds[:, 1] - room)[:, None])
    )
    return near


@lru_cache(maxsize=256)
def _ground_of(removed: tuple[Section, ...], chord: Metre) -> shapely.Geometry:
    rings = [
        within(each.centre, each.radius, chord) if isinstance(each, Disc) else each.points for each in removed
    ]
    return shapely.union_all([shapely.polygons(np.array(ring)) for ring in rings])


def _less_removed(
    outlines: Objects, number: Indices, owner: Indices, chosen: Mask, ground: shapely.Geometry
) -> tuple[Objects, Indices, Indices]:
    """Outlines, the chosen ones without the ground already cut away and in convex pieces again."""
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
