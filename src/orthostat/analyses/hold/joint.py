"""One joint under all its loads: preloads, pressure, the three factors, loose studs, pins."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold import capacity
from orthostat.analyses.hold.capacity import ROUGH, Held, lateral, vertical
from orthostat.analyses.hold.fastener import Joint, Wanted
from orthostat.analyses.hold.foundation import Bed, seated
from orthostat.analyses.hold.outcome import (
    Factors,
    JointResult,
    LoadSet,
    Loose,
    Pressure,
    StudChange,
    Uneven,
)
from orthostat.analyses.hold.patch import Patch, patch_of
from orthostat.analyses.hold.pinning import PinLoad, Shift, carried, location_of, shift_of
from orthostat.analyses.hold.preload import Preload, reaches, tightened
from orthostat.base.dimensions import Newton, Ratio
from orthostat.base.findings import Gap, NotStated, known, stated
from orthostat.formulas.bolting import load_share

Array = NDArray[np.float64]
Value = TypeVar("Value")
_WHAT_IF_POINTS = 40
"""Points of the patch in a what-if, which needs no more than a per cent."""
_UPRIGHT = 0.5
"""A joint whose normal rises by less than this is sheared by the weight on it."""
_CLEAR = 1.5
"""A load set whose bound is this many times the governing one's is not solved exactly."""


def _or_gap(make: Callable[[], Value]) -> Value | Gap:
    try:
        return make()
    except NotStated as gap:
        return Gap(gap.missing, gap.reason)


def solve_joint(joint: Joint, loads: tuple[LoadSet, ...], places: Array, wanted: Wanted) -> JointResult:
    """All answers about one joint; never raises for what is missing.

    `places` (k, 2) are points of the plane whose movement on the pins matters.
    """
    preloads = tuple(tightened(each, joint, wanted.utilisation) for each in joint.fasteners)
    notes = [joint.friction_note] if joint.friction_note else []
    notes += [f"{each.fastener.name}: {note}" for each in preloads for note in each.notes]
    if joint.thin is not None and joint.thin < 1.0:
        notes.append(
            "the base is thin for the distance between its studs: it bends, pressure gathers near the"
            " studs, and the rigid plate taken here is a weak assumption"
        )
    if any(load.steady is None for load in loads):
        notes.append("the weight is not counted, since the masses are not known in full")
    held = _or_gap(lambda: _held(joint, preloads, loads))
    factors = _or_gap(lambda: _all_factors(known(held), _any(loads), wanted))
    patch = _or_gap(lambda: _patch(joint))
    return JointResult(
        joint=joint,
        wanted=wanted,
        preloads=preloads,
        factors=factors,
        at_rest=_or_gap(lambda: _pressure(known(held), np.zeros(6), "tightened, no load")),
        loaded=_or_gap(lambda: _worst_pressure(known(held), known(factors))),
        changes=_or_gap(lambda: _changes(preloads, known(held), known(factors), loads)),
        loose=_or_gap(lambda: _loose(joint, known(held), known(factors))),
        uneven=_or_gap(lambda: _uneven(joint, known(held), known(factors))),
        location=location_of(joint.dowels),
        shift=_or_gap(lambda: _shift(joint, places)),
        pin_loads=_or_gap(lambda: _pin_loads(joint, loads)),
        stud_spread=_or_gap(lambda: _stud_spread(joint, known(patch))),
        stiffness=(
            joint.contact_stiffness,
            tuple(_stiffness_of(each) for each in preloads),
        ),
        notes=tuple(dict.fromkeys(notes)),
    )


def _any(loads: tuple[LoadSet, ...]) -> tuple[LoadSet, ...]:
    if not loads:
        raise NotStated(reason="no load on this joint is known")
    return loads


def _patch(joint: Joint) -> Patch:
    pieces = stated(joint.pieces, joint.pieces_path)
    try:
        return patch_of(pieces)
    except NotStated as flat:
        raise NotStated(joint.pieces_path, reason=f"{joint.name}: {flat.reason}") from None


def _stiffness_of(preload: Preload) -> float:
    if not reaches(preload.fastener) or isinstance(preload.stud_resilience, Gap):
        return 0.0
    return 1.0 / preload.stud_resilience


def _held(joint: Joint, preloads: tuple[Preload, ...], loads: tuple[LoadSet, ...]) -> Held:
    """The joint at its least preloads and least friction, under the weight where it is known."""
    patch = _patch(joint)
    if not preloads:
        raise NotStated(joint.fasteners_path, reason=f"nothing is stated that clamps {joint.name}")
    if abs(joint.plane.y[1]) < _UPRIGHT and any(load.steady is None for load in loads):
        raise NotStated(
            f"{joint.path}.bodies", reason="the weight that hangs on the joint shears it, and it is not known"
        )
    friction = stated(joint.friction, joint.friction_path)
    gaps = [each.working for each in preloads if isinstance(each.working, Gap)]
    if gaps:
        missing = tuple(dict.fromkeys(path for gap in gaps for path in gap.missing))
        raise NotStated(*missing, reason="; ".join(dict.fromkeys(g.reason for g in gaps if g.reason)))
    bed = Bed(
        patch=patch,
        stiffness=joint.contact_stiffness,
        stud_at=np.array([each.fastener.at for each in preloads]),
        stud_stiffness=np.array([_stiffness_of(each) for each in preloads]),
        preload=np.array([known(each.working).least for each in preloads]),
        gap=np.zeros(len(patch.points)),
    )
    steady = next((load.steady for load in loads if load.steady is not None), np.zeros(6))
    return capacity.held(bed, friction, steady)


def _all_factors(held: Held, loads: tuple[LoadSet, ...], wanted: Wanted) -> tuple[Factors, ...]:
    """The three factors of every load set.

    Slip is solved exactly for each set that comes near the one that governs the joint; for a set
    that stays well clear of it and lifts nothing, the kinematic bound (good to half a per cent)
    stands for it.
    """
    screened = [_screened(held, load, wanted) for load in loads]
    nearest = min(each.bounds.min() / each.wanted for each in screened)
    return tuple(_factors(each, nearest) for each in screened)


@dataclass(frozen=True, slots=True, eq=False)
class _Screened:
    """A load set with what is cheap to know of each of its loads."""

    load: LoadSet
    held: Held
    wanted: Ratio
    lift: Array
    tip: Array
    bounds: Array


def _screened(held: Held, load: LoadSet, wanted: Wanted) -> _Screened:
    own = held if load.steady is None else replace_steady(held, load.steady)
    return _Screened(
        load,
        own,
        wanted.slip_reversing if load.reversing else wanted.slip_steady,
        own.lift_factors(load.rows),
        own.tip_factors(load.rows),
        own.slip_bounds(load.rows),
    )


def _factors(screened: _Screened, nearest: float) -> Factors:
    """The three factors of a load set; slip exactly where it may govern."""
    load, bounds = screened.load, screened.bounds
    order = np.argsort(bounds)
    at, best = int(order[0]), float(bounds[order[0]])
    exact = best <= _CLEAR * nearest * screened.wanted or best > screened.lift[at]
    if exact:
        best = np.inf
        for k in order[:12]:
            if bounds[k] > best * 1.003:
                break
            found = screened.held.slip(load.rows[k]).factor
            if found < best:
                best, at = found, int(k)
    first, over = int(screened.lift.argmin()), int(screened.tip.argmin())
    return Factors(
        name=load.name,
        path=load.path,
        wanted=screened.wanted,
        lift=float(screened.lift[first]),
        lift_load=load.labels[first],
        tip=float(screened.tip[over]),
        tip_load=load.labels[over],
        slip=float(best),
        slip_load=load.labels[at],
        slip_exact=exact,
        slip_row=load.rows[at],
        lift_row=load.rows[first],
    )


def replace_steady(held: Held, steady: Array) -> Held:
    """The same joint under another steady load; itself when that is the same."""
    return held if np.array_equal(held.steady, steady) else capacity.held(held.bed, held.friction, steady)


def _pressure(held: Held, row: Array, label: str) -> Pressure:
    bed = held.bed
    seat = seated(bed, vertical((held.steady + row)[None, :]))
    if not seat.balanced[0]:
        raise NotStated(reason=f"under {label} the joint finds no balance: it tips")
    pressure = seat.point_force[0] / bed.patch.areas
    down, *tilt = (bed.stiffness * seat.closing[0]).tolist()
    b, c = (slope / bed.patch.size for slope in tilt)
    x, z = bed.patch.centroid
    touching = float(bed.patch.areas[pressure > 0.0].sum() / bed.patch.area)
    return Pressure(label, bed.patch, pressure, seat.stud_force[0], touching, (down - b * x - c * z, b, c))


def _worst_pressure(held: Held, factors: tuple[Factors, ...]) -> Pressure:
    worst = min(factors, key=lambda each: each.lift)
    return _pressure(held, worst.lift_row, f"{worst.name}: {worst.lift_load}")


def _changes(
    preloads: tuple[Preload, ...], held: Held, factors: tuple[Factors, ...], loads: tuple[LoadSet, ...]
) -> tuple[StudChange, ...]:
    """Stud force change over all loads at their own size: the greater of two models.

    On the bed the part is rigid, so a stud sees little until something lifts. A body that is clamped
    over its height gives, and a load brought in at the nut then goes into the stud by Φ = δ_P/(δ_S + δ_P)
    (VDI 2230 with load factor 1, the upper end); where the stack is not known, all of it.
    """
    count = len(preloads)
    lowest, highest, names = np.zeros(count), np.zeros(count), [""] * count
    rest = seated(held.bed, vertical(held.steady[None, :])).stud_force[0]
    studs = np.column_stack([np.ones(count), held.bed.stud_at])
    spread = studs @ np.linalg.pinv(studs.T @ studs)
    share = np.array([_share(each) for each in preloads])
    for load, factor in zip(loads, factors, strict=True):
        if factor.lift > 1.0:
            change = -(held.closing_rate(load.rows) @ held.bed.stud_shape.T) * held.bed.stud_stiffness
        else:
            change = seated(held.bed, vertical(held.steady + load.rows)).stud_force - rest
        change = np.nan_to_num(change, nan=np.inf, posinf=np.inf)
        given = -(vertical(load.rows) @ spread.T) * share
        larger = np.where(np.abs(given) > np.abs(change), given, change)
        top = larger.max(axis=0)
        for j in np.flatnonzero(top > highest):
            names[j] = f"{load.name}: {load.labels[int(larger[:, j].argmax())]}"
        highest = np.maximum(highest, top)
        lowest = np.minimum(lowest, larger.min(axis=0))
    return tuple(
        StudChange(each.fastener.name, Newton(float(lowest[j])), Newton(float(highest[j])), names[j])
        for j, each in enumerate(preloads)
    )


def _share(preload: Preload) -> float:
    """Share Φ of a load brought in at the nut that its stud takes; 0 for one that clamps nothing."""
    if not reaches(preload.fastener):
        return 0.0
    if isinstance(preload.stud_resilience, Gap) or isinstance(preload.clamped_resilience, Gap):
        return 1.0
    return load_share(stud=preload.stud_resilience, clamped=preload.clamped_resilience)


def _worst_rows(factors: tuple[Factors, ...], count: int = 3) -> list[tuple[str, Array]]:
    """The loads nearest to slipping."""
    slips = sorted(factors, key=lambda each: each.slip / each.wanted)[:count]
    return [(f"{each.name}: {each.slip_load}", each.slip_row) for each in slips]


def _variant(held: Held, bed: Bed, rows: list[tuple[str, Array]]) -> tuple[float, str, float]:
    """Least slip factor of some loads on a changed bed, its load, and the least lift factor."""
    other = capacity.held(bed, held.friction, held.steady)
    if not np.all(np.isfinite(other.at_rest)):
        return 0.0, "at rest", 0.0
    loads = np.array([row for _, row in rows])
    found = [(other.slip(row, same=ROUGH).factor, label) for label, row in rows]
    slip, label = min(found)
    return slip, label, float(other.lift_factors(loads).min())


def _loose(joint: Joint, held: Held, factors: tuple[Factors, ...]) -> tuple[Loose, ...]:
    """Each stud slack in turn, the others at their least."""
    rows = _worst_rows(factors, 1)
    coarse = patch_of(joint.pieces or (), _WHAT_IF_POINTS)
    bed = replace(held.bed, patch=coarse, gap=np.zeros(len(coarse.points)))
    found: list[Loose] = []
    for j, fastener in enumerate(joint.fasteners):
        preload, stiffness = bed.preload.copy(), bed.stud_stiffness.copy()
        preload[j] = stiffness[j] = 0.0
        slip, label, lift = _variant(held, replace(bed, preload=preload, stud_stiffness=stiffness), rows)
        found.append(Loose(fastener.name, slip, lift, label))
    return tuple(found)


def _uneven(joint: Joint, held: Held, factors: tuple[Factors, ...]) -> tuple[Uneven, ...]:
    """A hollow and a crowned surface, out of flat by what is stated."""
    out = stated(joint.flatness, joint.flatness_path)
    patch = held.bed.patch
    share = ((patch.points - patch.centroid) ** 2).sum(axis=1) / patch.size**2
    rows = _worst_rows(factors, 1)
    shapes = (("hollow", out * (1.0 - share)), ("high spot", out * share))
    found = []
    for kind, gap in shapes:
        slip, label, _ = _variant(held, replace(held.bed, gap=gap), rows)
        found.append(Uneven(kind, slip, label))
    return tuple(found)


def _shift(joint: Joint, places: Array) -> Shift:
    if not joint.dowels:
        raise NotStated(reason=f"{joint.name} has no pins, so nothing ends its movement but friction")
    return shift_of(joint.dowels, places)


def _pin_loads(joint: Joint, loads: tuple[LoadSet, ...]) -> tuple[PinLoad, ...]:
    """The pins alone against every load at its own size, weight included."""
    if not joint.dowels:
        return ()
    rows = np.vstack([load.rows + (0.0 if load.steady is None else load.steady) for load in _any(loads)])
    labels = tuple(f"{load.name}: {label}" for load in loads for label in load.labels)
    return carried(joint.dowels, lateral(rows, np.zeros(2)), labels)


def _stud_spread(joint: Joint, patch: Patch) -> float:
    at = np.array([each.at for each in joint.fasteners]).reshape(-1, 2)
    if len(at) == 0:
        raise NotStated(joint.fasteners_path, reason=f"nothing is stated that clamps {joint.name}")
    weights = patch.areas / patch.area
    around = patch.points - patch.centroid
    own = np.linalg.eigvalsh((around.T * weights) @ around)[0]
    studs = np.linalg.eigvalsh(np.cov(at.T, bias=True))[0] if len(at) > 1 else 0.0
    return float(np.sqrt(max(0.0, studs) / own))
