"""Contact of flat joints: how stiff they are sideways."""

from __future__ import annotations

from orthostat.base.dimensions import Ratio


def tangential_stiffness_share(poissons_ratio: Ratio) -> Ratio:
    """Sideways over normal stiffness of an elastic contact that does not slip: 2(1 - ν)/(2 - ν).

    Reference: mindlin-1949, eqs. 4 and 17; it holds for each asperity, so for a joint of many. Valid while
    nothing slips.

    >>> round(tangential_stiffness_share(Ratio(0.3)), 4)
    0.8235
    """
    return Ratio(2 * (1 - poissons_ratio) / (2 - poissons_ratio))
