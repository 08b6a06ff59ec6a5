"""What has to be made: bodies of a column in, pieces with drawing views, outlines and holes out.

Pieces that are alike are told once with their count. Everything is read off the model's bodies; nothing
is drawn twice.
"""

from orthostat.analyses.pieces.holes import Feature, FeatureKind
from orthostat.analyses.pieces.solve import Inputs, Part, Pieces, inputs_from, solve
from orthostat.analyses.pieces.views import View

__all__ = ["Feature", "FeatureKind", "Inputs", "Part", "Pieces", "View", "inputs_from", "solve"]
