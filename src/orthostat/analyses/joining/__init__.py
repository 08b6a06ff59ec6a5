"""Whether the plates hold together: seams and joints in; engagement, walls, torque and what the liquid
fill pulls with out.
"""

from orthostat.analyses.joining.base import Borne, borne, level_of
from orthostat.analyses.joining.inputs import Inputs, Push, inputs_from
from orthostat.analyses.joining.pull import Pull
from orthostat.analyses.joining.screws import Group
from orthostat.analyses.joining.solve import Coverage, Joining, solve

__all__ = [
    "Borne",
    "Coverage",
    "Group",
    "Inputs",
    "Joining",
    "Pull",
    "Push",
    "borne",
    "inputs_from",
    "level_of",
    "solve",
]
