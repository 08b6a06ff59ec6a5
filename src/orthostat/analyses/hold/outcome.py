"""What a joint is asked with and what comes out: load sets, factors, pressure, what-ifs, in one result."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.fastener import Joint, Wanted
from orthostat.analyses.hold.patch import Patch
from orthostat.analyses.hold.pinning import Location, PinLoad, Shift
from orthostat.analyses.hold.tightening import Preload
from orthostat.base.dimensions import Newton, PascalPerMetre, Ratio
from orthostat.base.findings import Gap, known

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class LoadSet:
    """Loads of one cut or motion on a joint: wrenches (m, 6) in its plane's axes about its origin,
    a label for each, and whether they reverse (a cut does, a motion pushes one way at a time).
    """

    name: str
    path: str
    rows: Array
    labels: tuple[str, ...]
    reversing: bool
    steady: Array | None
    """(6,) the weight that always acts, in the same axes, one for all sets of a joint; `None` when it is
    not known."""


@dataclass(frozen=True, slots=True, eq=False)
class Factors:
    """The three factors of one load set, each with the load that governs it."""

    name: str
    path: str
    wanted: Ratio
    """Slip factor wanted of this load."""
    lift: float
    lift_load: str
    tip: float
    tip_load: str
    slip: float
    slip_load: str
    slip_row: Array
    """(6,) the load that slips first."""
    lift_row: Array

    @property
    def first(self) -> str:
        """What comes first as the load grows."""
        return min((self.slip, "slip"), (self.lift, "first lift"), (self.tip, "tipping"))[1]


@dataclass(frozen=True, slots=True, eq=False)
class Pressure:
    """The patch under one load: points (n, 2), pressure (n,) [Pa], stud force (k,) [N], the share of
    the area that touches, and the plane of closing (3,) in the bed's freedoms.
    """

    load: str
    patch: Patch
    pressure: Array
    stud_force: Array
    contact: float
    plane: tuple[float, float, float]
    """(a, b, c): the pressure a + b x + c z [Pa] over the joint's plane; where it is negative the parts
    have come apart."""


@dataclass(frozen=True, slots=True, eq=False)
class StudChange:
    """How the force of one stud changes over all loads at their own size."""

    name: str
    least: Newton
    greatest: Newton
    load: str


@dataclass(frozen=True, slots=True)
class Loose:
    """The joint with one stud slack."""

    name: str
    slip: float
    lift: float
    load: str


@dataclass(frozen=True, slots=True)
class Uneven:
    """The joint on a surface that is out of flat."""

    kind: str
    """`hollow` (touches at the rim first) or `high spot` (touches in the middle first)."""
    slip: float
    load: str


@dataclass(frozen=True, slots=True, eq=False)
class JointResult:
    """Everything about one joint. A `Gap` stands where something is not stated."""

    joint: Joint
    wanted: Wanted
    preloads: tuple[Preload, ...]
    factors: tuple[Factors, ...] | Gap
    at_rest: Pressure | Gap
    find_loaded: Callable[[], Pressure | Gap]
    changes: tuple[StudChange, ...] | Gap
    loose: tuple[Loose, ...] | Gap
    uneven: tuple[Uneven, ...] | Gap
    location: Location
    shift: Shift | Gap
    pin_loads: tuple[PinLoad, ...] | Gap
    stud_spread: float | Gap
    """Radius of gyration of the studs about their best line over that of the patch."""
    stiffness: tuple[PascalPerMetre, tuple[float, ...]]
    """Contact stiffness per area, and each stud's stiffness [N/m], as used."""
    notes: tuple[str, ...]

    @property
    def loaded(self) -> Pressure | Gap:
        """Under the load that lifts first, at its own size."""
        return self.find_loaded()

    @property
    def governing(self) -> Factors:
        """The load set nearest to slipping, against what is wanted; raises `NotStated`."""
        return min(known(self.factors), key=lambda each: each.slip / each.wanted)
