"""Areas, second moments and torsion constants of simple sections about their centre."""

from __future__ import annotations

import math

from orthostat.base.dimensions import Metre, MetreToFourth, SquareMetre


def rectangle_second_moment(*, width: Metre, height: Metre) -> MetreToFourth:
    """Second moment about the axis across `height`'s middle: I = b·h³/12.

    Source: roark-2012, table A.1 (rectangle). Valid for any size.

    >>> round(rectangle_second_moment(width=Metre(0.2), height=Metre(0.3)) * 1e6)
    450
    """
    return MetreToFourth(width * height**3 / 12)


def ring_area(*, outside: Metre, inside: Metre) -> SquareMetre:
    """Area of a disc (`inside` = 0) or ring: A = (π/4)·(D² − d²), by diameters.

    Source: roark-2012, table A.1 (hollow circle). Valid for 0 ≤ d < D.

    >>> round(ring_area(outside=Metre(0.1), inside=Metre(0.0)) * 1e6)
    7854
    """
    return SquareMetre(math.pi / 4 * (outside**2 - inside**2))


def ring_second_moment(*, outside: Metre, inside: Metre) -> MetreToFourth:
    """Second moment of a disc or ring about a diameter: I = (π/64)·(D⁴ − d⁴).

    Its torsion constant is twice that. Source: roark-2012, table A.1. Valid for 0 ≤ d < D.

    >>> round(ring_second_moment(outside=Metre(0.1), inside=Metre(0.0)) * 1e12)
    4908739
    """
    return MetreToFourth(math.pi / 64 * (outside**4 - inside**4))


def regular_polygon_area(sides: int, across: Metre) -> SquareMetre:
    """Area of a regular polygon of inscribed-circle diameter `across`: A = n·(s²/4)·tan(π/n).

    For even n `across` is the width across flats. Source: roark-2012, table A.1 (regular polygon).
    Valid for n ≥ 3.

    >>> round(regular_polygon_area(6, Metre(0.3)), 5)
    0.07794
    """
    return SquareMetre(sides * across**2 / 4 * math.tan(math.pi / sides))


def regular_polygon_second_moment(sides: int, across: Metre) -> MetreToFourth:
    """Second moment of a regular polygon about any axis through its centre.

    I = A·(6R² − a²)/24 with side a and circumradius R; the same for every direction.
    Source: roark-2012, table A.1 (regular polygon). Valid for n ≥ 3.

    >>> round(regular_polygon_second_moment(4, Metre(0.3)) * 1e6)
    675
    """
    circumradius = across / 2 / math.cos(math.pi / sides)
    side = across * math.tan(math.pi / sides)
    area = regular_polygon_area(sides, across)
    return MetreToFourth(area * (6 * circumradius**2 - side**2) / 24)


def rectangle_torsion_constant(*, long_side: Metre, short_side: Metre) -> MetreToFourth:
    """Saint-Venant torsion constant of a solid rectangle, to 0.5 %.

    J = a·b³·(1/3 − 0.21·(b/a)·(1 − b⁴/(12a⁴))), a ≥ b.
    Source: roark-2012, table 10.7, case 4 (there with half sides). Square: 0.1406·a⁴ exactly, 0.1408 here.

    >>> round(rectangle_torsion_constant(long_side=Metre(1.0), short_side=Metre(1.0)), 4)
    0.1408

    Raises:
        ValueError: the sides are the wrong way round.
    """
    if short_side > long_side:
        raise ValueError("long_side must not be shorter than short_side")
    ratio = short_side / long_side
    return MetreToFourth(long_side * short_side**3 * (1 / 3 - 0.21 * ratio * (1 - ratio**4 / 12)))


def thin_closed_torsion_constant(
    enclosed_area: SquareMetre, *, perimeter: Metre, thickness: Metre
) -> MetreToFourth:
    """Torsion constant of a thin-walled closed section of even wall: J = 4·Am²·t/s (Bredt).

    `enclosed_area` and `perimeter` are those of the wall's middle line. Source: roark-2012, table 10.7,
    case 16 (Bredt's second formula). Valid for walls thin against the section.

    >>> round(thin_closed_torsion_constant(SquareMetre(0.09), perimeter=Metre(1.2), thickness=Metre(0.01)), 6)
    0.00027
    """
    return MetreToFourth(4 * enclosed_area**2 * thickness / perimeter)
