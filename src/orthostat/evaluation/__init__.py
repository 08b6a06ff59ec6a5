"""The one place that knows who feeds whom: documents in, results and findings out, each worked out once.

Everything is lazy; a result is kept for as long as what it needs stays equal.
"""

from orthostat.evaluation.chain import Evaluation
from orthostat.evaluation.opening import OpenColumn, OpenShop, open_shop

__all__ = ["Evaluation", "OpenColumn", "OpenShop", "open_shop"]
