"""Mass moments of inertia of simple solids about axes through their centre."""

from __future__ import annotations

from orthostat.base.dimensions import Kilogram, KilogramSquareMetre, Metre


def cylinder_axial(mass: Kilogram, *, outside: Metre, inside: Metre) -> KilogramSquareMetre:
    """Solid (`inside` = 0) or hollow cylinder about its own axis: J = (m/8)·(D² + d²), by diameters.

    Source: shigley, table A-18 (geometric shapes), by integration. Valid for 0 ≤ d < D.

    >>> round(cylinder_axial(Kilogram(10.0), outside=Metre(0.4), inside=Metre(0.0)), 3)
    0.2
    """
    return KilogramSquareMetre(mass / 8 * (outside**2 + inside**2))


def cylinder_transverse(
    mass: Kilogram, *, outside: Metre, inside: Metre, length: Metre
) -> KilogramSquareMetre:
    """Solid or hollow cylinder about a diameter at mid-length: J = m·((D² + d²)/16 + L²/12).

    Source: shigley, table A-18, by integration. Valid for 0 ≤ d < D.

    >>> about = cylinder_transverse(Kilogram(12.0), outside=Metre(0.2), inside=Metre(0.0), length=Metre(1))
    >>> round(about, 2)
    1.03
    """
    return KilogramSquareMetre(mass * ((outside**2 + inside**2) / 16 + length**2 / 12))


def box(mass: Kilogram, *, width: Metre, depth: Metre) -> KilogramSquareMetre:
    """Rectangular block about the axis square to `width` and `depth`: J = m·(a² + b²)/12.

    Source: shigley, table A-18 (rectangular prism), by integration. Valid for any size.

    >>> round(box(Kilogram(12.0), width=Metre(0.3), depth=Metre(0.4)), 3)
    0.25
    """
    return KilogramSquareMetre(mass * (width**2 + depth**2) / 12)


def parallel_axis(about_centre: KilogramSquareMetre, mass: Kilogram, distance: Metre) -> KilogramSquareMetre:
    """Inertia about an axis parallel to one through the centre of mass: J = Jc + m·e².

    Source: meriam-kraige-2012, parallel-axis theorem. Valid for rigid bodies.

    >>> round(parallel_axis(KilogramSquareMetre(0.25), Kilogram(12.0), Metre(0.5)), 3)
    3.25
    """
    return KilogramSquareMetre(about_centre + mass * distance**2)
