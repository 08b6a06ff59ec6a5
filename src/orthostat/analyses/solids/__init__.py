"""Mass properties and extents of a column and what it carries, exactly from prisms.

In comes a column (bodies as unions of prisms less cuts); out come volume, mass, centre of gravity, inertia
tensor, largest radius, heights and plan extents, of each body and of the groups that get lifted or turned.
"""

from orthostat.analyses.solids.crossing import body_moments
from orthostat.analyses.solids.extents import Extents, body_extents, prism_radius, support
from orthostat.analyses.solids.moments import Moments, prism_moments
from orthostat.analyses.solids.solve import FaceLoad, Group, Inputs, Piece, Solids, inputs_from, solve

__all__ = [
    "Extents",
    "FaceLoad",
    "Group",
    "Inputs",
    "Moments",
    "Piece",
    "Solids",
    "body_extents",
    "body_moments",
    "inputs_from",
    "prism_moments",
    "prism_radius",
    "solve",
    "support",
]
