"""Turns and mirrors of a regular plan, so that what one side was seen to do is known of all."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.spatial import cKDTree

from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.topology import regular, topology


@lru_cache(maxsize=16)
def symmetries(sides: int, *, hollow: bool) -> tuple[tuple[Indices, Floats], ...]:
    """Pairs of where each section function comes from (count,) and the turn (2, 2) of its movement x, z."""
    top = topology(sides, hollow=hollow)
    points = top.weights @ regular(sides, hollow=hollow)
    tree = cKDTree(points)
    number = {(int(a), int(b)): k for k, (a, b) in enumerate(top.edges)}
    made = []
    for step in range(sides):
        angle = 2.0 * np.pi * step / sides
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        for mirror in (1.0, -1.0):
            motion = turn @ np.diag([mirror, 1.0])
            source = np.asarray(tree.query(points @ motion)[1], dtype=np.intp)
            ends = np.sort(source[top.edges], axis=1)
            bubbles = [len(points) + number[int(a), int(b)] for a, b in ends]
            made.append((np.concatenate([source, bubbles]).astype(np.intp), motion))
    return tuple(made)


def evened(sides: int, within: Floats, along: Floats, *, hollow: bool) -> tuple[Floats, Floats]:
    """Gram matrices (2 count, 2 count) and (count, count), the mean over all turns and mirrors."""
    found = symmetries(sides, hollow=hollow)
    count = len(along)
    shaped = within.reshape(count, 2, count, 2)
    inner, outer = np.zeros_like(shaped), np.zeros_like(along)
    for source, motion in found:
        picked = shaped[source][:, :, source]
        inner += np.einsum("ab,ibjd,cd->iajc", motion, picked, motion, optimize=True)
        outer += along[np.ix_(source, source)]
    return inner.reshape(within.shape) / len(found), outer / len(found)
