"""Sections: torsion constants and second moments as textbooks print them."""

from __future__ import annotations

from orthostat.base.dimensions import Metre
from orthostat.formulas.sections import (
    rectangle_torsion_constant,
    regular_polygon_area,
    regular_polygon_second_moment,
)
from orthostat.validation.cases import case

APPROXIMATE = "the handbook's closed form is good to half a per cent"


@case(
    "torsion constant of a unit square",
    expected=0.1406,
    unit="a^4",
    relative=0.005,
    reason=APPROXIMATE,
    source="timoshenko-goodier-1970, table of torsion of rectangular bars; from memory",
)
def square_torsion() -> float:
    """Torsion constant of a square of side one."""
    return rectangle_torsion_constant(long_side=Metre(1.0), short_side=Metre(1.0))


@case(
    "torsion constant of a 2:1 rectangle",
    expected=0.229,
    unit="a*b^3",
    relative=0.005,
    reason=APPROXIMATE,
    source="timoshenko-goodier-1970, table of torsion of rectangular bars; from memory",
)
def rectangle_torsion() -> float:
    """β of J = β·a·b³ for a = 2b."""
    return rectangle_torsion_constant(long_side=Metre(2.0), short_side=Metre(1.0)) / 2.0


@case(
    "area of a hexagon by its width across flats",
    expected=0.866025,
    unit="s^2",
    tolerance=5e-7,
    reason="six printed figures",
    source="machinerys-handbook, areas of regular polygons; from memory",
)
def hexagon_area() -> float:
    """Area for a width across flats of one."""
    return regular_polygon_area(6, Metre(1.0))


@case(
    "second moment of a hexagon by its width across flats",
    expected=0.0601,
    unit="s^4",
    relative=0.001,
    reason="three printed figures",
    source="machinerys-handbook, moments of inertia of sections, hexagon 0.06 F^4; from memory",
)
def hexagon_second_moment() -> float:
    """Second moment about a diameter for a width across flats of one."""
    return regular_polygon_second_moment(6, Metre(1.0))
