"""Limits and fits: dowel and pin classes as printed, holes by rule, tolerances by formula."""

from __future__ import annotations

from collections.abc import Callable

from orthostat.base.dimensions import Metre
from orthostat.catalogue import deviations, fit
from orthostat.formulas.fits import tolerance_factor
from orthostat.validation.cases import case

PRINTED = "tables print whole micrometres, and ours must be the same"

Printed = dict[int, dict[str, tuple[float, float]]]

SHAFTS: Printed = {
    # nominal [mm]: class -> (upper, lower) [µm]
    6: {"m6": (12, 4), "g6": (-4, -12), "h6": (0, -8)},
    8: {"m6": (15, 6), "g6": (-5, -14), "h6": (0, -9)},
    10: {"m6": (15, 6), "g6": (-5, -14), "h6": (0, -9)},
    12: {"m6": (18, 7), "g6": (-6, -17), "h6": (0, -11)},
    16: {"m6": (18, 7), "g6": (-6, -17), "h6": (0, -11)},
    20: {"m6": (21, 8), "g6": (-7, -20), "h6": (0, -13)},
    25: {"k6": (15, 2), "n6": (28, 15), "p6": (35, 22), "f7": (-20, -41)},
    40: {"k6": (18, 2), "n6": (33, 17), "p6": (42, 26), "f7": (-25, -50)},
}
HOLES: Printed = {
    # nominal [mm]: class -> (upper, lower) [µm]
    20: {"K6": (2, -11), "K7": (6, -15), "K8": (10, -23), "M7": (0, -21), "N7": (-7, -28)},
    22: {"JS7": (10.5, -10.5)},
    40: {"K7": (7, -18), "M6": (-4, -20), "M8": (5, -34), "N8": (-3, -42)},
    90: {"K8": (16, -38), "M7": (0, -35), "N6": (-16, -38)},
}
H7_UPPER = {6: 12, 8: 15, 10: 15, 12: 18, 16: 18, 20: 21}
FACTORS = {6: 10, 7: 16, 8: 25, 9: 40, 10: 64, 11: 100}
"""Multiples of the tolerance factor i by grade."""


def limit(symbol: str, nominal: float, which: str) -> Callable[[], float]:
    """One limit deviation of the catalogue in micrometres."""
    return lambda: float(getattr(deviations(symbol, Metre(nominal * 1e-3)), which)) * 1e6


for _table, _source in ((SHAFTS, "jis-b-0401-copy, shafts"), (HOLES, "hole-tolerance-table, K6 to JS9")):
    for _size, _classes in _table.items():
        for _symbol, (_upper, _lower) in _classes.items():
            _cited = "h-tolerance-table, h6" if _symbol == "h6" else _source
            case(
                f"upper deviation of {_size} mm {_symbol}", expected=_upper, unit="µm", tolerance=1e-6,
                reason=PRINTED, source=_cited,
            )(limit(_symbol, _size, "upper"))  # fmt: skip
            case(
                f"lower deviation of {_size} mm {_symbol}", expected=_lower, unit="µm", tolerance=1e-6,
                reason=PRINTED, source=_cited,
            )(limit(_symbol, _size, "lower"))  # fmt: skip
for _size, _upper in H7_UPPER.items():
    case(
        f"upper deviation of {_size} mm H7", expected=_upper, unit="µm", tolerance=1e-6, reason=PRINTED,
        source="h-tolerance-table, h7 (H7 is as wide, above the nominal size)",
    )(limit("H7", _size, "upper"))  # fmt: skip


@case(
    "loosest 12 mm dowel in H7/m6",
    expected=11,
    unit="µm",
    tolerance=1e-6,
    reason=PRINTED,
    source="iso-286-2, H7 and m6, 10 to 18 mm; from memory",
)
def loosest_dowel() -> float:
    """Greatest clearance in micrometres."""
    return fit("H7/m6", Metre(12e-3)).greatest_clearance * 1e6


@case(
    "tightest 12 mm dowel in H7/m6",
    expected=-18,
    unit="µm",
    tolerance=1e-6,
    reason=PRINTED,
    source="iso-286-2, H7 and m6, 10 to 18 mm; from memory",
)
def tightest_dowel() -> float:
    """Least clearance in micrometres; negative is interference."""
    return fit("H7/m6", Metre(12e-3)).least_clearance * 1e6


def by_formula(low: float, high: float, grade: int) -> Callable[[], float]:
    """Standard tolerance from the factor at the geometric mean of the size range, in micrometres."""
    return lambda: FACTORS[grade] * tolerance_factor(Metre((low * high) ** 0.5 * 1e-3)) * 1e6


for _low, _high, _grade, _printed in (
    (10, 18, 6, 11), (10, 18, 7, 18), (18, 30, 7, 21), (30, 50, 8, 39), (80, 120, 6, 22), (80, 120, 9, 87),
    (120, 180, 7, 40),
):  # fmt: skip
    case(
        f"IT{_grade} over {_low} to {_high} mm by formula", expected=_printed, unit="µm", relative=0.05,
        reason="ISO 286-1 rounds its printed tolerances by rules of its own, within some 5 %",
        source="h-tolerance-table, h6 to h9",
    )(by_formula(_low, _high, _grade))  # fmt: skip
