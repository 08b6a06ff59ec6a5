"""Screws between plates: resistances as steelmakers print them; the ring pull of a polygonal form."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, tan

from orthostat import catalogue
from orthostat.base.dimensions import Newton, Pascal, Ratio
from orthostat.catalogue.practice import practice
from orthostat.formulas import joining
from orthostat.validation.cases import case

PRINTED = "the table starts from stress areas of three figures and prints three figures"
# Single shear, thread in the plane, f_ub 800 and 1000 MPa as EN 1993-1-8 has them [kN].
SHEAR = {
    ("M16", "8.8"): 60.3, ("M20", "8.8"): 94.1, ("M24", "8.8"): 136.0, ("M30", "8.8"): 215.0,
    ("M16", "10.9"): 62.8, ("M20", "10.9"): 98.0, ("M24", "10.9"): 141.0, ("M30", "10.9"): 224.0,
}  # fmt: skip
ULTIMATE = {"8.8": 800e6, "10.9": 1000e6}


def _shear(thread: str, grade: str) -> Callable[[], float]:
    def compute() -> float:
        row = practice("screw shear over tensile strength")
        share = row.likely if grade == "8.8" else row.low
        force = joining.screw_shear_resistance(
            Pascal(ULTIMATE[grade]),
            stress_area=catalogue.thread(thread).stress_area,
            shear_share=share,
            partial_factor=Ratio(practice("partial factor of screws").likely),
        )
        return force / 1e3

    compute.__module__ = __name__
    return compute


SHEARS = tuple(
    case(
        f"{thread} {grade}: shear with the thread in the plane",
        expected=value,
        unit="kN",
        relative=0.005,
        reason=PRINTED,
        source="orange-book-bolts, bolt resistances by class and size",
    )(_shear(thread, grade))
    for (thread, grade), value in SHEAR.items()
)


def _ring(sides: int) -> Callable[[], float]:
    """Pull round a regular polygon under 1 Pa, over p R: 1 by the free body of half a ring."""

    def compute() -> float:
        apothem = 1.0
        push = Newton(2.0 * apothem * tan(pi / sides))
        across, along = joining.corner_forces(push=push, other=push, cosine=Ratio(cos(2.0 * pi / sides)))
        whole = float((across**2 + along**2) ** 0.5)
        return whole * cos(pi / sides) / apothem

    compute.__module__ = __name__
    return compute


RINGS = tuple(
    case(
        f"pull at the corners of a {sides}-sided form, over pressure times the radius to the corner",
        expected=1.0,
        unit="1",
        tolerance=1e-12,
        reason="half a ring of pressure p and corner radius R is held by two pulls p R; rounding only",
        source="shigley, section 3-14, thin-walled vessels: half a ring is held by two pulls p R",
    )(_ring(sides))
    for sides in (3, 4, 6, 12)
)
