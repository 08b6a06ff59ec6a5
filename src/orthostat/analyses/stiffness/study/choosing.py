"""Of many section modes, those that matter: each is let go where frequencies and movements miss it least.

Letting go of unknowns D raises the energy of a displacement x by x_D·(G_DD)⁻¹·x_D with G the inverse of the
stiffness, and what is left is again such a problem. So the modes that cost least over all columns learnt from
are dropped, a few at a time, until as many are left as wanted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import eigh

from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.design import StudyDesign, storeys_of
from orthostat.analyses.stiffness.study.held import reduced
from orthostat.analyses.stiffness.study.model import GIVEN, SectionBasis
from orthostat.analyses.stiffness.study.profiles import HATS, profiles_of

WEIGHTS = (1.0, 0.6, 0.4, 0.3, 0.3, 0.3, 0.3, 0.3)
"""What an error of the first frequencies counts (a limit depth may hang on any of them), and"""
MOVED, TURNED = 0.05, 0.02
"""what an error of a station's movement under a force and of its turn under a couple does: little, for most
of what is missed there is added in the end.
"""
AT_ONCE = 10
Key = tuple[str, int, int]
"""Role, kind (within or along) and number of a mode."""


@dataclass(eq=False)
class _Column:
    """A column over many modes.

    inverse: (n, n) of its stiffness. fields: (n, f) of energy one. number: (n,) of each unknown among the
    modes that may go, or -1.
    """

    inverse: Floats
    fields: Floats
    weights: Floats
    number: Indices

    def costs(self, total: Floats, group: Indices) -> None:
        """Add what letting go of each mode would cost; those of a group (modes,) share what all of them cost
        together, which is more than the sum where one can stand for another.
        """
        here = np.flatnonzero(self.number >= 0)
        here = here[np.argsort(group[self.number[here]], kind="stable")]
        starts = np.flatnonzero(np.diff(group[self.number[here]], prepend=-1))
        sizes = np.diff(np.append(starts, len(here)))
        for size in set(sizes.tolist()):
            rows = here[starts[sizes == size][:, None] + np.arange(size)]
            fields = self.fields[rows]
            solved = np.linalg.solve(self.inverse[rows[:, :, None], rows[:, None]], fields)
            cost = (fields * solved).sum(axis=1) @ self.weights / size
            np.add.at(total, self.number[rows], cost[:, None])

    def let_go(self, gone: Indices) -> None:
        """Hold the unknowns of these modes still."""
        held = np.isin(self.number, gone)
        if not held.any():
            return
        left = ~held
        across = self.inverse[np.ix_(left, held)] @ np.linalg.inv(self.inverse[np.ix_(held, held)])
        self.fields = self.fields[left] - across @ self.fields[held]
        self.inverse = self.inverse[np.ix_(left, left)] - across @ self.inverse[np.ix_(held, left)]
        self.number = self.number[left]


def chosen(
    basis: SectionBasis, alike: dict[tuple[str, int], Indices], designs: Sequence[StudyDesign], wanted: int
) -> tuple[SectionBasis, dict[tuple[str, int], Floats]]:
    """The basis with about `wanted` modes over all roles, and what letting go of each mode left would cost.

    Modes of a role and kind that are `alike` (k,), as the two of a pair that turn into one another, stay or
    go together.
    """
    keys: list[Key] = []
    groups: list[tuple[str, int, int]] = []
    for role, pair in basis.of_role.items():
        for kind, modes in enumerate(pair):
            given = GIVEN[kind]
            for k in range(given if role in HATS else 0, modes.shape[1]):
                keys.append((role, kind, k))
                groups.append((role, kind, k - given if k < given else int(alike[role, kind][k - given])))
    number = {key: k for k, key in enumerate(keys)}
    order = {group: k for k, group in enumerate(dict.fromkeys(groups))}
    group = np.array([order[each] for each in groups])
    size = np.bincount(group)
    columns = [_column(basis, number, design) for design in designs]
    alive = np.ones(len(keys), dtype=bool)
    while alive.sum() > wanted:
        total = np.zeros(len(keys))
        for column in columns:
            column.costs(total, group)
        cost = np.bincount(group, weights=total) / size
        cost[np.bincount(group, weights=alive) == 0] = np.inf
        worst = np.argsort(cost)[: max(1, min(AT_ONCE, int(alive.sum()) - wanted))]
        gone = np.flatnonzero(np.isin(group, worst))
        alive[gone] = False
        for column in columns:
            column.let_go(gone)
    left_cost = np.zeros(len(keys))
    for column in columns:
        column.costs(left_cost, group)
    stays = {key: float(left_cost[k]) for key, k in number.items() if alive[k]}

    of_role: dict[str, tuple[Floats, Floats]] = {}
    costs: dict[tuple[str, int], Floats] = {}
    for role, pair in basis.of_role.items():
        left = []
        for kind, modes in enumerate(pair):
            given = GIVEN[kind] if role in HATS else 0
            stay = [k for k in range(modes.shape[1]) if k < given or (role, kind, k) in stays]
            left.append(modes[:, stay])
            costs[role, kind] = np.array([stays.get((role, kind, k), 0.0) for k in stay])
        of_role[role] = (left[0], left[1])
    return replace(basis, of_role=of_role), costs


def _column(basis: SectionBasis, number: dict[Key, int], design: StudyDesign) -> _Column:
    of = reduced(basis, design)
    size = len(of.stiffness)
    scale = 1.0 / np.sqrt(np.diag(of.stiffness))
    stiffness, mass = (matrix * scale[:, None] * scale for matrix in (of.stiffness, of.mass))
    modes = eigh(mass, stiffness, subset_by_index=[size - len(WEIGHTS), size - 1])[1][:, ::-1]
    inverse = np.linalg.inv(stiffness)
    inverse = 0.5 * (inverse + inverse.T)
    ports = of.ports * scale
    moved = inverse @ ports.T
    moved /= np.sqrt(np.einsum("fi,if->f", ports, moved))
    weights = np.array([*WEIGHTS, *[MOVED if k % 6 < 3 else TURNED for k in range(len(ports))]])
    numbers = np.full(size, -1)
    at = 0
    for kind in (0, 1):
        for profile in profiles_of(storeys_of(design).layout):
            for k in range(basis.of_role[profile.role][kind].shape[1]):
                numbers[at] = number.get((profile.role, kind, k), -1)
                at += 1
    return _Column(inverse, np.hstack([modes, moved]), weights, numbers)
