"""orthostat: will this workholding column do its job, how do we make it, what comes next?

A shop folder (TOML, CSV) goes in; findings, figures and tables come out.

>>> import orthostat
>>> shop = orthostat.open_shop("examples/saltmarsh")
>>> evaluation = shop.column("harbour").evaluate()
>>> {finding.slug: finding.verdict.value for finding in evaluation.findings(only="fit")}["fit.height"]
'holds'
"""

from __future__ import annotations

TYPE_CHECKING = False  # as type checkers read it; importing `typing` takes as long as starting Python
if TYPE_CHECKING:
    from orthostat.base.problems import DocumentError
    from orthostat.evaluation import open_shop

__all__ = ["DocumentError", "__version__", "open_shop"]
__version__ = "0.1.0"


def __getattr__(name: str) -> object:
    """Import the engine only when it is asked for, so that `orthostat --help` stays instant."""
    if name == "open_shop":
        from orthostat.evaluation import open_shop

        return open_shop
    if name == "DocumentError":
        from orthostat.base.problems import DocumentError

        return DocumentError
    raise AttributeError(f"module 'orthostat' has no attribute {name!r}")
