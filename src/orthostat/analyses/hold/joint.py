"""One joint under all its loads: preloads, pressure, the three factors, loose studs, pins."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold import capacity
from orthostat.analyses.hold.capacity import ROUGH, Held, Least, vertical
from orthostat.analyses.hold.extremes import first_greatests, first_least, first_leasts, first_of_columns
from orthostat.analyses.hold.fastener import Dowel, Joint, Wanted
from orthostat.analyses.hold.foundation import seated
from orthostat.analyses.hold.outcome import (
    Factors,
    JointResult,
    LoadSet,
    Loose,
    Pressure,
    StudChange,
    Uneven,
)
from orthostat.analyses.hold.patch import Patch, patch_of, points_near_an_edge
from orthostat.analyses.hold.pinning import PinLoad, Shift, carried, location_of, shift_of
from orthostat.analyses.hold.preload import reaches, tightened
from orthostat.analyses.hold.slip import CLOSE
from orthostat.analyses.hold.tightening import Preload
from orthostat.base.dimensions import Metre, Newton
from orthostat.base.findings import Gap, NotStated, known, stated
from orthostat.base.kept import Kept
from orthostat.formulas.bolting import load_share
from orthostat.model.bodies import Point2, Polygon

Array = NDArray[np.float64]
Value = TypeVar("Value")
_UPRIGHT = 0.5
"""A joint whose normal rises by less than this is sheared by the weight on it."""
_TRIED = 16
"""Most loads of a set that are solved exactly."""
_LIFTED = 1.2
"""How far over the least bound of its set a load may be that lifts first, and still be tried."""


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
    preloads = tuple(tightened(each, joint.losses, wanted.utilisation) for each in joint.fasteners)
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
    factors = _or_gap(lambda: _all_factors(joint, known(held), _any(loads, lacks), wanted))
    what_ifs = _or_gap(lambda: _what_ifs(joint, known(held), known(factors)))
    patch = _or_gap(lambda: patch_of(_pieces(joint)))
    return JointResult(
        joint=joint,
        wanted=wanted,
        preloads=preloads,
        factors=factors,
        at_rest=_or_gap(lambda: _pressure(known(held), b"", "tightened, no load")),
        find_loaded=lambda: _or_gap(lambda: _worst_pressure(known(held), known(factors))),
        changes=_or_gap(lambda: _changes(preloads, known(held), known(factors), loads)),
        loose=_or_gap(lambda: _loose(joint, known(what_ifs))),
        uneven=_or_gap(lambda: _uneven(joint, known(what_ifs))),
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


def _any(loads: tuple[LoadSet, ...], lacks: tuple[str, ...]) -> tuple[LoadSet, ...]:
    if not loads:
        raise NotStated(*lacks, reason="no load on this joint is known")
    return loads


def _pieces(joint: Joint) -> tuple[Polygon, ...]:
    """The pieces of a joint's patch, which have an area."""
    if joint.pieces is None and joint.pieces_path.endswith(".bodies"):
        raise NotStated(joint.pieces_path, reason="no body of the kind fixture stands on the face")
    pieces = stated(joint.pieces, joint.pieces_path)
    try:
        patch_of(pieces)
    except NotStated as flat:
        raise NotStated(joint.pieces_path, reason=f"{joint.name}: {flat.reason}") from None
    return pieces


@lru_cache(maxsize=128)
def _pressed_by(pieces: tuple[Polygon, ...], at: tuple[Point2, ...], forces: tuple[Newton, ...]) -> Patch:
    """The patch in as many points as it needs where forces press on it."""
    patch = patch_of(pieces)
    if sum(forces) <= 0.0:
        return patch
    return patch_of(pieces, points_near_an_edge(patch, np.array(forces) @ np.array(at) / sum(forces)))


def _stiffness_of(preload: Preload) -> float:
    if not reaches(preload.fastener) or isinstance(preload.stud_resilience, Gap):
        return 0.0
    return 1.0 / preload.stud_resilience


def _held(joint: Joint, preloads: tuple[Preload, ...], loads: tuple[LoadSet, ...]) -> Held:
    """The joint at its least preloads and least friction, under the weight where it is known.

    All loads come with the same weight.
    """
    pieces = _pieces(joint)
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
    forces = tuple(known(each.working).least for each in preloads)
    at = tuple(each.fastener.at for each in preloads)
    patch = _pressed_by(pieces, at, forces)
    steady = next((load.steady for load in loads if load.steady is not None), np.zeros(6))
    stiffness = tuple(_stiffness_of(each) for each in preloads)
    held = capacity.held(patch, joint.contact_stiffness, at, stiffness, forces, friction, steady.tobytes())
    Held.settle([held, *_variants(held, joint.flatness)])  # all at once: its what-ifs are asked for anyway
    return held


def _all_factors(joint: Joint, held: Held, loads: tuple[LoadSet, ...], wanted: Wanted) -> tuple[Factors, ...]:
    """The three factors of every load set. Most sets stay as they are from edit to edit."""
    by_rows = {load.rows.tobytes(): (joint.path, load.path, load.name) for load in loads}
    found = held.least.answers(
        [load.rows.tobytes() for load in loads],
        lambda fresh: _least_of(held, fresh, [by_rows[each] for each in fresh]),
    )
    return tuple(_factors_of(load, each, wanted) for load, each in zip(loads, found, strict=True))


_MOTIONS: Kept[tuple[str, ...], Array] = Kept(512)
"""How each load of a set made its joint slide last time: where the next search begins."""


def _hints(name: tuple[str, ...], count: int) -> Array:
    """(count, 3) motions to begin with, NaN where there are none."""
    last = _MOTIONS.get(name)
    return np.full((count, 3), np.nan) if last is None or len(last) != count else last


def _least_of(held: Held, loads: list[bytes], names: list[tuple[str, ...]]) -> list[Least]:
    """The least factors of load sets, slip exactly for each load that may govern its set."""
    listed = [np.frombuffer(each).reshape(-1, 6) for each in loads]
    counts, rows = np.array([len(each) for each in listed]), np.concatenate(listed)
    starts, sets = np.cumsum(counts) - counts, np.repeat(np.arange(len(counts)), counts)
    lift, tip, bound = held.lift_factors(rows), held.tip_factors(rows), held.slip_bounds(rows)
    near = may_govern(bound, lift, starts)
    slip, motion = np.full(len(rows), np.inf), np.concatenate(list(map(_hints, names, counts.tolist())))
    slip[near], motion[near] = capacity.first_slips(held, rows[near], sets[near], motion[near])
    _MOTIONS.keep({name: motion[sets == k] for k, name in enumerate(names)})
    return [
        Least(*each) for each in zip(*(first_leasts(each, starts) for each in (lift, tip, slip)), strict=True)
    ]


def may_govern(bound: Array, lift: Array, starts: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which loads may slip first of their set: those with the least bounds, and more of those that lift
    before, of which a bound says less. `starts` are the places where sets begin.
    """
    counts = np.diff(starts, append=len(bound))
    least = np.repeat(np.minimum.reduceat(bound, starts), counts)
    near = (bound <= least * CLOSE) | ((lift < least) & (bound <= least * _LIFTED))
    for k in np.flatnonzero(np.add.reduceat(near, starts, dtype=np.intp) > _TRIED):
        mine = slice(starts[k], starts[k] + counts[k])
        order = np.argsort(np.where(near[mine], bound[mine], np.inf), kind="stable")
        near[mine][order[_TRIED:]] = False
    return np.asarray(near, dtype=np.bool_)


def _factors_of(load: LoadSet, least: Least, wanted: Wanted) -> Factors:
    (lift, first), (tip, over), (slip, sliding) = least
    return Factors(
        name=load.name,
        path=load.path,
        wanted=wanted.slip_reversing if load.reversing else wanted.slip_steady,
        lift=lift,
        lift_load=load.labels[first],
        tip=tip,
        tip_load=load.labels[over],
        slip=slip,
        slip_load=load.labels[sliding],
        slip_row=load.rows[sliding],
        lift_row=load.rows[first],
    )


def _pressure(held: Held, load: bytes, label: str) -> Pressure:
    """Under a load (6,), or at rest."""
    made = _pressed(held, load)
    if made is None:
        raise NotStated(reason=f"under {label} the joint finds no balance: it tips")
    return replace(made, load=label)


@lru_cache(maxsize=192)
def _pressed(held: Held, load: bytes) -> Pressure | None:
    row = np.frombuffer(load)
    seat = seated(held.bed, vertical((held.steady + row)[None, :])) if len(row) else held.rest
    if not seat.balanced[0]:
        return None
    bed = held.bed
    pressure = seat.point_force[0] / bed.patch.areas
    down, *tilt = (bed.stiffness * seat.closing[0]).tolist()
    b, c = (slope / bed.patch.size for slope in tilt)
    x, z = bed.patch.centroid
    touching = float(bed.patch.areas[pressure > 0.0].sum() / bed.patch.area)
    return Pressure("", bed.patch, pressure, seat.stud_force[0], touching, (down - b * x - c * z, b, c))


def _worst_pressure(held: Held, factors: tuple[Factors, ...]) -> Pressure:
    worst = factors[first_least(np.array([each.lift for each in factors]))]
    return _pressure(held, worst.lift_row.tobytes(), f"{worst.name}: {worst.lift_load}")


def _changes(
    preloads: tuple[Preload, ...], held: Held, factors: tuple[Factors, ...], loads: tuple[LoadSet, ...]
) -> tuple[StudChange, ...]:
    """Stud force change over all loads at their own size: the greater of two models.

    On the bed the part is rigid, so a stud sees little until something lifts. A body that is clamped
    over its height gives, and a load brought in at the nut then goes into the stud by Φ = δ_P/(δ_S + δ_P)
    (VDI 2230 with load factor 1, the upper end); where the stack is not known, all of it.
    """
    shares = tuple(_share(each) for each in preloads)
    sets = [
        (load.rows.tobytes(), shares, each.lift <= 1.0) for load, each in zip(loads, factors, strict=True)
    ]
    parts = held.changes.answers(sets, lambda fresh: _changes_of(held, fresh))
    lowest = np.array([low for low, _, _ in parts]).min(axis=0).tolist()
    highest = np.array([high for _, high, _ in parts])
    return tuple(
        StudChange(
            each.fastener.name,
            Newton(lowest[j]),
            Newton(most := float(highest[k, j])),
            _label(loads[k], int(parts[k][2][j])) if most > 0.0 else "",
        )
        for j, (each, k) in enumerate(zip(preloads, first_of_columns(highest), strict=True))
    )


def _changes_of(
    held: Held, sets: list[tuple[bytes, tuple[float, ...], bool]]
) -> list[tuple[Array, Array, NDArray[np.intp]]]:
    """For each set of loads the least and greatest change of force of each stud, and the place of the load
    that makes the greatest.
    """
    listed = [np.frombuffer(each).reshape(-1, 6) for each, _, _ in sets]
    counts, rows = np.array([len(each) for each in listed]), np.concatenate(listed)
    lifts = np.repeat([lifted for _, _, lifted in sets], counts)
    change = -(held.closing_rate(rows) @ held.bed.stud_shape.T) * held.bed.stud_stiffness
    if lifts.any():
        change[lifts] = (
            seated(held.bed, vertical(held.steady + rows[lifts])).stud_force - held.rest.stud_force
        )
        change = np.nan_to_num(change, nan=np.inf, posinf=np.inf)
    given = -(vertical(rows) @ held.bed.spread.T) * np.array(sets[0][1])
    larger = np.where(np.abs(given) > np.abs(change), given, change)
    starts = np.cumsum(counts) - counts
    lowest = np.minimum(np.minimum.reduceat(larger, starts, axis=0), 0.0)
    return list(zip(lowest, *first_greatests(larger, starts), strict=True))


def _label(load: LoadSet, k: int) -> str:
    return f"{load.name}: {load.labels[k]}"


def _share(preload: Preload) -> float:
    """Share Φ of a load brought in at the nut that its stud takes; 0 for one that clamps nothing."""
    if not reaches(preload.fastener):
        return 0.0
    if isinstance(preload.stud_resilience, Gap) or isinstance(preload.clamped_resilience, Gap):
        return 1.0
    return load_share(stud=preload.stud_resilience, clamped=preload.clamped_resilience)


def _worst_row(factors: tuple[Factors, ...]) -> tuple[str, Array]:
    """The load nearest to slipping."""
    worst = factors[first_least(np.array([each.slip / each.wanted for each in factors]))]
    return f"{worst.name}: {worst.slip_load}", worst.slip_row


_UNEVEN = ("hollow", "high spot")


def _what_ifs(joint: Joint, held: Held, factors: tuple[Factors, ...]) -> list[tuple[float, str, float]]:
    """The load nearest to slipping on the joint with each stud slack in turn, the others at their least, and
    on a hollow and a crowned surface where it is said how far: slip factor, the load, and lift factor.
    Nothing is left where the joint finds no rest.
    """
    label, row = _worst_row(factors)
    return [
        (slip, label if borne else "at rest", lift)
        for slip, lift, borne in _slips_of(held, row.tobytes(), joint.flatness, joint.path)
    ]


@lru_cache(maxsize=96)
def _variants(held: Held, out_of_flat: Metre | None) -> tuple[Held, ...]:
    """The joint with each stud slack in turn, then hollow and crowned where it is said how far."""
    bed, patch = held.bed, held.bed.patch
    tight = 1.0 - np.eye(len(bed.preload))
    beds = [
        replace(bed, preload=bed.preload * each, stud_stiffness=bed.stud_stiffness * each) for each in tight
    ]
    if out_of_flat is not None:
        share = ((patch.points - patch.centroid) ** 2).sum(axis=1) / patch.size**2
        beds += [replace(bed, gap=out_of_flat * gap) for gap in (1.0 - share, share)]
    return tuple(Held(each, held.friction, held.steady) for each in beds)


@lru_cache(maxsize=96)
def _slips_of(
    held: Held, load: bytes, out_of_flat: Metre | None, name: str
) -> tuple[tuple[float, float, bool], ...]:
    """Slip and lift factor of a load (6,) on each variant, and whether it finds a rest."""
    others, row = _variants(held, out_of_flat), np.frombuffer(load)
    hints = _hints((name,), len(others))
    slips = capacity.slips([(other, row) for other in others], same=ROUGH, hints=hints)
    _MOTIONS.keep({(name,): capacity.motions_of(held, slips)})
    lifts = capacity.lifts_beside(others, row).tolist()
    return tuple(
        (slip.factor, lift, True) if other.is_borne else (0.0, 0.0, False)
        for other, slip, lift in zip(others, slips, lifts, strict=True)
    )


def _loose(joint: Joint, found: list[tuple[float, str, float]]) -> tuple[Loose, ...]:
    return tuple(
        Loose(fastener.name, slip, lift, load)
        for fastener, (slip, load, lift) in zip(joint.fasteners, found, strict=False)
    )


def _uneven(joint: Joint, found: list[tuple[float, str, float]]) -> tuple[Uneven, ...]:
    stated(joint.flatness, joint.flatness_path)
    return tuple(Uneven(kind, slip, load) for kind, (slip, load, _) in zip(_UNEVEN, found[-2:], strict=True))


def _shift(joint: Joint, places: Array) -> Shift:
    if not joint.dowels:
        raise NotStated(
            joint.dowels_path, reason=f"{joint.name} has no pins, so nothing ends its movement but friction"
        )
    return _by_pins(joint, lambda: _shifted(joint.dowels, places.tobytes()))


@lru_cache(maxsize=128)
def _shifted(dowels: tuple[Dowel, ...], places: bytes) -> Shift:
    return shift_of(dowels, np.frombuffer(places).reshape(-1, 2))


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
    steady = next((load.steady for load in _any(loads, lacks) if load.steady is not None), np.zeros(6))
    sets = [load.rows.tobytes() for load in loads]
    return _by_pins(joint, lambda: carried(joint.dowels, sets, steady, lambda s, k: _label(loads[s], k)))


def _stud_spread(joint: Joint, patch: Patch) -> float:
    if not joint.fasteners:
        raise NotStated(joint.fasteners_path, reason=f"nothing is stated that clamps {joint.name}")
    return _spread_over(patch, tuple(each.at for each in joint.fasteners))


@lru_cache(maxsize=128)
def _spread_over(patch: Patch, studs: tuple[Point2, ...]) -> float:
    """Radius of gyration of studs about their best line over that of the patch."""
    at = np.array(studs)
    weights = patch.areas / patch.area
    around = patch.points - patch.centroid
    own = np.linalg.eigvalsh((around.T * weights) @ around)[0]
    spread = np.linalg.eigvalsh(np.cov(at.T, bias=True))[0] if len(at) > 1 else 0.0
    return float(np.sqrt(max(0.0, spread) / own))
