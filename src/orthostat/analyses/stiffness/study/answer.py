"""Modes and compliance of one design from its few hundred unknowns."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import blas, lapack

from orthostat.analyses.stiffness.response import Ports, seen_from
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.design import StudyDesign
from orthostat.analyses.stiffness.study.give import Give
from orthostat.analyses.stiffness.study.held import Reduced, reduced
from orthostat.analyses.stiffness.study.model import OutsideStudy, SectionBasis, StudyModel

BLOCK = 8
LOOK = 5
"""Vectors for each mode before which it is not worth looking whether the modes have settled."""
MISSED = 1e-3
"""Residual of a mode over its eigenvalue at which it has settled: the eigenvalue is off by its square."""
SEED = 1919


@dataclass(frozen=True, slots=True)
class Answer:
    """What a study asks.

    squares: (m,) [rad²/s²], rising. joint: (m,) share of each mode's strain energy in contact, studs and
    table. loss: (m,) loss factors, not a number where a material's is not stated. shapes: (6s, m) at the
    patches of the stations, mass-normalised. compliance: (6s, 6s) static. centres: (s, 3) [m].
    """

    squares: Floats
    joint: Floats
    loss: Floats
    shapes: Floats
    compliance: Floats
    centres: Floats
    unknowns: int

    @property
    def ports(self) -> Ports:
        """The body seen from its stations; what contact, studs and table add is not told apart."""
        return seen_from(self.centres, self.compliance, self.squares, self.loss, self.shapes)

    @property
    def frequencies(self) -> Floats:
        """(m,) [Hz]."""
        return np.asarray(np.sqrt(np.clip(self.squares, 0.0, None)) / (2.0 * np.pi))


def answer(model: StudyModel, design: StudyDesign, *, modes: int = 6) -> Answer:
    """Modes and compliance. Raises `OutsideStudy` for a design that the model was not learnt on and
    `NotStated` for one that can't be built.
    """
    reasons = model.ranges.outside(design)
    if reasons:
        raise OutsideStudy(reasons)
    return answered(model.basis, model.give, design, modes)


def answered(basis: SectionBasis, give: Give | None, design: StudyDesign, modes: int) -> Answer:
    """The same of any design of the basis' family."""
    found = solved(reduced(basis, design), modes)
    return found if give is None else replace(found, compliance=found.compliance + give.of(design))


def solved(of: Reduced, modes: int) -> Answer:
    """Modes and compliance of assembled matrices."""
    # the matrices are symmetric, so their transposes, which LAPACK need not copy, are as good
    lower = _done(lapack.dpotrf(of.stiffness.T, lower=1))
    pulled = _done(lapack.dsygst(of.mass.T, lower, itype=1, lower=1))
    found, turned = _largest(np.tril(pulled) + np.tril(pulled, -1).T, modes)
    vectors = _done(lapack.dtrtrs(lower, turned, lower=1, trans=1))
    moved = _done(lapack.dtrtrs(lower, of.ports.T, lower=1)) if len(of.ports) else of.ports.T
    squares = 1.0 / found
    vectors *= np.sqrt(squares)
    energies = (vectors * (of.held @ vectors)).sum(axis=0), (vectors * (of.lossy @ vectors)).sum(axis=0)
    joint, loss = (each / squares for each in energies)
    shapes = moved.T @ (turned * np.sqrt(squares))
    return Answer(squares, joint, loss, shapes, moved.T @ moved, of.centres, len(lower))


def _done(told: tuple[Floats, int]) -> Floats:
    """What LAPACK gives besides its number of a fault."""
    if told[1]:
        raise OutsideStudy(("its matrices are not those of a body that is held",))
    return told[0]


def _largest(operator: Floats, count: int) -> tuple[Floats, Floats]:
    """Largest eigenvalues, falling, and vectors of a symmetric operator (n, n), by block Lanczos with full
    orthogonalisation; all at once where that would take half as many vectors as there are unknowns.
    """
    size = len(operator)
    fresh = np.random.default_rng(SEED).standard_normal((size, BLOCK))
    space, image = np.empty((size, 0)), np.empty((size, 0))
    while space.shape[1] + BLOCK < size // 2:
        for _ in range(2):
            fresh = _orthonormal(fresh - space @ (space.T @ fresh))
        space = np.hstack([space, fresh])
        fresh = operator @ fresh
        image = np.hstack([image, fresh])
        if space.shape[1] < LOOK * count:
            continue
        values, turn = np.linalg.eigh(space.T @ image)
        values, turn = values[::-1][:count], turn[:, ::-1][:, :count]
        vectors = space @ turn
        missed = np.sqrt(((image @ turn - vectors * values) ** 2).sum(axis=0))
        if np.all(missed < MISSED * values):
            return values, vectors
    values, vectors = np.linalg.eigh(operator)
    return values[::-1][:count], vectors[:, ::-1][:, :count]


def _orthonormal(block: Floats) -> Floats:
    """By Cholesky's factors; a block that is nearly dependent wants it twice."""
    lower = _done(lapack.dpotrf(block.T @ block, lower=1))
    return np.asarray(blas.dtrsm(1.0, lower, block, side=1, lower=1, trans_a=1))
