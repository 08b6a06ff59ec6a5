"""Screw threads of the 60° basic profile: diameters, tensile stress area, proof load."""

from __future__ import annotations

import math

from orthostat.base.dimensions import Metre, Newton, Pascal, Radian, Ratio, SquareMetre


def triangle_height(pitch: Metre) -> Metre:
    """Height of the fundamental triangle of a 60° thread: H = (√3/2)·P.

    Source: iso-68-1, clause on the basic profile; ASME B1.1 uses the same profile.
    Valid for any pitch.

    >>> round(triangle_height(Metre(1.75e-3)) * 1e3, 3)
    1.516
    """
    return Metre(3**0.5 / 2 * pitch)


def pitch_diameter(*, nominal: Metre, pitch: Metre) -> Metre:
    """Basic pitch diameter: d2 = d − (3/4)·H = d − 0.6495·P.

    Source: iso-724, basic dimensions. Valid for any 60° basic profile, P < d.

    >>> round(pitch_diameter(nominal=Metre(12e-3), pitch=Metre(1.75e-3)) * 1e3, 3)
    10.863
    """
    return Metre(nominal - 0.75 * triangle_height(pitch))


def internal_minor_diameter(*, nominal: Metre, pitch: Metre) -> Metre:
    """Basic minor diameter of the internal thread: D1 = d − (5/4)·H = d − 1.0825·P.

    Source: iso-724, basic dimensions. Valid for any 60° basic profile, P < d.

    >>> round(internal_minor_diameter(nominal=Metre(12e-3), pitch=Metre(1.75e-3)) * 1e3, 3)
    10.106
    """
    return Metre(nominal - 1.25 * triangle_height(pitch))


def external_minor_diameter(*, nominal: Metre, pitch: Metre) -> Metre:
    """Minor diameter of the external thread at its root: d3 = d1 − H/6 = d − 1.2269·P.

    Source: iso-898-1, clause 9.1.6 (d3 with root H/6). The unified UNR root is a little
    shallower, so the value is on the safe side for inch threads. Valid for P < d.

    >>> round(external_minor_diameter(nominal=Metre(12e-3), pitch=Metre(1.75e-3)) * 1e3, 3)
    9.853
    """
    return Metre(internal_minor_diameter(nominal=nominal, pitch=pitch) - triangle_height(pitch) / 6)


def stress_area_metric(*, nominal: Metre, pitch: Metre) -> SquareMetre:
    """Nominal stress area of a metric thread: As = (π/4)·((d2 + d3)/2)².

    Source: iso-898-1, clause 9.1.6. Valid for ISO metric threads, M1.6 and larger.

    >>> round(stress_area_metric(nominal=Metre(12e-3), pitch=Metre(1.75e-3)) * 1e6, 1)
    84.3
    """
    mean = (
        pitch_diameter(nominal=nominal, pitch=pitch) + external_minor_diameter(nominal=nominal, pitch=pitch)
    ) / 2
    return SquareMetre(math.pi / 4 * mean**2)


def stress_area_unified(*, nominal: Metre, pitch: Metre) -> SquareMetre:
    """Tensile stress area of a unified inch thread: As = (π/4)·(D − 0.9743·P)², P = 1/n.

    Source: asme-b1.1, appendix B (for steels of up to 100 ksi; used for all, as its tables do).
    Valid for UN thread forms, no. 0 and larger.

    >>> round(stress_area_unified(nominal=Metre(12.7e-3), pitch=Metre(25.4e-3 / 13)) / 25.4e-3**2, 4)
    0.1419
    """
    return SquareMetre(math.pi / 4 * (nominal - 0.9743 * pitch) ** 2)


def proof_load(*, proof_stress: Pascal, stress_area: SquareMetre) -> Newton:
    """Force a fastener bears without lasting set: Fp = Sp·As.

    Source: iso-898-1, table on proof loads (Fp = As × Sp). Valid for full-size fasteners.

    >>> round(proof_load(proof_stress=Pascal(580e6), stress_area=SquareMetre(84.3e-6)))
    48894
    """
    return Newton(proof_stress * stress_area)


def lead_angle(*, pitch: Metre, pitch_diameter: Metre) -> Radian:
    """Lead angle of a single-start thread on its pitch cylinder: φ = atan(P/(π·d2)).

    Source: vdi-2230-1-2003, equation of the thread moment. Valid for single-start threads.

    >>> round(math.degrees(lead_angle(pitch=Metre(1.75e-3), pitch_diameter=Metre(10.863e-3))), 2)
    2.94
    """
    return Radian(math.atan(pitch / (math.pi * pitch_diameter)))


def thread_height_share(*, nominal: Metre, pitch: Metre, hole: Metre) -> Ratio:
    """Share of the basic thread height that is left over a tapping hole: (d − Dh)/(d − D1).

    The reference height is that of the basic internal thread, (5/8)·H on a side; shop tables in
    per cent often refer to (3/4)·H and read a fifth less.
    Source: iso-68-1 (basic profile). Valid for D1 ≤ Dh < d.

    >>> round(thread_height_share(nominal=Metre(12e-3), pitch=Metre(1.75e-3), hole=Metre(10.2e-3)), 2)
    0.95
    """
    minor = internal_minor_diameter(nominal=nominal, pitch=pitch)
    return Ratio((nominal - hole) / (nominal - minor))
