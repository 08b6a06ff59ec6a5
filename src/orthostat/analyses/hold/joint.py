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
_TRIED = 12
"""Most loads of a set that are solved exactly."""
_NEAR = 1.003
"""A load whose bound is more than this over the least slip factor found is not solved."""
_ALIKE = 1e-7
"""Factors whose shares differ by less are alike: what tells them apart is rounding."""
_CLEAR = 1.5
"""A load set whose bound is this many times the governing one's is not solved exactly."""


def _or_gap(make: Callable[[], Value]) -> Value | Gap:
    try:
        return make()
    except NotStated as gap:
        return Gap(gap.missing, gap.reason)


def solve_joint(
    joint: Joint, loads: tuple[LoadSet, ...], places: Array, wanted: Wanted, lacks: tuple[str, ...] = ()
) -> JointResult:
    """All answers about one joint; never raises for what is missing.

    `places` (k, 2) are points of the plane whose movement on the pins matters; `lacks` are the keys that
    would give the joint a load where it has none.
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
    factors = _or_gap(lambda: _all_factors(known(held), _any(loads, lacks), wanted))
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
        pin_loads=_or_gap(lambda: _pin_loads(joint, loads, lacks)),
        stud_spread=_or_gap(lambda: _stud_spread(joint, known(patch))),
        stiffness=(
            joint.contact_stiffness,
            tuple(_stiffness_of(each) for each in preloads),
        ),
        notes=tuple(dict.fromkeys(notes)),
    )


def _in_order(values: Array) -> NDArray[np.intp]:
    """Places from the least up; of values that differ by rounding alone the first comes first."""
    with np.errstate(divide="ignore"):
        return np.argsort(np.round(np.log(values) / _ALIKE), kind="stable")


def _any(loads: tuple[LoadSet, ...], lacks: tuple[str, ...]) -> tuple[LoadSet, ...]:
    if not loads:
        raise NotStated(*lacks, reason="no load on this joint is known")
    return loads


def _patch(joint: Joint) -> Patch:
    if joint.pieces is None and joint.pieces_path.endswith(".bodies"):
        raise NotStated(joint.pieces_path, reason="no body of the kind fixture stands on the face")
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
    """The joint at its least preloads and least friction, under the weight where it is known.

    All loads come with the same weight.
    """
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
    sets = [load.rows for load in loads]
    rows, ends = np.concatenate(sets), np.cumsum([len(each) for each in sets])[:-1]
    screened = [
        _Screened(load, wanted.slip_reversing if load.reversing else wanted.slip_steady, *known)
        for load, *known in zip(
            loads,
            np.split(held.lift_factors(rows), ends),
            np.split(held.tip_factors(rows), ends),
            held.slip_bounds(sets),
            strict=True,
        )
    ]
    nearest = min(each.bounds.min() / each.wanted for each in screened)
    return _factors(held, screened, nearest)


@dataclass(frozen=True, slots=True, eq=False)
class _Screened:
    """A load set with what is cheap to know of each of its loads."""

    load: LoadSet
    wanted: Ratio
    lift: Array
    tip: Array
    bounds: Array


def _factors(held: Held, screened: list[_Screened], nearest: float) -> tuple[Factors, ...]:
    """The three factors of each load set; slip exactly where it may govern.

    Each set's loads are solved one after the other until none left can slip sooner; all sets take a
    step together.
    """
    order = [_in_order(each.bounds) for each in screened]
    at = [int(each[0]) for each in order]
    best = [float(each.bounds[k]) for each, k in zip(screened, at, strict=True)]
    exact = [
        slip <= _CLEAR * nearest * each.wanted or slip > each.lift[k]
        for each, k, slip in zip(screened, at, best, strict=True)
    ]
    best = [np.inf if solved else slip for slip, solved in zip(best, exact, strict=True)]
    going = [i for i, solved in enumerate(exact) if solved]
    # All that may come to be asked, at once: a load bears no more than its bound.
    near = [
        (held, screened[i].load.rows[k])
        for i in going
        for k in order[i][:_TRIED]
        if screened[i].bounds[k] <= screened[i].bounds[order[i][0]] * _NEAR
    ]
    capacity.slips(near)
    for step in range(_TRIED):
        going = [
            i for i in going if step < len(order[i]) and screened[i].bounds[order[i][step]] <= best[i] * _NEAR
        ]
        if not going:
            break
        rows = [(held, screened[i].load.rows[order[i][step]]) for i in going]
        for i, found in zip(going, capacity.slips(rows), strict=True):
            if found.factor < best[i] * (1.0 - _ALIKE):
                best[i], at[i] = found.factor, int(order[i][step])
    return tuple(
        _factors_of(each, k, slip, exact=solved)
        for each, k, slip, solved in zip(screened, at, best, exact, strict=True)
    )


def _factors_of(screened: _Screened, at: int, slip: float, *, exact: bool) -> Factors:
    load = screened.load
    first, over = _in_order(screened.lift)[0], _in_order(screened.tip)[0]
    return Factors(
        name=load.name,
        path=load.path,
        wanted=screened.wanted,
        lift=float(screened.lift[first]),
        lift_load=load.labels[first],
        tip=float(screened.tip[over]),
        tip_load=load.labels[over],
        slip=float(slip),
        slip_load=load.labels[at],
        slip_exact=exact,
        slip_row=load.rows[at],
        lift_row=load.rows[first],
    )


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
    worst = factors[_in_order(np.array([each.lift for each in factors]))[0]]
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
        for j in np.flatnonzero(top > highest * (1.0 + _ALIKE)):
            alike = larger[:, j] >= top[j] * (1.0 - _ALIKE)
            names[j] = f"{load.name}: {load.labels[int(alike.argmax())]}"
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


def _worst_row(factors: tuple[Factors, ...]) -> tuple[str, Array]:
    """The load nearest to slipping."""
    worst = factors[_in_order(np.array([each.slip / each.wanted for each in factors]))[0]]
    return f"{worst.name}: {worst.slip_load}", worst.slip_row


def _variants(held: Held, beds: list[Bed], load: tuple[str, Array]) -> list[tuple[float, str, float]]:
    """Slip factor of a load on each of some changed beds, the load, and its lift factor; nothing is left
    where they find no rest.
    """
    label, row = load
    others = [capacity.held(bed, held.friction, held.steady) for bed in beds]
    slips = capacity.slips([(other, row) for other in others], same=ROUGH)
    return [
        (slip.factor, label, float(other.lift_factors(row[None, :])[0]))
        if other.is_borne
        else (0.0, "at rest", 0.0)
        for other, slip in zip(others, slips, strict=True)
    ]


def _loose(joint: Joint, held: Held, factors: tuple[Factors, ...]) -> tuple[Loose, ...]:
    """Each stud slack in turn, the others at their least."""
    coarse = patch_of(joint.pieces or (), _WHAT_IF_POINTS)
    bed = replace(held.bed, patch=coarse, gap=np.zeros(len(coarse.points)))
    beds = []
    for j in range(len(joint.fasteners)):
        preload, stiffness = bed.preload.copy(), bed.stud_stiffness.copy()
        preload[j] = stiffness[j] = 0.0
        beds.append(replace(bed, preload=preload, stud_stiffness=stiffness))
    return tuple(
        Loose(fastener.name, slip, lift, load)
        for fastener, (slip, load, lift) in zip(
            joint.fasteners, _variants(held, beds, _worst_row(factors)), strict=True
        )
    )


def _uneven(joint: Joint, held: Held, factors: tuple[Factors, ...]) -> tuple[Uneven, ...]:
    """A hollow and a crowned surface, out of flat by what is stated."""
    out = stated(joint.flatness, joint.flatness_path)
    patch = held.bed.patch
    share = ((patch.points - patch.centroid) ** 2).sum(axis=1) / patch.size**2
    kinds = ("hollow", "high spot")
    beds = [replace(held.bed, gap=gap) for gap in (out * (1.0 - share), out * share)]
    return tuple(
        Uneven(kind, slip, load)
        for kind, (slip, load, _) in zip(kinds, _variants(held, beds, _worst_row(factors)), strict=True)
    )


def _shift(joint: Joint, places: Array) -> Shift:
    if not joint.dowels:
        raise NotStated(
            joint.dowels_path, reason=f"{joint.name} has no pins, so nothing ends its movement but friction"
        )
    return _by_pins(joint, lambda: shift_of(joint.dowels, places))


def _by_pins(joint: Joint, ask: Callable[[], Value]) -> Value:
    """What pins answer; where their number does not let them, the list they stand in is named."""
    try:
        return ask()
    except NotStated as gap:
        raise NotStated(*(gap.missing or (joint.dowels_path,)), reason=gap.reason) from None


def _pin_loads(joint: Joint, loads: tuple[LoadSet, ...], lacks: tuple[str, ...]) -> tuple[PinLoad, ...]:
    """The pins alone against every load at its own size, weight included."""
    if not joint.dowels:
        return ()
    known_loads = _any(loads, lacks)
    rows = np.vstack([load.rows + (0.0 if load.steady is None else load.steady) for load in known_loads])
    labels = tuple(f"{load.name}: {label}" for load in loads for label in load.labels)
    return _by_pins(joint, lambda: carried(joint.dowels, lateral(rows, np.zeros(2)), labels))


def _stud_spread(joint: Joint, patch: Patch) -> float:
    at = np.array([each.at for each in joint.fasteners]).reshape(-1, 2)
    if len(at) == 0:
        raise NotStated(joint.fasteners_path, reason=f"nothing is stated that clamps {joint.name}")
    weights = patch.areas / patch.area
    around = patch.points - patch.centroid
    own = np.linalg.eigvalsh((around.T * weights) @ around)[0]
    studs = np.linalg.eigvalsh(np.cov(at.T, bias=True))[0] if len(at) > 1 else 0.0
    return float(np.sqrt(max(0.0, studs) / own))
