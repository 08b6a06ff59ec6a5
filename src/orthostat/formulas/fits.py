"""Limits and fits by the ISO code system: hole deviations, clearances, standard tolerances."""

from __future__ import annotations

from orthostat.base.dimensions import Metre
from orthostat.formulas.exempt import not_dimensional


def limit_of_size(*, nominal: Metre, deviation: Metre) -> Metre:
    """Limit of size: nominal size plus a limit deviation (signed).

    Source: iso-286-1, clause 3. Valid for any size.

    >>> round(limit_of_size(nominal=Metre(12e-3), deviation=Metre(18e-6)) * 1e3, 3)
    12.018
    """
    return Metre(nominal + deviation)


def greatest_clearance(*, hole_upper: Metre, shaft_lower: Metre) -> Metre:
    """Greatest clearance of a fit: upper hole deviation less lower shaft deviation, ES − ei.

    Negative where even the loosest pair interferes. Source: iso-286-1, clause 3.3.

    >>> round(greatest_clearance(hole_upper=Metre(18e-6), shaft_lower=Metre(7e-6)) * 1e6)
    11
    """
    return Metre(hole_upper - shaft_lower)


def least_clearance(*, hole_lower: Metre, shaft_upper: Metre) -> Metre:
    """Least clearance of a fit: lower hole deviation less upper shaft deviation, EI − es.

    Negative where the tightest pair interferes. Source: iso-286-1, clause 3.3.

    >>> round(least_clearance(hole_lower=Metre(0.0), shaft_upper=Metre(18e-6)) * 1e6)
    -18
    """
    return Metre(hole_lower - shaft_upper)


def upper_hole_deviation(*, shaft_deviation: Metre, step: Metre) -> Metre:
    """Upper deviation of a hole K to P from the shaft of the same letter: ES = −ei + Δ.

    `step` is Δ = ITn − IT(n−1), by which a hole one grade coarser makes the same fit.
    Source: iso-286-1, clause on fundamental deviations (special rule). Valid over 3 mm, for K, M
    and N to IT8 and for P to ZC to IT7; elsewhere Δ = 0.

    >>> round(upper_hole_deviation(shaft_deviation=Metre(7e-6), step=Metre(7e-6)) * 1e6)
    0
    """
    return Metre(step - shaft_deviation)


@not_dimensional("i = 0.45·D^(1/3) + 0.001·D is empirical: D in millimetres, i in micrometres")
def tolerance_factor(mean_diameter: Metre) -> Metre:
    """Standard tolerance factor: i = 0.45·D^(1/3) + 0.001·D (i in µm, D in mm).

    `mean_diameter` is the geometric mean of the ends of the size range; IT5 is 7i, IT6 10i, IT7 16i,
    IT8 25i, and from IT6 on each fifth grade is ten times coarser. The printed tables round these.
    Source: iso-286-1, annex on the basis of the standard tolerances. Valid to 500 mm.

    >>> round(tolerance_factor(Metre((10 * 18) ** 0.5 * 1e-3)) * 16 * 1e6, 1)
    17.3

    Raises:
        ValueError: over 500 mm.
    """
    if mean_diameter > 0.5:
        raise ValueError(f"the tolerance factor holds to 500 mm, not {mean_diameter * 1e3:g} mm")
    diameter = mean_diameter * 1e3
    return Metre((0.45 * diameter ** (1 / 3) + 0.001 * diameter) * 1e-6)
