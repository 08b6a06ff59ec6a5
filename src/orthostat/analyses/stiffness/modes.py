"""Natural modes by block Lanczos with shift and invert, counted by inertia.

Square and hexagonal columns ring in pairs of equal frequency; a single-vector solver drops one of a
pair without a word. The block keeps pairs together and the inertia of K − σM (Sylvester's law) proves
that no mode below the last one is missing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.linalg import eigh

from orthostat.analyses.stiffness.factor import Factor, factorised
from orthostat.analyses.stiffness.section import Floats
from orthostat.base.progress import SILENT, Progress

BLOCK = 4
"""Vectors in a block: two more than the largest multiplicity of a column that is a regular polygon."""
SPARE = 3
"""Modes sought beyond those wanted."""
TOLERANCE = 1e-5
"""Wanted relative residual of the inverted problem; the error of an eigenvalue goes with its square."""
MOST_BLOCKS = 60
SEED = 20261124


@dataclass(frozen=True, slots=True)
class EigenPairs:
    """Squared circular frequencies (n,) [rad²/s²], rising, and mass-normalised vectors (unknowns, n).

    `counted` says whether the inertia count proved that none is missing.
    """

    squares: Floats
    vectors: Floats
    counted: bool


def lowest_modes(
    stiffness: sp.csc_array,
    mass: sp.csr_array,
    factor: Factor,
    count: int,
    *,
    shift: float = 0.0,
    verify: bool = True,
    progress: Progress = SILENT,
) -> EigenPairs:
    """The `count` lowest modes of K φ = ω² M φ, `factor` being that of K − shift·M.

    `stiffness` is the lower triangle. Raises `ArithmeticError` where the iteration does not settle or
    the count of modes stays wrong.
    """
    for attempt in range(3):
        squares, vectors = _lanczos(mass, factor, count + SPARE, shift, SEED + attempt, progress)
        if not verify:
            return EigenPairs(squares[:count], vectors[:, :count], counted=False)
        progress.at(1, 1, "counting the modes")
        below, expected = _count_below(stiffness, mass, squares, count)
        if below == expected:
            return EigenPairs(squares[:count], vectors[:, :count], counted=True)
    raise ArithmeticError(f"{below} modes lie where {expected} were found")


def _count_below(stiffness: sp.csc_array, mass: sp.csr_array, squares: Floats, count: int) -> tuple[int, int]:
    """Modes below a shift put in the widest gap past the wanted ones: by inertia, and as found."""
    tail = squares[count - 1 :]
    gap = int(np.argmax(np.diff(tail) / np.maximum(tail[1:], 1e-300)))
    shift = 0.5 * (tail[gap] + tail[gap + 1])
    shifted = sp.csc_array(stiffness - shift * sp.tril(mass, format="csc"))
    return factorised(shifted).negative, count + gap


def _lanczos(
    mass: sp.csr_array, factor: Factor, count: int, shift: float, seed: int, progress: Progress
) -> tuple[Floats, Floats]:
    size = mass.shape[0]
    count = min(count, size)
    generator = np.random.default_rng(seed)
    start = generator.standard_normal((size, min(BLOCK, size)))
    basis, weighted = _orthonormal(factor.solve(mass @ start), mass, None, None)
    bases, weights = [basis], [weighted]
    projected = np.empty((0, 0))
    while True:
        image = factor.solve(weights[-1])
        basis, weighted = np.hstack(bases), np.hstack(weights)
        column = weighted.T @ image
        projected = _bordered(projected, column)
        fresh, fresh_weighted = _orthonormal(image, mass, basis, weighted)
        values, vectors = np.linalg.eigh(projected)
        order = np.argsort(-np.abs(values))[:count]
        values, vectors = values[order], vectors[:, order]
        outside = fresh_weighted.T @ image @ vectors[-image.shape[1] :]
        residual = np.linalg.norm(outside, axis=0)
        settled = int(np.count_nonzero(residual <= TOLERANCE * np.abs(values)))
        progress.at(settled, count, f"modes {settled} of {count}")
        if settled == count:
            break
        if fresh.shape[1] == 0:
            break
        if basis.shape[1] > BLOCK * MOST_BLOCKS:
            raise ArithmeticError("the modes did not settle")
        bases.append(fresh)
        weights.append(fresh_weighted)
    return _refined(basis @ vectors, mass, values, shift)


def _bordered(projected: Floats, column: Floats) -> Floats:
    """The projected matrix with the new block's column (and row, by symmetry)."""
    old, new = len(projected), column.shape[0]
    made = np.zeros((new, new))
    made[:old, :old] = projected
    made[:, old:] = column
    made[old:, :old] = column[:old].T
    made[old:, old:] = 0.5 * (column[old:] + column[old:].T)
    return made


def _orthonormal(
    block: Floats, mass: sp.csr_array, basis: Floats | None, weighted: Floats | None
) -> tuple[Floats, Floats]:
    """The block made M-orthonormal to the basis and within itself, dependent directions dropped."""
    for _ in range(2):
        if basis is not None and weighted is not None:
            block = block - basis @ (weighted.T @ block)
        image = mass @ block
        gram = block.T @ image
        scale = np.sqrt(np.clip(np.diag(gram), 1e-300, None))
        values, vectors = eigh(gram / np.outer(scale, scale))
        good = values > 1e-12
        mixing = (vectors[:, good] / np.sqrt(values[good])) / scale[:, None]
        block = block @ mixing
    return block, mass @ block


def _refined(vectors: Floats, mass: sp.csr_array, values: Floats, shift: float) -> tuple[Floats, Floats]:
    squares = shift + 1.0 / values
    order = np.argsort(squares)
    vectors = vectors[:, order]
    norms = np.sqrt(np.einsum("ij,ij->j", vectors, mass @ vectors))
    return squares[order], vectors / norms
