"""Milling, tooth by tooth: forces on the work over one revolution for each way the cutter may engage.

Angles run from the normal to the feed in the sense of the cutter (clockwise seen from the spindle).
A tooth pushes the work along its own motion (tangential), away from the cutter's axis and, for an
entering angle under 90°, away from the spindle; a helix pulls it toward the spindle.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import acos, asin, cos, pi, sin, tan

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.loads.inputs import CutInput, Practice, Span
from orthostat.analyses.loads.result import Action, CutForces, Revolution
from orthostat.analyses.loads.stating import (
    feed_per_tooth,
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
    Radian,
    Ratio,
)
from orthostat.base.findings import NotStated, stated
from orthostat.formulas.cutting import (
    UNIT_THICKNESS,
    chip_width,
    edge_normal_split,
    milling_chip_thickness,
    removal_rate_milling,
    specific_cutting_force,
)
from orthostat.model.tools import CutterKind, Tool

Array = NDArray[np.float64]

STEPS = 60
"""Positions of the cutter over one tooth pitch."""


@dataclass(frozen=True, slots=True)
class Engagement:
    """One way the cutter may meet the work: name, entry and exit angle."""

    name: str
    entry: Radian
    leave: Radian


@dataclass(frozen=True, slots=True)
class Milled:
    """What the tooth-by-tooth sum needs: chip width, feed per tooth, entering angle, kc constants."""

    width: Metre
    feed_per_tooth: Metre
    entering_angle: Radian
    kc11: Pascal
    mc: Ratio
    edge_normal: Ratio
    """Force normal to the edge over the tangential force."""
    axial_pull: Ratio
    """Pull toward the spindle over the tangential force (helix)."""
    teeth: int
    radius: Metre


def engagements(kind: str, *, width: Metre, diameter: Metre) -> tuple[Engagement, ...]:
    """Climb and conventional, and centred for a face cut; one when the width is the diameter."""
    share = width / diameter
    if share >= 1.0 - 1e-9:
        return (Engagement("full width", Radian(0.0), Radian(pi)),)
    arc = acos(1.0 - 2.0 * share)
    found = (
        Engagement("conventional", Radian(0.0), Radian(arc)),
        Engagement("climb", Radian(pi - arc), Radian(pi)),
    )
    if kind != "face":
        return found
    half = asin(share)
    return (*found, Engagement("centred", Radian(0.5 * pi - half), Radian(0.5 * pi + half)))


def over_a_pitch(milled: Milled, engaged: Engagement, steps: int = STEPS) -> tuple[Array, Array, Array]:
    """Sums over all teeth: angle (steps,), force (steps, 3) along feed, across, outward [N] and
    moment (steps, 3) about the tool's point [N·m], over one tooth pitch.
    """
    pitch = 2.0 * pi / milled.teeth
    turn: Array = (np.arange(steps, dtype=np.float64) + 0.5) * (pitch / steps)
    angle = (turn[:, None] + pitch * np.arange(milled.teeth)) % (2.0 * pi)
    cutting = (angle > engaged.entry) & (angle < engaged.leave)
    # The formula of `milling_chip_thickness` and `specific_cutting_force`, for arrays; a test compares.
    thickness = np.where(
        cutting, milled.feed_per_tooth * np.sin(angle) * sin(milled.entering_angle), 0.0
    ).clip(min=0.0)
    tangential = milled.kc11 * milled.width * UNIT_THICKNESS**milled.mc * thickness ** (1.0 - milled.mc)
    outward, inward = edge_normal_split(Newton(milled.edge_normal), milled.entering_angle)
    radial, axial = outward * tangential, (milled.axial_pull - inward) * tangential
    s, c = np.sin(angle), np.cos(angle)
    force: Array = np.stack(
        [
            (tangential * c + radial * s).sum(axis=1),
            (radial * c - tangential * s).sum(axis=1),
            axial.sum(axis=1),
        ],
        axis=1,
    )
    moment: Array = milled.radius * np.stack(
        [(axial * c).sum(axis=1), -(axial * s).sum(axis=1), -tangential.sum(axis=1)], axis=1
    )
    return turn, force, moment


def milling_forces(given: CutInput, tool: Tool, practice: Practice) -> CutForces:
    """Forces of a milling cut.

    Raises:
        NotStated: feed, width, teeth, entering angle or material is missing, or the cut is wider
            than the cutter.
    """
    cut = given.cut
    kc11, mc = kc_constants(cut)
    teeth = stated(tool.teeth, f"{tool.path}.teeth")
    entering = _entering_angle(tool)
    speed, speed_missing = speed_of(cut, tool)
    feed = feed_per_tooth(cut, teeth, speed)
    width = Metre(tool.diameter) if cut.kind == "slot" else stated(cut.width, f"{cut.path}.width")
    if width > tool.diameter * (1.0 + 1e-9):
        raise NotStated(
            f"{cut.path}.width", reason=f"the cut is wider than the cutter {tool.name}; divide it into passes"
        )
    notes: list[str] = []
    if cut.pass_depth is None:
        notes.append("depth of a pass not stated: the whole depth is taken in one")
    depth = cut.pass_depth if cut.pass_depth is not None else Metre(cut.top - cut.bottom)
    wear = wear_span(tool, practice)
    rake = rake_correction(given, tool, practice)
    base = Milled(
        width=chip_width(depth=depth, entering_angle=entering),
        feed_per_tooth=feed,
        entering_angle=entering,
        kc11=Pascal(kc11 * rake * wear.likely),
        mc=mc,
        edge_normal=practice.edge_normal.likely,
        axial_pull=Ratio(0.0),
        teeth=teeth,
        radius=Metre(0.5 * tool.diameter),
    )
    ways = engagements(cut.kind, width=width, diameter=tool.diameter)
    revolutions = tuple(_revolution(base, way) for way in ways)
    actions = tuple(
        action
        for way in ways
        for action in _actions(_worst(base, wear, practice), way, tool.helix_angle, cut.feed_direction)
    )
    thickest = max(_thickest(feed, way, entering) for way in ways)
    if not 5e-5 <= thickest <= 2.5e-3:
        notes.append("the thickest chip is outside 0.05–2.5 mm, where the constants were measured")
    mean_torque = max(float(turn.torque.mean()) for turn in revolutions)
    rate = None if speed is None else MetrePerSecond(feed * teeth * speed / (2.0 * pi))
    return CutForces(
        kind="milling",
        speed=speed,
        speed_missing=speed_missing,
        feed_rate=rate,
        thickness=thickest,
        specific_force=specific_cutting_force(base.kc11, mc, thickness=thickest),
        removal_rate=None
        if rate is None
        else CubicMetrePerSecond(removal_rate_milling(depth=depth, width=width, feed_rate=rate)),
        torque_mean=NewtonMetre(mean_torque),
        torque_peak=NewtonMetre(max(float(turn.torque.max()) for turn in revolutions)),
        thrust=Newton(-max((float(turn.force[:, 2].mean()) for turn in revolutions), key=abs)),
        radial_peak=Newton(
            max(float(np.hypot(turn.force[:, 0], turn.force[:, 1]).max()) for turn in revolutions)
        ),
        pull=None,
        span=Span(Ratio(wear.low / wear.likely), Ratio(1.0), Ratio(wear.high / wear.likely)),
        revolutions=revolutions,
        actions=actions,
        notes=tuple(notes),
    )


def _entering_angle(tool: Tool) -> Radian:
    if tool.entering_angle is not None:
        return tool.entering_angle
    if tool.kind is not CutterKind.FACE_MILL and abs(tool.largest_radius - tool.flat_radius) < 1e-9:
        return Radian(0.5 * pi)  # one radius for the flat and the widest part: a square cutter
    raise NotStated(f"{tool.path}.entering_angle")


def _thickest(feed: Metre, way: Engagement, entering: Radian) -> Metre:
    nearest = min(max(0.5 * pi, way.entry), way.leave)
    return milling_chip_thickness(
        feed_per_tooth=feed, engagement_angle=Radian(nearest), entering_angle=entering
    )


def _worst(base: Milled, wear: Span, practice: Practice) -> Milled:
    return replace(
        base, kc11=Pascal(base.kc11 * wear.high / wear.likely), edge_normal=practice.edge_normal.high
    )


def _revolution(milled: Milled, way: Engagement) -> Revolution:
    turn, force, moment = over_a_pitch(milled, way)
    pitch = 2.0 * pi / milled.teeth
    angle = np.concatenate([turn + pitch * k for k in range(milled.teeth)])
    made = Revolution(
        way.name, angle, np.tile(force, (milled.teeth, 1)), -np.tile(moment[:, 2], milled.teeth)
    )
    for rows in (made.angle, made.force, made.torque):
        rows.setflags(write=False)
    return made


def _actions(
    milled: Milled, way: Engagement, helix: Radian | None, feed_direction: Radian | None
) -> list[Action]:
    """The positions of the cutter that push hardest, with and without the pull of a helix."""
    pulls = [Ratio(0.0)] if not helix else [Ratio(0.0), Ratio(tan(helix))]
    found: list[Action] = []
    for pull in pulls:
        _, force, moment = over_a_pitch(replace(milled, axial_pull=pull), way)
        across = np.hypot(force[:, 0], force[:, 1])
        label = way.name + (", helix pulling" if pull else "")
        if feed_direction is None:
            chosen = sorted({int(across.argmax()), int(np.abs(force[:, 2]).argmax())})
        else:
            chosen = list(range(0, len(force), 5))
        for k in chosen:
            f, m = force[k], moment[k]
            if feed_direction is not None:
                f, m = _in_face(f, feed_direction), _in_face(m, feed_direction)
            found.append(
                Action(
                    label,
                    (float(f[0]), float(f[1]), float(f[2])),
                    (float(m[0]), float(m[1]), float(m[2])),
                    turns=feed_direction is None,
                )
            )
    return found


def _in_face(vector: Array, feed_direction: Radian) -> Array:
    """From (along feed, across, outward) to (u, v, w)."""
    c, s = cos(feed_direction), sin(feed_direction)
    return np.array([c * vector[0] - s * vector[1], s * vector[0] + c * vector[1], vector[2]])
