"""What a mode does, in words: from how much of it moves whole sections, and how."""

from __future__ import annotations

import numpy as np
import scipy.sparse as sp

from orthostat.analyses.stiffness.body import Assembled
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.supports import rigid_motion

MOTIONS = ("sways along x", "stretches", "sways along z", "", "twists", "")
RIGID_SHARE = 0.6
"""Below this share of kinetic energy in sections that keep their shape, the section itself distorts."""
MIXED_SHARE = 0.6


def kinds_of(model: Assembled, vectors: Floats) -> tuple[str, ...]:
    """One phrase per mode. x runs across the first face, z out of it.

    A mode's motion is projected (by mass) on sections moving as rigid plates, one set per level.
    """
    field = _section_motions(model)
    weighted = model.mass @ field
    gram = (field.T @ weighted).toarray()
    taken = weighted.T @ vectors
    fitted = np.linalg.lstsq(gram, taken, rcond=1e-10)[0]
    rigid = np.einsum("im,im->m", taken, fitted)
    total = np.einsum("im,im->m", vectors, model.mass @ vectors)
    return tuple(_phrase(gram, fitted[:, k], float(rigid[k] / total[k])) for k in range(vectors.shape[1]))


def _phrase(gram: Floats, fitted: Floats, rigid: float) -> str:
    if rigid < RIGID_SHARE:
        return "the section distorts"
    energies = []
    for motion in range(6):
        only = np.zeros_like(fitted)
        only[motion::6] = fitted[motion::6]
        energies.append(float(only @ gram @ only))
    # rocking about x goes with swaying along z, rocking about z with swaying along x
    energies[2] += energies[3]
    energies[0] += energies[5]
    main = [energies[k] for k in (0, 1, 2, 4)]
    names = [MOTIONS[k] for k in (0, 1, 2, 4)]
    order = np.argsort(main)[::-1]
    if main[order[0]] > MIXED_SHARE * sum(main):
        return str(names[order[0]])
    if {int(order[0]), int(order[1])} == {0, 2}:
        return "sways aslant"
    return f"{names[order[0]]} and {names[order[1]]}"


def _section_motions(model: Assembled) -> sp.csr_array:
    """(unknowns, 6 · levels): every level's section moving as a rigid plate."""
    swept = model.swept
    hats = len(swept.heights)
    rows, columns, values = [], [], []
    nodes, plan = swept.hats
    motion = rigid_motion(np.stack([plan[:, 0], np.zeros(len(plan)), plan[:, 1]], axis=1))
    for level in range(hats):
        number = swept.number[nodes, level]
        here = np.flatnonzero(number >= 0)
        block = motion[here]
        row = 3 * number[here][:, None, None] + np.arange(3)[None, :, None] + np.zeros_like(block, dtype=int)
        column = 6 * level + np.arange(6)[None, None, :] + np.zeros_like(block, dtype=int)
        keep = block != 0.0
        values.append(block[keep])
        rows.append(row[keep])
        columns.append(column[keep])
    places = (np.concatenate(rows), np.concatenate(columns))
    return sp.csr_array(sp.coo_array((np.concatenate(values), places), shape=(model.unknowns, 6 * hats)))
