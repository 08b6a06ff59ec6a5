"""The cavity and what the shop can buy go in; mix, batches, heat, form loads and gaps come out.

`solve` answers volumes, gaps, mix, shopping list and form in milliseconds; `solve_cure` simulates the
cup, the bucket and the section in about a second; `solve_pour_in_lifts` stacks the section in layers.
"""

from orthostat.analyses.pour.cure import Cure, solve_cure
from orthostat.analyses.pour.inputs import Inputs, inputs_from
from orthostat.analyses.pour.lifts import Lifts, solve_pour_in_lifts
from orthostat.analyses.pour.solve import Result, solve

__all__ = ["Cure", "Inputs", "Lifts", "Result", "inputs_from", "solve", "solve_cure", "solve_pour_in_lifts"]
