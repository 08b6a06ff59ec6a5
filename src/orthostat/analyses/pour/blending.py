"""The packing of several aggregates together, and the blends that pack best or cost least."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog, minimize

from orthostat.analyses.pour.grains import Grains
from orthostat.base.dimensions import Ratio
from orthostat.formulas import packing

Floats = NDArray[np.float64]
Goal = Callable[[Floats], tuple[float, Floats]]
"""A quantity to be made small over aggregate shares (k,), with its gradient."""


@dataclass(frozen=True)
class PackingModel:
    """Both packing models over the solid-volume shares (k,) of aggregates."""

    grains: tuple[Grains, ...]
    index: Ratio

    @cached_property
    def sizes(self) -> Floats:
        return np.concatenate([g.sizes for g in self.grains])

    @cached_property
    def spread(self) -> Floats:
        """(classes, aggregates): share of each aggregate in each class."""
        columns = np.zeros((len(self.sizes), len(self.grains)))
        row = 0
        for k, g in enumerate(self.grains):
            columns[row : row + len(g.sizes), k] = g.shares
            row += len(g.sizes)
        return columns

    @cached_property
    def virtual(self) -> Floats:
        return np.concatenate([np.full(len(g.sizes), g.virtual_packing) for g in self.grains])

    @cached_property
    def matrix(self) -> Floats:
        return packing.compressible_packing_matrix(self.sizes, self.virtual)

    @cached_property
    def linear_matrix(self) -> Floats:
        alpha = np.concatenate([np.full(len(g.sizes), g.class_packing) for g in self.grains])
        return packing.linear_packing_matrix(self.sizes, alpha)

    @cached_property
    def densities(self) -> Floats:
        return np.array([g.density for g in self.grains])

    def volume(self, shares: Floats) -> tuple[float, Floats]:
        """Volume per solid volume and its gradient over aggregate shares."""
        value, gradient = packing.compressible_specific_volume(
            self.spread @ shares, self.matrix, self.virtual, self.index
        )
        return value, self.spread.T @ gradient

    def packings(self, shares: Floats) -> tuple[Ratio, Ratio]:
        classes = self.spread @ shares
        return Ratio(1.0 / self.volume(shares)[0]), packing.linear_packing(classes, self.linear_matrix)


def densest(model: PackingModel) -> Floats:
    """Shares (k,) of the blend with the least voids by the compressible packing model."""
    return _least(model, model.volume)


def cheapest(model: PackingModel, stones: Floats, *, resin: float, loosened: float) -> Floats:
    """Shares (k,) of the blend that costs least for a cubic metre of mix.

    `stones` (k,) and `resin` are prices of a cubic metre of solid stone and of resin; `loosened` is
    the share of the skeleton left after the surplus has pushed it apart. Air does not change the best.
    """
    scale = resin if resin > 0.0 else 1.0

    def cost(shares: Floats) -> tuple[float, Floats]:
        volume, gradient = model.volume(shares)
        solid = loosened / volume
        dearer = float(stones @ shares) - resin
        return solid * dearer / scale, np.asarray(solid * stones - solid / volume * dearer * gradient) / scale

    return _least(model, cost)


def densest_by_the_other_model(model: PackingModel) -> Floats:
    """Shares (k,) of the densest blend by the linear packing density model: a linear programme."""
    count = len(model.grains)
    rows = model.linear_matrix @ model.spread
    above = np.hstack([rows, -np.ones((len(rows), 1))])
    sums = np.append(np.ones(count), 0.0)[None, :]
    found: Any = linprog(
        np.append(np.zeros(count), 1.0),
        A_ub=above,
        b_ub=np.zeros(len(rows)),
        A_eq=sums,
        b_eq=[1.0],
        bounds=[(0.0, 1.0)] * count + [(0.0, None)],
        method="highs-ds",
        options={"presolve": False},
    )
    return np.asarray(found.x[:count])


def _least(model: PackingModel, goal: Goal) -> Floats:
    """The best of two descents: from equal shares, and from a blend rich in the coarsest."""
    count = len(model.grains)
    if count == 1:
        return np.ones(1)
    ones = np.ones(count)
    sum_to_one: Any = {"type": "eq", "fun": lambda shares: shares.sum() - 1.0, "jac": lambda _: ones}
    descend: Any = minimize
    coarsest = np.argmax([g.largest for g in model.grains])
    rich = np.where(np.arange(count) == coarsest, 0.7, 0.3 / (count - 1))
    found = [
        descend(
            goal,
            start,
            jac=True,
            method="SLSQP",
            bounds=[(0.0, 1.0)] * count,
            constraints=[sum_to_one],
            options={"ftol": 1e-7, "maxiter": 60},
        )
        for start in (ones / count, rich)
    ]
    best = min(found, key=lambda result: float(result.fun))
    shares = np.where(best.x < 1e-4, 0.0, best.x)
    return np.asarray(shares / shares.sum())
