"""How far a column bends, where it rings, how deep one may cut: 3D elasticity on its joint.

In come parts of weighted prisms, the joint's springs, stations, cut forces; out come movements, modes with
damping, dynamic compliance, limit depths, growth and lean, for one fineness of the mesh at a time.
"""

from orthostat.analyses.stiffness.inputs import (
    Climate,
    CutForce,
    JointSprings,
    Milling,
    StudSpring,
    ToolMode,
)
from orthostat.analyses.stiffness.lobes import Limit, Lobes, limit_at, lobes
from orthostat.analyses.stiffness.lobes import limit as lowest_limit
from orthostat.analyses.stiffness.result import Mode, Movement, Solved
from orthostat.analyses.stiffness.variants import Variant, usual_variants, variant_bodies
from orthostat.analyses.stiffness.whole import Compared, Inputs, Screened, Stiffness, inputs_from, solve

__all__ = [
    "Climate",
    "Compared",
    "CutForce",
    "Inputs",
    "JointSprings",
    "Limit",
    "Lobes",
    "Milling",
    "Mode",
    "Movement",
    "Screened",
    "Solved",
    "Stiffness",
    "StudSpring",
    "ToolMode",
    "Variant",
    "inputs_from",
    "limit_at",
    "lobes",
    "lowest_limit",
    "solve",
    "usual_variants",
    "variant_bodies",
]
