"""Friction, lift and pressure of joints beside closed forms that handbooks print."""

from __future__ import annotations

from math import asinh, cos, hypot, pi, sin

import numpy as np

from orthostat.analyses.hold.capacity import Held
from orthostat.analyses.hold.foundation import Bed, seated
from orthostat.analyses.hold.patch import patch_of
from orthostat.base.dimensions import PascalPerMetre, Ratio
from orthostat.model.bodies import Polygon
from orthostat.validation.cases import case

CLAMP, FRICTION = 100e3, 0.1
ROARK = "roark-8, kern of common sections, from memory"
CLUTCH = "shigley, section 16-5, uniform-pressure friction torque"


def _rectangle(width: float, depth: float) -> tuple[Polygon, ...]:
    x, z = 0.5 * width, 0.5 * depth
    return (Polygon(((-x, -z), (x, -z), (x, z), (-x, z))),)


def _ring(outside: float, inside: float, pieces: int = 96) -> tuple[Polygon, ...]:
    at = [(cos(2 * pi * k / pieces), sin(2 * pi * k / pieces)) for k in range(pieces)]
    return tuple(
        Polygon(
            (
                (outside * a[0], outside * a[1]),
                (outside * b[0], outside * b[1]),
                (inside * b[0], inside * b[1]),
                (inside * a[0], inside * a[1]),
            )
        )
        for a, b in zip(at, [*at[1:], at[0]], strict=True)
    )


def _held(pieces: tuple[Polygon, ...], count: int = 96) -> Held:
    patch = patch_of(pieces, count)
    bed = Bed(
        patch,
        PascalPerMetre(1e12),
        np.zeros((1, 2)),
        np.zeros(1),
        np.array([CLAMP]),
        np.zeros(len(patch.points)),
    )
    return Held(bed, Ratio(FRICTION), np.zeros(6))


def _turning(pieces: tuple[Polygon, ...], count: int = 96) -> float:
    return _held(pieces, count).slip(np.array([0.0, 0.0, 0.0, 0.0, 1.0, 0.0])).factor


def _kern(pieces: tuple[Polygon, ...], along: tuple[float, float] = (1.0, 0.0)) -> float:
    """Eccentricity [mm] of the clamp at which the far edge just comes free."""
    row = np.array([0.0, 0.0, 0.0, along[1] * CLAMP, 0.0, -along[0] * CLAMP])
    return float(_held(pieces).lift_factors(row[None, :])[0]) * 1e3


@case(
    "Friction torque of a ring under even pressure", unit="N·m", relative=0.003,
    expected=2 / 3 * FRICTION * CLAMP * (0.1**3 - 0.06**3) / (0.1**2 - 0.06**2), source=CLUTCH,
    reason="the ring is drawn with 96 sides and a few hundred points",
)  # fmt: skip
def ring_torque() -> float:
    return _turning(_ring(0.1, 0.06), 400)


@case(
    "Friction torque of a thin ring", expected=FRICTION * CLAMP * 0.1, unit="N·m", relative=0.003,
    source=CLUTCH, reason="the thin-ring limit µ F r; the ring is drawn with 96 sides",
)  # fmt: skip
def thin_ring_torque() -> float:
    return _turning(_ring(0.1, 0.0998))


@case(
    "Friction torque of a 200 × 300 mm rectangle", unit="N·m", relative=0.001,
    expected=FRICTION * CLAMP / 6 * (hypot(0.2, 0.3) + (0.2**3 * asinh(1.5) + 0.3**3 * asinh(2 / 3)) / 0.12),
    source="shigley, section 16-5, friction torque µ p ∫ r dA, integrated over a rectangle",
    reason="96 integration points",
)  # fmt: skip
def rectangle_torque() -> float:
    return _turning(_rectangle(0.2, 0.3))


@case(
    "Central shear on a rectangle", expected=FRICTION * CLAMP, unit="N", relative=1e-6,
    source="vdi-2230-1-2003, section 5.3.1, clamp needed against a transverse force",
    reason="exact: friction times clamp",
)  # fmt: skip
def central_shear() -> float:
    return _held(_rectangle(0.2, 0.3)).slip(np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0])).factor


@case(
    "Four screws in a square under shear and torsion together", expected=1.0, unit="of the load",
    relative=1e-6,
    source="shigley, section 8-12, shear joints turning about a centre, each screw at its friction limit",
    reason="exact on the limit surface",
)  # fmt: skip
def four_screws() -> float:
    from orthostat.analyses.hold.slip import Programme

    at = np.array([(-0.1, -0.1), (0.1, -0.1), (0.1, 0.1), (-0.1, 0.1)])
    turn = np.array([(z - 0.05, -(x - 0.2)) for x, z in at])
    friction = 1000.0 * turn / np.hypot(turn[:, 0], turn[:, 1])[:, None]
    load = np.array([*friction.sum(axis=0), (at[:, 1] * friction[:, 0] - at[:, 0] * friction[:, 1]).sum()])
    return Programme(at).solve(np.full(4, 1000.0), np.zeros(4), steady=np.zeros(3), growing=load).factor


@case(
    "Kern of a rectangle, across",
    expected=200 / 6,
    unit="mm",
    relative=1e-6,
    source=ROARK,
    reason="exact: b/6",
)
def kern_rectangle() -> float:
    return _kern(_rectangle(0.2, 0.3))


@case(
    "Kern of a rectangle, along",
    expected=300 / 6,
    unit="mm",
    relative=1e-6,
    source=ROARK,
    reason="exact: b/6",
)
def kern_rectangle_along() -> float:
    return _kern(_rectangle(0.2, 0.3), (0.0, 1.0))


@case(
    "Kern of a ring", expected=(100**2 + 60**2) / (4 * 100), unit="mm", relative=0.002, source=ROARK,
    reason="(R² + r²)/(4 R); the ring is drawn with 96 sides",
)  # fmt: skip
def kern_ring() -> float:
    return _kern(_ring(0.1, 0.06))


@case(
    "Kern of a hexagon toward a corner", expected=5 / 24 * 100, unit="mm", relative=1e-6,
    source="roark-8, section properties of a regular hexagon, from memory",
    reason="exact: I/(A a) = 5 a/24",
)  # fmt: skip
def kern_hexagon() -> float:
    return _kern((Polygon(tuple((0.1 * cos(k * pi / 3), 0.1 * sin(k * pi / 3)) for k in range(6))),))


@case(
    "Edge pressure of a rectangle that has partly lifted", unit="MPa", relative=0.01,
    expected=2 * CLAMP / (3 * 0.2 * (0.15 - 0.09)) / 1e6,
    source="bowles-1996, rectangular footing with its resultant outside the kern, from memory",
    reason="several thousand points follow the edge of contact to 1 %",
)  # fmt: skip
def partly_lifted() -> float:
    joint = _held(_rectangle(0.3, 0.2), 6000)
    seat = seated(joint.bed, np.array([[0.0, CLAMP * 0.09, 0.0]]))
    corner = joint.bed.patch.basis(np.array([[0.15, 0.0]]))
    return float(joint.bed.stiffness * (corner @ seat.closing[0])[0]) / 1e6
