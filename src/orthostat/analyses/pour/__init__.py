"""The cavity and what the shop can buy go in; mix, batches, heat, form loads and gaps come out.

`solve` answers volumes, gaps, mix, shopping list and form in milliseconds; the cure takes longer and
is asked for apart.
"""

from orthostat.analyses.pour.inputs import Inputs, inputs_from
from orthostat.analyses.pour.solve import Result, solve

__all__ = ["Inputs", "Result", "inputs_from", "solve"]
