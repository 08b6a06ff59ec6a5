"""Factorisation of sparse symmetric matrices: LDLᵀ by rslab where its wheel is installed, else SuperLU.

Both give solutions and the inertia (how many eigenvalues lie below a shift), which the tests compare.
"""

from __future__ import annotations

import importlib
import os
from collections import OrderedDict
from dataclasses import dataclass
from hashlib import blake2b
from threading import Lock
from types import ModuleType
from typing import Any, Protocol

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from orthostat.analyses.stiffness.section import Floats


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


def factorised(lower: sp.csc_array, *, solver: str | None = None, memory: float | None = None) -> Factor:
    """Factorise the symmetric matrix whose lower triangle is given.

    `solver` is one of `solver_names()` (default the first); `memory` [bytes] is what may be used.
    Raises `MeshTooLarge` where it would not fit.
    """
    name = solver or solver_names()[0]
    if name == "rslab":
        return _Ldlt.of(lower, memory)
    _check(SUPERLU_BYTES * lower.shape[0] ** (4.0 / 3.0), memory)
    return _SuperLu.of(lower)


SUPERLU_BYTES = 1300.0
"""SuperLU's memory over n^(4/3) [bytes], measured on quadratic wedges: the growth of nested dissection."""


def _check(needed: float, allowed: float | None) -> None:
    if allowed is not None and needed > allowed:
        raise MeshTooLarge(needed, allowed)


LARGE = 10_000
"""Unknowns above which an order of elimination is not kept: it takes some 1.5 kB each."""


class _Analyses:
    """Order of elimination of the last patterns; an edit that leaves the mesh's shape alone finds its own."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._kept: OrderedDict[bytes, Any] = OrderedDict()
        self._lock = Lock()

    def of(self, matrix: sp.csc_matrix) -> Any:
        """Nested dissection, which takes longest to order and leaves least to do."""
        made = blake2b(matrix.indptr.tobytes(), digest_size=32)
        made.update(matrix.indices.tobytes())
        key = made.digest()
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        found = importlib.import_module("rslab").analyze(matrix, path="ldlt", ordering="metis")
        if matrix.shape[0] > LARGE:
            return found
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > self._size:
                self._kept.popitem(last=False)
        return found


_analyses = _Analyses(8)


@dataclass(frozen=True, slots=True)
class _Ldlt:
    handle: object
    name: str = "rslab"

    @staticmethod
    def of(lower: sp.csc_array, memory: float | None) -> _Ldlt:
        matrix = sp.csc_matrix(lower)
        symbolic = _analyses.of(matrix)
        plan = symbolic.memory_plan("float64")
        _check(float(max(plan.values())), memory)
        return _Ldlt(symbolic.factor(matrix.data))

    def solve(self, right: Floats) -> Floats:
        if right.ndim == 1:
            return np.asarray(self.handle.solve(np.ascontiguousarray(right)))  # type: ignore[attr-defined]
        return np.asarray(self.handle.solve_many(np.ascontiguousarray(right)))  # type: ignore[attr-defined]

    @property
    def negative(self) -> int:
        return _negative(self.handle.inertia)  # type: ignore[attr-defined]


def _negative(inertia: tuple[int, int, int]) -> int:
    """Of rslab's (positive, negative, zero)."""
    return int(inertia[1])


@dataclass(frozen=True, slots=True)
class _SuperLu:
    handle: object
    name: str = "SuperLU"

    @staticmethod
    def of(lower: sp.csc_array) -> _SuperLu:
        full = sp.csc_matrix(lower + sp.tril(lower, -1).T)
        return _SuperLu(
            splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        )

    def solve(self, right: Floats) -> Floats:
        return np.asarray(self.handle.solve(right))  # type: ignore[attr-defined]

    @property
    def negative(self) -> int:
        """From the signs of U's diagonal, valid where rows and columns were permuted alike.

        Raises `ArithmeticError` where pivoting broke the symmetry.
        """
        if not np.array_equal(self.handle.perm_r, self.handle.perm_c):  # type: ignore[attr-defined]
            raise ArithmeticError("pivoting was not symmetric; the inertia is not known")
        return int(np.count_nonzero(self.handle.U.diagonal() < 0.0))  # type: ignore[attr-defined]
