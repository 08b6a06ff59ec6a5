"""Cuts, tools and the machine's motions go in; wrenches about the column's origin come out.

Each cut gives forces over a revolution, its torque and power, and every wrench it can put on the
column; each motion of the machine likewise. What is not stated leaves its own cut open, no other.
"""

from orthostat.analyses.loads.handling import INDEXING, STOPPING, TRAVERSING
from orthostat.analyses.loads.inputs import CutInput, Inputs, Moving, Practice, Span, Spindle
from orthostat.analyses.loads.reading import cut_input, inputs_from
from orthostat.analyses.loads.result import (
    Action,
    CutForces,
    CutLoads,
    Extreme,
    Handling,
    OpenCut,
    OpenHandling,
    Result,
    Revolution,
    SpindleUse,
)
from orthostat.analyses.loads.solve import cut_loads, solve
from orthostat.analyses.loads.spindle import available, spindle_use
from orthostat.analyses.loads.wrench import Wrench, moved

__all__ = [
    "INDEXING",
    "STOPPING",
    "TRAVERSING",
    "Action",
    "CutForces",
    "CutInput",
    "CutLoads",
    "Extreme",
    "Handling",
    "Inputs",
    "Moving",
    "OpenCut",
    "OpenHandling",
    "Practice",
    "Result",
    "Revolution",
    "Span",
    "Spindle",
    "SpindleUse",
    "Wrench",
    "available",
    "cut_input",
    "cut_loads",
    "inputs_from",
    "moved",
    "solve",
    "spindle_use",
]
