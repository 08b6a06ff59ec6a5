"""Aggregates as size classes: their sieve curves, and packing fitted to their measured bulk density."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, Ratio
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue import UnknownRow
from orthostat.catalogue.casting import COMPACTIONS
from orthostat.formulas import packing
from orthostat.model.pouring import Aggregate

Floats = NDArray[np.float64]

CLASS_RATIO = 2.0**0.5
"""Upper over lower size of a class: fine enough that halving it changes packing by under 0.2 %."""


@dataclass(frozen=True)
class Grains:
    """One aggregate as size classes, largest first, with β and α fitted to its bulk density."""

    aggregate: Aggregate
    density: KilogramPerCubicMetre
    sizes: Floats
    """(n,) geometric mean of each class [m]."""
    shares: Floats
    """(n,) share of the aggregate in each class; sums to 1."""
    largest: Metre
    smallest: Metre
    packing: Ratio
    """Measured: bulk over particle density."""
    virtual_packing: Ratio
    """β of the compressible packing model, the same for every class."""
    class_packing: Ratio
    """α of the linear packing density model, the same for every class."""

    def passing(self, sizes: Floats) -> Floats:
        """Share of the mass finer than `sizes` (k,) [m]."""
        return curve(self.aggregate)(sizes)


@lru_cache(maxsize=64)
def grains(aggregate: Aggregate) -> Grains:
    """The aggregate ready for a packing model. Raises `NotStated` naming what is missing or impossible."""
    path = aggregate.path
    density = stated(aggregate.particle_density, f"{path}.particle_density")
    bulk = stated(aggregate.bulk_density, f"{path}.bulk_density")
    if density <= 0.0 or bulk <= 0.0:
        raise NotStated(f"{path}.particle_density", reason=f"{aggregate.name}: a density must be above zero")
    if bulk >= density:
        raise NotStated(
            f"{path}.bulk_density",
            reason=f"{aggregate.name}: bulk density {bulk:.0f} kg/m³ is not below its particle density",
        )
    if aggregate.moisture is not None and aggregate.moisture < 0.0:
        raise NotStated(f"{path}.moisture", reason=f"{aggregate.name}: moisture is below zero")
    index = compaction_index(stated(aggregate.bulk_state, f"{path}.bulk_state"), f"{path}.bulk_state")
    sizes, shares, smallest, largest = _classes(aggregate)
    measured = Ratio(bulk / density)
    beta = _fitted(lambda b: _compressible(b, sizes, shares, index), measured, aggregate)
    alpha = _fitted(lambda a: _linear(a, sizes, shares), measured, aggregate)
    return Grains(aggregate, density, sizes, shares, largest, smallest, measured, beta, alpha)


def compaction_index(name: str, path: str) -> Ratio:
    """Compaction index of a way of placing; raises `NotStated` for one the catalogue does not know."""
    try:
        return COMPACTIONS.row(name).index
    except UnknownRow as unknown:
        raise NotStated(path, reason=str(unknown)) from unknown


def curve(aggregate: Aggregate) -> Callable[[Floats], Floats]:
    """The sieve curve as a function of size: straight between sieves over the logarithm of size.

    A curve that does not reach zero ends at half its smallest sieve.
    """
    logs, passing = _points(aggregate)

    def finer(sizes: Floats) -> Floats:
        return np.asarray(np.interp(np.log(sizes), logs, passing))

    return finer


def _points(aggregate: Aggregate) -> tuple[Floats, Floats]:
    if not aggregate.sieve:
        low = stated(aggregate.smallest, f"{aggregate.path}.smallest")
        high = stated(aggregate.largest, f"{aggregate.path}.largest")
        if not 0.0 < low <= high:
            raise NotStated(
                f"{aggregate.path}.smallest",
                reason=f"{aggregate.name}: its smallest size is not below its largest",
            )
        return np.log([low, max(high, low * 1.001)]), np.array([0.0, 1.0])
    points = sorted((point.size, point.passing) for point in aggregate.sieve)
    sizes, passing = np.array([p[0] for p in points]), np.array([p[1] for p in points])
    if (sizes <= 0.0).any() or (np.diff(sizes) <= 0.0).any():
        raise NotStated(
            f"{aggregate.path}.sieve", reason=f"{aggregate.name}: a sieve is listed twice or has no size"
        )
    if (np.diff(passing) < 0.0).any() or passing[0] < 0.0 or passing[-1] > 1.0:
        raise NotStated(
            f"{aggregate.path}.sieve",
            reason=f"{aggregate.name}: a finer sieve passes more than a coarser one",
        )
    if passing[-1] < 1.0:
        if aggregate.largest is None or aggregate.largest <= sizes[-1]:
            raise NotStated(
                f"{aggregate.path}.largest",
                reason=f"{aggregate.name}: some stays on the coarsest sieve listed, its largest size is open",
            )
        sizes, passing = np.append(sizes, aggregate.largest), np.append(passing, 1.0)
    if passing[0] > 0.0:
        finest = aggregate.smallest if aggregate.smallest is not None else 0.5 * sizes[0]
        sizes, passing = np.insert(sizes, 0, min(finest, 0.999 * sizes[0])), np.insert(passing, 0, 0.0)
    return np.log(sizes), passing


def _classes(aggregate: Aggregate) -> tuple[Floats, Floats, Metre, Metre]:
    logs, passing = _points(aggregate)
    low = float(np.exp(logs[np.flatnonzero(passing <= 0.0)[-1]]))
    high = float(np.exp(logs[np.flatnonzero(passing >= 1.0)[0]]))
    count = max(1, ceil(log(high / low) / log(CLASS_RATIO) - 1e-6))
    edges = np.geomspace(high, low, count + 1)
    finer = np.interp(np.log(edges), logs, passing)
    shares = finer[:-1] - finer[1:]
    kept = shares > 1e-9
    middles = np.sqrt(edges[:-1] * edges[1:])
    return middles[kept], shares[kept] / shares[kept].sum(), Metre(low), Metre(high)


def _compressible(beta: float, sizes: Floats, shares: Floats, index: Ratio) -> Ratio:
    each = np.full(len(sizes), beta)
    return packing.compressible_packing(shares, packing.compressible_packing_matrix(sizes, each), each, index)


def _linear(alpha: float, sizes: Floats, shares: Floats) -> Ratio:
    return packing.linear_packing(shares, packing.linear_packing_matrix(sizes, np.full(len(sizes), alpha)))


def _fitted(model: Callable[[float], Ratio], measured: Ratio, aggregate: Aggregate) -> Ratio:
    """The packing of one class for which the model gives the measured packing of the whole."""
    low, high = 0.10, 0.97
    if not model(low) <= measured <= model(high):
        raise NotStated(
            f"{aggregate.path}.bulk_density",
            reason=f"{aggregate.name}: no packing of its sizes gives a solid share of {measured:.2f}",
        )
    return Ratio(float(brentq(lambda x: model(x) - measured, low, high, xtol=1e-6)))
