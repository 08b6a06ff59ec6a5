"""Stations: what hangs on a face, how it is fixed, and what is cut there."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import (
    Metre,
    MetrePerSecond,
    Newton,
    NewtonMetre,
    Pascal,
    Radian,
    RadianPerSecond,
    Ratio,
)
from orthostat.model.bodies import Body, Hole, Point2, Polygon
from orthostat.model.materials import Material


@dataclass(frozen=True, slots=True)
class CutMaterial:
    """What is being cut: Kienzle constants kc1.1 [Pa] and mc [-] with their source."""

    name: str
    kc11: Pascal
    mc: Ratio
    source: str


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut at a station. Place and region are in face coordinates of the face it is cut from:
    (u, v) across and up, `top` and `bottom` are w [m] over the station's face plane.

    `turn` is the B angle away from the station's own face: 0 from the front; side work is ±90°.
    For a turned cut, u, v, w are those of the turned view: u across to the viewer's right about
    the B axis, w toward the spindle from a plane through the B axis (w = 0 on the axis).
    """

    name: str
    path: str
    kind: str
    """`face`, `shoulder`, `slot`, `drill`, `bore`, `tap` or `thread`."""
    tool: str
    turn: Radian
    places: tuple[Point2, ...]
    """Hole centres, for drill, bore, tap and thread; empty for milling."""
    region: Polygon | None
    """What a mill must machine."""
    top: Metre
    bottom: Metre
    spindle_speed: RadianPerSecond | None = None
    cutting_speed: MetrePerSecond | None = None
    feed_per_tooth: Metre | None = None
    feed_per_turn: Metre | None = None
    feed_rate: MetrePerSecond | None = None
    width: Metre | None = None
    """Radial engagement a_e."""
    pass_depth: Metre | None = None
    """Axial depth of one pass a_p."""
    start_diameter: Metre | None = None
    """Of the hole before core drilling, boring or tapping."""
    material: CutMaterial | None = None
    tolerance: Metre | None = None
    through: bool = False
    feed_direction: Radian | None = None
    """In the face, from +u toward +v; `None` means any direction."""


@dataclass(frozen=True, slots=True)
class Screw:
    """A fixture screw into the face at (u, v) [m]."""

    at: Point2
    thread: str
    grade: str | None = None
    engagement: Metre | None = None
    torque: NewtonMetre | None = None
    preload: Newton | None = None
    friction: Ratio | None = None
    tightening: str | None = None
    """Name of a catalogue row of tightening methods (gives the scatter)."""
    scatter: Ratio | None = None
    grip: Metre | None = None
    """Thickness under the head; of the fixture where it stands, when not stated."""
    hole: Metre | None = None
    """Clearance hole in the fixture; ISO 273 medium when not stated."""
    path: str = ""


@dataclass(frozen=True, slots=True)
class Dowel:
    """A fixture dowel into the face at (u, v) [m]."""

    at: Point2
    diameter: Metre
    fit: str | None = None
    relieved: bool = False
    engagement: Metre | None = None
    length_above: Metre | None = None
    """Pressed into the fixture."""
    shear_strength: Pascal | None = None
    material: Material | None = None
    path: str = ""


@dataclass(frozen=True, slots=True)
class Station:
    """One place of work: bodies (already in the column frame), fastening, cuts."""

    name: str
    path: str
    face: int
    origin: Point2
    """(u, v) [m] of the station's own origin on its face."""
    bodies: tuple[Body, ...]
    footprint: Polygon | None
    """Where the fixture touches the face, in (u, v)."""
    screws: tuple[Screw, ...] = ()
    dowels: tuple[Dowel, ...] = ()
    friction: Ratio | None = None
    """Least friction between fixture and face."""
    cuts: tuple[Cut, ...] = ()


@dataclass(frozen=True, slots=True)
class FacePattern:
    """The holes machined into one face for fixtures to come and go."""

    face: int
    holes: tuple[Hole, ...]
    path: str
