"""The least and the greatest of many values, where what tells some of them apart is rounding."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ALIKE = 1e-7
"""Values whose shares differ by less are alike."""


def first_least(values: Array) -> int:
    """Place of the least; of alike values, of the first."""
    return int((values <= values.min() * (1.0 + ALIKE)).argmax())


def first_leasts(values: Array, starts: NDArray[np.intp]) -> list[tuple[float, int]]:
    """The first least of each part of an array, with its place in the part. Parts begin at `starts`."""
    least = np.minimum.reduceat(values, starts)
    alike = values <= np.repeat(least * (1.0 + ALIKE), np.diff(starts, append=len(values)))
    places = np.flatnonzero(alike)
    first = places[np.searchsorted(places, starts)]
    return list(zip(values[first].tolist(), (first - starts).tolist(), strict=True))


def first_greatests(values: Array, starts: NDArray[np.intp]) -> tuple[Array, NDArray[np.intp]]:
    """Of each column of each part of an array (m, k) the greatest, zero at least, and its first place."""
    greatest = np.maximum(np.maximum.reduceat(values, starts, axis=0), 0.0)
    least = np.repeat(greatest * (1.0 - ALIKE), np.diff(starts, append=len(values)), axis=0)
    places = np.where(values >= least, np.arange(len(values))[:, None], len(values))
    return greatest, np.minimum.reduceat(places, starts, axis=0) - starts[:, None]


def first_greatest(values: Array) -> int:
    """Place of the greatest of values that are not negative; of alike values, of the first."""
    return int((values >= values.max() * (1.0 - ALIKE)).argmax())


def first_of_columns(values: Array) -> list[int]:
    """As `first_greatest`, of each column (m, k)."""
    first: list[int] = (values >= values.max(axis=0) * (1.0 - ALIKE)).argmax(axis=0).tolist()
    return first
