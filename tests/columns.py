"""Complete `model.Column` values for tests and benchmarks, built straight from the model's dataclasses.

`square_filled()`, `slab()`, `hexagon()`, `triangle()`; every number is invented. `turn` turns the
whole column about the B axis. Faces are numbered from 1. Change one field with `dataclasses.replace`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, pi, radians, sin

from orthostat.base.dimensions import (
    Hertz,
    Kilogram,
    KilogramPerCubicMetre,
    KilogramSquareMetre,
    Metre,
    MetrePerSecond,
    MetrePerSecondSquared,
    Newton,
    NewtonMetre,
    Pascal,
    PerKelvin,
    Radian,
    RadianPerSecond,
    RadianPerSecondSquared,
    Ratio,
    Watt,
)
from orthostat.base.frames import PLAN, Frame, face_frame
from orthostat.model.bodies import Body, Disc, Face, Hole, Point2, Polygon, Prism, Role
from orthostat.model.column import Anchor, BodyShape, Column, Pin, Stud, Tube
from orthostat.model.machine import HeadBox, HeadCylinder, Machine, PalletHole, Platform, SpindlePoint
from orthostat.model.materials import Material
from orthostat.model.stations import Cut, CutMaterial, Dowel, FacePattern, Screw, Station
from orthostat.model.tools import CutterKind, Step, Tool

ALUMINIUM = Material(
    "aluminium plate", KilogramPerCubicMetre(2700.0), Pascal(70e9), Ratio(0.33), PerKelvin(23e-6),
    Ratio(0.001), Pascal(260e6), Pascal(310e6), Pascal(205e6), Pascal(250e6), source="shop",
    path="materials.aluminium",
)  # fmt: skip
STEEL = Material(
    "steel", KilogramPerCubicMetre(7850.0), Pascal(206e9), Ratio(0.3), PerKelvin(11.5e-6), Ratio(0.001),
    Pascal(660e6), Pascal(800e6), Pascal(480e6), Pascal(700e6), source="shop", path="materials.steel",
)  # fmt: skip
IRON = Material(
    "grey iron", KilogramPerCubicMetre(7200.0), Pascal(110e9), Ratio(0.26), PerKelvin(10.5e-6),
    Ratio(0.005), None, Pascal(250e6), Pascal(290e6), Pascal(850e6), source="shop", path="materials.iron",
)  # fmt: skip
FILL = Material(
    "mineral fill", KilogramPerCubicMetre(2300.0), Pascal(28e9), Ratio(0.25), PerKelvin(15e-6),
    Ratio(0.02), None, Pascal(25e6), None, Pascal(100e6), source="shop", path="materials.fill",
)  # fmt: skip
CARD = Material("card", KilogramPerCubicMetre(700.0), Pascal(2e9), Ratio(0.3), path="materials.card")
CAST_ALUMINIUM = CutMaterial("cast aluminium", Pascal(660e6), Ratio(0.25), "shop")


def machine() -> Machine:
    """An invented horizontal machining centre with every limit stated."""
    return Machine(
        name="alder", path="machines.alder",
        x_low=Metre(-0.32), x_high=Metre(0.32), y_low=Metre(0.06), y_high=Metre(0.70),
        nose_near=Metre(0.10), nose_far=Metre(0.78), swing_diameter=Metre(0.80), height_limit=Metre(0.95),
        load_limit=Kilogram(500.0), inertia_limit=KilogramSquareMetre(20.0),
        eccentric_limit=NewtonMetre(250.0),
        changer_envelope=Polygon(((-0.4, -0.35), (0.4, -0.35), (0.4, 0.35), (-0.4, 0.35))),
        changer_b=(Radian(0.0),), changer_height=Metre(0.95), door_width=Metre(0.9), door_height=Metre(1.0),
        b_step=Radian(radians(1.0)), b_acceleration=RadianPerSecondSquared(4.0),
        b_torque=NewtonMetre(1500.0), axis_acceleration=MetrePerSecondSquared(4.0),
        stop_acceleration=MetrePerSecondSquared(8.0), pallet_moves=True, clamp_force=Newton(40e3),
        clamp_moment=NewtonMetre(5000.0),
        spindle_curve=(
            SpindlePoint(RadianPerSecond(0.0), NewtonMetre(120.0), None),
            SpindlePoint(RadianPerSecond(125.0), NewtonMetre(120.0), Watt(15e3)),
            SpindlePoint(RadianPerSecond(1250.0), None, Watt(15e3)),
        ),
        spindle_efficiency=Ratio(0.8), spindle_speed_limit=RadianPerSecond(1250.0),
        head_cylinders=(HeadCylinder(Metre(0.045), Metre(0.0), Metre(0.08)),),
        head_boxes=(
            HeadBox(Metre(-0.16), Metre(0.16), Metre(-0.14), Metre(0.25), Metre(0.08), Metre(0.60)),
        ),
    )  # fmt: skip


def pallet(*, size: float = 0.40, pitch: float = 0.05, turn: float = 0.0) -> Platform:
    """A square pallet with M16 tapped holes on a grid and two 12 mm bores."""
    half = 0.5 * size
    count = int(half / pitch - 0.25)
    grid = range(-count, count + 1)
    tapped = tuple(
        PalletHole(_turned((i * pitch, j * pitch), turn), "tapped", "M16", depth=Metre(0.03))
        for i in grid
        for j in grid
    )
    bores = tuple(
        PalletHole(_turned(at, turn), "bore", None, Metre(0.012), "H7", Metre(0.02))
        for at in ((-0.025, 0.0), (0.025, 0.0))
    )
    return Platform(
        "pallet", "pallets.square", _rectangle(half, half, turn), None, Metre(0.08), IRON, None,
        tapped + bores, True,
    )  # fmt: skip


def tools() -> tuple[Tool, ...]:
    """A 45° face mill, a shoulder end mill and a drill."""

    def holder(back: float) -> Step:
        return Step(Metre(0.031), Metre(back), Metre(back + 0.06))

    return (
        Tool(
            "mill80", "tools.mill80", CutterKind.FACE_MILL,
            (Step(Metre(0.0465), Metre(0.0), Metre(0.006), True),
             Step(Metre(0.038), Metre(0.006), Metre(0.05)), holder(0.05)),
            Metre(0.11), Metre(0.040), Metre(0.0465), Metre(0.006), 6, Radian(radians(45)),
            mass=Kilogram(3.2), number=1,
        ),
        Tool(
            "mill20", "tools.mill20", CutterKind.END_MILL,
            (Step(Metre(0.010), Metre(0.0), Metre(0.038), True),
             Step(Metre(0.010), Metre(0.038), Metre(0.06)),
             Step(Metre(0.02), Metre(0.06), Metre(0.11)), holder(0.11)),
            Metre(0.17), Metre(0.010), Metre(0.010), Metre(0.038), 4, Radian(radians(90)),
            helix_angle=Radian(radians(38)), plunges=True, mass=Kilogram(2.1), number=2,
        ),
        Tool(
            "drill10", "tools.drill10", CutterKind.DRILL,
            (Step(Metre(0.00511), Metre(0.0), Metre(0.05), True),
             Step(Metre(0.0125), Metre(0.05), Metre(0.10)),
             holder(0.10)),
            Metre(0.16), Metre(0.00511), Metre(0.00511), Metre(0.05), 2, point_angle=Radian(radians(140)),
            plunges=True, mass=Kilogram(1.8), number=3, mode_frequency=Hertz(1400.0),
        ),
    )  # fmt: skip


def square_filled(*, turn: float = 0.0, height: float = 0.55, across: float = 0.30) -> Column:
    """Four 25 mm aluminium plates around a mineral fill, four studs in sleeves, a void tube, lid."""
    half = 0.5 * across
    plan = _Plan.of([(k * pi / 2, half, 0.025) for k in range(4)], turn)
    bottom, top = 0.02, height - 0.02
    at = 0.10 if across >= 0.28 else half - 0.05
    spots = tuple(_turned((sx * at, sz * at), turn) for sx in (-1, 1) for sz in (-1, 1))
    studs = tuple(_through_stud(f"stud {i}", spot, height) for i, spot in enumerate(spots, 1))
    tube = Tube(
        "tube", "columns.square.tubes[0]", (0.0, 0.0), Metre(0.13), Metre(0.003), None, CARD,
        Metre(bottom), Metre(top), True, False, False,
    )  # fmt: skip
    anchors = tuple(
        Anchor(k + 1, (0.0, v), Metre(0.012), Metre(0.04), Metre(0.02), "columns.square.anchors[0]")
        for k in range(4)
        for v in (0.15, 0.30, 0.45)
    )
    patterns = tuple(_pattern(plan, k, 0.08, height) for k in range(4))
    holes = tuple(_disc(s.at, 0.009, s.bottom, s.seat) for s in studs)
    inner = plan.inner
    lip = Prism(Polygon(_shrunk(inner.points, 0.0005)), Metre(top - 0.012), Metre(top))
    bodies = [
        *_plates(plan, bottom, top, ALUMINIUM, butt=True, patterns=patterns),
        Body("base plate", Role.BASE_PLATE, (Prism(plan.outer, Metre(0.0), Metre(bottom)),),
             _clipped(holes, 0.0, bottom), STEEL, path="columns.square.base"),
        Body("lid", Role.LID, (Prism(plan.outer, Metre(top), Metre(height)), lip),
             (*_clipped(holes, top, height), *_clipped(holes, top - 0.012, top)), ALUMINIUM,
             path="columns.square.lid"),
        Body("fill", Role.FILL, (Prism(inner, Metre(bottom), Metre(top - 0.012)),),
             (*(_disc(s.at, 0.014, bottom, top - 0.012) for s in studs),
              _disc(tube.at, 0.065, bottom, top - 0.012), *(_anchor_prism(plan, a) for a in anchors)),
             FILL, path="columns.square.fill"),
        Body("tube", Role.VOID_FORMER, (_disc(tube.at, 0.065, bottom, top - 0.012),),
             (_disc(tube.at, 0.062, bottom, top - 0.012),), CARD, path=tube.path),
        *(Body(f"anchor {i}", Role.ANCHOR, (_anchor_prism(plan, a),), (), STEEL, face=a.face, path=a.path)
          for i, a in enumerate(anchors, 1)),
        *(Body(f"sleeve of {s.name}", Role.SLEEVE, (_disc(s.at, 0.014, bottom, top - 0.012),),
               (_disc(s.at, 0.009, bottom, top - 0.012),), STEEL, path=s.path) for s in studs),
        *(body for s in studs for body in _stud_bodies(s)),
    ]  # fmt: skip
    stations = tuple(_station(plan, k, f"s{k}", middle=0.5 * height) for k in range(4))
    shape = BodyShape("filled", "butt", (Metre(0.025),) * 4, Metre(bottom), Metre(top), inner, True)
    return _column(
        "square", "square", plan, height, bodies, shape=shape, studs=studs, tubes=(tube,), anchors=anchors,
        patterns=patterns, stations=stations, turn=turn,
    )  # fmt: skip


def slab(*, turn: float = 0.0, height: float = 0.50) -> Column:
    """A solid iron slab with working ends on a flanged base, studs on the flange, two pins."""
    plan = _Plan.of([(0.0, 0.05, 0.0), (pi / 2, 0.15, 0.0), (pi, 0.05, 0.0), (3 * pi / 2, 0.15, 0.0)], turn)
    flange = _rectangle(0.18, 0.13, turn)
    spots = tuple(_turned((sx * 0.10, sz * 0.10), turn) for sx in (-1, 1) for sz in (-1, 1))
    studs = tuple(_flange_stud(f"stud {i}", spot, 0.03) for i, spot in enumerate(spots, 1))
    pins = tuple(
        Pin(name, f"columns.slab.pins[{i}]", _turned((x, 0.0), turn), Metre(0.012), kind,
            None if kind == "round" else Radian(0.0), "H7/m6", "H7/g6", Metre(0.015), Metre(0.015),
            shear_strength=Pascal(400e6), material=STEEL)
        for i, (name, x, kind) in enumerate((("pin 1", -0.025, "round"), ("pin 2", 0.025, "relieved")))
    )  # fmt: skip
    patterns = tuple(_pattern(plan, k, 0.10, height) for k in (0, 2))
    bodies = [
        Body("slab", Role.SOLID, (Prism(plan.outer, Metre(0.03), Metre(height)),),
             tuple(hole for p in patterns for hole in _pattern_cuts(plan, p)),
             IRON, path="columns.slab.body"),
        Body("base plate", Role.BASE_PLATE, (Prism(flange, Metre(0.0), Metre(0.03)),),
             (*(_disc(s.at, 0.009, 0.0, 0.03) for s in studs),
              *(_disc(p.at, 0.006, 0.0, 0.015) for p in pins)), IRON, path="columns.slab.base"),
        *(body for s in studs for body in _stud_bodies(s)),
        *(Body(p.name, Role.PIN, (_disc(p.at, 0.006, -0.015, 0.015),), (), STEEL, path=p.path) for p in pins),
    ]  # fmt: skip
    stations = tuple(_station(plan, k, f"s{k}", half_width=0.12, middle=0.5 * height) for k in (0, 2))
    shape = BodyShape("solid", "butt", (), Metre(0.03), Metre(height), None)
    made = _column(
        "slab", "slab", plan, height, bodies, shape=shape, studs=studs, pins=pins, patterns=patterns,
        stations=stations, turn=turn, ends=(1, 3),
    )  # fmt: skip
    return replace(made, base_contact=(flange,))


def hexagon(*, turn: float = 0.0, height: float = 0.45) -> Column:
    """A cored iron casting with 20 mm walls, studs from the top through lid and base."""
    plan = _Plan.of([(k * pi / 3, 0.13, 0.02) for k in range(6)], turn)
    bottom, top = 0.025, height - 0.025
    spots = tuple(_turned((sx * 0.05, sz * 0.05), turn) for sx in (-1, 1) for sz in (-1, 1))
    studs = tuple(
        replace(_through_stud(f"stud {i}", spot, height), sleeve_outside=None, sleeve_inside=None,
                sleeve_material=None)
        for i, spot in enumerate(spots, 1)
    )  # fmt: skip
    holes = tuple(_disc(s.at, 0.009, s.bottom, s.seat) for s in studs)
    patterns = tuple(_pattern(plan, k, 0.04, height) for k in range(6))
    bodies = [
        *_plates(plan, bottom, top, IRON, butt=False, patterns=patterns),
        Body("base plate", Role.BASE_PLATE, (Prism(plan.outer, Metre(0.0), Metre(bottom)),),
             _clipped(holes, 0.0, bottom), IRON, path="columns.hexagon.base"),
        Body("lid", Role.LID, (Prism(plan.outer, Metre(top), Metre(height)),),
             _clipped(holes, top, height), IRON, path="columns.hexagon.lid"),
        *(body for s in studs for body in _stud_bodies(s)),
    ]  # fmt: skip
    stations = tuple(_station(plan, k, f"s{k}", half_width=0.05, middle=0.5 * height) for k in range(6))
    shape = BodyShape("cored", "mitred", (Metre(0.02),) * 6, Metre(bottom), Metre(top), plan.inner)
    return _column(
        "hexagon", "hexagon", plan, height, bodies, shape=shape, studs=studs, patterns=patterns,
        stations=stations, turn=turn,
    )  # fmt: skip


def triangle(*, turn: float = 0.0, height: float = 0.40) -> Column:
    """Three hollow steel plates on an octagonal flange."""
    plan = _Plan.of([(k * 2 * pi / 3, 0.09, 0.02) for k in range(3)], turn)
    flange = Polygon(tuple(_polar(turn + pi / 4 + k * pi / 4, 0.195) for k in range(8)))
    spots = tuple(_turned(at, turn) for at in ((-0.05, 0.15), (0.05, 0.15), (-0.05, -0.15), (0.05, -0.15)))
    studs = tuple(_flange_stud(f"stud {i}", spot, 0.025) for i, spot in enumerate(spots, 1))
    bodies = [
        *_plates(plan, 0.025, height, STEEL, butt=False, patterns=()),
        Body("base plate", Role.BASE_PLATE, (Prism(flange, Metre(0.0), Metre(0.025)),),
             tuple(_disc(s.at, 0.009, 0.0, 0.025) for s in studs), STEEL, path="columns.triangle.base"),
        *(body for s in studs for body in _stud_bodies(s)),
    ]  # fmt: skip
    stations = tuple(_station(plan, k, f"s{k}", middle=0.5 * height) for k in range(3))
    shape = BodyShape("hollow", "mitred", (Metre(0.02),) * 3, Metre(0.025), Metre(height), plan.inner)
    made = _column(
        "triangle", "triangle", plan, height, bodies, shape=shape, studs=studs, stations=stations, turn=turn
    )
    return replace(made, base_contact=(flange,))


@dataclass(frozen=True)
class _Plan:
    """Sides of the plan: (angle, distance, wall) each, with their corners."""

    sides: tuple[tuple[float, float, float], ...]
    outer: Polygon
    inner: Polygon

    @classmethod
    def of(cls, sides: list[tuple[float, float, float]], turn: float) -> _Plan:
        turned = tuple((angle + turn, distance, wall) for angle, distance, wall in sides)
        outer = _corners([(angle, distance) for angle, distance, _ in turned])
        inner = _corners([(angle, distance - wall) for angle, distance, wall in turned])
        return cls(turned, outer, inner)

    def face(self, k: int, v_low: float, v_high: float, is_end: bool) -> Face:
        angle, distance, _ = self.sides[k]
        across = [
            cos(angle) * x - sin(angle) * z for x, z in (self.outer.points[k - 1], self.outer.points[k])
        ]
        return Face(
            k + 1, f"face {k + 1}", angle, Metre(distance), Metre(min(across)), Metre(max(across)),
            Metre(v_low), Metre(v_high), is_end,
        )  # fmt: skip

    def frame(self, k: int) -> Frame:
        return face_frame(Radian(self.sides[k][0]), Metre(self.sides[k][1]))


def _corners(sides: list[tuple[float, float]]) -> Polygon:
    points = []
    for (a, da), (b, db) in zip(sides, sides[1:] + sides[:1], strict=True):
        det = sin(a) * cos(b) - cos(a) * sin(b)
        points.append(((da * cos(b) - db * cos(a)) / det, (db * sin(a) - da * sin(b)) / det))
    return Polygon(tuple(points))


def _polar(angle: float, radius: float) -> Point2:
    return (radius * sin(angle), radius * cos(angle))


def _turned(at: Point2, turn: float) -> Point2:
    """The plan point turned so that a face at angle θ comes to θ + turn."""
    x, z = at
    return (x * cos(turn) + z * sin(turn), z * cos(turn) - x * sin(turn))


def _rectangle(half_x: float, half_z: float, turn: float) -> Polygon:
    corners = ((-half_x, -half_z), (half_x, -half_z), (half_x, half_z), (-half_x, half_z))
    return Polygon(tuple(_turned(corner, turn) for corner in corners))


def _shrunk(points: tuple[Point2, ...], gap: float) -> tuple[Point2, ...]:
    reach = max((x * x + z * z) ** 0.5 for x, z in points)
    return tuple((x * (1 - gap / reach), z * (1 - gap / reach)) for x, z in points)


def _disc(at: Point2, radius: float, low: float, high: float, frame: Frame = PLAN) -> Prism:
    return Prism(Disc(at, Metre(radius)), Metre(low), Metre(high), frame)


def _box(u: float, v: float, half_u: float, half_v: float) -> Polygon:
    return Polygon(
        (
            (u - half_u, v - half_v),
            (u + half_u, v - half_v),
            (u + half_u, v + half_v),
            (u - half_u, v + half_v),
        )
    )


def _clipped(holes: tuple[Prism, ...], low: float, high: float) -> tuple[Prism, ...]:
    return tuple(replace(hole, low=Metre(low), high=Metre(high)) for hole in holes)


def _plates(
    plan: _Plan,
    bottom: float,
    top: float,
    material: Material,
    *,
    butt: bool,
    patterns: tuple[FacePattern, ...],
) -> list[Body]:
    made = []
    for k, (angle, distance, wall) in enumerate(plan.sides):
        ends = (plan.outer.points[k - 1], plan.outer.points[k])
        across = sorted(cos(angle) * x - sin(angle) * z for x, z in ends)
        if butt:
            low, high = across if k % 2 == 0 else (across[0] + wall, across[1] - wall)
            local = ((low, distance), (high, distance), (high, distance - wall), (low, distance - wall))
            points = tuple(
                (cos(angle) * u + sin(angle) * w, -sin(angle) * u + cos(angle) * w) for u, w in local
            )
        else:
            points = (*ends, plan.inner.points[k], plan.inner.points[k - 1])
        cuts = tuple(cut for p in patterns if p.face == k + 1 for cut in _pattern_cuts(plan, p))
        made.append(
            Body(f"plate {k + 1}", Role.PLATE, (Prism(Polygon(points), Metre(bottom), Metre(top)),), cuts,
                 material, face=k + 1, path=f"columns.test.plates[{k}]")
        )  # fmt: skip
    return made


def _pattern(plan: _Plan, k: int, half: float, height: float) -> FacePattern:
    """M12 threads on a grid and two 12 mm dowel bores, 18 mm deep."""
    middle = 0.5 * height
    threads = tuple(
        Hole((u, middle + v), "M12", Metre(0.0102), Metre(0.018))
        for u in (-half, half)
        for v in (-half, half)
    )
    bores = tuple(Hole((u, middle), None, Metre(0.012), Metre(0.018), fit="H7") for u in (-half, half))
    return FacePattern(k + 1, threads + bores, f"columns.test.pattern[{k}]")


def _pattern_cuts(plan: _Plan, pattern: FacePattern) -> tuple[Prism, ...]:
    frame = plan.frame(pattern.face - 1)
    return tuple(_disc(h.at, 0.5 * h.diameter, -h.depth, 0.0, frame) for h in pattern.holes)


def _anchor_prism(plan: _Plan, anchor: Anchor) -> Prism:
    wall = plan.sides[anchor.face - 1][2]
    return _disc(anchor.at, 0.5 * anchor.diameter, -wall - anchor.length, -wall, plan.frame(anchor.face - 1))


def _through_stud(name: str, at: Point2, top: float) -> Stud:
    return Stud(
        name, f"columns.test.studs.{name}", at, "M16", "8.8", Metre(-0.024), Metre(top), "top", Metre(0.024),
        Metre(0.018), Metre(0.028), Metre(0.018), STEEL, Metre(0.034), Metre(0.017), Metre(0.006), STEEL,
        torque=NewtonMetre(180.0), thread_friction=Ratio(0.12), head_friction=Ratio(0.12),
        tightening="torque wrench", scatter=Ratio(1.6), material=STEEL,
    )  # fmt: skip


def _flange_stud(name: str, at: Point2, seat: float) -> Stud:
    full = _through_stud(name, at, seat)
    return replace(full, seat_on="base plate", sleeve_outside=None, sleeve_inside=None, sleeve_material=None)


def _stud_bodies(stud: Stud) -> tuple[Body, ...]:
    washer_top = stud.seat + 0.006
    return (
        Body(stud.name, Role.STUD, (_disc(stud.at, 0.008, stud.bottom, washer_top + 0.018),), (), STEEL,
             path=stud.path),
        Body(f"washer of {stud.name}", Role.WASHER, (_disc(stud.at, 0.017, stud.seat, washer_top),),
             (_disc(stud.at, 0.0085, stud.seat, washer_top),), STEEL, path=stud.path),
        Body(f"nut of {stud.name}", Role.NUT, (_disc(stud.at, 0.0138, washer_top, washer_top + 0.013),),
             (_disc(stud.at, 0.008, washer_top, washer_top + 0.013),), STEEL, path=stud.path),
    )  # fmt: skip


def _station(
    plan: _Plan,
    k: int,
    name: str,
    *,
    half_width: float = 0.09,
    middle: float,
) -> Station:
    """A steel block with an aluminium part on it, four M12 screws, two dowels, two cuts."""
    frame = plan.frame(k)
    v = middle
    path = f"columns.test.stations.{name}"
    block = Prism(_box(0.0, v, half_width, 0.11), Metre(0.0), Metre(0.03), frame)
    part = Prism(_box(0.0, v, 0.6 * half_width, 0.05), Metre(0.03), Metre(0.06), frame)
    bodies = (
        Body(f"{name} block", Role.FIXTURE, (block,), (), STEEL, face=k + 1, station=name, path=path),
        Body(f"{name} part", Role.PART, (part,), (), ALUMINIUM, face=k + 1, station=name, path=path),
    )
    cuts = (
        Cut("skim", f"{path}.cuts.skim", "face", "mill80", Radian(0.0), (),
            Polygon(((-0.03, v - 0.03), (0.03, v - 0.03), (0.03, v + 0.03), (-0.03, v + 0.03))), Metre(0.06),
            Metre(0.058), cutting_speed=MetrePerSecond(8.0), feed_per_tooth=Metre(0.12e-3), width=Metre(0.06),
            pass_depth=Metre(0.002), material=CAST_ALUMINIUM, tolerance=Metre(0.02e-3)),
        Cut("hole", f"{path}.cuts.hole", "drill", "drill10", Radian(0.0), ((0.0, v), (0.02, v)), None,
            Metre(0.06), Metre(0.035), cutting_speed=MetrePerSecond(1.5), feed_per_turn=Metre(0.2e-3),
            material=CAST_ALUMINIUM, tolerance=Metre(0.1e-3)),
    )  # fmt: skip
    return Station(
        name, path, k + 1, (0.0, v), bodies, _box(0.0, v, half_width, 0.11), (), (), Ratio(0.15), cuts
    )


def _column(
    name: str,
    shape_name: str,
    plan: _Plan,
    height: float,
    bodies: list[Body],
    *,
    shape: BodyShape,
    turn: float,
    studs: tuple[Stud, ...] = (),
    pins: tuple[Pin, ...] = (),
    tubes: tuple[Tube, ...] = (),
    anchors: tuple[Anchor, ...] = (),
    patterns: tuple[FacePattern, ...] = (),
    stations: tuple[Station, ...] = (),
    ends: tuple[int, ...] = (),
) -> Column:
    held = pallet(turn=turn)
    assert held.outline is not None
    assert held.thickness is not None
    platform = Body(
        "pallet", Role.PALLET, (Prism(held.outline, Metre(-held.thickness), Metre(0.0)),), (), IRON,
        path=held.path,
    )  # fmt: skip
    faces = tuple(plan.face(k, 0.0, height, k in ends) for k in range(len(plan.sides)))
    by_face = {pattern.face: pattern for pattern in patterns}
    fastened = tuple(
        _fastened(station, by_face[station.face]) if station.face in by_face else station
        for station in stations
    )
    return Column(
        name=name, path=f"columns.{name}", shape=shape_name, outline=plan.outer, height=Metre(height),
        base_height=Metre(0.0), faces=faces, shape_of_body=shape, bodies=tuple(bodies), platforms=(platform,),
        studs=studs, pins=pins, tubes=tubes, anchors=anchors, patterns=patterns, stations=fastened,
        machine=machine(), pallet=held, base=None, riser=None, tools=tools(), truing_depth=Metre(0.3e-3),
        base_contact=(plan.outer,), fill_material=FILL if shape.kind == "filled" else None,
    )  # fmt: skip


def _fastened(station: Station, pattern: FacePattern) -> Station:
    """The station with a screw in each thread and a dowel in each bore of the face's pattern."""
    threads = [hole for hole in pattern.holes if hole.thread]
    bores = [hole for hole in pattern.holes if not hole.thread]
    screws = tuple(
        Screw(h.at, str(h.thread), "8.8", Metre(0.016), NewtonMetre(80.0), None, Ratio(0.12)) for h in threads
    )
    dowels = tuple(Dowel(h.at, h.diameter, "H7/m6", i > 0, Metre(0.012)) for i, h in enumerate(bores))
    return replace(station, screws=screws, dowels=dowels)
