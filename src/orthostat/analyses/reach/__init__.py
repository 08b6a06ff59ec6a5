"""Reach: what every tool can machine on every face, what stops it, and what would free it.

In comes a column on its pallet with machine, tools and clearances; out come machinable regions,
answers for every cut, truing in place, clearances while the table turns, and inverse answers, each
worked out when it is asked for and kept.
"""

from orthostat.analyses.reach.cuts import CutReach, Room
from orthostat.analyses.reach.inputs import CHORD, Clearances, Inputs, inputs_from
from orthostat.analyses.reach.inverse import Interval, Inverse, Lever, inverse
from orthostat.analyses.reach.maps import CAP, Blocker, FaceMap, LostPart
from orthostat.analyses.reach.solve import Reach, TruedFace, solve

__all__ = [
    "CAP",
    "CHORD",
    "Blocker",
    "Clearances",
    "CutReach",
    "FaceMap",
    "Inputs",
    "Interval",
    "Inverse",
    "Lever",
    "LostPart",
    "Reach",
    "Room",
    "TruedFace",
    "inputs_from",
    "inverse",
    "solve",
]
