"""Walls of one thickness speak for walls of another: through the wall, movements differ in proportion to it.

A thin wall that bends turns its section, so its faces move apart in proportion to the thickness. Modes are
kept for the reference's wall and scaled to the design's: the mean of inner and outer face stays, their
difference goes with thickness over the side's length.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.topology import Topology, following, preceding, regular


def thinness(top: Topology, controls: Floats) -> Floats:
    """(n · pieces,) thickness over side length at every vertex of the outline."""
    corners = controls[: top.sides]
    points = top.weights @ controls
    thick = np.sqrt(((points[top.wall.outer] - points[top.wall.inner]) ** 2).sum(axis=1))
    length = np.sqrt(((corners - preceding(corners)) ** 2).sum(axis=1))
    by_vertex = np.repeat(length, top.pieces)
    by_vertex[:: top.pieces] = 0.5 * (length + preceding(length))
    return np.asarray(thick / by_vertex)


def scale_of(top: Topology, controls: Floats) -> Floats:
    """(n · pieces,) the design's thinness over that of the hollow reference."""
    return thinness(top, controls) / _of_reference(top)


@lru_cache(maxsize=16)
def _of_reference(top: Topology) -> Floats:
    return thinness(top, regular(top.sides, hollow=True))


def to_design(top: Topology, scale: Floats, field: Floats) -> Floats:
    """Coefficients (count, ...) on the reference as those on a design."""
    wall = top.wall
    made = field.copy()
    over = scale.reshape(-1, *(1,) * (field.ndim - 1))
    along = 0.5 * (over + following(over))
    for inner, outer, factor in (
        (wall.inner, wall.outer, over),
        (wall.inner_edges, wall.outer_edges, along),
    ):
        mean, half = 0.5 * (field[inner] + field[outer]), 0.5 * factor * (field[outer] - field[inner])
        made[inner], made[outer] = mean - half, mean + half
    mean = 0.5 * (field[wall.inner_edges] + field[wall.outer_edges])
    made[wall.diagonal] = mean + along * (field[wall.diagonal] - mean)
    made[wall.across] = over * field[wall.across]
    return made


def to_reference(top: Topology, scale: Floats, field: Floats) -> Floats:
    """The way back from `to_design`."""
    return to_design(top, 1.0 / scale, field)
