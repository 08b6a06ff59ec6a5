"""Modes and compliance of one design from its few hundred unknowns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve, lapack

from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.assemble import Reduced, lost, reduced
from orthostat.analyses.stiffness.study.design import StudyDesign
from orthostat.analyses.stiffness.study.model import OutsideStudy, StudyModel

BLOCK = 8
TOLERANCE = 1e-6
"""Change of the squares at which the modes have settled; their error is far less by then."""
SETTLES = 24
"""Vectors before which it is not worth looking whether the modes have settled."""
SEED = 1919


@dataclass(frozen=True, slots=True)
class Answer:
    """What a study asks.

    squares: (m,) [rad²/s²], rising. joint: (m,) share of each mode's strain energy in contact, studs and
    table. loss: (m,) loss factors, not a number where a material's is not stated. shapes: (6s, m) at the
    patches of the stations, mass-normalised. compliance: (6s, 6s) static. centres: (s, 3) [m]. error: what
    the first frequency was off, at most, on columns not seen in learning.
    """

    squares: Floats
    joint: Floats
    loss: Floats
    shapes: Floats
    compliance: Floats
    centres: Floats
    unknowns: int
    error: float

    @property
    def ports(self) -> Ports:
        """The body seen from its stations; what contact, studs and table add is not told apart."""
        parts = np.zeros((3, *self.compliance.shape))
        return Ports(self.centres, self.compliance, parts, self.squares, self.loss, self.shapes)

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
    return solved(reduced(model.basis, design), modes, model.worst_first, design)


def solved(of: Reduced, modes: int, error: float, design: StudyDesign | None = None) -> Answer:
    """Modes and compliance of assembled matrices; damping where the design is given."""
    scale = 1.0 / np.sqrt(np.diag(of.stiffness))
    stiffness = of.stiffness * scale[:, None] * scale
    mass = of.mass * scale[:, None] * scale
    factor = cho_factor(stiffness, lower=True, check_finite=False, overwrite_a=True)
    ports = of.ports * scale
    moved = cho_solve(factor, ports.T, check_finite=False)
    squares, vectors = _lowest(factor, mass, modes)
    scaled = vectors * scale[:, None]
    held = np.einsum("im,im->m", scaled, of.held @ scaled)
    loss = _loss(of, design, scaled, held) / squares if design else np.full(len(squares), np.nan)
    return Answer(
        squares, held / squares, loss, ports @ vectors, ports @ moved, of.centres, len(scale), error
    )


def _loss(of: Reduced, design: StudyDesign, vectors: Floats, held: Floats) -> Floats:
    """(m,) energies times loss factors, twice, the joint's and the table's with them."""
    of_joint = design.joint.loss_factor
    joint = float("nan") if of_joint is None else float(of_joint)
    table = joint if design.table.loss_factor is None else float(design.table.loss_factor)
    in_table = of.table @ vectors[len(vectors) - len(of.table) :] ** 2
    return lost(of.body, vectors) + joint * (held - in_table) + table * in_table


def _lowest(factor: tuple[Floats, bool], mass: Floats, count: int) -> tuple[Floats, Floats]:
    """Lowest modes by block Lanczos with full orthogonalisation, then Rayleigh and Ritz once."""
    size = len(mass)
    block = min(BLOCK, size)
    fresh = np.random.default_rng(SEED).standard_normal((size, block))
    fresh = cho_solve(factor, mass @ fresh, check_finite=False)
    basis, weighted, image = (np.empty((size, 0)) for _ in range(3))
    found = np.zeros(0)
    for _ in range(size // block):
        for _again in range(2):
            fresh = fresh - basis @ (weighted.T @ fresh)
            fresh, pulled = _orthonormal(fresh, mass)
        basis, weighted = np.hstack([basis, fresh]), np.hstack([weighted, pulled])
        fresh = cho_solve(factor, pulled, check_finite=False)
        image = np.hstack([image, fresh])
        if basis.shape[1] < min(SETTLES, size):
            continue
        projected = weighted.T @ image
        values, turn = np.linalg.eigh(0.5 * (projected + projected.T))
        previous, found = found, values[::-1][:count]
        if len(previous) == count and np.allclose(found, previous, rtol=TOLERANCE, atol=0.0):
            break
    return 1.0 / found, basis @ turn[:, ::-1][:, : len(found)]


def _orthonormal(block: Floats, mass: Floats) -> tuple[Floats, Floats]:
    """The block made mass-orthonormal, and mass times it."""
    pulled = mass @ block
    gram = block.T @ pulled
    size = np.sqrt(np.diag(gram))
    lower, info = lapack.dpotrf(gram / np.outer(size, size), lower=1)
    if info:
        raise ArithmeticError("the modes did not settle")
    inverse = (np.tril(lapack.dtrtri(lower, lower=1)[0]) / size).T
    return block @ inverse, pulled @ inverse
