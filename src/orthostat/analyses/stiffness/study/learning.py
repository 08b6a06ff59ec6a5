"""Learning a family: solve columns drawn from its ranges, keep what mattered, try it on columns not seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.answer import answered
from orthostat.analyses.stiffness.study.choosing import chosen
from orthostat.analyses.stiffness.study.drawing import drawn
from orthostat.analyses.stiffness.study.give import learnt_give
from orthostat.analyses.stiffness.study.model import GIVEN, SectionBasis, StudyModel, Trial
from orthostat.analyses.stiffness.study.ranges import Ranges
from orthostat.analyses.stiffness.study.seen import Seen, role_metrics, seen_in
from orthostat.analyses.stiffness.study.symmetry import evened
from orthostat.base.progress import SILENT, Progress

LEARNT = 32
"""Columns solved in learning, and"""
TRIED = 12
"""columns not seen, on which the error is measured."""
CANDIDATES = 450
"""Section modes over all profiles that are looked at, of which"""
MODES = 200
"""are kept, beside the given motions."""
MOST_WITHIN, MOST_ALONG = 110, 90
"""Modes that all profiles share while choosing, within the section and along the height."""
KEPT = (44, 36)
KEPT_HOLLOW = (56, 46)
"""The same for those kept; thin walls that bend within the section want more."""
DEPENDENT = 0.03
"""Modes of a role that differ by less than this in the shared ones are one."""
PAIRED = 1e-6
"""Modes whose energies differ by less than this share turn into one another."""
SEED = 1919


def learn(
    ranges: Ranges,
    *,
    columns: int = LEARNT,
    tried: int = TRIED,
    modes: int = MODES,
    seed: int = SEED,
    progress: Progress = SILENT,
) -> StudyModel:
    """Learn a family of designs; takes half a second to two a column.

    Raises `NotStated` where the ranges leave no design.
    """
    generator = np.random.default_rng(seed)
    designs = [drawn(ranges, generator) for _ in range(columns + tried)]
    solved_ones = []
    for number, design in enumerate(designs):
        progress.at(number, len(designs), f"solving column {number + 1} of {len(designs)}")
        solved_ones.append(seen_in(design))
    unseen = dict(enumerate(solved_ones[columns:], start=columns))
    return taught(ranges, solved_ones[:columns], unseen, modes)


def taught(ranges: Ranges, seen: Sequence[Seen], unseen: Mapping[int, Seen], modes: int) -> StudyModel:
    """What solved columns teach, tried on others, which have numbers."""
    basis = _basis(ranges, seen, modes)
    designs = [each.design for each in seen]
    few = [answered(basis, None, design, 1).compliance for design in designs]
    give = learnt_give(designs, [each.ports.compliance for each in seen], few)
    trials = [
        Trial(number, each.ports, answered(basis, give, each.design, len(each.ports.squares)).ports)
        for number, each in unseen.items()
    ]
    return StudyModel(ranges, basis, give, tuple(trials), len(seen))


def _basis(ranges: Ranges, seen: Sequence[Seen], count: int) -> SectionBasis:
    """Section modes that matter most to the columns seen."""
    ranked = _ranked(ranges, seen)
    strength = np.sort(np.concatenate([values for values, _ in ranked.values()]))[::-1]
    least = strength[min(max(CANDIDATES, 2 * count), len(strength)) - 1]
    kept = {
        key: (values[values >= least], modes[:, values >= least]) for key, (values, modes) in ranked.items()
    }
    shared = [
        _shared([pair for key, pair in kept.items() if key[1] == kind], most)
        for kind, most in ((0, MOST_WITHIN), (1, MOST_ALONG))
    ]
    of_role: dict[str, tuple[Floats, Floats]] = {}
    alike: dict[tuple[str, int], Indices] = {}
    for role in dict.fromkeys(role for role, _ in kept):
        pair = []
        for kind in (0, 1):
            values, modes = kept[role, kind]
            learnt = _independent(shared[kind].T @ modes)
            pair.append(_with_given(learnt, GIVEN[kind]))
            alike[role, kind] = _pairs(values)[: learnt.shape[1]]
        of_role[role] = (pair[0], pair[1])
    many = SectionBasis(shared[0].reshape(-1, 2, shared[0].shape[1]), shared[1], of_role, ranges.hollow)
    return _narrowed(*chosen(many, alike, [each.design for each in seen], count))


def _ranked(ranges: Ranges, seen: Sequence[Seen]) -> dict[tuple[str, int], tuple[Floats, Floats]]:
    """For each role and kind the energies, falling, and the modes of unit energy."""
    ranked = {}
    for role in dict.fromkeys(role for each in seen for role in each.by_role):
        pairs = [each.by_role[role] for each in seen if role in each.by_role]
        fields = [np.hstack([pair[kind] for pair in pairs]) for kind in (0, 1)]
        grams = evened(ranges.sides, *(each @ each.T for each in fields), hollow=ranges.hollow)
        metrics = role_metrics(ranges.sides, role, hollow=ranges.hollow)
        for kind, (gram, metric) in enumerate(zip(grams, metrics, strict=True)):
            ranked[role, kind] = _strongest(gram, np.asarray(np.linalg.cholesky(metric), dtype=np.float64))
    return ranked


def _strongest(gram: Floats, lower: Floats) -> tuple[Floats, Floats]:
    """Energies, falling, and modes (n, k) of unit energy."""
    values, vectors = np.linalg.eigh(lower.T @ gram @ lower)
    order = np.argsort(-values)[:80]
    return np.clip(values[order], 0.0, None), np.linalg.solve(lower.T, vectors[:, order])


def _pairs(values: Floats) -> Indices:
    """(k,) one number for neighbouring energies that are the same."""
    falls = values[1:] < (1.0 - PAIRED) * values[:-1]
    return np.concatenate([[0], np.cumsum(falls)]).astype(np.intp)[: len(values)]


def _with_given(learnt: Floats, given: int) -> Floats:
    """(given + r, given + k): the given modes, then the learnt ones (r, k)."""
    made = np.zeros((given + learnt.shape[0], given + learnt.shape[1]))
    made[:given, :given] = np.eye(given)
    made[given:, given:] = learnt
    return made


def _independent(modes: Floats) -> Floats:
    """(r, k) orthonormal vectors, the first of the modes (r, l) first; what adds nothing new is left out."""
    made = np.zeros((len(modes), 0))
    for mode in (modes / np.maximum(np.linalg.norm(modes, axis=0), 1e-300)).T:
        rest = mode - made @ (made.T @ mode)
        size = np.linalg.norm(rest)
        if size > DEPENDENT:
            rest = rest / size
            rest -= made @ (made.T @ rest)
            made = np.column_stack([made, rest / np.linalg.norm(rest)])
    return made


def _shared(of: list[tuple[Floats, Floats]], most: int) -> Floats:
    """(n, k) orthonormal vectors that hold the roles' modes as well as `most` can."""
    together = np.hstack([modes * np.sqrt(weights) for weights, modes in of])
    left, _, _ = np.linalg.svd(together, full_matrices=False)
    return np.asarray(left[:, : min(most, left.shape[1])])


def _narrowed(basis: SectionBasis, costs: dict[tuple[str, int], Floats]) -> SectionBasis:
    """The basis over fewer shared modes, those that matter most to its roles."""
    most = KEPT_HOLLOW if basis.hollow else KEPT
    within, first = _fewer(basis, costs, 0, basis.within.reshape(-1, basis.within.shape[2]), most[0])
    along, second = _fewer(basis, costs, 1, basis.along, most[1])
    of_role = {role: (first[role], second[role]) for role in basis.of_role}
    return SectionBasis(within.reshape(-1, 2, within.shape[1]), along, of_role, basis.hollow)


def _fewer(
    basis: SectionBasis, costs: dict[tuple[str, int], Floats], kind: int, shared: Floats, most: int
) -> tuple[Floats, dict[str, Floats]]:
    given = GIVEN[kind]
    blocks = {role: pair[kind] for role, pair in basis.of_role.items()}
    together = np.hstack([block[given:] * np.sqrt(costs[role, kind]) for role, block in blocks.items()])
    left = np.linalg.svd(together, full_matrices=False)[0][:, :most]
    turned = {}
    for role, block in blocks.items():
        of_design = block[:given].any(axis=0)
        # over fewer shared modes some of a role's may have become alike
        learnt = _independent(left.T @ block[given:, ~of_design])
        first = int(of_design.sum())
        turned[role] = np.zeros((given + len(learnt), first + learnt.shape[1]))
        turned[role][:given, :first], turned[role][given:, first:] = block[:given, of_design], learnt
    return shared @ left, turned
