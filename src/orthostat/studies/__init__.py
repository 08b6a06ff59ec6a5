"""Studies: one design and the fields to vary come in, a table of many designs comes out.

Many designs are answered by a study model that is learnt among them, few by the quick model; the best are
verified by the full model.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from orthostat.studies.varying import MOST, ORDERS, Axis, axes_of

if TYPE_CHECKING:
    from orthostat.studies.sweeping import Row, Study, Verified, sweep

__all__ = ["MOST", "ORDERS", "Axis", "Row", "Study", "Verified", "axes_of", "sweep"]


def __getattr__(name: str) -> object:
    """Import what works studies out only when it is asked for: the page asks what can be varied without."""
    if name in __all__:
        from orthostat.studies import sweeping

        return getattr(sweeping, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
