"""The plan: half-planes round the column, their corners, and the faces they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, cos, hypot, pi, sin, tan

from orthostat.document.column import Body, Column, Plan
from orthostat.document.parts import Outline
from orthostat.document.quantities import Typed
from orthostat.document.reading import KeyPath
from orthostat.meaning.faults import Faults
from orthostat.meaning.values import point
from orthostat.model.bodies import Point2, Polygon

_SIDES = {"square": 4, "triangle": 3, "hexagon": 6}
_SMALL = 1e-9


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a plan: angle of its outward normal, distance from the plan's origin, wall behind."""

    angle: float
    distance: float
    wall: float | None
    is_end: bool = False


def plan_sides(column: Column, pallet: Polygon | None, faults: Faults) -> tuple[Side, ...] | None:
    """The sides in order of growing angle from face 1, in the column's own frame (face 1 at 0 for
    regular plans and slabs); `None` when the plan can't be laid out (faults are noted).
    """
    plan = column.plan
    if plan.shape in _SIDES:
        sides = _regular(plan, _turn(column), pallet, faults)
    elif plan.shape == "slab":
        sides = _slab(plan, _turn(column), pallet, faults)
    else:
        sides = _polygon(plan, faults)
    return None if sides is None else _with_walls(sides, column.body, faults)


def corners(sides: Sequence[tuple[float, float]]) -> tuple[Point2, ...] | None:
    """Corners (x, z) of the half-planes (angle, distance); corner k lies between sides k and k + 1.

    `None` when some side has no length left, that is when the outline has closed up.
    """
    found: list[Point2] = []
    for (a, da), (b, db) in zip(sides, [*sides[1:], sides[0]], strict=True):
        det = sin(a) * cos(b) - cos(a) * sin(b)
        if abs(det) < 1e-12:
            return None
        found.append(((da * cos(b) - db * cos(a)) / det, (db * sin(a) - da * sin(b)) / det))
    for k, (angle, _) in enumerate(sides):
        start, end = found[k - 1], found[k]
        # Along a side, u grows from the corner with side k - 1 ... to the one with side k + 1.
        if (end[0] - start[0]) * cos(angle) - (end[1] - start[1]) * sin(angle) < _SMALL:
            return None
    return tuple(found)


def outline_polygon(outline: Outline, path: KeyPath, faults: Faults) -> tuple[Polygon | None, float | None]:
    """A plan outline as a polygon or a radius: one of width and depth, diameter, points."""
    ways = [
        outline.width is not None or outline.depth is not None,
        outline.diameter is not None,
        outline.points is not None,
    ]
    if sum(ways) > 1:
        faults.add(path, "gives its outline twice; keep one of width and depth, diameter, points")
        return None, None
    if outline.diameter is not None:
        return None, 0.5 * outline.diameter.si
    if outline.points is not None:
        return convex_polygon([point(pair) for pair in outline.points], (*path, "points"), faults), None
    if outline.width is None and outline.depth is None:
        return None, None
    if outline.width is None or outline.depth is None:
        faults.add(path, "gives only one of width and depth; both are wanted")
        return None, None
    x, z = 0.5 * outline.width.si, 0.5 * outline.depth.si
    return Polygon(((-x, -z), (x, -z), (x, z), (-x, z))), None


def convex_polygon(points: Sequence[Point2], path: KeyPath, faults: Faults) -> Polygon | None:
    """`points` as a convex polygon, or `None` with a fault for one that bends in or has no area."""
    turns = []
    for i in range(len(points)):
        (ax, ay), (bx, by), (cx, cy) = points[i - 2], points[i - 1], points[i]
        turns.append((bx - ax) * (cy - by) - (by - ay) * (cx - bx))
    size = max(hypot(x - points[0][0], y - points[0][1]) for x, y in points)
    if size < 1e-6 or all(abs(turn) < 1e-9 * size * size for turn in turns):
        faults.add(path, "has no area; its corners lie on one line or on one point")
        return None
    if len({(round(x, 9), round(y, 9)) for x, y in points}) < len(points):
        faults.add(path, "has two corners on the same spot")
        return None
    tolerance = 1e-9 * size * size
    if (min(turns) < -tolerance and max(turns) > tolerance) or _winds_twice(points):
        faults.add(path, "is not convex; give the corners in order round a convex outline, or split it")
        return None
    straight = [i for i, turn in enumerate(turns) if abs(turn) <= tolerance]
    kept = [p for i, p in enumerate(points) if (i + 1) % len(points) not in straight]
    return Polygon(tuple(kept))


def _winds_twice(points: Sequence[Point2]) -> bool:
    total = 0.0
    for i in range(len(points)):
        (ax, ay), (bx, by), (cx, cy) = points[i - 2], points[i - 1], points[i]
        first, second = atan2(by - ay, bx - ax), atan2(cy - by, cx - bx)
        total += (second - first + pi) % (2.0 * pi) - pi
    return abs(abs(total) - 2.0 * pi) > 0.1


def support(polygon: Polygon | None, radius: float | None, angle: float) -> float | None:
    """Farthest reach of an outline in the direction `angle` (0 along +Z, growing toward +X)."""
    if polygon is not None:
        return max(x * sin(angle) + z * cos(angle) for x, z in polygon.points)
    return radius


def turned_about(at: Point2, turn: float, shift: Point2) -> Point2:
    """A point of the column's own plan after the column is turned and set down at its position."""
    return turned_all((at,), turn, shift)[0]


def turned_all(points: Sequence[Point2], turn: float, shift: Point2) -> tuple[Point2, ...]:
    """Points of the column's own plan after the column is turned and set down at its position."""
    s, c = sin(turn), cos(turn)
    return tuple((x * c + z * s + shift[0], z * c - x * s + shift[1]) for x, z in points)


def _turn(column: Column) -> float:
    return column.turn.si if column.turn else 0.0


def _regular(plan: Plan, turn: float, pallet: Polygon | None, faults: Faults) -> list[Side] | None:
    count = _SIDES[plan.shape]
    sizes: dict[str, float] = {}
    if plan.across_flats:
        if count == 3:
            faults.add(
                ("plan", "across_flats"), "a triangle has no opposite faces; give face_width or face_distance"
            )
        sizes["across_flats"] = 0.5 * plan.across_flats.si
    if plan.face_width:
        sizes["face_width"] = 0.5 * plan.face_width.si / tan(pi / count)
    if plan.face_distance:
        sizes["face_distance"] = plan.face_distance.si
    angles = [2.0 * pi * k / count for k in range(count)]
    if plan.stand_off is not None:
        reach = _beyond_pallet(plan.stand_off, [angle + turn for angle in angles], pallet, faults)
        if reach is not None:
            sizes["stand_off"] = reach
    _refuse(plan, ("width", "thickness", "points"), faults)
    if len(sizes) != 1:
        if not sizes and plan.stand_off is not None:
            return None
        faults.add(
            ("plan",),
            "give one size of the plan"
            if not sizes
            else f"gives its size {len(sizes)} times ({', '.join(sizes)}); keep one",
            allowed="across_flats, face_width, face_distance or stand_off",
        )
        return None
    distance = next(iter(sizes.values()))
    if distance <= 0.0:
        faults.add(("plan", "stand_off"), "leaves no column: the faces meet inside the pallet")
        return None
    return [Side(angle, distance, None) for angle in angles]


def _slab(plan: Plan, turn: float, pallet: Polygon | None, faults: Faults) -> list[Side] | None:
    _refuse(plan, ("across_flats", "face_width", "face_distance", "points"), faults)
    if plan.thickness is None and plan.stand_off is not None:
        half = _beyond_pallet(plan.stand_off, [turn, turn + pi], pallet, faults)
    else:
        half = 0.5 * plan.thickness.si if plan.thickness else None
    if plan.thickness is not None and plan.stand_off is not None:
        faults.add(("plan",), "gives its thickness twice; keep one of thickness, stand_off")
    if plan.width is None or half is None:
        if plan.width is None:
            faults.add(("plan", "width"), "is missing; a slab has a width across its long faces")
        if half is None and plan.stand_off is None:
            faults.add(("plan", "thickness"), "is missing; a slab has a thickness between its long faces")
        return None
    if half <= 0.0:
        faults.add(("plan", "stand_off"), "leaves no column: the faces meet inside the pallet")
        return None
    wide = 0.5 * plan.width.si
    return [
        Side(0.0, half, None),
        Side(0.5 * pi, wide, None, is_end=True),
        Side(pi, half, None),
        Side(1.5 * pi, wide, None, is_end=True),
    ]


def _polygon(plan: Plan, faults: Faults) -> list[Side] | None:
    _refuse(plan, ("across_flats", "face_width", "face_distance", "stand_off", "width", "thickness"), faults)
    if plan.points is None:
        faults.add(("plan", "points"), "is missing; a polygon is given by its corners (x, z)")
        return None
    made = convex_polygon([point(pair) for pair in plan.points], ("plan", "points"), faults)
    if made is None:
        return None
    points = list(made.points)
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True))
    edges = list(zip(points, [*points[1:], points[0]], strict=True))
    if area > 0.0:
        # Angles fall along these edges; go round the other way from the same first edge.
        edges = [(b, a) for a, b in [edges[0], *reversed(edges[1:])]]
    sides = []
    for (ax, az), (bx, bz) in edges:
        # Going with growing angle the outward normal of an edge is its direction turned to the left
        # of (x, z) as seen with z up: (-dz, dx).
        length = hypot(bx - ax, bz - az)
        nx, nz = -(bz - az) / length, (bx - ax) / length
        angle = atan2(nx, nz)
        sides.append(Side(angle, nx * ax + nz * az, None))
    first = sides[0].angle
    return [Side(first + (side.angle - first) % (2.0 * pi), side.distance, None) for side in sides]


def _beyond_pallet(
    stand_off: Typed, angles: list[float], pallet: Polygon | None, faults: Faults
) -> float | None:
    if pallet is None:
        faults.add(
            ("plan", "stand_off"),
            "needs the plan of a pallet to stand off from; state the pallet and its outline",
        )
        return None
    return float(max(support(pallet, None, angle) or 0.0 for angle in angles) + stand_off.si)


def _refuse(plan: Plan, keys: tuple[str, ...], faults: Faults) -> None:
    for key in keys:
        if getattr(plan, key) is not None:
            faults.add(("plan", key), f"does not belong to a {plan.shape}")


def _with_walls(sides: list[Side], body: Body | None, faults: Faults) -> tuple[Side, ...] | None:
    if body is None or body.kind == "solid":
        return tuple(sides)
    if body.plates is not None:
        if len(body.plates) != len(sides):
            faults.add(("body", "plates"), f"lists {len(body.plates)} thicknesses for {len(sides)} faces")
            return None
        return tuple(
            Side(s.angle, s.distance, t.si, s.is_end) for s, t in zip(sides, body.plates, strict=True)
        )
    plate = body.plate.si if body.plate else None
    end = body.end_plate.si if body.end_plate else plate
    return tuple(Side(s.angle, s.distance, end if s.is_end else plate, s.is_end) for s in sides)
