"""What one solved body says: modes, movements, limit depths, growth, seams, and its picture."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.stiffness.inputs import BodyInputs
from orthostat.analyses.stiffness.lobes import Limit
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.seams import Seam
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.skin import Skin
from orthostat.analyses.stiffness.thermal import Growth
from orthostat.base.dimensions import Hertz, Kilogram, Metre, Ratio


@dataclass(frozen=True, slots=True)
class Mode:
    """One natural mode. Shares are of its strain energy; they add to one."""

    frequency: Hertz
    loss: Ratio | None
    """Loss factor (twice the damping ratio); `None` where a part that matters has none stated."""
    kind: str
    """What it does, in words."""
    parts: tuple[tuple[str, float], ...]
    contact: float
    studs: float
    table: float
    loss_of_joint: Ratio
    """What the joint and table add to `loss`; zero where their loss is not stated."""
    loss_missing: tuple[str, ...] = ()

    @property
    def joint(self) -> float:
        """Share of the strain energy in contact, studs and table."""
        return self.contact + self.studs + self.table


@dataclass(frozen=True, slots=True)
class Movement:
    """How far the work moves at a cut's own place under the cut's largest load, worst direction."""

    cut: int
    total: Metre
    outward: Metre
    """The part of it along the spindle."""
    joint: Metre
    """The part of it that contact, studs and table give, along the whole movement."""
    table: Metre


@dataclass(frozen=True)
class Solved:
    """One body at one fineness. Arrays are not part of equality."""

    inputs: BodyInputs
    unknowns: int
    solver: str
    mass: Kilogram
    """Of the meshed body, without what hangs on it."""
    modes: tuple[Mode, ...]
    counted: bool
    ports: Ports
    movements: tuple[Movement, ...]
    limits: tuple[Limit | None, ...]
    """One for each of `inputs.millings`; `None` where damping is not known."""
    growths: tuple[Growth, ...]
    """At the faces' tops, then at the stations; empty where an expansion is not stated."""
    growth_missing: tuple[str, ...]
    seams: tuple[Seam, ...]
    skin: Skin
    shapes: Floats
    """(modes, skin points, 3), the largest movement scaled to one."""

    @property
    def first(self) -> Mode:
        """The lowest mode."""
        return self.modes[0]
