"""Machines, platforms and tools from the shop, in SI."""

from __future__ import annotations

from typing import Any

from orthostat.base.dimensions import Metre, Radian
from orthostat.document import shop as documents
from orthostat.document.parts import Platform as PlatformDocument
from orthostat.document.parts import PlatformHole, Range
from orthostat.document.reading import KeyPath, key_text
from orthostat.meaning.faults import Faults
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names, known_thread
from orthostat.meaning.plan import outline_polygon
from orthostat.meaning.values import ends, places, si
from orthostat.model.bodies import Polygon
from orthostat.model.machine import (
    HeadBox,
    HeadCylinder,
    Machine,
    Magazine,
    PalletHole,
    Platform,
    SpindlePoint,
)
from orthostat.model.tools import CutterKind, Step, Tool

_HOLE_MAKING = {"drill", "core drill", "reamer", "boring bar", "tap", "probe"}


def machine_of(name: str, stated: documents.Machine, faults: Faults) -> Machine:
    """A machine of the shop; ranges the wrong way round are noted as faults."""
    path: KeyPath = ("machines", name)
    x_low, x_high = ends(stated.x)
    _in_order(stated.x, (*path, "x"), faults)
    y_low, y_high = _range(stated.spindle_height, stated.y, (*path, "spindle_height"), "y", faults)
    near, far = _range(stated.nose_to_b, stated.z, (*path, "nose_to_b"), "z", faults)
    _check_curve(stated, path, faults)
    plain: dict[str, Any] = {
        key: si(getattr(stated, key))
        for key in (
            "b_acceleration",
            "b_torque",
            "axis_acceleration",
            "stop_acceleration",
            "clamp_force",
            "clamp_moment",
            "table_stiffness",
            "table_tilt_stiffness",
            "table_turn_stiffness",
            "table_loss_factor",
            "spindle_efficiency",
            "spindle_speed_limit",
            "pallet_change_time",
            "tool_change_time",
            "b_step",
        )
    }
    return Machine(
        name=name,
        path=key_text(path),
        x_low=x_low,
        x_high=x_high,
        y_low=y_low,
        y_high=y_high,
        nose_near=near,
        nose_far=far,
        swing_diameter=si(stated.swing),
        height_limit=si(stated.height),
        load_limit=si(stated.load),
        load_includes_pallet=stated.load_includes_pallet,
        inertia_limit=si(stated.inertia),
        eccentric_limit=si(stated.eccentric_moment),
        changer_envelope=_changer(stated, path, faults),
        changer_b=_changer_b(stated),
        changer_height=si(stated.changer.height) if stated.changer else None,
        door_width=si(stated.door.width) if stated.door else None,
        door_height=si(stated.door.height) if stated.door else None,
        b_positive_clockwise=stated.b_positive == "clockwise",
        pallet_moves=stated.pallet_moves,
        spindle_curve=tuple(
            SpindlePoint(point.speed.si, si(point.torque), si(point.power))
            for point in stated.spindle_curve or ()
        ),
        head_cylinders=_cylinders(stated, path, faults),
        head_boxes=_boxes(stated, path, faults),
        head_stated=stated.head_cylinders is not None or stated.head_boxes is not None,
        magazine=_magazine(stated.magazine),
        **plain,
    )


def _check_curve(stated: documents.Machine, path: KeyPath, faults: Faults) -> None:
    points = stated.spindle_curve or ()
    for index, point in enumerate(points):
        where = (*path, "spindle_curve", index)
        if point.torque is None and point.power is None:
            faults.add(where, "gives neither torque nor power")
        if index and point.speed.si <= points[index - 1].speed.si:
            read, before = point.speed.text, points[index - 1].speed.text
            allowed = f"more than `{before}`"
            faults.add((*where, "speed"), "must rise from point to point", f"`{read}`", allowed)


@kept(64)
def platform_of(name: str, stated: PlatformDocument, path: KeyPath, names: Names) -> Platform:
    """A pallet, base or riser with its holes."""
    outline, radius = outline_polygon(stated, path, names.faults)
    holes: list[PalletHole] = []
    for index, hole in enumerate(stated.holes or ()):
        holes += _holes(hole, (*path, "holes", index), names)
    return Platform(
        name,
        names.at(*path),
        outline,
        None if radius is None else Metre(radius),
        si(stated.thickness),
        names.material(stated.material, (*path, "material")),
        si(stated.mass),
        tuple(holes),
        stated.holes is not None,
    )


def tool_of(name: str, stated: documents.Tool, faults: Faults) -> Tool:
    """A tool assembly; steps that overlap, leave a gap or pass the gauge line are noted as faults."""
    path: KeyPath = ("tools", name)
    flat = 0.5 * stated.diameter.si
    largest = 0.5 * stated.largest_diameter.si if stated.largest_diameter else flat
    if largest < flat:
        faults.add((*path, "largest_diameter"), "is smaller than the diameter that cuts flat")
    steps = [Step(Metre(largest), Metre(0.0), Metre(stated.cutting_length.si), cuts=True)]
    for index, step in enumerate(stated.steps or ()):
        made = _step(step, float(steps[-1].end), (*path, "steps", index), faults)
        if made is not None:
            steps.append(made)
    _check_gauge(stated, float(steps[-1].end), path, faults)
    if stated.kind in ("tap", "thread mill") and stated.thread is None:
        faults.add((*path, "thread"), f"is missing; a {stated.kind} cuts one thread")
    if stated.thread is not None:
        known_thread(stated.thread, (*path, "thread"), faults)
    mode = stated.mode
    return Tool(
        name=name,
        path=key_text(path),
        kind=CutterKind(stated.kind),
        steps=tuple(steps),
        gauge_length=si(stated.gauge_length),
        flat_radius=Metre(flat),
        largest_radius=Metre(largest),
        cutting_length=Metre(stated.cutting_length.si),
        teeth=stated.teeth,
        entering_angle=si(stated.entering_angle),
        point_angle=si(stated.point_angle),
        helix_angle=si(stated.helix_angle),
        rake_angle=si(stated.rake_angle),
        plunges=stated.kind in _HOLE_MAKING if stated.plunges is None else stated.plunges,
        mass=si(stated.mass),
        number=stated.number,
        thread=stated.thread,
        wear_factor=si(stated.wear_factor),
        mode_frequency=mode.frequency.si if mode else None,
        mode_stiffness=mode.stiffness.si if mode else None,
        mode_damping=mode.damping.si if mode else None,
        holder_stated=stated.steps is not None,
    )


def _step(step: documents.Step, before: float, path: KeyPath, faults: Faults) -> Step | None:
    start = step.start.si if step.start else before
    if step.end is not None and step.length is not None:
        faults.add(path, "gives both length and end; keep one")
    end = step.end.si if step.end else start + step.length.si if step.length else None
    if end is None:
        faults.add(path, "has no length; give length or end")
        return None
    if end <= start:
        faults.add(path, "ends before it starts")
        return None
    if start < before - 1e-6:
        faults.add(path, f"overlaps the step before it, which ends {before * 1e3:.6g} mm from the tip")
    elif start > before + 1e-6:
        faults.add(
            path, f"leaves a gap behind the step before it, which ends {before * 1e3:.6g} mm from the tip"
        )
    return Step(Metre(0.5 * step.diameter.si), Metre(start), Metre(end))


def _check_gauge(stated: documents.Tool, end: float, path: KeyPath, faults: Faults) -> None:
    if stated.gauge_length is None:
        return
    gauge = stated.gauge_length.si
    if gauge < end - 1e-6:
        faults.add(
            (*path, "gauge_length"),
            f"is shorter than the tool's steps, which end {end * 1e3:.6g} mm from the tip",
            f"`{stated.gauge_length.text}`",
        )
    elif stated.steps is not None and gauge > end + 1e-6:
        faults.add(
            (*path, "steps"),
            f"end {end * 1e3:.6g} mm from the tip and leave a gap before the gauge line",
            f"gauge_length `{stated.gauge_length.text}`",
        )


def _range(
    span: Range | None, travel: Any, path: KeyPath, travel_key: str, faults: Faults
) -> tuple[Metre | None, Metre | None]:
    if span is None:
        return None, None
    if len(span) == 2:
        _in_order(span, path, faults)
        low, high = span[0].si, span[1].si
        if travel is not None and abs(high - low - travel.si) > 1e-4:
            faults.add(
                path,
                f"spans {1e3 * (high - low):.6g} mm, which is not the stated {travel_key} travel",
                allowed=f"{travel_key} = `{travel.text}`",
            )
        return low, high
    return span[0].si, None if travel is None else span[0].si + travel.si


def _in_order(span: Range | None, path: KeyPath, faults: Faults) -> None:
    if span is not None and len(span) == 2 and span[0].si >= span[1].si:
        faults.add(
            path, "is the wrong way round; write the lower end first", f"[{span[0].text}, {span[1].text}]"
        )


def _changer(stated: documents.Machine, path: KeyPath, faults: Faults) -> Polygon | None:
    if stated.changer is None:
        return None
    outline, radius = outline_polygon(stated.changer, (*path, "changer"), faults)
    if radius is not None:
        faults.add(
            (*path, "changer", "diameter"), "a round envelope is the swing; give width and depth, or points"
        )
    return outline


def _changer_b(stated: documents.Machine) -> tuple[Radian, ...] | None:
    if stated.changer is None or stated.changer.b is None:
        return None
    sense = 1.0 if stated.b_positive == "clockwise" else -1.0
    return tuple(Radian(sense * angle.si) for angle in stated.changer.b)


def _cylinders(stated: documents.Machine, path: KeyPath, faults: Faults) -> tuple[HeadCylinder, ...]:
    made = []
    for index, shape in enumerate(stated.head_cylinders or ()):
        if shape.end.si <= shape.start.si:
            faults.add((*path, "head_cylinders", index), "ends before it starts")
        made.append(HeadCylinder(Metre(0.5 * shape.diameter.si), Metre(shape.start.si), Metre(shape.end.si)))
    return tuple(made)


def _boxes(stated: documents.Machine, path: KeyPath, faults: Faults) -> tuple[HeadBox, ...]:
    made = []
    for index, box in enumerate(stated.head_boxes or ()):
        where = (*path, "head_boxes", index)
        _in_order(box.x, (*where, "x"), faults)
        _in_order(box.y, (*where, "y"), faults)
        if box.end.si <= box.start.si:
            faults.add(where, "ends before it starts")
        (x_low, x_high), (y_low, y_high) = ends(box.x), ends(box.y)
        made.append(
            HeadBox(*(Metre(v or 0.0) for v in (x_low, x_high, y_low, y_high, box.start.si, box.end.si)))
        )
    return tuple(made)


def _magazine(stated: documents.Magazine | None) -> Magazine:
    if stated is None:
        return Magazine()
    return Magazine(
        stated.pockets,
        si(stated.diameter),
        si(stated.diameter_beside_empty),
        si(stated.length),
        si(stated.mass),
        si(stated.moment),
    )


def _holes(hole: PlatformHole, path: KeyPath, names: Names) -> list[PalletHole]:
    faults = names.faults
    spots = places(hole)
    if not spots:
        faults.add(path, "is nowhere; give at, grid or circle")
    if hole.kind == "tapped" and hole.thread is None:
        faults.add((*path, "thread"), "is missing; a tapped hole has a thread")
    if hole.kind == "bore" and hole.diameter is None:
        faults.add((*path, "diameter"), "is missing; a bore has a diameter")
    if hole.kind == "slot" and hole.direction is None:
        faults.add((*path, "direction"), "is missing; a T-slot runs along x or z")
    if hole.thread is not None:
        names.thread(hole.thread, (*path, "thread"))
    if hole.kind == "bore" and hole.diameter is not None:
        names.known_hole(hole.fit, float(hole.diameter.si), (*path, "fit"))
    elif hole.kind != "bore" and hole.fit is not None:
        faults.add((*path, "fit"), "is of a bore; leave it out", f"`{hole.fit}`")
    direction = {"x": (1.0, 0.0), "z": (0.0, 1.0), None: None}[hole.direction]
    return [
        PalletHole(
            spot,
            hole.kind,
            hole.thread,
            si(hole.diameter),
            hole.fit,
            si(hole.depth),
            direction,
            si(hole.width),
            si(hole.length),
        )
        for spot in spots
    ]
