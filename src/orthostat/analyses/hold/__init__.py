"""Joints and loads go in; what holds, what slips first and what the studs and pins see comes out.

The joints are the column on its riser, base and pallet, and every fixture on its face. Each gives the
preload of its studs, the pressure under it, and how many times each load it bears before it lifts, tips
or slips; what is not stated leaves its own answers open, no others.
"""

from orthostat.analyses.hold.fastener import Dowel, Embedding, Fastener, Joint, Layer, Plane, Thread, Wanted
from orthostat.analyses.hold.joint import solve_joint
from orthostat.analyses.hold.outcome import (
    Factors,
    JointResult,
    LoadSet,
    Loose,
    Pressure,
    StudChange,
    Uneven,
)
from orthostat.analyses.hold.pinning import Location, PinLoad, Shift
from orthostat.analyses.hold.preload import tightened
from orthostat.analyses.hold.reading import Clamp, Inputs, JointInput, inputs_from
from orthostat.analyses.hold.solve import ClampUse, Hold, StackJoint, Worst, solve
from orthostat.analyses.hold.tightening import Preload, Spread, Stress

__all__ = [
    "Clamp",
    "ClampUse",
    "Dowel",
    "Embedding",
    "Factors",
    "Fastener",
    "Hold",
    "Inputs",
    "Joint",
    "JointInput",
    "JointResult",
    "Layer",
    "LoadSet",
    "Location",
    "Loose",
    "PinLoad",
    "Plane",
    "Preload",
    "Pressure",
    "Shift",
    "Spread",
    "StackJoint",
    "Stress",
    "StudChange",
    "Thread",
    "Uneven",
    "Wanted",
    "Worst",
    "inputs_from",
    "solve",
    "solve_joint",
    "tightened",
]
