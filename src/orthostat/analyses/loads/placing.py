"""From forces at the tool to wrenches about the column's origin, over places and feed directions."""

from __future__ import annotations

from functools import lru_cache
from math import pi

import numpy as np

from orthostat.analyses.loads.inputs import CutInput
from orthostat.analyses.loads.result import Action, Array, CutForces, CutLoads
from orthostat.analyses.loads.wrench import axes_of, crossed
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Point2, Polygon

DIRECTIONS = 16
"""Feed directions tried where none is stated; a direction in between is within 2 % of one of them."""


def placed(given: CutInput, forces: CutForces) -> CutLoads:
    """Every action of a cut at each of its places, as wrenches about the column's origin.

    Raises:
        NotStated: the cut states neither a region nor places.
    """
    cut, frame = given.cut, given.frame
    axes = axes_of(frame)
    force, couple, labels = _turned(forces)
    found = places(cut.places, cut.region, cut.path)
    at, force = np.array([frame.point(u, v, cut.top) for u, v in found]), force @ axes
    each = np.empty((len(at), len(labels), 6))
    each[:, :, :3], each[:, :, 3:] = force, couple @ axes + crossed(at[:, None], force)
    wrenches, points = each.reshape(-1, 6), np.repeat(at, len(labels), axis=0)
    for array in (wrenches, points):
        array.setflags(write=False)
    return CutLoads(given.station, cut.name, cut.path, forces, wrenches, labels * len(found), points)


@lru_cache(maxsize=128)
def _turned(forces: CutForces) -> tuple[Array, Array, tuple[str, ...]]:
    """Forces and moments (k, 3) in (u, v, w) of every action in every direction, and what each is called."""
    turned = [_directions(action) for action in forces.actions]
    labels = tuple(
        _label(action, k, len(each))
        for action, (each, _) in zip(forces.actions, turned, strict=True)
        for k in range(len(each))
    )
    return np.vstack([each for each, _ in turned]), np.vstack([each for _, each in turned]), labels


def places(holes: tuple[Point2, ...], region: Polygon | None, path: str) -> tuple[Point2, ...]:
    """Where the tool's axis is taken to be: each hole, or the corners of the region that is milled.

    A wrench is linear in the place, so of all places inside a convex region the corners are worst.
    """
    if holes:
        return holes
    if region is not None and region.points:
        return region.points
    raise NotStated(f"{path}.region", f"{path}.at", reason="the cut states neither a region nor places")


def _directions(action: Action) -> tuple[Array, Array]:
    """Force and moment (k, 3) in (u, v, w), one row for each feed direction."""
    force, moment = np.array([action.force]), np.array([action.moment])
    if not action.turns:
        return force, moment
    angle = np.arange(DIRECTIONS) * (2.0 * pi / DIRECTIONS)
    c, s = np.cos(angle), np.sin(angle)

    def turned(vector: Array) -> Array:
        a, b, w = vector[0]
        return np.stack([c * a - s * b, s * a + c * b, np.full_like(angle, w)], axis=1)

    return turned(force), turned(moment)


def _label(action: Action, k: int, count: int) -> str:
    return action.label if count == 1 else f"{action.label}, feed at {k * 360.0 / count:g}°"
