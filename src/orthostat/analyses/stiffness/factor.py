"""Factorisation of sparse symmetric matrices: LDLᵀ by rslab where its wheel is installed, else SuperLU.

Both give solutions and the inertia (how many eigenvalues lie below a shift), which the tests compare. Large
matrices are factorised in single precision, in half the time and memory, and solutions are corrected against
the matrix in double precision until they are as good; where that does not settle, in double precision.
"""

from __future__ import annotations

import importlib
import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from threading import Lock
from types import ModuleType
from typing import Any, Literal, Protocol

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from orthostat.analyses.stiffness.pattern import KEPT, LARGE
from orthostat.analyses.stiffness.section import Floats

Array = npt.NDArray[Any]
Arrays = tuple[Array, ...]


class MeshTooLarge(Exception):
    """The factors would need more memory than may be used; carries both [bytes]."""

    def __init__(self, needed: float, allowed: float) -> None:
        self.needed = needed
        self.allowed = allowed
        super().__init__(
            f"the mesh needs about {needed / 1e9:.3g} GB of memory and {allowed / 1e9:.3g} GB may be used"
        )


class Factor(Protocol):
    """A factorised symmetric matrix."""

    @property
    def name(self) -> str:
        """Of the solver."""

    def solve(self, right: Floats) -> Floats:
        """The solution x of A x = right; right is (n,) or (n, k)."""

    def roughly(self, right: Floats) -> Floats:
        """As `solve` (n, k), of a symmetric matrix near A: exact but for `rounding`, and quicker."""

    @property
    def rounding(self) -> float:
        """How far `roughly` is off, as a share of the solution; zero where it is `solve`."""

    @property
    def negative(self) -> int:
        """Number of negative eigenvalues of A."""


def memory_available() -> float | None:
    """Physical memory free for use [bytes]; `None` where the system does not say."""
    try:
        return float(os.sysconf("SC_AVPHYS_PAGES")) * float(os.sysconf("SC_PAGE_SIZE"))
    except (AttributeError, ValueError, OSError):
        return None


def _rslab() -> ModuleType | None:
    try:
        return importlib.import_module("rslab")
    except ImportError:
        return None


def solver_names() -> tuple[str, ...]:
    """Solvers that can be used here, best first."""
    return ("rslab", "SuperLU") if _rslab() is not None else ("SuperLU",)


SINGLE = 12_000
"""Unknowns above which factors are in single precision; below, there is little to gain."""


def factorised(
    lower: sp.csc_array,
    *,
    solver: str | None = None,
    memory: float | None = None,
    single: int | None = SINGLE,
) -> Factor:
    """Factorise the symmetric matrix whose lower triangle is given.

    `solver` is one of `solver_names()` (default the first); `memory` [bytes] is what may be used; above
    `single` unknowns the factors are in single precision where that does (`None` for never).
    Raises `MeshTooLarge` where it would not fit.
    """
    name = solver or solver_names()[0]
    if name == "rslab":
        if single is not None and lower.shape[0] > single:
            found = _Single.of(lower, memory)
            if found is not None:
                return found
        return _Ldlt.of(lower, memory)
    _check(SUPERLU_BYTES * lower.shape[0] ** (4.0 / 3.0), memory)
    return _SuperLu.of(lower)


SUPERLU_BYTES = 1300.0
"""SuperLU's memory over n^(4/3) [bytes], measured on quadratic wedges: the growth of nested dissection."""


def _check(needed: float, allowed: float | None) -> None:
    if allowed is not None and needed > allowed:
        raise MeshTooLarge(needed, allowed)


SMALL = 6_500
"""Unknowns up to which least fill orders well enough, and a second thread costs more than it brings."""


class _Kept:
    """The last things made of small matrices, beside the arrays that they were made of."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._kept: list[tuple[Arrays, Any]] = []
        self._lock = Lock()

    def of(self, arrays: Arrays, make: Callable[[], Any]) -> Any:
        """What was made of the same arrays before, or now."""
        with self._lock:
            kept = list(self._kept)
        for entry in kept:
            if all(map(_same, entry[0], arrays)):
                break
        else:
            entry = (arrays, make())
        with self._lock:
            others = [each for each in self._kept if each is not entry]
            self._kept = [entry, *others][: self._size]
        return entry[1]


def _same(one: Array, other: Array) -> bool:
    return one is other or np.array_equal(one, other)


_analyses = _Kept(KEPT)
"""Orders of elimination: an edit that leaves the mesh's shape alone finds its own."""
_factors = _Kept(2)
"""Factors: an edit that only moves what hangs on the body finds its own."""


def _analysis(lower: sp.csc_array) -> Any:
    """Nested dissection, which takes longest to order and leaves least to do; of small matrices least fill
    first, which takes half as long and leaves hardly more.
    """
    small = lower.shape[0] <= SMALL
    ordering, threads = ("amf", 1) if small else ("metis", None)
    rslab = importlib.import_module("rslab")
    return rslab.analyze(sp.csc_matrix(lower), path="ldlt", ordering=ordering, threads=threads)


def _handle(lower: sp.csc_array, kind: Literal["float32", "float64"], memory: float | None) -> Any:
    """rslab's factors in a precision, where they fit."""
    small = lower.shape[0] <= LARGE
    pattern, data = (lower.indptr, lower.indices), lower.data.astype(kind, copy=False)
    analysis = partial(_analysis, lower)
    symbolic = _analyses.of(pattern, analysis) if small else analysis()
    _check(float(max(symbolic.memory_plan(kind).values())), memory)
    factors = partial(symbolic.factor, data)
    return _factors.of((*pattern, data), factors) if small else factors()


@dataclass(frozen=True, slots=True)
class _Ldlt:
    handle: Any
    name: str = "rslab"
    rounding: float = 0.0

    @staticmethod
    def of(lower: sp.csc_array, memory: float | None) -> _Ldlt:
        return _Ldlt(_handle(lower, "float64", memory))

    def solve(self, right: Floats) -> Floats:
        if right.ndim == 1:
            return np.asarray(self.handle.solve(np.ascontiguousarray(right)))
        return np.asarray(self.handle.solve_many(np.ascontiguousarray(right)))

    def roughly(self, right: Floats) -> Floats:
        return self.solve(right)

    @property
    def negative(self) -> int:
        return _negative(self.handle.inertia)


SHRINKS = 0.05
"""A correction must be at most this share of the one before, else the rounding is too coarse."""
SETTLED = 1e-10
"""Wanted relative error of a solution."""
MOST_CORRECTIONS = 12
SEED = 20261126


@dataclass(frozen=True, slots=True)
class _Single:
    """A factor F in single precision, of a matrix near A: x += F⁻¹(b - A x) until x settles.

    Where corrections shrink from step to step, F⁻¹(A - F) is small, so no matrix on the way from F to A is
    singular, and A has as many negative eigenvalues as F (they could change only by way of zero).
    """

    handle: Any
    lower: sp.csc_array
    rounding: float
    name: str = "rslab"

    @staticmethod
    def of(lower: sp.csc_array, memory: float | None) -> _Single | None:
        """`None` where corrections do not shrink fast enough."""
        try:
            made = _Single(_handle(lower, "float32", memory), lower, 1.0)
        except RuntimeError:  # a pivot that rounds to zero
            return None
        shrunk = made._shrinking(corrections=1)
        return replace(made, rounding=shrunk) if shrunk <= SHRINKS else None

    def roughly(self, right: Floats) -> Floats:
        return np.asarray(self.handle.solve_many(np.ascontiguousarray(right, dtype=np.float32)), np.float64)

    def solve(self, right: Floats) -> Floats:
        if right.ndim == 1:
            return self.solve(right[:, None])[:, 0]
        found = self._corrected(np.zeros_like(right), right)
        enough = SETTLED / self.rounding * np.linalg.norm(found, axis=0)
        for _ in range(MOST_CORRECTIONS):
            before, found = found, self._corrected(found, right)
            if np.all(np.linalg.norm(found - before, axis=0) <= enough):
                return found
        return _Ldlt.of(self.lower, None).solve(right)

    @property
    def negative(self) -> int:
        if self._shrinking(corrections=3) > SHRINKS:
            return _Ldlt.of(self.lower, None).negative
        return _negative(self.handle.inertia)

    def _corrected(self, found: Floats, right: Floats) -> Floats:
        """One step nearer. Scaled, since single precision ends at 1e-38."""
        left = right - symmetric_times(self.lower, found)
        size = np.linalg.norm(left, axis=0)
        size[size == 0.0] = 1.0
        return np.asarray(found + self.roughly(left / size) * size)

    def _shrinking(self, corrections: int) -> float:
        """The largest share of a correction that the next one is. The forces have no order, so every shape
        has a share in them, and what shrinks least comes to the fore.
        """
        right = np.random.default_rng(SEED).standard_normal((self.lower.shape[0], 8))
        found = self._corrected(np.zeros_like(right), right)
        size, worst = np.linalg.norm(found, axis=0), 0.0
        floor = 1e-12 * size  # below lies the rounding of double precision
        for _ in range(corrections):
            before, found = found, self._corrected(found, right)
            smaller = np.linalg.norm(found - before, axis=0)
            worst = max(worst, float((np.where(smaller > floor, smaller, 0.0) / size).max()))
            size = np.maximum(smaller, floor)
        return worst


def symmetric_times(lower: sp.csc_array, vectors: Floats) -> Floats:
    """The symmetric matrix whose lower triangle is given, times vectors (n, k)."""
    below = lower @ vectors + lower.T @ vectors
    return np.asarray(below - lower.diagonal()[:, None] * vectors)


def _negative(inertia: tuple[int, int, int]) -> int:
    """Of rslab's (positive, negative, zero)."""
    return int(inertia[1])


@dataclass(frozen=True, slots=True)
class _SuperLu:
    handle: Any
    name: str = "SuperLU"
    rounding: float = 0.0

    @staticmethod
    def of(lower: sp.csc_array) -> _SuperLu:
        full = sp.csc_matrix(lower + sp.tril(lower, -1).T)
        return _SuperLu(
            splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        )

    def solve(self, right: Floats) -> Floats:
        return np.asarray(self.handle.solve(right))

    def roughly(self, right: Floats) -> Floats:
        return self.solve(right)

    @property
    def negative(self) -> int:
        """From the signs of U's diagonal, valid where rows and columns were permuted alike.

        Raises `ArithmeticError` where pivoting broke the symmetry.
        """
        if not np.array_equal(self.handle.perm_r, self.handle.perm_c):
            raise ArithmeticError("pivoting was not symmetric; the inertia is not known")
        return int(np.count_nonzero(self.handle.U.diagonal() < 0.0))
