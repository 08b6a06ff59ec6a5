"""Does it fit the machine, and does the body itself make sense?

In come a column and its solids; out come the measurements that the machine's limits are held against:
radii, heights, travels, holes met, tilt to topple, pieces to lift, clashes and clearances within the body.
"""

from orthostat.analyses.fit.solve import Fit, Inputs, inputs_from, solve

__all__ = ["Fit", "Inputs", "inputs_from", "solve"]
