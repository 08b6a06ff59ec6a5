"""What the loads are worked out from: cuts with their tools, the machine's motions, the masses."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import (
    Kilogram,
    KilogramSquareMetre,
    Metre,
    MetrePerSecondSquared,
    RadianPerSecond,
    RadianPerSecondSquared,
    Ratio,
)
from orthostat.base.frames import Frame, Vector
from orthostat.model.machine import SpindlePoint
from orthostat.model.stations import Cut
from orthostat.model.tools import Tool


@dataclass(frozen=True, slots=True)
class Span:
    """Low, likely and high value of a ratio that is only known as a range."""

    low: Ratio
    likely: Ratio
    high: Ratio


@dataclass(frozen=True, slots=True)
class Practice:
    """Ratios of cutting practice that no document states; each is a catalogue row with its source."""

    wear: Span
    """Factor on sharp-edge forces, where the tool states none."""
    edge_normal: Span
    """Force normal to the edge over the tangential force, in milling."""
    drilling: Span
    """Drilling torque and thrust over the formula's value."""
    drilling_thrust: Ratio
    """Thrust ratio r of the drilling formula."""
    boring_radial: Span
    boring_feed: Span
    """Radial and feed force over the tangential force, in boring."""
    chamfer_threads: Span
    """Threads in a tap's chamfer: the fewer, the thicker each chip."""
    tapping: Span
    """Tapping torque over the formula's value (chips packing, wear)."""
    rake_slope: Ratio
    """Relative fall of kc for each radian of rake."""


@dataclass(frozen=True, slots=True)
class CutInput:
    """One cut as it meets the spindle: its view frame (u, v, w) and the tool that makes it."""

    station: str
    cut: Cut
    frame: Frame
    tool: Tool | None
    pitch: Metre | None = None
    """Of the thread, for tapping."""
    rake_reference: float | None = None
    """Rake angle [rad] at which the material's kc was measured."""


@dataclass(frozen=True, slots=True)
class Spindle:
    """The spindle's curve and the path of the machine that states it."""

    path: str
    curve: tuple[SpindlePoint, ...]
    efficiency: Ratio | None
    speed_limit: RadianPerSecond | None


@dataclass(frozen=True, slots=True)
class Moving:
    """What is moved, and how hard the machine moves it."""

    machine_path: str
    mass: Kilogram | None
    """Of everything above the joint that is asked about: column, fixtures, parts."""
    centre: Vector | None
    """Its centre of gravity, column frame [m]."""
    inertia: KilogramSquareMetre | None
    """About the B axis."""
    mass_path: str
    """Key path to state, where the masses are not known."""
    b_acceleration: RadianPerSecondSquared | None
    axis_acceleration: MetrePerSecondSquared | None
    stop_acceleration: MetrePerSecondSquared | None
    pallet_moves: bool | None


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything `solve` needs. `spindle` and `moving` are `None` when no machine is stated."""

    cuts: tuple[CutInput, ...]
    practice: Practice
    spindle: Spindle | None
    moving: Moving | None
