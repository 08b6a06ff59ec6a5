"""The cavity and what the shop can buy go in; mix, batches, heat, form loads and gaps come out.

`solve` answers volumes, gaps, mix, shopping list and form in milliseconds; `solve_cure` simulates the
cup, the bucket and the section in about a second; `solve_pour_in_lifts` stacks the section in layers;
`solve_effects` and `solve_lift_study` change one thing at a time.
"""

from orthostat.analyses.pour.cure import Cure, solve_cure
from orthostat.analyses.pour.effects import Effect, solve_effects
from orthostat.analyses.pour.inputs import Inputs, inputs_from
from orthostat.analyses.pour.lifts import Lifts, LiftStudy, solve_lift_study, solve_pour_in_lifts
from orthostat.analyses.pour.solve import Result, solve

__all__ = [
    "Cure",
    "Effect",
    "Inputs",
    "LiftStudy",
    "Lifts",
    "Result",
    "inputs_from",
    "solve",
    "solve_cure",
    "solve_effects",
    "solve_lift_study",
    "solve_pour_in_lifts",
]
