"""Rows of findings about studs, pins, screws and dowels over holes: of the pallet, of a face."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from orthostat.base.findings import Answers, Measured, Open
from orthostat.base.showing import show_both

if TYPE_CHECKING:
    from orthostat.analyses.fit.landing import Landing

EXACT = 1e-6
"""A place this near its hole [m] is on it, whatever the tolerance."""
_SMALL = 1e-3
"""What a margin is a share of [m] where neither a tolerance nor a size is to be had."""


def offsets(landings: Iterable[Landing], tolerance: float | None) -> Answers:
    """How far each place is from the nearest hole that fits.

    The margin is the share of the tolerance that is left: 100 % on the axis, 0 at the tolerance. Beyond it
    is counted in the radius of the pin or of the stud's own hole: at -100 % it misses altogether.
    """
    rows: list[Measured | Open] = []
    for one in landings:
        wanted = f"nearest fitting hole ({one.wanted})"
        allowed = tolerance if tolerance is not None else one.radius
        if one.missing:
            rows.append(Open(f"not stated: {one.missing}", one.name, (one.missing,)))
        elif one.offset is None:
            limit = tolerance if tolerance is not None else EXACT
            rows.append(
                Measured(
                    one.span, limit, f"no hole fits: {one.wanted} is wanted", one.name, (one.path,), one.span
                )
            )
        elif tolerance is None and one.offset <= EXACT:
            rows.append(Measured(one.offset, EXACT, wanted, one.name, (one.path,)))
        elif allowed is None or (tolerance is None and one.offset <= allowed):
            off = f"stands {show_both(one.offset, 'length')} off; not stated: limits.hole_tolerance"
            rows.append(Open(off, one.name, ("limits.hole_tolerance",)))
        else:
            inside = one.offset <= allowed
            scale = allowed if inside else max(allowed, one.radius or 0.0)
            rows.append(Measured(one.offset, allowed, wanted, one.name, (one.path,), scale or _SMALL))
    return rows or None


def depths(landings: Iterable[Landing], holes: str) -> Answers:
    """How far each goes in, against its hole's depth; what meets no hole is asked elsewhere."""
    rows: list[Measured | Open] = []
    for one in landings:
        if one.offset is None or one.missing:
            continue
        if one.entered is None:
            rows.append(Open(f"not stated: {one.entry_key}", one.name, (one.entry_key,)))
        elif one.depth is None:
            rows.append(Open(f"not stated: {holes}.depth", one.name, (f"{holes}.depth",)))
        else:
            rows.append(
                Measured(one.entered, one.depth, "goes in against the hole's depth", one.name, (one.path,))
            )
    return rows or None
