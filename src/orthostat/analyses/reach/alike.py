"""Tasks that look alike from the spindle: without names, and without the rounding of a turned face."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from orthostat.analyses.reach import positions
from orthostat.analyses.reach.inputs import Limits
from orthostat.analyses.reach.obstacles import Task, in_the_way
from orthostat.analyses.reach.scene import Indices, Look, Nameless, Scene, nameless, view
from orthostat.base.dimensions import Metre, Radian
from orthostat.model.bodies import Disc, Point2, Polygon, Section

Found = tuple[Task, Indices]
"""A task without names, and which solid of its scene each of the new one's is."""


def nameless_tasks(tasks: Sequence[Task]) -> list[Found | None]:
    """Each task among all that stands out beyond its tip: tasks that look alike have equal ones. `None` where
    holes are seen, which are not kept.
    """
    looks = [Look(task.angle, beyond(task), Metre(0.0), mirrored=False) for task in tasks]
    return _all_nameless(tasks, looks, [task.limits for task in tasks])


def nameless_images(tasks: Sequence[Task]) -> list[tuple[Task, Indices, bool] | None]:
    """As `nameless_tasks`, of each task or its mirror image the one that sorts first, and whether that is the
    image: so mirror images too have equal ones, whichever of them are asked for.
    """
    both = [k for k, task in enumerate(tasks) if symmetric(task.limits)]
    looks = [Look(task.angle, beyond(task), Metre(0.0), mirrored=False) for task in tasks]
    found = _scenes(
        [*tasks, *(tasks[k] for k in both)], [*looks, *(replace(looks[k], mirrored=True) for k in both)]
    )
    plain, image = found[: len(tasks)], dict(zip(both, found[len(tasks) :], strict=True))
    made: list[tuple[Task, Indices, bool] | None] = []
    for k, (task, here) in enumerate(zip(tasks, plain, strict=True)):
        there = image.get(k)
        flip = here is not None and there is not None and there[0].blocks < here[0].blocks
        chosen = there if flip else here
        made.append(None if chosen is None else (*_nameless(task, looks[k], task.limits, chosen), flip))
    return made


def nameless_nearby(tasks: Sequence[Task], boxes: Sequence[tuple[float, ...]]) -> list[Found | None]:
    """Each task among what could stand in its way with its axis in a box, its tip at Z = 0, wherever along Z
    that is: what is the same for the tool is an equal task. `None` as above.
    """
    looks = [
        Look(task.angle, solids, task.tip, mirrored=False)
        for task, solids in zip(tasks, in_the_way(tasks, boxes), strict=True)
    ]
    limits = [
        from_tip(task.limits, task.tip) if positions.z_blocked(task) else without_z(task.limits)
        for task in tasks
    ]
    return _all_nameless(tasks, looks, limits)


def _all_nameless(tasks: Sequence[Task], looks: list[Look], limits: list[Limits]) -> list[Found | None]:
    return [
        None if found is None else _nameless(task, look, kept, found)
        for task, look, kept, found in zip(tasks, looks, limits, _scenes(tasks, looks), strict=True)
    ]


def _scenes(tasks: Sequence[Task], looks: list[Look]) -> list[tuple[Nameless, tuple[int, ...]] | None]:
    """How each task looks, and which solid of its scene each there is."""
    wanted: dict[Scene, dict[Look, None]] = {}
    for task, look in zip(tasks, looks, strict=True):
        wanted.setdefault(task.scene, {})[look] = None
    seen = {
        scene: dict(zip(each, nameless(scene, tuple(each)), strict=True)) for scene, each in wanted.items()
    }
    return [seen[task.scene][look] for task, look in zip(tasks, looks, strict=True)]


def _nameless(task: Task, look: Look, limits: Limits, found: tuple[Nameless, tuple[int, ...]]) -> Found:
    scene, places = found
    stock = frozenset(k for k, place in enumerate(places) if place in task.stock)
    tip = Metre(round(task.tip - look.level, 12))
    removed = tuple(map(without_rounding, task.removed))
    plain = Task(scene, Radian(0.0), task.tool, tip, limits, task.clearances, stock, removed)
    return plain, np.array(places, dtype=np.int64)


def beyond(task: Task) -> tuple[int, ...]:
    """Solids that stand out beyond the tip of a task."""
    return _beyond(
        task.scene, task.angle, task.tip - max(task.clearances.axial, task.clearances.cutting_axial)
    )


@lru_cache(maxsize=64)
def _beyond(scene: Scene, angle: Radian, level: float) -> tuple[int, ...]:
    return tuple(np.flatnonzero(view(scene, angle).high[:, 2] > level).tolist())


@lru_cache(maxsize=8)
def without_z(limits: Limits) -> Limits:
    """Limits of which those along Z are not in the way."""
    return replace(limits, nose_near=None, nose_far=None)


def from_tip(limits: Limits, tip: Metre) -> Limits:
    """Limits as they are from a tip on."""
    near, far = limits.nose_near, limits.nose_far
    return replace(
        limits,
        nose_near=None if near is None else Metre(near - tip),
        nose_far=None if far is None else Metre(far - tip),
    )


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
