"""Rows about joints that the columns' and the fixtures' findings share; no rule is declared here."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import isfinite
from typing import TYPE_CHECKING, Any

from orthostat.base.dimensions import Metre, Newton
from orthostat.base.findings import Answers, Measured, NotStated, Open, known, opened, stated
from orthostat.base.showing import show_both
from orthostat.catalogue.practice import practice
from orthostat.formulas import bolting

if TYPE_CHECKING:
    from orthostat.analyses.hold import Hold, Preload, StackJoint

Joints = Iterable["StackJoint"]
Row = Measured | Open
MOST = 1000.0
"""Factors above this are shown as this."""


def stack(evaluation: Any) -> tuple[StackJoint, ...]:
    """The joints under the column; `NotStated` where it is not said what it stands on."""
    hold: Hold = evaluation.hold
    if not hold.stack:
        raise NotStated(
            f"{evaluation.column.path}.pallet", reason="it is not stated what the column stands on"
        )
    return hold.stack


def fixtures(evaluation: Any) -> tuple[StackJoint, ...]:
    """The joints of fixtures on their faces."""
    hold: Hold = evaluation.hold
    return hold.fixtures


def each_joint(joints: Joints, measure: Callable[[StackJoint], Iterable[Row] | Row | None]) -> Answers:
    """Rows of every joint; a joint that lacks an input is open and leaves the others."""
    rows: list[Row] = []
    for joint in joints:
        try:
            made = measure(joint)
        except NotStated as gap:
            made = opened(gap, joint.joint.name)
        if made is not None:
            rows += [made] if isinstance(made, Measured | Open) else list(made)
    return rows or None


def each_fastener(joints: Joints, measure: Callable[[StackJoint, Preload], Row | None]) -> Answers:
    """Rows of every stud or screw; one that lacks an input is open and leaves the others."""

    def of_joint(joint: StackJoint) -> list[Row]:
        rows: list[Row] = []
        for preload in joint.result.preloads:
            try:
                row = measure(joint, preload)
            except NotStated as gap:
                row = opened(gap, subject(joint, preload))
            if row is not None:
                rows.append(row)
        return rows

    return each_joint(joints, of_joint)


def subject(joint: StackJoint, preload: Preload) -> str:
    """`column on pallet, stud 1`."""
    return f"{joint.joint.name}, {preload.fastener.name}"


def uncounted(evaluation: Any, joint: StackJoint) -> list[Row]:
    """Open rows for the cuts that load a joint and whose loads are not known."""
    cuts = [
        cut for cut in evaluation.loads.open_cuts if joint.station is None or cut.station == joint.station
    ]
    rows: list[Row] = [
        Open(
            f"the load of cut {cut.name} is not known, so it is not counted:"
            f" {NotStated(*cut.missing, reason=cut.reason).sentence}",
            f"{joint.joint.name}, {cut.label}",
            cut.missing,
        )
        for cut in cuts
    ]
    rows += [
        Open(
            f"the load of {motion.name} is not known, so it is not counted:"
            f" {NotStated(*motion.missing, reason=motion.reason).sentence}",
            f"{joint.joint.name}, {motion.name}",
            motion.missing,
        )
        for motion in evaluation.loads.open_handling
    ]
    return rows


def slip_rows(evaluation: Any, joint: StackJoint) -> list[Row]:
    """Slip factor of every load on a joint, against what is wanted of that load."""
    result = joint.result
    rows: list[Row] = [
        Measured(
            min(each.slip, MOST),
            each.wanted,
            f"{each.slip_load}; what comes first is {each.first}; friction {joint.joint.friction:g}",
            f"{joint.joint.name}, {each.name}",
            (each.path, joint.joint.friction_path),
        )
        for each in known(result.factors)
    ]
    return rows + uncounted(evaluation, joint)


def lift_rows(evaluation: Any, joint: StackJoint) -> list[Row]:
    """Multiple of each load at which the first corner comes free."""
    rows: list[Row] = [
        Measured(
            min(each.lift, MOST),
            joint.result.wanted.lift,
            f"{each.lift_load}; what comes first is {each.first}",
            f"{joint.joint.name}, {each.name}",
            (each.path,),
        )
        for each in known(joint.result.factors)
    ]
    return rows + uncounted(evaluation, joint)


def tip_rows(evaluation: Any, joint: StackJoint) -> list[Row]:
    """Multiple of each load at which the clamp no longer keeps the base on its outline."""
    rows: list[Row] = [
        Measured(
            min(each.tip, MOST),
            each.wanted,
            f"{each.tip_load}; what comes first is {each.first}",
            f"{joint.joint.name}, {each.name}",
            (each.path,),
        )
        for each in known(joint.result.factors)
    ]
    return rows + uncounted(evaluation, joint)


def engagement_row(joint: StackJoint, preload: Preload) -> Row:
    """Thread engaged, against none; a stud that does not reach fails."""
    fastener = preload.fastener
    engaged = stated(fastener.engaged, fastener.key("engagement"))
    size = fastener.thread.nominal if fastener.thread is not None else Metre(0.012)
    why = "thread engaged" if engaged > 0.0 else "it does not reach what it should screw into"
    return Measured(engaged, 0.0, why, subject(joint, preload), (fastener.path,), scale=size)


def stress_row(joint: StackJoint, preload: Preload) -> Row:
    """Stress while tightening at the greatest preload."""
    stress = known(preload.stress)
    why = (
        f"tension {show_both(stress.tension, 'pressure')} with torsion"
        f" {show_both(stress.torsion, 'pressure')}"
        " at the least friction"
    )
    return Measured(
        stress.equivalent, stress.allowed, why, subject(joint, preload), (preload.fastener.key("torque"),)
    )


def working_row(joint: StackJoint, preload: Preload) -> Row:
    """Tension of the greatest preload with the worst load on top, against yield."""
    force = _greatest_force(joint, preload)
    thread = stated(preload.fastener.thread, preload.fastener.key("thread"))
    tension = bolting.axial_stress(Newton(force), thread.stress_area)
    limit = known(preload.breaking) / thread.stress_area
    return Measured(tension, limit, "greatest preload and the worst load", subject(joint, preload))


def change_row(joint: StackJoint, preload: Preload) -> Row:
    """Amplitude of the stud's own stress from the loads, against the endurance of a rolled thread."""
    change = next(each for each in known(joint.result.changes) if each.name == preload.fastener.name)
    _balanced(joint, change.greatest, change.load)
    thread = stated(preload.fastener.thread, preload.fastener.key("thread"))
    try:
        limit = bolting.endurance_amplitude(thread.nominal)
    except ValueError as outside:
        raise NotStated(reason=str(outside)) from None
    amplitude = 0.5 * (change.greatest - change.least) / thread.stress_area
    why = f"force changes by {show_both(change.greatest, 'force')}: {change.load or 'no load'}"
    return Measured(amplitude, limit, why, subject(joint, preload))


def strip_rows(evaluation: Any, joint: StackJoint, preload: Preload) -> list[Row]:
    """Strength of the tapped and of the stud's thread over the greatest force."""
    force = _greatest_force(joint, preload)
    if force <= 0.0:
        return []
    wanted = _strength(evaluation)
    fastener = preload.fastener
    rows: list[Row] = []
    for what, capacity in (("tapped thread", preload.strip_pallet), ("its own thread", preload.strip_stud)):
        name = f"{subject(joint, preload)}, {what}"
        try:
            strip = known(capacity)
        except NotStated as gap:
            rows.append(opened(gap, name))
            continue
        why = f"strips at {show_both(strip, 'force')}, pulled by {show_both(force, 'force')}"
        rows.append(Measured(strip / force, wanted, why, name, (fastener.key("engagement"),)))
    return rows


def washer_row(joint: StackJoint, preload: Preload) -> Row:
    """Pressure under the washer or head, against what the seat bears."""
    fastener = preload.fastener
    limit = stated(fastener.seat_limit, fastener.seat_path)
    return Measured(
        known(preload.washer),
        limit,
        "at the greatest preload",
        subject(joint, preload),
        (fastener.key("washer" if fastener.nut else "torque"),),
    )


def pin_rows(evaluation: Any, joint: StackJoint, what: str) -> list[Row]:
    """Shear or bearing of each pin once friction is beaten, against its strength."""
    wanted = _strength(evaluation)
    rows: list[Row] = []
    for pin in known(joint.result.pin_loads):
        name = f"{joint.joint.name}, {pin.dowel.name}"
        why = f"carries {show_both(pin.force, 'force')} once friction is beaten: {pin.load}"
        if what == "shear":
            limit = pin.dowel.shear_strength
            if limit is None:
                key = f"{pin.dowel.path}.shear_strength"
                rows.append(Open(f"not stated: {key}", name, (key,)))
            else:
                rows.append(Measured(pin.shear, limit / wanted, why, name, (pin.dowel.path,)))
            continue
        above, below = joint.joint.hole_paths
        for side, pressure, bearing, wall in (
            ("above", pin.bearing_above, pin.dowel.bearing_above, above),
            ("below", pin.bearing_below, pin.dowel.bearing_below, below),
        ):
            key = f"{pin.dowel.path}.length_{side}"
            if pressure is None:
                rows.append(Open(f"not stated: {key}", f"{name}, {side}", (key,)))
            elif bearing is None:
                rows.append(Open(f"not stated: {wall}", f"{name}, {side}", (wall,)))
            else:
                rows.append(Measured(pressure, bearing / wanted, why, f"{name}, {side}", (pin.dowel.path,)))
    return rows


def shift_row(evaluation: Any, joint: StackJoint) -> Row | None:
    """Movement at the farthest cut before the pins take over, against what may move."""
    if not joint.joint.dowels:
        return None
    shift = known(joint.result.shift)
    limit = evaluation.hold.pin_shift if evaluation.hold.pin_shift is not None else joint.tolerance
    why = (
        f"half the play is {show_both(shift.centred, 'length')},"
        f" wall to wall {show_both(shift.whole, 'length')},"
        f" turn {show_both(shift.turn, 'angle')}"
    )
    return Measured(
        shift.at_place,
        stated(limit, "limits.pin_shift"),
        why,
        joint.joint.name,
        (joint.joint.dowels_path,),
    )


def location_row(joint: StackJoint) -> Row:
    """Freedoms that pins or keys take away, of the three in the plane."""
    location = joint.result.location
    why = (
        "nothing but friction locates it"
        if location.fixed == 0
        else "pins or keys fix its place"
        if location.fixed == 3
        else "pins leave it a freedom that only friction holds"
    )
    return Measured(float(location.fixed), 3.0, why, joint.joint.name, (joint.joint.dowels_path,))


def constraint_row(joint: StackJoint) -> Row | None:
    """Directions located twice."""
    if not joint.joint.dowels:
        return None
    location = joint.result.location
    why = (
        f"{', '.join(location.redundant_names)} locates again what is located: use a relieved pin"
        if location.redundant
        else "no direction is located twice"
    )
    return Measured(
        float(location.redundant), 0.0, why, joint.joint.name, (joint.joint.dowels_path,), scale=1.0
    )


def loss_row(joint: StackJoint, preload: Preload) -> Row:
    """Share of the least preload that embedding and creep take."""
    least = known(preload.assembled).least
    if least <= 0.0:
        raise NotStated(reason=f"{preload.fastener.name} clamps nothing")
    embedding, creep = known(preload.embedding_loss), known(preload.creep_loss)
    why = f"embedding {show_both(embedding, 'force')}, creep up to {show_both(creep[1], 'force')} over months"
    return Measured(
        (embedding + creep[1]) / least, practice("preload loss").likely, why, subject(joint, preload)
    )


def temperature_row(joint: StackJoint, preload: Preload) -> Row:
    """Share of the least preload that the temperature range takes or adds."""
    least = known(preload.assembled).least
    if least <= 0.0:
        raise NotStated(reason=f"{preload.fastener.name} clamps nothing")
    low, high = known(preload.thermal)
    why = f"from {show_both(low, 'force')} to {show_both(high, 'force')} over the shop's temperature range"
    limit = practice("preload change with temperature").likely
    return Measured(max(-low, high) / least, limit, why, subject(joint, preload))


def loose_rows(joint: StackJoint) -> list[Row]:
    """Slip factor with one stud slack, against 1."""
    return [
        Measured(
            min(each.slip, MOST),
            1.0,
            f"{each.load}; first lift at {min(each.lift, MOST):.3g} times the load",
            f"{joint.joint.name}, {each.name} loose",
        )
        for each in known(joint.result.loose)
    ]


def uneven_rows(joint: StackJoint) -> list[Row]:
    """Slip factor on a surface out of flat, against 1."""
    return [
        Measured(min(each.slip, MOST), 1.0, each.load, f"{joint.joint.name}, {each.kind}")
        for each in known(joint.result.uneven)
    ]


def spread_row(joint: StackJoint) -> Row | None:
    """How far the studs stand from one line."""
    if len(joint.joint.fasteners) < 3:
        return None  # one or two always stand on a line; lift and slip say what that costs
    spread = known(joint.result.stud_spread)
    why = "the studs stand on one line" if spread < 1e-6 else "their spread across their best line"
    return Measured(spread, practice("stud spread").low, why, joint.joint.name, (joint.joint.fasteners_path,))


def _strength(evaluation: Any) -> float:
    stated_factor = evaluation.limits.strength
    return float(practice("strength factor").likely if stated_factor is None else stated_factor)


def _greatest_force(joint: StackJoint, preload: Preload) -> float:
    """Greatest working preload with what the loads add; the preload alone where loads are unknown."""
    greatest = known(preload.working).greatest
    changes = joint.result.changes
    if not isinstance(changes, tuple):
        return greatest
    added = next(each for each in changes if each.name == preload.fastener.name)
    _balanced(joint, added.greatest, added.load)
    return greatest + added.greatest


def _balanced(joint: StackJoint, change: float, load: str) -> None:
    """Raise `NotStated` where a load tips the joint, so that no force of a fastener balances it."""
    if not isfinite(change):
        reason = f"under {load or 'its load'} the joint tips, and no force of this fastener balances it"
        raise NotStated(joint.joint.fasteners_path, reason=reason)
