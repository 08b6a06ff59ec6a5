"""Which modes of two models of one body are the same: by their shape, as numbers change places."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import RBFInterpolator
from scipy.optimize import linear_sum_assignment

from orthostat.analyses.stiffness.result import Solved
from orthostat.analyses.stiffness.section import Floats

ALIKE = 0.5
"""Modal assurance of the same mode at the least: two different modes can't both have more."""
REPEATED = 0.01
"""Modes whose frequencies are so near each other may mix: a square column has no direction of its own."""
_NEIGHBOURS = 10
_BLUR = 1e-9
"""Keeps points that coincide, where plates may slide, from making the interpolation singular [m]."""


def modal_assurance(first: Floats, second: Floats) -> Floats:
    """(m, n) modal assurance of m with n real mode shapes given as rows: (φᵢ·ψⱼ)²/((φᵢ·φᵢ)(ψⱼ·ψⱼ)).

    One where the shapes are the same but for their size, zero where they have nothing in common.
    Reference: allemang-2003, equation of the modal assurance criterion. Shapes at the same points in
    the same order.

    >>> others = np.array([[2.0, 2.0], [2.0, 0.0], [1.0, -1.0]])
    >>> modal_assurance(np.array([[1.0, 1.0]]), others).round(6).tolist()
    [[1.0, 0.5, 0.0]]
    """
    sizes = np.outer((first * first).sum(axis=1), (second * second).sum(axis=1))
    return np.asarray((first @ second.T) ** 2 / sizes)


def shapes_at(solved: Solved, points: Floats) -> Floats:
    """(modes, n, 3) shapes of a body's modes at n points (n, 3) [m] of its outside, between the nearest of
    its own points.
    """
    own = solved.skin.points
    modes = len(solved.shapes)
    flat = solved.shapes.transpose(1, 0, 2).reshape(len(own), 3 * modes)
    near = min(_NEIGHBOURS, len(own))
    between = RBFInterpolator(own, flat, neighbors=near, kernel="linear", smoothing=_BLUR)
    return np.asarray(between(points)).reshape(len(points), modes, 3).transpose(1, 0, 2)


def counterparts(of: Solved, among: Solved) -> tuple[int | None, ...]:
    """For each mode of one model its number, from 0, among those of another of the same body; `None` where
    none is like it. No mode is taken twice.
    """
    shapes = shapes_at(of, among.skin.points)
    likeness = modal_assurance(shapes.reshape(len(shapes), -1), among.shapes.reshape(len(among.shapes), -1))
    frequencies = np.array([mode.frequency for mode in among.modes])
    near = np.abs(frequencies[:, None] - frequencies) <= REPEATED * frequencies
    shared = likeness @ near
    found: list[int | None] = [None] * len(shapes)
    for mine, theirs in zip(*linear_sum_assignment(likeness, maximize=True), strict=True):
        if shared[mine, theirs] >= ALIKE:
            found[int(mine)] = int(theirs)
    return tuple(found)
