"""Limit depths of the one-mode cutter that papers on milling stability share.

922 Hz, damping 1.1 %, 0.03993 kg, two teeth, K_t 600 MPa, K_n 200 MPa, the slot (a/D = 1): data of
insperger-stepan-2004, used again by ding-2010. The chart of the slot prints no numbers. What is printed are
the largest multipliers at 5000 rpm; at other speeds the chart's curve is the paper's own method, run in
tests/unit/stiffness/test_lobes.py, where it also gives the printed multipliers.
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sqrt

import numpy as np

from orthostat.analyses.stiffness.inputs import CutForce, Milling
from orthostat.analyses.stiffness.lobes import limit, limit_at
from orthostat.analyses.stiffness.response import Ports
from orthostat.base.dimensions import Pascal, Radian, RadianPerSecond, Ratio
from orthostat.validation.cases import case

CUT = CutForce("slot", "slot", 0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.0, 0.0)
SLOT = Milling(
    0, 2, Pascal(6e8), Ratio(1.0 / 3.0), Ratio(0.0), Radian(0.5 * pi), Radian(0.0), Radian(pi),
    None, None, None, feed=Radian(0.0),
)  # fmt: skip


def one_mode() -> Ports:
    """A body that yields along the feed only, in its one mode."""
    circular = 2.0 * pi * 922.0
    shape = np.zeros((6, 1))
    shape[0, 0] = 1.0 / sqrt(0.03993)
    return Ports(
        np.zeros((1, 3)),
        shape @ shape.T / circular**2,
        np.zeros((3, 6, 6)),
        np.array([circular**2]),
        np.array([0.022]),
        shape,
    )


@case(
    "One-mode slot milling (922 Hz, 1.1 %, 2 teeth), lowest limit depth",
    expected=0.2951,
    unit="mm",
    source="altintas-2012, section 4.8",
    reason="data of insperger-stepan-2004; hysteretic and viscous damping differ by the damping itself",
    relative=1.5e-2,
)
def one_mode_slot() -> float:
    """2π/(N·K_t·α·G_min), α = -π·K_r, G_min = -1/(4kζ(1 + ζ)), k = 0.03993 kg · (2π · 922 Hz)²."""
    return 1e3 * limit(one_mode(), CUT, SLOT).lowest


MULTIPLIERS = ((0.2, 0.8192), (0.5, 1.0726), (0.7, 1.2197), (1.0, 1.4040))
"""Depth [mm] and largest multiplier at 5000 rpm, ding-2010 (from memory; a test works them out again)."""
CHART = (
    # rpm, limit depth [mm], relative tolerance, source, reason
    (
        5000, 0.410, 0.12,
        "ding-2010, multipliers at 0.2, 0.5, 0.7 and 1 mm (from memory), a cubic through them",
        "zeroth order keeps the mean of the turning cut only; a tenth at the fifth lobe",
    ),
    (
        10000, 0.323, 0.08,
        "insperger-stepan-2004, chart of the slot, its method run again since it prints no numbers",
        "zeroth order is within 8 % in the valleys",
    ),
    (
        13000, 3.11, 0.20,
        "insperger-stepan-2004, chart of the slot, its method run again since it prints no numbers",
        "on the flank of the second lobe a shift of the speed by one per cent moves the depth by a tenth",
    ),
    (
        16000, 0.319, 0.08,
        "insperger-stepan-2004, chart of the slot, its method run again since it prints no numbers",
        "zeroth order is within 8 % in the valleys",
    ),
)  # fmt: skip


def at_speed(rpm: float) -> Callable[[], float]:
    """Our limit depth of the slot at a spindle speed, in millimetres."""
    return lambda: 1e3 * limit_at(one_mode(), CUT, SLOT, RadianPerSecond(rpm * 2.0 * pi / 60.0))


for _rpm, _depth, _relative, _source, _reason in CHART:
    case(
        f"One-mode slot milling (922 Hz, 1.1 %, 2 teeth), limit depth at {_rpm} rpm", expected=_depth,
        unit="mm", source=_source, reason=_reason, relative=_relative,
    )(at_speed(_rpm))  # fmt: skip
