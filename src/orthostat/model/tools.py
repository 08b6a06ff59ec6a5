"""Tool assemblies: coaxial steps from the tip back to the gauge line, and the cutter's data."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from orthostat.base.dimensions import (
    Hertz,
    Kilogram,
    Metre,
    NewtonPerMetre,
    Radian,
    Ratio,
)


class CutterKind(str, Enum):
    """How a cutter makes its cut; decides force formula and how it may enter the work."""

    FACE_MILL = "face mill"
    END_MILL = "end mill"
    DRILL = "drill"
    CORE_DRILL = "core drill"
    REAMER = "reamer"
    BORING_BAR = "boring bar"
    TAP = "tap"
    THREAD_MILL = "thread mill"
    PROBE = "probe"


@dataclass(frozen=True, slots=True)
class Bench:
    """Sizes of hole-making tools that the shop has off the machine."""

    drills: tuple[Metre, ...] = ()
    reamers: tuple[Metre, ...] = ()
    counterbores: tuple[Metre, ...] = ()
    taps: tuple[str, ...] = ()


MILLS = frozenset({CutterKind.FACE_MILL, CutterKind.END_MILL, CutterKind.THREAD_MILL})


@dataclass(frozen=True, slots=True)
class Step:
    """One cylinder of a tool assembly: `start..end` [m] from the tip toward the spindle."""

    radius: Metre
    start: Metre
    end: Metre
    cuts: bool = False


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool assembly. `flat_radius` is what cuts flat in the tip plane; `largest_radius` the
    widest of the cutting part (they differ for a 45° or round-insert cutter).

    Hashed by the little that commonly tells tools apart: it is done often.
    """

    name: str
    path: str
    kind: CutterKind
    steps: tuple[Step, ...]
    gauge_length: Metre | None
    flat_radius: Metre
    largest_radius: Metre
    cutting_length: Metre | None = None
    teeth: int | None = None
    entering_angle: Radian | None = None
    """κ between the cutting edge and the feed direction: 90° for a square shoulder mill."""
    point_angle: Radian | None = None
    helix_angle: Radian | None = None
    rake_angle: Radian | None = None
    plunges: bool = False
    mass: Kilogram | None = None
    number: int | None = None
    thread: str | None = None
    wear_factor: Ratio | None = None
    mode_frequency: Hertz | None = None
    mode_stiffness: NewtonPerMetre | None = None
    mode_damping: Ratio | None = None
    """The tool side's own first mode, where measured."""
    holder_stated: bool = True
    """Whether `steps` go back to the gauge line; if not, what lies behind the cutter is unknown."""

    def __hash__(self) -> int:
        return hash((self.name, self.flat_radius, self.gauge_length))

    @property
    def diameter(self) -> Metre:
        """Nominal cutting diameter [m]."""
        return Metre(2.0 * self.flat_radius)
