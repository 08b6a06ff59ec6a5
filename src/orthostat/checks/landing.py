"""Does every stud, pin, screw and dowel meet a hole it fits?"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from orthostat.base.findings import Answers, Measured, Open, Sense, finding
from orthostat.base.showing import show_both

if TYPE_CHECKING:
    from orthostat.analyses.fit.landing import Landing

EXACT = 1e-6
"""A place this near its hole [m] is on it, whatever the tolerance."""


def _offsets(landings: Iterable[Landing], tolerance: float | None) -> Answers:
    """How far each place is from the nearest hole that fits."""
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
            rows.append(Measured(one.offset, EXACT, wanted, one.name, (one.path,), 1e-3))
        elif allowed is None or (tolerance is None and one.offset <= allowed):
            off = f"stands {show_both(one.offset, 'length')} off; not stated: limits.hole_tolerance"
            rows.append(Open(off, one.name, ("limits.hole_tolerance",)))
        else:
            scale = max(allowed, one.radius or 0.0) or 1e-3
            rows.append(Measured(one.offset, allowed, wanted, one.name, (one.path,), scale))
    return rows or None


def _depths(landings: Iterable[Landing], holes: str) -> Answers:
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


@finding(
    "fit.pallet_holes",
    question="Does every stud and pin stand over a pallet hole that it fits?",
    wanted="distance to the nearest fitting hole at most the tolerance",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="studs",
    levers=("studs", "pins", "position"),
    tight=0.0,
)
def pallet_holes(evaluation: Any) -> Answers:
    return _offsets(evaluation.fit.landings, evaluation.limits.hole_tolerance)


@finding(
    "fit.pallet_hole_depth",
    question="Are the pallet's holes deep enough for the studs and pins?",
    wanted="depth entered at most the hole's depth",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="studs",
    levers=("studs",),
    tight=0.0,
)
def pallet_hole_depth(evaluation: Any) -> Answers:
    pallet = evaluation.column.pallet
    return _depths(evaluation.fit.landings, f"{pallet.path if pallet else 'pallet'}.holes")


@finding(
    "body.fixture_holes",
    question="Do the fixtures' screws and dowels land on the face's own holes?",
    wanted="distance to the nearest fitting hole of the face's pattern at most the tolerance",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="stations",
    levers=("stations", "patterns"),
    tight=0.0,
)
def fixture_holes(evaluation: Any) -> Answers:
    return _offsets(evaluation.fit.station_landings, evaluation.limits.hole_tolerance)


@finding(
    "body.fixture_hole_depth",
    question="Are the face's holes deep enough for the fixtures' screws and dowels?",
    wanted="depth entered at most the hole's depth",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="patterns",
    levers=("patterns", "stations"),
    tight=0.0,
)
def fixture_hole_depth(evaluation: Any) -> Answers:
    return _depths(evaluation.fit.station_landings, f"{evaluation.column.path}.patterns")
