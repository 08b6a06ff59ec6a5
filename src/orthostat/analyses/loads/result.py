"""Loads as they come out: each cut's forces over a revolution, its wrenches, and the handling loads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.loads.inputs import Span, Spindle
from orthostat.base.dimensions import (
    CubicMetrePerSecond,
    Metre,
    MetrePerSecond,
    Newton,
    NewtonMetre,
    Pascal,
    RadianPerSecond,
    Watt,
)
from orthostat.base.findings import NotStated
from orthostat.base.frames import Vector

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Action:
    """One force system on the work at the tool's point, in the view's axes, at the high end of its
    range. Axes are (along the feed, across it, outward) when `turns`, else (u, v, w).
    """

    label: str
    force: Vector
    moment: Vector
    turns: bool
    """True when the feed may run in any direction of the face: the load is then an envelope."""


@dataclass(frozen=True, slots=True, eq=False)
class Revolution:
    """Likely forces on the work over one revolution: angle (n,) [rad], force (n, 3) [N] along the
    feed, across it and outward, torque about the tool (n,) [N·m].
    """

    label: str
    angle: Array
    force: Array
    torque: Array


@dataclass(frozen=True, slots=True, eq=False)
class CutForces:
    """What one cut needs and pushes with. Likely values; `span` takes them to low and high."""

    kind: str
    speed: RadianPerSecond | None
    """Spindle speed; `None` when it was not stated."""
    speed_missing: str
    """The key path that would give the speed; empty when it is known."""
    feed_rate: MetrePerSecond | None
    thickness: Metre
    """Thickest chip."""
    specific_force: Pascal
    """kc at that chip."""
    removal_rate: CubicMetrePerSecond | None
    torque_mean: NewtonMetre
    torque_peak: NewtonMetre
    thrust: Newton
    """Likely mean force into the work along the spindle (negative: pulls outward)."""
    radial_peak: Newton
    """Largest force across the spindle, whatever its direction."""
    pull: Newton | None
    """Likely pull when a drill breaks through; `None` when it does not or cannot be told."""
    span: Span
    revolutions: tuple[Revolution, ...]
    actions: tuple[Action, ...]
    notes: tuple[str, ...]

    @property
    def power(self) -> Watt | None:
        """Likely mean power at the cutter [W]."""
        return None if self.speed is None else Watt(self.torque_mean * self.speed)


@dataclass(frozen=True, slots=True, eq=False)
class CutLoads:
    """A cut's forces and the wrenches (m, 6) it puts about the column's origin, high end of range."""

    station: str
    name: str
    path: str
    forces: CutForces
    wrenches: Array
    labels: tuple[str, ...]
    """Of each wrench: how the cutter engages and which way it is fed."""
    at: Array
    """(m, 3) point of action, column frame [m]."""

    @property
    def label(self) -> str:
        """Station and cut, said once."""
        return self.name if self.station in self.name else f"{self.station} {self.name}"


@dataclass(frozen=True, slots=True)
class OpenCut:
    """A cut whose loads are not known, with what is missing."""

    station: str
    name: str
    path: str
    missing: tuple[str, ...]
    reason: str

    @property
    def label(self) -> str:
        """Station and cut, said once."""
        return self.name if self.station in self.name else f"{self.station} {self.name}"

    @classmethod
    def of(cls, station: str, name: str, path: str, gap: NotStated) -> OpenCut:
        return cls(station, name, path, gap.missing, gap.reason)


@dataclass(frozen=True, slots=True, eq=False)
class Handling:
    """A load from moving the column: wrenches (m, 6) about the column's origin and their labels."""

    name: str
    path: str
    """Of the acceleration that makes it."""
    wrenches: Array
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenHandling:
    """A handling load that is not known."""

    name: str
    missing: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class SpindleUse:
    """A cut against the spindle's curve at its speed; limits `None` where the curve does not say."""

    path: str
    speed: RadianPerSecond
    torque: NewtonMetre
    torque_limit: NewtonMetre | None
    power: Watt
    power_limit: Watt | None


@dataclass(frozen=True, slots=True)
class Extreme:
    """The greatest size of one quantity over all cuts, and the cut that makes it."""

    name: str
    value: float
    kind: str
    """Kind of quantity, for units."""
    path: str
    case: str


@dataclass(frozen=True, slots=True, eq=False)
class Result:
    """All loads of a design. Cuts and motions that are not known are in `open_*`; the rest stands."""

    cuts: tuple[CutLoads, ...]
    open_cuts: tuple[OpenCut, ...]
    handling: tuple[Handling, ...]
    open_handling: tuple[OpenHandling, ...]
    gravity: Array | None
    """(6,) wrench of the weight; `None` when the masses are not known."""
    extremes: tuple[Extreme, ...]
    spindle: Spindle | None
    """The spindle that the cuts are held against; `None` when no machine is stated."""

    def cut(self, path: str) -> CutLoads:
        """The loads of the cut at a document path; raises `NotStated` when they are not known."""
        for known in self.cuts:
            if known.path == path:
                return known
        for gap in self.open_cuts:
            if gap.path == path:
                raise NotStated(*gap.missing, reason=gap.reason)
        raise KeyError(path)
