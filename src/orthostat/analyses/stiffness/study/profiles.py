"""How displacements go up the height: hats at the levels, integrated Legendre polynomials within the layers.

Each profile has a role, such as `foot` or `M3`, and every role has section modes of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import legendre

from orthostat.analyses.stiffness.section import Floats

DEGREE = {"B": 2, "N": 3, "M": 7, "L": 2}
"""Highest degree in each kind of layer; the tallest gets the most."""
ABOVE = {"B": "base", "N": "near", "M": "under", "L": "top"}
"""The hat at the upper end of a layer; that of an open top is `rim`. The lowest is `foot`, or `sole` where no
base plate carries it.
"""
HATS = frozenset({*ABOVE.values(), "foot", "sole", "rim"})
NOMINAL = {
    "foot": 0.12, "sole": 0.35, "base": 0.2, "near": 0.5, "under": 0.2, "top": 0.2, "rim": 0.5,
    "B": 0.12, "N": 0.35, "M": 1.3, "L": 0.12,
}  # fmt: skip
"""Heights over the yardstick by which the energies of roles are weighed against each other."""


@dataclass(frozen=True, slots=True)
class Profile:
    """A function of the height: a hat at level `at`, or the polynomial of `degree` within layer `at`."""

    role: str
    at: int
    degree: int


@lru_cache(maxsize=16)
def profiles_of(layout: str) -> tuple[Profile, ...]:
    """Profiles of a column whose layers are `layout`, upward, those of one layer next to each other."""
    made = [Profile("foot" if layout[0] == "B" else "sole", 0, 1)]
    for k, letter in enumerate(layout):
        made += [Profile(f"{letter}{p}", k, p) for p in range(2, DEGREE[letter] + 1)]
        open_top = letter == "M" and k == len(layout) - 1
        made.append(Profile("rim" if open_top else ABOVE[letter], k + 1, 1))
    return tuple(made)


def within(layout: str, layer: int) -> slice:
    """Profiles that are not zero in a layer."""
    start = sum(DEGREE[letter] for letter in layout[:layer])
    return slice(start, start + DEGREE[layout[layer]] + 1)


@lru_cache(maxsize=8)
def reference_lines(degree: int) -> Floats:
    """(4, p, p): ∫ψψ, ∫ψψ', ∫ψ'ψ, ∫ψ'ψ' over [-1, 1] of the lower hat, the polynomials, the upper hat.

    Over a layer of height h the first is h/2 times as much, the last 2/h times.
    """
    at, weight = legendre.leggauss(degree + 2)
    value, slope = local(at, degree)
    w = weight[:, None]
    return np.stack([a.T @ (w * b) for a in (value, slope) for b in (value, slope)])


@lru_cache(maxsize=8)
def _functions(degree: int) -> tuple[Floats, Floats]:
    """(degree + 1, degree + 1) values and slopes of a layer's functions in powers; ψ_p' has norm one."""
    value, slope = np.zeros((2, degree + 1, degree + 1))
    value[:2, 0], slope[0, 0] = (0.5, -0.5), -0.5
    value[:2, degree], slope[0, degree] = (0.5, 0.5), 0.5
    for p in range(2, degree + 1):
        scale = ((2 * p - 1) / 2.0) ** 0.5
        value[p, p - 1] = scale / (2 * p - 1)
        value[p - 2, p - 1] = -value[p, p - 1]
        slope[p - 1, p - 1] = scale
    powers = np.zeros((degree + 1, degree + 1))
    for p, column in enumerate(powers.T):
        column[: p + 1] = legendre.leg2poly([0.0] * p + [1.0])
    return powers @ value, powers @ slope


def local(at: Floats, degree: int) -> tuple[Floats, Floats]:
    """Values and slopes (n, degree + 1) of a layer's functions at places in [-1, 1]."""
    value, slope = _functions(degree)
    powers = np.vander(at, degree + 1, increasing=True)
    return powers @ value, powers @ slope


def values_at(layout: str, levels: Floats, heights: Floats) -> Floats:
    """(n, profiles) at heights [m]."""
    layer = np.clip(np.searchsorted(levels, heights, side="right") - 1, 0, len(layout) - 1)
    made = np.zeros((len(heights), len(profiles_of(layout))))
    for k in set(layer.tolist()):
        here = np.flatnonzero(layer == k)
        t = 2.0 * (heights[here] - levels[k]) / (levels[k + 1] - levels[k]) - 1.0
        degree = DEGREE[layout[k]]
        made[here, within(layout, k)] = np.vander(t, degree + 1, increasing=True) @ _functions(degree)[0]
    return made
