"""Heat conduction in closed form: what solvers are checked against, and properties of mixtures."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin, tan

from scipy.optimize import brentq
from scipy.special import j0, j1, jn_zeros

from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    Ratio,
    WattPerMetreKelvin,
    WattPerSquareMetre,
    WattPerSquareMetreKelvin,
)


@dataclass(frozen=True, slots=True)
class FirstTerm:
    """First term of a cooling series: middle temperature θ = C1 exp(-ζ1² Fo), valid for Fo > 0.2."""

    root: float
    coefficient: float


def slab_first_term(biot: Ratio) -> FirstTerm:
    """First term for a slab cooled on both faces: ζ tan ζ = Bi, C = 4 sin ζ / (2ζ + sin 2ζ).

    Bi (on the half thickness) 1 gives ζ 0.8603, C 1.1191. Source: incropera-2007, table 5.1.
    """
    root = float(brentq(lambda z: z * tan(z) - biot, 1e-9, 0.5 * pi - 1e-9, xtol=1e-14))
    return FirstTerm(root, 4.0 * sin(root) / (2.0 * root + sin(2.0 * root)))


def cylinder_first_term(biot: Ratio) -> FirstTerm:
    """First term for a long cylinder: ζ J1(ζ)/J0(ζ) = Bi, C = 2/ζ · J1/(J0² + J1²).

    Bi (on the radius) 1 gives ζ 1.2558, C 1.2071. Source: incropera-2007, table 5.1.
    """
    limit = float(jn_zeros(0, 1)[0])
    root = float(brentq(lambda z: z * j1(z) - biot * j0(z), 1e-9, limit - 1e-9, xtol=1e-14))
    return FirstTerm(root, float(2.0 / root * j1(root) / (j0(root) ** 2 + j1(root) ** 2)))


def sphere_first_term(biot: Ratio) -> FirstTerm:
    """First term for a sphere: 1 - ζ cot ζ = Bi, C = 4 (sin ζ - ζ cos ζ) / (2ζ - sin 2ζ).

    Bi (on the radius) 1 gives ζ 1.5708, C 1.2732. Source: incropera-2007, table 5.1.
    """
    root = float(brentq(lambda z: 1.0 - z / tan(z) - biot, 1e-6, pi - 1e-9, xtol=1e-14))
    return FirstTerm(root, 4.0 * (sin(root) - root * cos(root)) / (2.0 * root - sin(2.0 * root)))


def layered_flux(
    difference: KelvinDifference,
    layers: tuple[tuple[Metre, WattPerMetreKelvin], ...],
    films: tuple[WattPerSquareMetreKelvin, ...],
) -> WattPerSquareMetre:
    """Steady heat flow through layers (thickness, conductivity) and surface films in series.

    q = ΔT / (Σ t/k + Σ 1/h). 30 K over 25 mm at 160 and 100 mm at 1.5 W/(m K) with one film of 8
    gives 156 W/m². Source: incropera-2007, section 3.1.
    """
    return WattPerSquareMetre(difference / (sum(t / k for t, k in layers) + sum(1.0 / h for h in films)))


def hashin_shtrikman_conductivity(
    *, matrix: WattPerMetreKelvin, grains: WattPerMetreKelvin, grain_share: Ratio
) -> WattPerMetreKelvin:
    """Conductivity of grains in a continuous matrix, k = km + φ / (1/(kg - km) + (1 - φ)/(3 km)).

    The lower bound for any isotropic mixture when the matrix conducts less, the upper one when it
    conducts more. 0.2 and 2.8 W/(m K) with 0.78 grains gives 1.24. Source: hashin-shtrikman-1962.
    """
    if matrix == grains:
        return matrix
    rest = 1.0 - grain_share
    return WattPerMetreKelvin(matrix + grain_share / (1.0 / (grains - matrix) + rest / (3.0 * matrix)))
