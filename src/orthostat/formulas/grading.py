"""Ideal grading curves: the share that passes a sieve, for a dense mix."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from orthostat.base.dimensions import Metre, Ratio
from orthostat.formulas.exempt import not_dimensional

Sizes = NDArray[np.float64]


@not_dimensional("takes an array of sizes")
def fuller_thompson(size: Sizes, *, largest: Metre, exponent: Ratio) -> Sizes:
    """Share passing, (d/D)^q; q 0.5 is Fuller and Thompson's curve. D 16 mm, d 4 mm gives 0.5.

    It has no smallest size, so it asks for more fines than stone and sand hold. Valid for
    0 ≤ d ≤ D. Source: fuller-thompson-1907; exponent as a variable: andreasen-1930.
    """
    return np.asarray((size / largest) ** exponent)


@not_dimensional("takes an array of sizes")
def modified_andreasen(size: Sizes, *, smallest: Metre, largest: Metre, exponent: Ratio) -> Sizes:
    """Share passing with a smallest size, (d^q - d0^q) / (D^q - d0^q); q about 0.37.

    D 16 mm, d0 63 µm, d 4 mm, q 0.37 gives 0.539. Valid for d0 ≤ d ≤ D. Source: funk-dinger-1994,
    who find q = 0.37 for the densest packing of a continuous grading.
    """
    low = smallest**exponent
    return np.asarray((size**exponent - low) / (largest**exponent - low))
