"""Whether the plates hold together: seams and joints in; engagement, walls, torque and what the liquid
fill pulls with out.
"""

from orthostat.analyses.joining.inputs import Inputs, Push, inputs_from
from orthostat.analyses.joining.pull import Pull
from orthostat.analyses.joining.screws import Group
from orthostat.analyses.joining.solve import Coverage, Joining, solve

__all__ = ["Coverage", "Group", "Inputs", "Joining", "Pull", "Push", "inputs_from", "solve"]
