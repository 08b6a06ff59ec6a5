"""Studies: one design and the fields to vary come in, a table of many designs comes out.

Many designs are answered by a study model that is learnt among them, few by the quick model; the best are
verified by the full model.
"""

from orthostat.studies.sweeping import Row, Study, Verified, sweep
from orthostat.studies.varying import MOST, Axis, axes_of

__all__ = ["MOST", "Axis", "Row", "Study", "Verified", "axes_of", "sweep"]
