"""What a column costs to make and to buy: pieces, stock, rates and quotes in, a bill, hours, sums and
chances out. What is not stated is named and left out of the sums, which then say so.
"""

from orthostat.analyses.cost.amounts import Amount, Line, NoRate
from orthostat.analyses.cost.compare import BreakEven, Driver, Offer
from orthostat.analyses.cost.inputs import Bagged, Inputs, inputs_from
from orthostat.analyses.cost.otherwise import VersionCost, column_made, cost_of_buying, cost_of_making
from orthostat.analyses.cost.solve import Cost, solve
from orthostat.analyses.cost.stock import Blank, Fastener

__all__ = [
    "Amount",
    "Bagged",
    "Blank",
    "BreakEven",
    "Cost",
    "Driver",
    "Fastener",
    "Inputs",
    "Line",
    "NoRate",
    "Offer",
    "VersionCost",
    "column_made",
    "cost_of_buying",
    "cost_of_making",
    "inputs_from",
    "solve",
]
