"""Tasks that look alike from the spindle: without names, and without the rounding of a turned face."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from orthostat.analyses.reach.inputs import Limits
from orthostat.analyses.reach.positions import Task
from orthostat.analyses.reach.scene import Indices, nameless
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Point2


def nameless_task(task: Task, *, mirrored: bool = False) -> tuple[Task, Indices] | None:
    """The task among what its tool could meet, without names and as seen, and which solid of the scene each
    is: tasks that look alike have equal ones. `None` where holes are seen, which are not kept.
    """
    behind = task.tip - max(task.clearances.axial, task.clearances.cutting_axial)
    seen = nameless(task.scene, task.angle, Metre(behind), mirrored=mirrored)
    if seen is None:
        return None
    scene, places = seen
    stock = frozenset(k for k, place in enumerate(places) if place in task.stock)
    tip = Metre(round(task.tip, 12))
    removed = tuple(map(to_the_picometre, task.removed))
    made = replace(task, scene=scene, angle=Radian(0.0), tip=tip, stock=stock, removed=removed)
    return made, np.array(places, dtype=np.int64)


def symmetric(limits: Limits) -> bool:
    """Whether travel and head are the same to both sides."""
    low, high = limits.x_low, limits.x_high
    travel = low is None and high is None if low is None or high is None else low == -high
    return travel and all(box.x_low == -box.x_high for box in limits.head_boxes)


@lru_cache(maxsize=512)
def to_the_picometre(points: tuple[Point2, ...]) -> tuple[Point2, ...]:
    """Points without the rounding that turning a face leaves."""
    return tuple((round(x, 12) + 0.0, round(y, 12) + 0.0) for x, y in points)
