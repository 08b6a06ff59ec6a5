"""What a mode does, in words: from how much of it moves whole sections, and how."""

from __future__ import annotations

import numpy as np

from orthostat.analyses.stiffness.body import Assembled
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.supports import rigid_motion
from orthostat.analyses.stiffness.sweep import Swept

MOTIONS = ("sways along x", "stretches", "sways along z", "", "twists", "")
RIGID_SHARE = 0.6
"""Below this share of kinetic energy in sections that keep their shape, the section itself distorts."""
MIXED_SHARE = 0.6


def kinds_of(model: Assembled, vectors: Floats) -> tuple[str, ...]:
    """One phrase per mode. x runs across the first face, z out of it.

    A mode's motion is projected (by mass) on sections moving as rigid plates, one set per level.
    """
    gram, taken, total = motions_of_levels(model, vectors)
    fitted = np.asarray(np.linalg.lstsq(gram, taken, rcond=1e-10)[0], dtype=np.float64)
    rigid = np.einsum("im,im->m", taken, fitted)
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


def motions_of_levels(model: Assembled, vectors: Floats) -> tuple[Floats, Floats, Floats]:
    """Of every level's section moving as a rigid plate, 6 motions each: masses among them, and with each
    vector; the vectors' own masses.
    """
    field, motions = _section_fields(model.swept), _motions_of_fields()
    body = model.swept.unknowns
    weighted = model.mass_times(vectors)
    levels = field.shape[1] // 3

    def of_motions(by_field: Floats) -> Floats:
        """(6 · levels, n) of (3 components, 3 · levels, n)."""
        made = np.einsum("cam,clan->lmn", motions, by_field.reshape(3, levels, 3, -1))
        return np.asarray(made.reshape(6 * levels, -1))

    taken = of_motions(np.stack([field.T @ weighted[c:body:3] for c in range(3)]))
    masses = (field.T @ (model.own_mass @ field)).reshape(levels, 3, levels, 3)
    gram = np.einsum("cam,lakb,cbn->lmkn", motions, masses, motions, optimize=True)
    at_ports = of_motions(np.stack([field.T @ model.ports[:, c:body:3].T.toarray() for c in range(3)]))
    hung = at_ports @ (model.hung @ at_ports.T)
    return (
        np.asarray(gram.reshape(6 * levels, -1) + hung),
        taken,
        np.einsum("im,im->m", vectors, weighted),
    )


def _motions_of_fields() -> Floats:
    """(3 components, 3 fields, 6 motions): of each rigid motion of a level the shares of 1, x and z."""
    points = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    made = rigid_motion(points)
    made[1:] -= made[0]
    return np.asarray(made.transpose(1, 0, 2))


def _section_fields(swept: Swept) -> Floats:
    """(scalar unknowns, 3 · levels): 1, x and z on each level."""
    nodes, plan = swept.hats
    number = swept.number[nodes, : len(swept.heights)]
    here, level = np.nonzero(number >= 0)
    made = np.zeros((swept.count, len(swept.heights), 3))
    made[number[here, level], level] = np.column_stack([np.ones(len(here)), plan[here]])
    return made.reshape(swept.count, -1)
