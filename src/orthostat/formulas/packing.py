"""How densely grains of several sizes pack: Furnas' limits and two models for many classes.

Symbols: φ solid share of the volume (packing), β the virtual packing of a class alone (every grain
put in place by hand), y a class's share of the solid volume, d its size, K the compaction index.
Both models have the form 1/γ_i = Σ_j m_ij y_j with γ_i the packing if class i governs, so a blend is
described by one matrix m (n, n); arrays are over classes.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from orthostat.base.dimensions import Ratio
from orthostat.formulas.exempt import not_dimensional

Floats = NDArray[np.float64]


def furnas_two_sizes(*, coarse_packing: Ratio, fine_packing: Ratio, fine_share: Ratio) -> Ratio:
    """Packing of two sizes that differ without limit.

    φ = min(φc / (1 - y), φf / (1 - (1 - φf)(1 - y))): below the optimum the fines only fill voids of
    the coarse grains, above it coarse grains only replace fines and their voids. 0.6 and 0.6 with
    y = 0.2 gives 0.75. Source: furnas-1931, equations for two components of infinite size ratio.
    """
    coarse = coarse_packing / (1.0 - fine_share) if fine_share < 1.0 else np.inf
    fine = fine_packing / (1.0 - (1.0 - fine_packing) * (1.0 - fine_share))
    return Ratio(float(min(coarse, fine)))


def furnas_best_fine_share(*, coarse_packing: Ratio, fine_packing: Ratio) -> Ratio:
    """Share of fines (of the solid volume) at which two very different sizes pack best.

    y = (1 - φc) φf / (1 - (1 - φc)(1 - φf)). 0.6 and 0.6 gives 0.286. Source: furnas-1931.
    """
    voids = 1.0 - coarse_packing
    return Ratio(voids * fine_packing / (1.0 - voids * (1.0 - fine_packing)))


def packing_at_index(virtual_packing: Ratio, *, index: Ratio) -> Ratio:
    """Packing of one size at a compaction index, φ = β / (1 + 1/K). β 0.74 and K 9 gives 0.666.

    Source: de-larrard-1999, section 1.2.
    """
    return Ratio(virtual_packing / (1.0 + 1.0 / index))


@not_dimensional("takes arrays over size classes")
def loosening_effect(size_ratio: Floats) -> Floats:
    """How far a smaller neighbour pushes the grains of a class apart; `size_ratio` = small/large.

    a = √(1 - (1 - x)^1.02), 0 for a far smaller one, 1 for equal sizes. x 0.5 gives 0.712.
    Source: de-larrard-1999, section 1.1.
    """
    return np.asarray(np.sqrt(1.0 - (1.0 - size_ratio) ** 1.02))


@not_dimensional("takes arrays over size classes")
def wall_effect(size_ratio: Floats) -> Floats:
    """How far the surface of a larger neighbour loosens a class; `size_ratio` = small/large.

    b = 1 - (1 - x)^1.5, 0 for a far larger one, 1 for equal sizes. x 0.5 gives 0.646.
    Source: de-larrard-1999, section 1.1.
    """
    return np.asarray(1.0 - (1.0 - size_ratio) ** 1.5)


@not_dimensional("takes arrays over size classes")
def compressible_packing_matrix(sizes: Floats, virtual_packings: Floats) -> Floats:
    """M of the compressible packing model for classes of `sizes` (n,) [m] and β (n,).

    1/γ_i = [1 - Σ_larger (1 - β_i + b β_i (1 - 1/β_j)) y_j - Σ_smaller (1 - a β_i/β_j) y_j] / β_i.
    Two sizes 1000 : 1 with β 0.74 give m = [[1.35, 0.04], [1.00, 1.35]]. Source: de-larrard-1999,
    section 1.1; validated there on graded mixes from 1 µm to 20 mm.
    """
    d_i, d_j = sizes[:, None], sizes[None, :]
    b_i, b_j = virtual_packings[:, None], virtual_packings[None, :]
    ratio = np.minimum(d_i, d_j) / np.maximum(d_i, d_j)
    larger = 1.0 - b_i + wall_effect(ratio) * b_i * (1.0 - 1.0 / b_j)
    smaller = 1.0 - loosening_effect(ratio) * b_i / b_j
    return np.asarray((1.0 - np.where(d_j > d_i, larger, smaller)) / b_i)


@not_dimensional("takes arrays over size classes")
def compressible_packing(shares: Floats, matrix: Floats, virtual_packings: Floats, index: Ratio) -> Ratio:
    """Packing φ of a blend: the root of Σ (y_i/β_i) / (1/φ - 1/γ_i) = K.

    `shares` (n,) sum to 1. One class of β 0.74 at K 9 gives 0.666. Source: de-larrard-1999, section
    1.2 (K: 4.1 poured, 4.5 rodded, 4.75 vibrated, 9 vibrated under weight). Newton's method from
    below the root of a falling convex function: it can't overshoot.
    """
    return Ratio(1.0 / compressible_specific_volume(shares, matrix, virtual_packings, index)[0])


@not_dimensional("takes arrays over size classes")
def compressible_specific_volume(
    shares: Floats, matrix: Floats, virtual_packings: Floats, index: Ratio
) -> tuple[float, Floats]:
    """Volume per solid volume p = 1/φ of the compressible packing model, and ∂p/∂y (n,).

    The derivative follows from the implicit equation F(p, y) = Σ (y_i/β_i)/(p - (m y)_i) - K = 0 and
    lets a blend be optimised without differencing. Source: de-larrard-1999, section 1.2.
    """
    weight = shares / virtual_packings
    governing = matrix @ shares
    volume = float(np.max(governing + weight / index))
    for _ in range(60):
        gap = volume - governing
        terms = np.divide(weight, gap, out=np.zeros_like(gap), where=weight > 0.0)
        slope = float(np.divide(terms, gap, out=np.zeros_like(gap), where=weight > 0.0).sum())
        step = (float(terms.sum()) - index) / slope
        volume += step
        if abs(step) < 1e-13 * volume:
            break
    gap = np.maximum(volume - governing, 1e-12)
    inner = weight / gap**2
    gradient = (1.0 / (virtual_packings * gap) + inner @ matrix) / inner.sum()
    return volume, np.asarray(gradient)


@not_dimensional("takes arrays over size classes")
def linear_packing_matrix(sizes: Floats, packings: Floats) -> Floats:
    """M of the linear packing density model for classes of `sizes` (n,) [m] and packings α (n,).

    1/c_i = [1 - Σ_smaller f(d_j/d_i) y_j - (1 - α_i) Σ_larger g(d_i/d_j) y_j] / α_i with
    f(x) = 0.7 (1 - x) + 0.3 (1 - x)^12 and g(x) = (1 - x)^1.3. Two sizes 1000 : 1 with α 0.6 give m
    = [[1.67, 0.01], [1.00, 1.67]]. Source: stovall-1986 (model), de-larrard-1994 (f and g), from
    memory.
    """
    d_i, d_j = sizes[:, None], sizes[None, :]
    gap = 1.0 - np.minimum(d_i, d_j) / np.maximum(d_i, d_j)
    smaller = 0.7 * gap + 0.3 * gap**12
    larger = (1.0 - packings[:, None]) * gap**1.3
    return np.asarray((1.0 - np.where(d_j > d_i, larger, smaller)) / packings[:, None])


@not_dimensional("takes arrays over size classes")
def linear_packing(shares: Floats, matrix: Floats) -> Ratio:
    """Packing of the linear packing density model: the class that leaves least, 1 / max (m y)_i.

    Equal sizes give that size's own packing. Source: stovall-1986.
    """
    present: Any = shares > 0.0
    return Ratio(float(1.0 / np.max((matrix @ shares)[present])))
