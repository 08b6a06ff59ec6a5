"""What a stud passes through on its way down: layers of material, found from the column's bodies."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from math import cos, hypot, pi, sin
from typing import NamedTuple

from orthostat.analyses.hold.fastener import Layer
from orthostat.base.dimensions import Metre, PerKelvin, SquareMetre
from orthostat.base.frames import PLAN
from orthostat.formulas.polygons import Side, sides
from orthostat.model.bodies import Body, Disc, Point2, Polygon, Prism, Role, Section

CLAMPED = frozenset(
    {
        Role.PLATE,
        Role.SOLID,
        Role.BASE_PLATE,
        Role.LID,
        Role.CLEAT,
        Role.FILL,
        Role.INTERMEDIATE_BASE,
        Role.RISER,
    }
)
"""Bodies that carry the clamp force; sleeves and void formers only take their room."""
_SAMPLES = 12


class Upright(NamedTuple):
    """A body with its prisms that stand upright."""

    body: Body
    adds: tuple[Prism, ...]
    cuts: tuple[Prism, ...]


def upright_of(bodies: Iterable[Body]) -> tuple[Upright, ...]:
    """The bodies that carry the clamp force."""
    return tuple(
        Upright(body, _upright(body.adds), _upright(body.cuts)) for body in bodies if body.role in CLAMPED
    )


def _upright(prisms: tuple[Prism, ...]) -> tuple[Prism, ...]:
    return tuple(prism for prism in prisms if prism.frame is PLAN or prism.frame == PLAN)


def layers_of(
    upright: tuple[Upright, ...], at: Point2, *, radius: Metre, low: Metre, high: Metre, studs: int
) -> tuple[Layer, ...]:
    """Layers between two heights on a ring of `radius` about a stud, from the top down.

    Where the ring stands in the open inside of a hollow column, the walls carry: their whole section,
    shared by the `studs`. Empty when there is nothing at some height.
    """
    ring = [
        (at[0] + radius * cos(2.0 * pi * k / _SAMPLES), at[1] + radius * sin(2.0 * pi * k / _SAMPLES))
        for k in range(_SAMPLES)
    ]
    levels = sorted(
        {low, high, *(level for each in upright for level in _levels(each) if low < level < high)},
        reverse=True,
    )
    held = [
        (each.body, _ring_held(each.adds, at, radius, ring), _ring_held(each.cuts, at, radius, ring))
        for each in upright
    ]
    found: list[Layer] = []
    for top, bottom in itertools.pairwise(levels):
        if top - bottom < 1e-9:
            continue
        middle = 0.5 * (top + bottom)
        counts = [((_at(adds, middle) & ~_at(cuts, middle)).bit_count(), body) for body, adds, cuts in held]
        most, body = max(counts, key=lambda pair: pair[0], default=(0, None))
        thickness = Metre(top - bottom)
        if body is not None and most >= _SAMPLES // 4:
            found.append(_layer(body, thickness))
            continue
        walls = [each for each in upright if each.body.role in (Role.PLATE, Role.SOLID)]
        area = sum(section_area(each, middle) for each in walls) / max(studs, 1)
        if area <= 0.0:
            return ()
        found.append(_layer(walls[0].body, thickness, SquareMetre(area)))
    return _merged(found)


def _layer(body: Body, thickness: Metre, area: SquareMetre | None = None) -> Layer:
    material = body.material
    return Layer(
        body.role.value,
        thickness,
        None if material is None else material.youngs_modulus,
        None if material is None else material.expansion,
        body.role is Role.FILL,
        area,
        _material_path(body),
    )


def _material_path(body: Body) -> str:
    if body.material is not None and body.material.path:
        return body.material.path
    return body.material_key if body.path else f"{body.name}.material"


def _merged(layers: list[Layer]) -> tuple[Layer, ...]:
    """Neighbours of the same body and material as one layer."""
    merged: list[Layer] = []
    for layer in layers:
        last = merged[-1] if merged else None
        if last is not None and (last.name, last.path, last.area) == (layer.name, layer.path, layer.area):
            merged[-1] = replace(last, thickness=Metre(last.thickness + layer.thickness))
        else:
            merged.append(layer)
    return tuple(merged)


def _levels(each: Upright) -> list[Metre]:
    return [level for prism in (*each.adds, *each.cuts) for level in (prism.low, prism.high)]


_Span = tuple[Metre, Metre, int]


def _ring_held(prisms: tuple[Prism, ...], at: Point2, radius: Metre, ring: list[Point2]) -> list[_Span]:
    """Of upright prisms those that hold some of the points: from, to, and a bit for each point."""
    found = []
    for prism in prisms:
        depth = _depth(prism.section, at)
        if depth > 1.001 * radius:
            bits = (1 << len(ring)) - 1
        elif depth < -1.001 * radius:
            bits = 0
        else:
            bits = sum(1 << k for k, point in enumerate(ring) if contains(prism.section, point))
        if bits:
            found.append((prism.low, prism.high, bits))
    return found


def _depth(section: Section, point: Point2) -> float:
    """How far a point lies inside of every side of a convex section; below zero outside of one."""
    if isinstance(section, Disc):
        return section.radius - hypot(point[0] - section.centre[0], point[1] - section.centre[1])
    return -max([a * point[0] + b * point[1] - c for a, b, c in _sides(section)])


@lru_cache(maxsize=512)
def _sides(polygon: Polygon) -> tuple[Side, ...]:
    return sides(polygon.points)


def _at(spans: list[_Span], height: float) -> int:
    """The points that are held at a height."""
    bits = 0
    for low, high, held in spans:
        if low <= height <= high:
            bits |= held
    return bits


def contains(section: Section, point: Point2) -> bool:
    """Whether a convex section holds a point."""
    if isinstance(section, Disc):
        return hypot(point[0] - section.centre[0], point[1] - section.centre[1]) <= section.radius
    sides = [
        (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
        for a, b in zip(section.points, section.points[1:] + section.points[:1], strict=True)
    ]
    return all(side >= -1e-12 for side in sides) or all(side <= 1e-12 for side in sides)


def section_area(each: Upright, height: float) -> float:
    """Area of a body's upright prisms at a height [m²]."""
    added, cut = (
        sum(_area(prism.section) for prism in prisms if prism.low <= height <= prism.high)
        for prisms in (each.adds, each.cuts)
    )
    return added - cut


def bonded_expansions(upright: tuple[Upright, ...], height: float) -> tuple[PerKelvin, ...]:
    """Expansion of the plates, and of plates and fill bonded together (Σ E A α / Σ E A), at a height.

    Empty where there is no fill or a property is not stated.
    """
    stiff = growing = 0.0
    plates: list[PerKelvin] = []
    filled = False
    for each in upright:
        body = each.body
        if body.role not in {Role.PLATE, Role.FILL}:
            continue
        material, area = body.material, section_area(each, height)
        if area <= 0.0:
            continue
        if material is None or material.youngs_modulus is None or material.expansion is None:
            return ()
        stiff += material.youngs_modulus * area
        growing += material.youngs_modulus * area * material.expansion
        filled = filled or body.role is Role.FILL
        if body.role is Role.PLATE:
            plates.append(material.expansion)
    if not filled or not plates:
        return ()
    return (max(plates), PerKelvin(growing / stiff))


def _area(section: Section) -> float:
    if isinstance(section, Disc):
        return pi * section.radius**2
    points = section.points
    return 0.5 * abs(
        sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
    )


def room_about(outline: Polygon, at: Point2, others: tuple[Point2, ...]) -> Metre:
    """Width the pressure cone of a stud can spread to: to the nearest edge, to the next stud."""
    edges = [
        _distance(at, a, b)
        for a, b in zip(outline.points, outline.points[1:] + outline.points[:1], strict=True)
    ]
    apart = [0.5 * hypot(at[0] - x, at[1] - z) for x, z in others if (x, z) != at]
    return Metre(2.0 * min([*edges, *apart]))


def _distance(point: Point2, a: Point2, b: Point2) -> float:
    along = (b[0] - a[0], b[1] - a[1])
    length = along[0] ** 2 + along[1] ** 2
    share = 0.0 if length == 0.0 else ((point[0] - a[0]) * along[0] + (point[1] - a[1]) * along[1]) / length
    share = min(1.0, max(0.0, share))
    return hypot(point[0] - a[0] - share * along[0], point[1] - a[1] - share * along[1])
