"""Modes and compliance of one design from its few hundred unknowns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy.linalg import blas, lapack

from orthostat.analyses.stiffness.response import Ports, seen_from
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.assemble import lost
from orthostat.analyses.stiffness.study.design import StudyDesign
from orthostat.analyses.stiffness.study.give import Give
from orthostat.analyses.stiffness.study.held import Reduced, reduced
from orthostat.analyses.stiffness.study.model import OutsideStudy, SectionBasis, StudyModel

BLOCK = 8
LOOK = 4.8
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
    lower = _done(lapack.dpotrf(of.stiffness.T, lower=1, clean=0))
    # what inertia does at random: smoother than vectors at random
    shaken = of.mass @ (_random(len(lower)) / np.sqrt(np.diag(of.stiffness))[:, None])
    found, turned = _largest(_Pulled(lower, of.mass.T), _solved(lower, shaken), modes)
    vectors = _solved(lower, turned, trans_a=1)
    moved = _solved(lower, of.ports.T)
    squares = 1.0 / found
    vectors *= np.sqrt(squares)
    joint, table = of.held.energies(vectors)
    loss = lost(of.body, vectors, squares - joint - table) + of.losses[0] * joint + of.losses[1] * table
    shapes = moved.T @ (turned * np.sqrt(squares))
    return Answer(
        squares, (joint + table) / squares, loss / squares, shapes, moved.T @ moved, of.centres, len(lower)
    )


@lru_cache(maxsize=64)
def _random(count: int) -> Floats:
    made = np.random.default_rng(SEED).standard_normal((count, BLOCK))
    made.setflags(write=False)
    return made


def _done(told: tuple[Floats, int]) -> Floats:
    """What LAPACK gives besides its number of a fault."""
    if told[1]:
        raise OutsideStudy(("its matrices are not those of a body that is held",))
    return told[0]


def _solved(lower: Floats, right: Floats, *, trans_a: int = 0) -> Floats:
    if not right.size:
        return right
    return np.asarray(blas.dtrsm(1.0, lower, right, lower=1, trans_a=trans_a))


@dataclass(frozen=True, slots=True)
class _Pulled:
    """L⁻¹·M·L⁻ᵀ for the stiffness L·Lᵀ; its eigenvalues are one over those of the body."""

    lower: Floats
    mass: Floats

    def on(self, block: Floats) -> Floats:
        moving = blas.dsymm(1.0, self.mass, _solved(self.lower, block, trans_a=1), lower=1)
        return _solved(self.lower, moving)


def _largest(operator: _Pulled, fresh: Floats, count: int) -> tuple[Floats, Floats]:
    """Largest eigenvalues, falling, and vectors of a symmetric operator, by block Lanczos with full
    orthogonalisation from a block of vectors on; all at once where that would take half as many vectors as
    there are unknowns.
    """
    size = len(fresh)
    most = size // 2
    space, image = np.empty((size, most), order="F"), np.empty((size, most), order="F")
    turned, used = np.empty((most, most)), 0
    while used + BLOCK <= most:
        known = space[:, :used]
        fresh = _orthonormal(
            _orthonormal(fresh) if not used else fresh - known @ turned[:used, used - BLOCK : used]
        )
        now = slice(used, used + BLOCK)
        used += BLOCK
        space[:, now] = fresh
        image[:, now] = fresh = operator.on(fresh)
        turned[:used, now] = space[:, :used].T @ fresh
        if used < LOOK * count:
            continue
        values, turn = np.linalg.eigh(turned[:used, :used], UPLO="U")
        values, turn = values[::-1][:count], turn[:, ::-1][:, :count]
        vectors = space[:, :used] @ turn
        missed = np.sqrt(((image[:, :used] @ turn - vectors * values) ** 2).sum(axis=0))
        if np.all(missed < MISSED * values):
            return values, vectors
    values, vectors = np.linalg.eigh(operator.on(np.eye(size)))
    return values[::-1][:count], vectors[:, ::-1][:, :count]


def _orthonormal(block: Floats) -> Floats:
    """By Cholesky's factors; a block that is nearly dependent wants it twice."""
    lower = _done(lapack.dpotrf(block.T @ block, lower=1))
    return np.asarray(blas.dtrsm(1.0, lower, block, side=1, lower=1, trans_a=1))
