"""Natural modes by block Lanczos with shift and invert, counted by inertia.

Square and hexagonal columns ring in pairs of equal frequency; a single-vector solver drops one of a
pair without a word. The block keeps pairs together and the inertia of K − σM (Sylvester's law) proves
that no mode below the last one is missing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.linalg import eigh

from orthostat.analyses.stiffness.factor import Factor, factorised, symmetric_times
from orthostat.analyses.stiffness.section import Floats
from orthostat.base.progress import SILENT, Progress

BLOCK = 8
"""Vectors in a block: more than the largest multiplicity of a column that is a regular polygon, and as many
as the factors are read for at once with little more time than for one."""
SPARE = 3
"""Modes sought beyond those wanted."""
TOLERANCE = 1e-4
"""Wanted relative residual of the inverted problem; the error of an eigenvalue goes with its square."""
UNCOUNTED_TOLERANCE, UNCOUNTED_SPARE = 1e-3, 1
"""The same, and the modes beyond those wanted, where nobody counts and the last solve makes a step too:
frequencies are off by 1e-6 or less.
"""
SPARE_TOLERANCE = 1e-2
"""The same of the modes beyond those wanted, which only bound the gap in which modes are counted."""
MOST_VECTORS = 240
CORRECTED = 1e-5
"""Relative error of a squared frequency, below which the next correction is the last."""
MOST_CORRECTIONS = 6
SEED = 20261124
Times = Callable[[Floats], Floats]


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
    mass: sp.csr_array | None,
    factor: Factor,
    count: int,
    *,
    shift: float = 0.0,
    verify: bool = True,
    times: Times | None = None,
    memory: float | None = None,
    progress: Progress = SILENT,
) -> EigenPairs:
    """The `count` lowest modes of K φ = ω² M φ, `factor` being that of K − shift·M.

    `stiffness` is the lower triangle; `times` multiplies by the mass, where there is a quicker way, and then
    only the count needs `mass`.
    Raises `ArithmeticError` where the iteration does not settle or the count of modes stays wrong.
    """
    by_mass = times
    if by_mass is None or verify:
        if mass is None:
            raise ValueError("the mass is missing")
        by_mass = times or mass.__matmul__
    for attempt in range(3):
        squares, vectors = _lanczos(
            stiffness, by_mass, factor, count, shift, SEED + attempt, progress, counted=verify
        )
        if not verify or mass is None:
            return EigenPairs(squares[:count], vectors[:, :count], counted=False)
        progress.at(1, 1, "counting the modes")
        below, expected = _count_below(stiffness, mass, squares, count, memory)
        if below == expected:
            return EigenPairs(squares[:count], vectors[:, :count], counted=True)
    raise ArithmeticError(f"{below} modes lie where {expected} were found")


def _count_below(
    stiffness: sp.csc_array, mass: sp.csr_array, squares: Floats, count: int, memory: float | None
) -> tuple[int, int]:
    """Modes below a shift put in the widest gap past the wanted ones: by inertia, and as found."""
    tail = squares[count - 1 :]
    gap = int(np.argmax(np.diff(tail) / np.maximum(tail[1:], 1e-300)))
    shift = 0.5 * (tail[gap] + tail[gap + 1])
    shifted = sp.csc_array(stiffness - shift * sp.tril(mass, format="csc"))
    return factorised(shifted, memory=memory).negative, count + gap


def _lanczos(
    stiffness: sp.csc_array,
    times: Times,
    factor: Factor,
    wanted: int,
    shift: float,
    seed: int,
    progress: Progress,
    *,
    counted: bool,
) -> tuple[Floats, Floats]:
    size = stiffness.shape[0]
    count = min(wanted + (SPARE if counted else UNCOUNTED_SPARE), size)
    wanted_residual = TOLERANCE if counted else UNCOUNTED_TOLERANCE
    limits = np.where(np.arange(count) < wanted, wanted_residual, SPARE_TOLERANCE)
    basis = _Basis(size)
    start = np.random.default_rng(seed).standard_normal((size, min(BLOCK, size)))
    first = factor.roughly(times(start))
    basis.add(first, times(first))
    projected = np.empty((0, 0))
    while True:
        shares, rest = basis.split(factor.roughly(basis.last))
        projected = _bordered(projected, shares)
        every, turned = np.linalg.eigh(projected)
        order = np.argsort(-np.abs(every))[:count]
        values, vectors = every[order], turned[:, order]
        ends = vectors[-rest.shape[1] :]
        image = times(rest)
        gram = rest.T @ image
        residual = np.sqrt(np.clip(np.einsum("ik,ij,jk->k", ends, gram, ends), 0.0, None))
        settled = int(np.count_nonzero(residual <= limits[: len(order)] * np.abs(values)))
        progress.at(settled, count, f"modes {settled} of {count}")
        if settled == count:
            break
        if basis.size > MOST_VECTORS:
            raise ArithmeticError("the modes did not settle")
        if not basis.add(rest, image):
            break
    if not counted and every[0] > 0.0:
        values, vectors, outside = _one_step_on(every, turned, gram, count)
        made = basis.combined(vectors) + rest @ outside
    else:
        made = basis.combined(vectors)
    squares, found = _refined(made, times, values, shift)
    return _corrected(stiffness, times, factor, found, squares) if factor.rounding else (squares, found)


def _one_step_on(values: Floats, vectors: Floats, gram: Floats, count: int) -> tuple[Floats, Floats, Floats]:
    """The best of what K⁻¹·M makes of the basis V, without a solve: values, shares in V and in what is left
    outside of it.

    With K⁻¹·M·V = V·T + R·E (E the last block), its stiffness is T and its mass T² + Eᵀ·(Rᵀ·M·R)·E. Given
    are T = Q·Λ·Qᵀ, all positive, and Rᵀ·M·R.
    """
    root = np.sqrt(values)
    last = vectors[-len(gram) :] / root
    found, mixing = np.linalg.eigh(np.diag(values) + last.T @ gram @ last)
    found, mixing = found[::-1][:count], mixing[:, ::-1][:, :count]
    return found, vectors @ (root[:, None] * mixing), last @ mixing


class _Basis:
    """Vectors orthonormal in the mass, and their images under it; they grow by blocks."""

    def __init__(self, length: int) -> None:
        self.size = 0
        self.last: Floats = np.empty((length, 0))
        """Images of the newest block."""
        self._vectors: Floats = np.empty((length, 12 * BLOCK), order="F")
        self._images: Floats = np.empty_like(self._vectors)

    def split(self, block: Floats) -> tuple[Floats, Floats]:
        """Of what the inverse makes of the newest block, the shares in the basis (size, k), but for rounding
        all in the last two blocks; and what is left outside.
        """
        vectors, images = self._vectors[:, : self.size], self._images[:, : self.size]
        shares = np.zeros((self.size, block.shape[1]))
        near = slice(max(0, self.size - 2 * BLOCK), self.size)
        shares[near] = images[:, near].T @ block
        rest = block - vectors[:, near] @ shares[near]
        again = images.T @ rest
        return shares + again, rest - vectors @ again

    def combined(self, by: Floats) -> Floats:
        """(n, k): the vectors mixed by (size, k)."""
        return np.asarray(self._vectors[:, : self.size] @ by)

    def add(self, block: Floats, image: Floats) -> bool:
        """Add what the block's columns span, dependent directions dropped; false where nothing is left.

        `image` is the block's under the mass.
        """
        for _ in range(2):
            gram = block.T @ image
            scale = np.sqrt(np.clip(np.diag(gram), 1e-300, None))
            values, vectors = eigh(gram / np.outer(scale, scale))
            good = values > 1e-12
            mixing = (vectors[:, good] / np.sqrt(values[good])) / scale[:, None]
            block, image = block @ mixing, image @ mixing
            if not good.any() or values[good].min() > 1e-4 * values.max():
                break
        end = self.size + block.shape[1]
        if end > self._vectors.shape[1]:
            self._vectors, self._images = (_widened(kept) for kept in (self._vectors, self._images))
        self._vectors[:, self.size : end] = block
        self._images[:, self.size : end] = image
        self.size, self.last = end, image
        return bool(block.shape[1] > 0)


def _widened(kept: Floats) -> Floats:
    """Room for twice as many columns."""
    made = np.empty((kept.shape[0], 2 * kept.shape[1]), order="F")
    made[:, : kept.shape[1]] = kept
    return made


def _bordered(projected: Floats, column: Floats) -> Floats:
    """The projected matrix with the new block's column (and row, by symmetry)."""
    old, new = len(projected), column.shape[0]
    made = np.zeros((new, new))
    made[:old, :old] = projected
    made[:, old:] = column
    made[old:, :old] = column[:old].T
    made[old:, old:] = 0.5 * (column[old:] + column[old:].T)
    return made


def _corrected(
    stiffness: sp.csc_array, times: Times, factor: Factor, vectors: Floats, squares: Floats
) -> tuple[Floats, Floats]:
    """Modes of a matrix near the wanted one (mass-normalised), made those of the wanted one.

    What force is left on each is turned into a movement w, and the best mix of modes and movements taken
    (Rayleigh and Ritz). r·w is how much too large ω² was; a step leaves of it the square of the rounding.
    """
    count = len(squares)
    for _ in range(MOST_CORRECTIONS):
        left = symmetric_times(stiffness, vectors) - times(vectors) * squares
        size = np.linalg.norm(left, axis=0)
        moved = factor.roughly(left / np.where(size > 0.0, size, 1.0))
        off = np.einsum("ij,ij->j", left, moved) * size
        moved -= vectors @ (vectors.T @ times(moved))
        moved /= np.sqrt(np.einsum("ij,ij->j", moved, times(moved)))
        both = np.hstack([vectors, moved])
        values, mixing = eigh(both.T @ symmetric_times(stiffness, both), both.T @ times(both))
        before, squares, vectors = squares, values[:count], both @ mixing[:, :count]
        if np.all(np.abs(off) <= CORRECTED * np.abs(before)):
            return squares, vectors
    raise ArithmeticError("the modes did not settle")


def _refined(vectors: Floats, times: Times, values: Floats, shift: float) -> tuple[Floats, Floats]:
    squares = shift + 1.0 / values
    order = np.argsort(squares)
    vectors = vectors[:, order]
    norms = np.sqrt(np.einsum("ij,ij->j", vectors, times(vectors)))
    return squares[order], vectors / norms
