"""Chatter in milling: average directional factors and limit depth of the zeroth-order solution."""

from __future__ import annotations

from math import atan2, cos, pi, sin

from orthostat.base.dimensions import Metre, MetrePerNewton, Pascal, Radian, RadianPerSecond, Ratio


def directional_factors(radial: Ratio, *, entry: Radian, leave: Radian) -> tuple[Ratio, Ratio, Ratio, Ratio]:
    """Average directional factors α_xx, α_xy, α_yx, α_yy of a shoulder mill (x feed, y normal to it).

    α_xx = ½[cos2φ - 2K_r·φ + K_r·sin2φ], α_xy = ½[-sin2φ - 2φ + K_r·cos2φ],
    α_yx = ½[-sin2φ + 2φ + K_r·cos2φ], α_yy = ½[-cos2φ - 2K_r·φ - K_r·sin2φ], each from entry to exit;
    K_r is the radial over the tangential force. Reference: altintas-budak-1995, eq. 14. Valid for
    0 ≤ entry < leave ≤ 2π; `ValueError` outside.

    >>> [round(a, 4) for a in directional_factors(Ratio(0.3), entry=Radian(0.0), leave=Radian(pi))]
    [-0.9425, -3.1416, 3.1416, -0.9425]
    """
    if not 0 <= entry < leave <= 2 * pi + 1e-12:
        raise ValueError("a tooth enters before it leaves, within one turn")
    return tuple(  # type: ignore[return-value]
        Ratio(b - a)
        for a, b in zip(_antiderivatives(radial, entry), _antiderivatives(radial, leave), strict=True)
    )


def _antiderivatives(radial: float, angle: float) -> tuple[float, float, float, float]:
    double = 2 * angle
    c, s = cos(double), sin(double)
    return (
        0.5 * (c - radial * double + radial * s),
        0.5 * (-s - double + radial * c),
        0.5 * (-s + double + radial * c),
        0.5 * (-c - radial * double - radial * s),
    )


def limit_depth(teeth: int, tangential: Pascal, eigenvalue_real: MetrePerNewton) -> Metre:
    """Depth at the limit of stability: b = 2π/(N·K_t·e).

    e is the real part of an eigenvalue of (directional factors × response). The published form b =
    -(2π/(N·K_t))·Λ_R·(1 + (Λ_I/Λ_R)²) with Λ = -1/eigenvalue comes to this.
    Reference: altintas-budak-1995, eq. 22. Valid where it is positive; where it is negative there is no
    limit.

    >>> round(limit_depth(4, Pascal(6e8), MetrePerNewton(1e-7)) * 1e3, 3)
    26.18
    """
    return Metre(2 * pi / (teeth * tangential * eigenvalue_real))


def lobe_speed(
    lobe: int, teeth: int, circular: RadianPerSecond, *, lambda_real: float, lambda_imaginary: float
) -> RadianPerSecond:
    """Spindle speed of a lobe at a chatter frequency: Ω = 2π/(N·T), T = (π - 2ψ + 2πk)/ω.

    tan ψ = Λ_I/Λ_R.     Reference: altintas-budak-1995, eqs. 23-25. Valid for lobes k = 0, 1, 2 …

    >>> round(lobe_speed(1, 4, RadianPerSecond(1000.0), lambda_real=-1.0, lambda_imaginary=0.0), 3)
    166.667
    """
    phase = atan2(lambda_imaginary, lambda_real)
    wave = (3 * pi - 2 * phase) % (2 * pi)
    period = (wave + 2 * pi * lobe) / circular
    return RadianPerSecond(2 * pi / (teeth * period))


def one_mode_limit_depth(
    directional: Ratio, teeth: int, tangential: Pascal, *, least_real: MetrePerNewton
) -> Metre:
    """Lowest limit depth with one flexible direction: b = 2π/(N·K_t·α·G_min).

    α is the average directional factor of that direction, G_min the least real part of its receptance.
    Reference: altintas-2012, section 4.8.1 with one mode. Valid for α < 0; for α > 0 the largest real part
    rules, and stands in the place of the least.

    >>> least = MetrePerNewton(-1.2255e-7)
    >>> round(one_mode_limit_depth(Ratio(-0.9425), 4, Pascal(6e8), least_real=least) * 1e3, 2)
    22.67
    """
    return Metre(2 * pi / (teeth * tangential * directional * least_real))
