"""What one tool at one depth could hit, part by part: projections of solids along the spindle."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain, pairwise
from math import inf

import numpy as np
import shapely

from orthostat.analyses.reach.inputs import Clearances, Limits
from orthostat.analyses.reach.scene import (
    OUT,
    TOUCH,
    Array,
    Indices,
    Mask,
    Objects,
    Scene,
    View,
    holes_seen,
    project,
    side_by_side,
    upright_boxes,
    view,
    within,
)
from orthostat.analyses.reach.stack import Member, extents, members, radial
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

    def undominated(self) -> Obstacles:
        """Without the rows of which another row of their task forbids all that they do: a member wider by a
        chord, or as wide, before an upright rectangle around their outline, or before the same solid.
        """
        upright, bounds = upright_boxes(self.outlines)
        radius = self.radii() + self.room()
        finite = np.isfinite(radius)[:, None]
        wider = finite & (radius[:, None] >= radius + self.chord)
        alike = (radius[:, None] == radius) & (finite | (self.member[:, None] == self.member))
        together = self.task[:, None] == self.task
        inside = (bounds[:, None] * OUT >= bounds * OUT).all(axis=2)
        over = together & upright[:, None] & inside & (wider | alike)
        same = together & ~upright[:, None] & (self.owner[:, None] == self.owner) & wider
        wide, narrow = np.nonzero(same)
        over[wide, narrow] = shapely.covers(self.outlines[wide], self.outlines[narrow])
        over &= ~(over.T & np.tri(len(radius), dtype=bool))  # of two that forbid the same the first stays
        return self.only(~over.any(axis=0))

    def radii(self) -> Array:
        """Radius of each row's member, infinite for a box."""
        return np.array([inf if m.radius is None else m.radius for m in self.members])[self.member]


def joined(parts: Sequence[Obstacles]) -> Obstacles:
    """The rows of several tasks of one design, each asked for by itself."""
    begins = np.cumsum([0, *(len(each.members) for each in parts)])
    return Obstacles(
        np.concatenate([each.outlines for each in parts]),
        np.repeat(np.arange(len(parts)), [len(each.outlines) for each in parts]),
        np.concatenate([each.member + begin for each, begin in zip(parts, begins, strict=False)]),
        np.concatenate([each.owner for each in parts]),
        tuple(chain.from_iterable(each.members for each in parts)),
        tuple(begins.tolist()),
        parts[0].clearances,
        parts[0].chord,
    )


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
    windows: Sequence[shapely.Polygon] | Objects,
    *,
    sweep: bool = False,
    into_stock: bool = True,
    spare: float = 0.0,
) -> Obstacles:
    """As `obstacles`, of several tasks of one design at once."""
    views, seen, begin, own = side_by_side_of(tasks)
    stacks = [members(task.tool, task.limits) for task in tasks]
    stack_of = np.repeat(np.arange(len(tasks)), [len(stack) for stack in stacks])
    every = tuple(chain.from_iterable(stacks))
    follows = np.concatenate([_follows(stack) for stack in stacks])
    low, high, room = extents_of(tasks)
    room += spare + 0.001
    if sweep:
        high[:] = inf
    stock = np.zeros(own.shape, dtype=bool)
    for k, task in enumerate(tasks):
        stock[k, [begin[k] + solid for solid in task.stock]] = True
    wanted = _near(seen, shapely.bounds(windows)[stack_of], room)
    wanted &= (seen.high[:, 2] > low[:, None] + TOUCH) & (seen.low[:, 2] < high[:, None] - TOUCH)
    wanted &= own[stack_of]
    if into_stock:
        wanted &= ~(follows[:, None] & stock[stack_of])
    member, owner = np.nonzero(wanted)
    outlines = project(seen, owner, low[member], high[member])
    present = shapely.area(outlines) > 0.0
    member, owner, outlines = member[present], owner[present], outlines[present]
    for row in np.flatnonzero(seen.holed[owner]).tolist():
        k = int(stack_of[member[row]])
        holes = holes_seen(views[k], int(owner[row] - begin[k]))
        outlines[row] = shapely.difference(outlines[row], shapely.union_all(holes))
    for k, task in enumerate(tasks):
        if task.removed:
            cut_away = (stack_of[member] == k) & stock[k, owner] & ~follows[member]
            ground = _ground_of(task.removed, task.scene.chord)
            outlines, member, owner = _less_removed(outlines, member, owner, cut_away, ground)
    of = stack_of[member]
    return Obstacles(
        outlines,
        of,
        member,
        owner - begin[of],
        every,
        (0, *np.cumsum([len(stack) for stack in stacks]).tolist()),
        tasks[0].clearances,
        tasks[0].scene.chord,
    )


def in_the_way(tasks: Sequence[Task], boxes: Sequence[tuple[float, ...]]) -> list[tuple[int, ...]]:
    """Solids whose boxes the stack of each task could touch, at its depth or on its way there, with its axis
    in a box.
    """
    if not tasks:
        return []
    _, seen, begin, own = side_by_side_of(tasks)
    count = [len(members(task.tool, task.limits)) for task in tasks]
    stack_of = np.repeat(np.arange(len(tasks)), count)
    low, _, room = extents_of(tasks)
    met = _near(seen, np.array(boxes)[stack_of], room + 0.001) & (seen.high[:, 2] > low[:, None])
    member, solid = np.nonzero(met & own[stack_of])
    touched = np.zeros(own.shape, dtype=bool)
    touched[stack_of[member], solid] = True
    task, solid = np.nonzero(touched)
    solid -= begin[task]
    ends = np.searchsorted(task, range(len(tasks) + 1))
    return [tuple(solid[start:end].tolist()) for start, end in pairwise(ends)]


def side_by_side_of(tasks: Sequence[Task]) -> tuple[list[View], View, Indices, Mask]:
    """What each task sees; all of that side by side; where there the solids of each task begin, and which are
    its own; shape (tasks, solids).
    """
    views = [view(task.scene, task.angle) for task in tasks]
    numbers = {each: number for number, each in enumerate(dict.fromkeys(views))}
    sees = np.array([numbers[each] for each in views])
    count = [len(each.along) for each in numbers]
    own: Mask = np.repeat(np.arange(len(numbers)), count) == sees[:, None]
    return views, side_by_side(tuple(numbers)), (np.cumsum(count) - count)[sees], own


def extents_of(tasks: Sequence[Task]) -> Array:
    """Lower and upper Z of each member of the tasks' stacks, and how far it comes from the axis, with its
    clearances [m]; shape (3, members).
    """
    each = [extents(task.tool, task.limits, task.clearances) for task in tasks]
    made = np.concatenate(each, axis=1)
    made[:2] += np.repeat([task.tip for task in tasks], [part.shape[1] for part in each])
    return made


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
