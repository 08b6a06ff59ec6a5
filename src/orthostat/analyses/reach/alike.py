"""Tasks that look alike from the spindle: without names, and without the rounding of a turned face."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from orthostat.analyses.reach.inputs import Limits
from orthostat.analyses.reach.obstacles import Task
from orthostat.analyses.reach.scene import Indices, Look, Scene, nameless
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Disc, Point2, Polygon, Section


def nameless_tasks(tasks: Sequence[Task], *, mirrored: bool = False) -> list[tuple[Task, Indices] | None]:
    """Each task among what its tool could meet, without names and as seen, and which solid of the scene each
    is: tasks that look alike have equal ones. `None` where holes are seen, which are not kept.
    """
    looks = [_look(task, mirrored=mirrored) for task in tasks]
    wanted: dict[Scene, dict[Look, None]] = {}
    for task, look in zip(tasks, looks, strict=True):
        wanted.setdefault(task.scene, {})[look] = None
    seen = {
        scene: dict(zip(each, nameless(scene, tuple(each)), strict=True)) for scene, each in wanted.items()
    }
    made: list[tuple[Task, Indices] | None] = []
    for task, look in zip(tasks, looks, strict=True):
        found = seen[task.scene][look]
        if found is None:
            made.append(None)
            continue
        scene, places = found
        stock = frozenset(k for k, place in enumerate(places) if place in task.stock)
        tip = Metre(round(task.tip, 12))
        removed = tuple(map(without_rounding, task.removed))
        plain = Task(scene, Radian(0.0), task.tool, tip, task.limits, task.clearances, stock, removed)
        made.append((plain, np.array(places, dtype=np.int64)))
    return made


def _look(task: Task, *, mirrored: bool) -> Look:
    behind = task.tip - max(task.clearances.axial, task.clearances.cutting_axial)
    return task.angle, Metre(behind), mirrored


def symmetric(limits: Limits) -> bool:
    """Whether travel and head are the same to both sides."""
    low, high = limits.x_low, limits.x_high
    travel = low is None and high is None if low is None or high is None else low == -high
    return travel and all(box.x_low == -box.x_high for box in limits.head_boxes)


def without_rounding(section: Section) -> Section:
    """A section without the rounding that turning a face leaves."""
    if isinstance(section, Disc):
        return Disc(to_the_picometre((section.centre,))[0], section.radius)
    return Polygon(to_the_picometre(section.points))


@lru_cache(maxsize=512)
def to_the_picometre(points: tuple[Point2, ...]) -> tuple[Point2, ...]:
    """Points without the rounding that turning a face leaves."""
    return tuple((round(x, 12) + 0.0, round(y, 12) + 0.0) for x, y in points)
