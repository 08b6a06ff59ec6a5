"""What one solved body says: modes, movements, limit depths, growth, seams, and its picture."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from orthostat.analyses.stiffness.build import Layers
from orthostat.analyses.stiffness.inputs import BodyInputs
from orthostat.analyses.stiffness.lobes import Limit
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.seams import Seam
from orthostat.analyses.stiffness.section import Floats, SectionMesh
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
    loss_range: tuple[float, float] | None
    """`loss` at the ends of the joint's range; both equal it where there is none."""
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


@dataclass(frozen=True, eq=False)
class Rung:
    """What a body is, whatever is cut on it."""

    unknowns: int
    solver: str
    mass: Kilogram
    """Of the meshed body, without what hangs on it."""
    modes: tuple[Mode, ...]
    counted: bool
    ports: Ports
    growths: tuple[Growth, ...]
    """At the faces' tops, then at the stations; empty where an expansion is not stated."""
    growth_missing: tuple[str, ...]
    skin: Skin
    shapes: Floats
    """(modes, skin points, 3), the largest movement scaled to one."""
    mesh: SectionMesh
    layers: Layers


@dataclass(frozen=True, eq=False)
class Solved:
    """One body at one fineness under its cuts."""

    inputs: BodyInputs
    rung: Rung
    movements: tuple[Movement, ...]
    limits: tuple[Limit | None, ...]
    """One for each of `inputs.millings`; `None` where damping is not known."""
    seams: tuple[Seam, ...]

    @property
    def unknowns(self) -> int:
        """Of the whole system of equations."""
        return self.rung.unknowns

    @property
    def solver(self) -> str:
        """Name of the solver that factorised it."""
        return self.rung.solver

    @property
    def mass(self) -> Kilogram:
        """Of the meshed body, without what hangs on it [kg]."""
        return self.rung.mass

    @property
    def modes(self) -> tuple[Mode, ...]:
        """The lowest modes, rising."""
        return self.rung.modes

    @property
    def counted(self) -> bool:
        """Whether an inertia count proved that no mode is missing."""
        return self.rung.counted

    @property
    def ports(self) -> Ports:
        """The body seen from its stations, with the likely damping."""
        return self.rung.ports

    @property
    def growths(self) -> tuple[Growth, ...]:
        """Growth and lean at the faces' tops, then at the stations."""
        return self.rung.growths

    @property
    def growth_missing(self) -> tuple[str, ...]:
        """Key paths of expansions that nobody stated."""
        return self.rung.growth_missing

    @property
    def skin(self) -> Skin:
        """Its outside."""
        return self.rung.skin

    @property
    def shapes(self) -> Floats:
        """(modes, skin points, 3), the largest movement scaled to one."""
        return self.rung.shapes

    def ports_at(self, end: int) -> Ports:
        """The stations' response with damping at the low (0) or high (1) end of the joint's range."""
        losses = [0.0 if mode.loss_range is None else mode.loss_range[end] for mode in self.modes]
        return replace(self.ports, loss=np.array(losses))

    @property
    def first(self) -> Mode:
        """The lowest mode."""
        return self.modes[0]
