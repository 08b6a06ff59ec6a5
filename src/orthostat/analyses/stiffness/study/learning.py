"""Learning a family: solve columns drawn from its ranges, keep what mattered, try it on columns not seen."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.answer import solved
from orthostat.analyses.stiffness.study.assemble import reduced
from orthostat.analyses.stiffness.study.design import StudyDesign
from orthostat.analyses.stiffness.study.drawing import drawn
from orthostat.analyses.stiffness.study.mapped import solve_mapped
from orthostat.analyses.stiffness.study.model import SectionBasis, StudyModel
from orthostat.analyses.stiffness.study.ranges import Ranges
from orthostat.analyses.stiffness.study.seen import Seen, role_metrics, seen_in
from orthostat.analyses.stiffness.study.symmetry import evened

LEARNT = 64
"""Columns solved in learning, and"""
TRIED = 16
"""columns not seen, on which the error is measured."""
MODES = 220
"""Section modes over all profiles, beside the given motions."""
MOST_WITHIN, MOST_ALONG = 40, 34
"""Modes that all profiles share, within the section and along the height."""
DEPENDENT = 0.03
"""Modes of a role that differ by less than this in the shared ones are one."""
SEED = 1919


def learn(
    ranges: Ranges, *, columns: int = LEARNT, tried: int = TRIED, modes: int = MODES, seed: int = SEED
) -> StudyModel:
    """Learn a family of designs; takes about a second a column.

    Raises `NotStated` where the ranges leave no design.
    """
    generator = np.random.default_rng(seed)
    hollow = ranges.kinds == ("hollow",)
    designs = [drawn(ranges, generator) for _ in range(columns)]
    seen = _summed(seen_in(design, hollow=hollow) for design in designs)
    basis = _basis(ranges.sides, seen, modes, hollow=hollow)
    unseen = [drawn(ranges, generator) for _ in range(tried)]
    errors = np.array([_errors(basis, design) for design in unseen])
    return StudyModel(ranges, basis, errors, columns)


def _errors(basis: SectionBasis, design: StudyDesign) -> Floats:
    """(3,) of the first frequencies over those of the model it was learnt from."""
    exact = np.sqrt(solve_mapped(design, modes=3).pairs.squares)
    found = np.sqrt(solved(reduced(basis, design), 3, 0.0).squares)
    return np.asarray(found / exact - 1.0)


def _summed(seen: Iterable[Seen]) -> dict[str, tuple[Floats, Floats]]:
    total: dict[str, tuple[Floats, Floats]] = {}
    for each in seen:
        for role, (within, along) in each.by_role.items():
            before = total.get(role)
            total[role] = (within + before[0], along + before[1]) if before else (within, along)
    return total


def _basis(sides: int, seen: dict[str, tuple[Floats, Floats]], count: int, *, hollow: bool) -> SectionBasis:
    """The strongest section modes over all roles, weighed by energy."""
    ranked = {}
    for role, grams in seen.items():
        pairs = zip(evened(sides, *grams), role_metrics(sides, role, hollow=hollow), strict=True)
        for kind, (gram, metric) in enumerate(pairs):
            ranked[role, kind] = _strongest(gram, np.asarray(np.linalg.cholesky(metric), dtype=np.float64))
    strength = np.sort(np.concatenate([values for values, _ in ranked.values()]))[::-1]
    least = strength[min(count, len(strength)) - 1]
    kept = {key: modes[:, values >= least] for key, (values, modes) in ranked.items()}
    weights = {key: values[values >= least] for key, (values, _) in ranked.items()}
    shared = [
        _shared([(kept[key], weights[key]) for key in kept if key[1] == kind], most)
        for kind, most in ((0, MOST_WITHIN), (1, MOST_ALONG))
    ]
    of_role = {
        role: (_independent(shared[0].T @ kept[role, 0]), _independent(shared[1].T @ kept[role, 1]))
        for role in seen
    }
    return SectionBasis(shared[0].reshape(-1, 2, shared[0].shape[1]), shared[1], of_role, hollow)


def _strongest(gram: Floats, lower: Floats) -> tuple[Floats, Floats]:
    """Energies, falling, and modes (n, k) of unit energy."""
    values, vectors = np.linalg.eigh(lower.T @ gram @ lower)
    order = np.argsort(-values)[:80]
    return np.clip(values[order], 0.0, None), np.linalg.solve(lower.T, vectors[:, order])


def _independent(modes: Floats) -> Floats:
    """(r, k) orthonormal vectors for modes (r, l) told by the shared ones; there may be fewer of them."""
    size = np.sqrt((modes**2).sum(axis=0))
    left, strength, _ = np.linalg.svd(modes / np.maximum(size, 1e-300), full_matrices=False)
    return np.asarray(left[:, strength > DEPENDENT])


def _shared(of: list[tuple[Floats, Floats]], most: int) -> Floats:
    """(n, k) orthonormal vectors that hold the roles' modes as well as `most` can."""
    together = np.hstack([modes * np.sqrt(weights) for modes, weights in of])
    left, _, _ = np.linalg.svd(together, full_matrices=False)
    return np.asarray(left[:, : min(most, left.shape[1])])
