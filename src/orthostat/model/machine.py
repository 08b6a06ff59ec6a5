"""The machine, its pallet and its base, as stated by the shop."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import (
    Kilogram,
    KilogramSquareMetre,
    Metre,
    MetrePerSecondSquared,
    Newton,
    NewtonMetre,
    NewtonMetrePerRadian,
    NewtonPerMetre,
    Radian,
    RadianPerSecond,
    RadianPerSecondSquared,
    Ratio,
    Second,
    Watt,
)
from orthostat.base.frames import b_facing
from orthostat.model.bodies import Point2, Polygon
from orthostat.model.materials import Material


@dataclass(frozen=True, slots=True)
class HeadCylinder:
    """Part of the spindle nose or head: coaxial, `start..end` [m] behind the gauge line."""

    radius: Metre
    start: Metre
    end: Metre


@dataclass(frozen=True, slots=True)
class HeadBox:
    """Part of the head: x and y ranges about the spindle axis, `start..end` behind the gauge line."""

    x_low: Metre
    x_high: Metre
    y_low: Metre
    y_high: Metre
    start: Metre
    end: Metre


@dataclass(frozen=True, slots=True)
class SpindlePoint:
    """One point of the spindle's curve: continuous torque and power at a speed."""

    speed: RadianPerSecond
    torque: NewtonMetre | None
    power: Watt | None


@dataclass(frozen=True, slots=True)
class Magazine:
    """The tool changer's limits."""

    pockets: int | None = None
    diameter: Metre | None = None
    diameter_beside_empty: Metre | None = None
    length: Metre | None = None
    mass: Kilogram | None = None
    moment: NewtonMetre | None = None


@dataclass(frozen=True, slots=True)
class Machine:
    """A horizontal machining centre. Positions are of the spindle axis and nose against the B axis
    and the pallet top; every limit may be `None` (not stated).
    """

    name: str
    path: str
    x_low: Metre | None = None
    x_high: Metre | None = None
    """Spindle axis in X from the B axis at the two ends of X travel."""
    y_low: Metre | None = None
    y_high: Metre | None = None
    """Spindle axis above the pallet top at the lowest and highest Y."""
    nose_near: Metre | None = None
    nose_far: Metre | None = None
    """Spindle nose (gauge line) to B axis at the two ends of Z."""
    swing_diameter: Metre | None = None
    height_limit: Metre | None = None
    """Highest point allowed above the pallet top."""
    load_limit: Kilogram | None = None
    """What may stand on the pallet; the pallet itself counts only if `load_includes_pallet`."""
    load_includes_pallet: bool = False
    inertia_limit: KilogramSquareMetre | None = None
    eccentric_limit: NewtonMetre | None = None
    """Static moment of the load about the B axis: weight times horizontal offset."""
    changer_envelope: Polygon | None = None
    """Plan (x, z) the load must stay inside while the pallet changes, at any height."""
    changer_b: tuple[Radian, ...] | None = None
    """Angles of B at which pallets change, clockwise from above."""
    changer_height: Metre | None = None
    door_width: Metre | None = None
    door_height: Metre | None = None
    b_positive_clockwise: bool = True
    """ISO 841 default: +B turns the table clockwise seen from above."""
    b_step: Radian | None = None
    """Smallest B index step; `None` not stated, 0 for any angle."""
    b_acceleration: RadianPerSecondSquared | None = None
    b_torque: NewtonMetre | None = None
    """Holding torque about B while cutting (table clamped)."""
    axis_acceleration: MetrePerSecondSquared | None = None
    stop_acceleration: MetrePerSecondSquared | None = None
    """Deceleration in an emergency stop."""
    pallet_moves: bool | None = None
    clamp_force: Newton | None = None
    """Total force that holds the pallet to its receiver."""
    clamp_moment: NewtonMetre | None = None
    """Largest tilting moment the pallet clamp is rated for."""
    table_stiffness: NewtonPerMetre | None = None
    table_tilt_stiffness: NewtonMetrePerRadian | None = None
    table_turn_stiffness: NewtonMetrePerRadian | None = None
    table_loss_factor: Ratio | None = None
    """Of the table and of what clamps the pallet to it."""
    spindle_curve: tuple[SpindlePoint, ...] = ()
    spindle_efficiency: Ratio | None = None
    spindle_speed_limit: RadianPerSecond | None = None
    head_cylinders: tuple[HeadCylinder, ...] = ()
    head_boxes: tuple[HeadBox, ...] = ()
    head_stated: bool = True
    """Whether the head's shape is known; empty shapes of a stated head mean there is nothing."""
    magazine: Magazine = Magazine()
    pallet_change_time: Second | None = None
    tool_change_time: Second | None = None

    def b_of(self, angle: Radian) -> Radian:
        """Where B stands, in [0, 2π), when the direction `angle` of the column faces the spindle."""
        return b_facing(angle, clockwise=self.b_positive_clockwise)


@dataclass(frozen=True, slots=True)
class PalletHole:
    """A feature of the pallet's (or base's) top: tapped hole or bore at (x, z) [m]."""

    at: Point2
    kind: str
    """`tapped`, `bore` or `slot` (a T-slot through `at` along `direction`)."""
    thread: str | None = None
    diameter: Metre | None = None
    fit: str | None = None
    depth: Metre | None = None
    direction: Point2 | None = None
    width: Metre | None = None
    length: Metre | None = None


@dataclass(frozen=True, slots=True)
class Platform:
    """A pallet, an intermediate base or a riser: what the column stands on, top to bottom."""

    name: str
    path: str
    outline: Polygon | None
    """Plan (x, z); `None` not stated."""
    radius: Metre | None
    """Set for a round platform (then `outline` is `None`)."""
    thickness: Metre | None
    material: Material | None
    mass: Kilogram | None
    holes: tuple[PalletHole, ...] = ()
    holes_stated: bool = False
