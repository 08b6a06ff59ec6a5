"""Holes: drilling into solid, opening out, reaming, boring and tapping."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np

from orthostat.analyses.loads.inputs import CutInput, Practice, Span
from orthostat.analyses.loads.result import Action, CutForces, Revolution
from orthostat.analyses.loads.stating import (
    feed_per_turn,
    kc_constants,
    rake_correction,
    speed_of,
    wear_span,
)
from orthostat.base.dimensions import (
    CubicMetrePerSecond,
    Metre,
    MetrePerSecond,
    Newton,
    NewtonMetre,
    Pascal,
    Ratio,
)
from orthostat.base.findings import NotStated, stated
from orthostat.formulas.cutting import (
    breakthrough_pull,
    core_drilling_thrust,
    core_drilling_torque,
    drilling_thickness,
    drilling_thrust,
    drilling_torque,
    specific_cutting_force,
    tapping_thickness,
    tapping_torque,
    turning_force,
)
from orthostat.model.tools import CutterKind, Tool

_DRILLS = frozenset({CutterKind.DRILL, CutterKind.CORE_DRILL, CutterKind.REAMER})


def drilling_forces(given: CutInput, tool: Tool, practice: Practice) -> CutForces:
    """A drill into solid, or a drill, core drill or reamer that opens out a hole.

    Raises:
        NotStated: feed, material, point angle or (for a core drill or reamer) the hole before it
            is missing, or the tool is no drill.
    """
    cut = given.cut
    if tool.kind not in _DRILLS:
        raise NotStated(f"{cut.path}.tool", reason=f"{tool.name} is no drill, core drill or reamer")
    kc11, mc = kc_constants(cut)
    speed, speed_missing = speed_of(cut, tool)
    feed = feed_per_turn(cut, tool.teeth, speed, tool)
    point = stated(tool.point_angle, f"{tool.path}.point_angle")
    lips = stated(tool.teeth, f"{tool.path}.teeth")
    start = cut.start_diameter
    if start is None and tool.kind is not CutterKind.DRILL:
        raise NotStated(f"{cut.path}.start_diameter")
    thickness = drilling_thickness(feed_per_turn=feed, point_angle=point, lips=lips)
    factor = rake_correction(given, tool, practice) * (tool.wear_factor or 1.0)
    kc = Pascal(specific_cutting_force(kc11, mc, thickness=thickness) * factor)
    diameter = Metre(tool.diameter)
    if start:
        torque = core_drilling_torque(kc, feed_per_turn=feed, diameter=diameter, start_diameter=start)
        thrust = core_drilling_thrust(
            kc,
            practice.drilling_thrust,
            feed_per_turn=feed,
            diameter=diameter,
            start_diameter=start,
            point_angle=point,
        )
    else:
        torque = drilling_torque(kc, feed_per_turn=feed, diameter=diameter)
        thrust = drilling_thrust(
            kc, practice.drilling_thrust, feed_per_turn=feed, diameter=diameter, point_angle=point
        )
    span, notes = practice.drilling, []
    actions = [
        _axial("drilling", -thrust * span.high, torque * span.high),
        _axial("drilling, thrust low", -thrust * span.low, torque * span.high),
    ]
    pull = None
    if cut.through and tool.helix_angle is not None:
        pull = breakthrough_pull(torque, diameter=diameter, helix_angle=tool.helix_angle)
        actions.append(_axial("breaking through", pull * span.high, torque * span.high))
    elif cut.through:
        notes.append(f"pull at breakthrough is unknown: {tool.path}.helix_angle is not stated")
    rate = None if speed is None else MetrePerSecond(feed * speed / (2.0 * pi))
    area = 0.25 * pi * (diameter**2 - (start or 0.0) ** 2)
    return CutForces(
        kind="drilling",
        speed=speed,
        speed_missing=speed_missing,
        feed_rate=rate,
        thickness=thickness,
        specific_force=kc,
        removal_rate=None if rate is None else CubicMetrePerSecond(area * rate),
        torque_mean=torque,
        torque_peak=torque,
        thrust=thrust,
        radial_peak=Newton(0.0),
        pull=pull,
        span=span,
        revolutions=(_steady("drilling", torque, -thrust),),
        actions=tuple(actions),
        notes=tuple(notes),
    )


def boring_forces(given: CutInput, tool: Tool, practice: Practice) -> CutForces:
    """A single edge that turns: tangential, radial and feed force, sweeping round with the spindle.

    Raises:
        NotStated: feed, material, entering angle or the hole before it is missing, or the tool is
            no boring bar.
    """
    cut = given.cut
    if tool.kind is CutterKind.REAMER:
        return drilling_forces(given, tool, practice)
    if tool.kind is not CutterKind.BORING_BAR:
        raise NotStated(f"{cut.path}.tool", reason=f"{tool.name} is no boring bar or reamer")
    kc11, mc = kc_constants(cut)
    speed, speed_missing = speed_of(cut, tool)
    edges = tool.teeth or 1
    feed = feed_per_turn(cut, edges, speed, tool)
    entering = stated(tool.entering_angle, f"{tool.path}.entering_angle")
    start = stated(cut.start_diameter, f"{cut.path}.start_diameter")
    depth = Metre(0.5 * (tool.diameter - start))
    if depth <= 0.0:
        raise NotStated(
            f"{cut.path}.start_diameter", reason="the hole is no smaller than the boring bar cuts"
        )
    thickness = Metre(feed / edges * sin(entering))
    wear = wear_span(tool, practice)
    kc = Pascal(
        specific_cutting_force(kc11, mc, thickness=thickness)
        * rake_correction(given, tool, practice)
        * wear.likely
    )
    tangential = turning_force(kc, depth=depth, feed_per_turn=Metre(feed / edges))
    arm = 0.25 * (tool.diameter + start)
    torque = NewtonMetre(tangential * arm * edges)
    feed_force = Newton(tangential * practice.boring_feed.likely * edges)
    # With several edges the radial forces balance only while all cut alike; one edge alone is the worst.
    high = wear.high / wear.likely
    t = tangential * high
    r = t * practice.boring_radial.high
    push = t * practice.boring_feed.high * edges
    actions = tuple(
        Action(
            f"boring, edge at {round(np.degrees(a))}°",
            (t * cos(a) + r * sin(a), r * cos(a) - t * sin(a), -push),
            (0.0, 0.0, -torque * high),
            turns=False,
        )
        for a in np.arange(8) * (pi / 4)
    )
    angle = np.linspace(0.0, 2.0 * pi, 72, endpoint=False)
    radial = tangential * practice.boring_radial.likely
    force = np.stack(
        [
            tangential * np.cos(angle) + radial * np.sin(angle),
            radial * np.cos(angle) - tangential * np.sin(angle),
            np.full_like(angle, -feed_force),
        ],
        axis=1,
    )
    rate = None if speed is None else MetrePerSecond(feed * speed / (2.0 * pi))
    return CutForces(
        kind="boring",
        speed=speed,
        speed_missing=speed_missing,
        feed_rate=rate,
        thickness=thickness,
        specific_force=kc,
        removal_rate=None
        if rate is None
        else CubicMetrePerSecond(0.25 * pi * (tool.diameter**2 - start**2) * rate),
        torque_mean=torque,
        torque_peak=torque,
        thrust=feed_force,
        radial_peak=Newton(float(np.hypot(tangential, radial))),
        pull=None,
        span=Span(Ratio(wear.low / wear.likely), Ratio(1.0), Ratio(high)),
        revolutions=(Revolution("boring", angle, force, np.full_like(angle, torque)),),
        actions=actions,
        notes=(),
    )


def tapping_forces(given: CutInput, tool: Tool, practice: Practice) -> CutForces:
    """A cutting tap: torque both ways; rigid tapping, so no thrust beyond the pitch error's.

    Raises:
        NotStated: material, flutes or the thread's pitch is missing, or the tool is no tap.
    """
    cut = given.cut
    if tool.kind is not CutterKind.TAP:
        raise NotStated(f"{cut.path}.tool", reason=f"{tool.name} is no tap")
    kc11, mc = kc_constants(cut)
    pitch = stated(given.pitch, f"{tool.path}.thread")
    flutes = stated(tool.teeth, f"{tool.path}.teeth")
    speed, speed_missing = speed_of(cut, tool)
    factor = rake_correction(given, tool, practice) * (tool.wear_factor or 1.0)

    def torque_of(threads: Ratio) -> tuple[Metre, Pascal, NewtonMetre]:
        thickness = tapping_thickness(pitch=pitch, chamfer_threads=threads, flutes=flutes)
        kc = Pascal(specific_cutting_force(kc11, mc, thickness=thickness) * factor)
        return thickness, kc, tapping_torque(kc, pitch=pitch, diameter=Metre(tool.diameter))

    thickness, kc, torque = torque_of(practice.chamfer_threads.likely)
    low = min(torque_of(end)[2] for end in (practice.chamfer_threads.low, practice.chamfer_threads.high))
    most = max(torque_of(end)[2] for end in (practice.chamfer_threads.low, practice.chamfer_threads.high))
    span = Span(
        Ratio(practice.tapping.low * low / torque), Ratio(1.0), Ratio(practice.tapping.high * most / torque)
    )
    rate = None if speed is None else MetrePerSecond(pitch * speed / (2.0 * pi))
    return CutForces(
        kind="tapping",
        speed=speed,
        speed_missing=speed_missing,
        feed_rate=rate,
        thickness=thickness,
        specific_force=kc,
        removal_rate=None,
        torque_mean=torque,
        torque_peak=torque,
        thrust=Newton(0.0),
        radial_peak=Newton(0.0),
        pull=None,
        span=span,
        revolutions=(_steady("tapping", torque, Newton(0.0)),),
        actions=(
            _axial("tapping in", 0.0, torque * span.high),
            _axial("backing out", 0.0, -torque * span.high),
        ),
        notes=("rigid tapping: no thrust is counted beyond the torque",),
    )


def _axial(label: str, outward: float, torque: float) -> Action:
    """A force along the spindle and the torque of a right-hand tool, which turns the work clockwise."""
    return Action(label, (0.0, 0.0, outward), (0.0, 0.0, -torque), turns=False)


def _steady(label: str, torque: float, outward: float) -> Revolution:
    angle = np.array([0.0, 2.0 * pi])
    force = np.array([[0.0, 0.0, outward]] * 2)
    return Revolution(label, angle, force, np.array([torque, torque]))
