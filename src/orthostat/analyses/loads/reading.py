"""From a column with its solids to the inputs of the loads; ranges of practice come from the catalogue."""

from __future__ import annotations

from functools import cache

from orthostat.analyses.loads.inputs import CutInput, Inputs, Moving, Practice, Span, Spindle
from orthostat.analyses.solids import Group, Solids
from orthostat.base.dimensions import Kilogram, KilogramSquareMetre, Metre, Radian, Ratio
from orthostat.base.findings import NotStated
from orthostat.base.frames import Vector, face_frame
from orthostat.catalogue import UnknownRow, thread
from orthostat.catalogue.practice import practice as practice_row
from orthostat.model.bodies import Face
from orthostat.model.column import Column
from orthostat.model.machine import Machine
from orthostat.model.stations import Cut
from orthostat.model.tools import Tool


def inputs_from(column: Column, solids: Solids) -> Inputs:
    """The inputs of one design."""
    faces = {face.number: face for face in column.faces}
    tools = {tool.name: tool for tool in column.tools}
    cuts = tuple(
        cut_input(station.name, cut, faces[station.face], tools.get(cut.tool))
        for station in column.stations
        if station.face in faces
        for cut in station.cuts
    )
    machine = column.machine
    return Inputs(
        cuts,
        practice(),
        None if machine is None else _spindle(machine),
        None if machine is None else moving(machine, solids.loaded),
    )


def cut_input(station: str, cut: Cut, face: Face, tool: Tool | None) -> CutInput:
    """A cut in the view it is cut from: its own face, or the view turned away from it about B."""
    turned = abs(cut.turn) > 1e-12
    frame = (
        face_frame(Radian(face.angle + cut.turn), Metre(0.0))
        if turned
        else face_frame(Radian(face.angle), face.distance)
    )
    return CutInput(station, cut, frame, tool, None if tool is None else _pitch(tool))


def moving(machine: Machine, group: Group) -> Moving:
    """What the machine moves: a group of bodies, its masses `None` where one is not known."""
    mass: Kilogram | None = None
    centre: Vector | None = None
    inertia: KilogramSquareMetre | None = None
    missing = ""
    try:
        mass, centre, inertia = group.mass, group.centre, group.about_b_axis
    except NotStated as gap:
        missing = gap.missing[0] if gap.missing else ""
    return Moving(
        machine_path=machine.path,
        mass=mass,
        centre=centre,
        inertia=inertia,
        mass_path=missing,
        b_acceleration=machine.b_acceleration,
        axis_acceleration=machine.axis_acceleration,
        stop_acceleration=machine.stop_acceleration,
        pallet_moves=machine.pallet_moves,
    )


@cache
def practice() -> Practice:
    """Ranges of cutting practice, each from its catalogue row."""
    return Practice(
        wear=span("wear factor"),
        edge_normal=span("edge-normal force, milling"),
        drilling=span("drilling force over formula"),
        drilling_thrust=practice_row("drilling thrust ratio").likely,
        boring_radial=span("boring radial force"),
        boring_feed=span("boring feed force"),
        chamfer_threads=span("tap chamfer threads"),
        tapping=span("tapping torque over formula"),
        rake_slope=practice_row("rake slope").likely,
    )


def span(name: str) -> Span:
    """A practice row as low, likely, high."""
    row = practice_row(name)
    return Span(Ratio(row.low), Ratio(row.likely), Ratio(row.high))


def _spindle(machine: Machine) -> Spindle:
    return Spindle(
        machine.path, machine.spindle_curve, machine.spindle_efficiency, machine.spindle_speed_limit
    )


def _pitch(tool: Tool) -> Metre | None:
    if tool.thread is None:
        return None
    try:
        return thread(tool.thread).pitch
    except UnknownRow:
        return None
