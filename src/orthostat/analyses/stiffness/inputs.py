"""What the stiffness analysis is asked: the body's parts, what it stands on, what pushes it.

All vectors are in the body's own frame: the column frame turned about the B axis so that face 0
looks along +z. Turning a column in the document therefore changes nothing here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from orthostat.analyses.stiffness.build import Part
from orthostat.base.dimensions import (
    Hertz,
    KelvinDifference,
    Kilogram,
    Metre,
    NewtonMetrePerRadian,
    NewtonPerMetre,
    Pascal,
    PascalPerMetre,
    PerKelvin,
    Radian,
    RadianPerSecond,
    Ratio,
)
from orthostat.base.frames import Vector
from orthostat.model.bodies import Point2, Polygon


@dataclass(frozen=True, slots=True)
class StudSpring:
    """One preloaded stud as an axial spring from the pallet to where its nut or head bears."""

    name: str
    at: Point2
    """(x, z) [m]."""
    seat: Metre
    """Height of the bearing surface [m]."""
    radius: Metre
    """Mean radius of the bearing ring [m]."""
    stiffness: NewtonPerMetre


@dataclass(frozen=True, slots=True)
class JointSprings:
    """The joint under the column: a spring foundation over the area in contact, and the studs.

    `normal` and `tangential` may be infinite: then the base is clamped. `contact` is the area that is
    really pressed, (x, z) polygons [m]; empty means the whole underside.
    """

    normal: PascalPerMetre
    tangential: PascalPerMetre
    contact: tuple[Polygon, ...] = ()
    studs: tuple[StudSpring, ...] = ()
    loss_factor: Ratio | None = None
    loss_low: Ratio | None = None
    loss_high: Ratio | None = None
    """Ends of the range that `loss_factor` is likely in; `None` where it is not known as a range."""
    source: str = ""

    @property
    def is_rigid(self) -> bool:
        return self.normal == inf


CLAMPED = JointSprings(PascalPerMetre(inf), PascalPerMetre(inf))
"""A base held still: for comparison with closed forms, and for the body's own share."""


@dataclass(frozen=True, slots=True)
class Table:
    """What the pallet stands on, as far as stated; `None` is taken rigid, and the result says so."""

    translation: NewtonPerMetre | None = None
    tilt: NewtonMetrePerRadian | None = None
    turn: NewtonMetrePerRadian | None = None
    loss_factor: Ratio | None = None
    """Of the table and the pallet's clamping; `None` takes that of the joint under the column."""
    unstated: tuple[str, ...] = ()
    """Key paths of the stiffnesses nobody stated."""
    loss_path: str = ""
    """Key path of `loss_factor`."""

    @property
    def yields(self) -> bool:
        """Whether any of its springs is known, so that it takes a share of a movement."""
        return any(spring is not None for spring in (self.translation, self.tilt, self.turn))


@dataclass(frozen=True, slots=True)
class RigidMass:
    """Mass, centre (x, y, z) [m] and inertia about the centre [kg·m²] in the order xx, yy, zz, xy, yz, zx
    (products as they stand in the tensor).
    """

    mass: Kilogram
    centre: Vector
    inertia: tuple[float, float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Place:
    """A station: the patch of a face that its fixture presses on, and the mass that hangs there.

    origin, across, up, out: the face frame (u, v, w) in the body's frame; patch: (u, v) polygon [m].
    """

    name: str
    path: str
    face: int
    origin: Vector
    across: Vector
    out: Vector
    patch: Polygon
    masses: tuple[RigidMass, ...] = ()

    def point(self, u: float, v: float, w: float) -> Vector:
        """Face coordinates [m] to the body's frame; `up` is y."""
        o, a, n = self.origin, self.across, self.out
        return (o[0] + u * a[0] + w * n[0], o[1] + v, o[2] + u * a[2] + w * n[2])


@dataclass(frozen=True, slots=True)
class CutForce:
    """One cut's force where it acts: tip at `at`, in axes (across, up, out) of the view it is cut from.

    `in_plane` [N] is the largest force across the spindle axis, `axial` [N] along it, `torque` [N·m]
    about it, all at the high end of their ranges. Where `direction` is `None` the force across may point
    any way in the plane; else it is an angle from across toward up.
    """

    name: str
    path: str
    place: int
    at: Vector
    across: Vector
    out: Vector
    in_plane: float
    axial: float
    direction: Radian | None = None
    tolerance: Metre | None = None
    torque: float = 0.0


@dataclass(frozen=True, slots=True)
class ToolMode:
    """The tool side's own first mode at the tip, where measured: in both directions across the axis."""

    frequency: Hertz
    stiffness: NewtonPerMetre
    damping: Ratio


@dataclass(frozen=True, slots=True)
class Milling:
    """What the stability of one milling cut needs.

    entry and exit: angles of engagement [rad] from the normal to the feed, in the tooth's sense of
    travel (0 up-milling start, π down-milling end). tangential: specific cutting force K_t [Pa];
    radial, axial: ratios to it of the force normal to the edge in the plane and along the axis.
    entering: κ of the edge [rad], 90° for a shoulder mill.
    """

    cut: int
    teeth: int
    tangential: Pascal
    radial: Ratio
    axial: Ratio
    entering: Radian
    entry: Radian
    exit: Radian
    depth: Metre | None
    speed: RadianPerSecond | None
    cutting_length: Metre | None
    feed: Radian | None = None
    """Direction of feed in the view, from across toward up; `None` for any."""
    tool: str = ""
    tool_mode: ToolMode | None = None
    way: str = ""
    """How the cutter engages, such as `climb`."""


@dataclass(frozen=True, slots=True)
class Bond:
    """Anchors that tie the plate of one face to the fill."""

    face: int
    count: int
    diameter: Metre
    length: Metre
    """Into the fill [m]."""
    spacing: Metre | None
    """Largest distance between rows of anchors up the face [m]."""
    per_row: int
    """Fewest anchors in a row."""
    shear_strength: Pascal | None
    bearing_limit: Pascal | None
    """What the fill bears under an anchor [Pa]."""
    path: str
    shear_path: str
    bearing_path: str


@dataclass(frozen=True, slots=True)
class Climate:
    """Changes of temperature to answer for; `None` is not stated (results are then per kelvin)."""

    swing: KelvinDifference | None = None
    """Shop temperature, half range from where the column was trued [K]."""
    across: KelvinDifference | None = None
    """One side warmer than the opposite one by this [K]."""
    swing_path: str = "limits.temperature_change"
    across_path: str = "limits.temperature_across"
    pallet_expansion: PerKelvin | None = None


UNSTATED_CLIMATE = Climate()


_DETAIL, _ALIKE = Ratio(0.004), Ratio(1.0)


@dataclass(frozen=True, slots=True)
class Fineness:
    """Sizes of the mesh: edges in plan and in height, as a share of the body's width [-].

    `detail`: steps lower than this share of the body's height bound no triangles; they count by volume.
    `hollow`: what sizes are multiplied by where walls are all there is; a solid section keeps its shape when
    it bends and takes larger elements, so between the two sizes go with the solid share of the section.
    """

    plan: Ratio
    height: Ratio
    detail: Ratio = _DETAIL
    hollow: Ratio = _ALIKE

    def scale(self, solid: float) -> float:
        """What sizes are multiplied by for a solid share of the section."""
        return self.hollow + (1.0 - self.hollow) * solid


QUICK = Fineness(plan=Ratio(0.28), height=Ratio(0.70), detail=Ratio(0.025), hollow=Ratio(0.45))
"""Some 2,000 to 5,000 unknowns: nearly interactive."""
FULL = Fineness(Ratio(0.12), Ratio(0.24))
"""Some 10,000 to 40,000 unknowns: what is reported as verified."""


@dataclass(frozen=True, slots=True)
class BodyInputs:
    """One column on its joint with its loads."""

    name: str
    parts: tuple[Part, ...]
    width: Metre
    """Side of the square as large as the body's plan [m], the yardstick of the mesh."""
    height: Metre
    joint: JointSprings | None
    """`None` where nobody stated a contact stiffness: then the results are for a clamped base and say so."""
    table: Table
    places: tuple[Place, ...]
    faces: tuple[Place, ...] = ()
    """A strip at the top of every face, where growth and lean are told."""
    cuts: tuple[CutForce, ...] = ()
    millings: tuple[Milling, ...] = ()
    bonds: tuple[Bond, ...] = ()
    climate: Climate = Climate()
    sliding: bool = False
    """Whether the fill is free to slide along the plates (the debonded bound)."""
    fineness: Fineness = QUICK
    modes: int = 10
    verify_count: bool = False
    """Whether the number of modes is proved by an inertia count."""
    memory: float | None = None
    """What the factors may take [bytes]; `None` for what the machine has free."""
