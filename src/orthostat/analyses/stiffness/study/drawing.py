"""Designs drawn at random from a study's ranges, to learn on and to try what was learnt."""

from __future__ import annotations

from math import exp, log

import numpy as np

from orthostat.analyses.stiffness.inputs import JointSprings, Place, RigidMass, StudSpring, Table
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.design import StudyDesign, reach_of
from orthostat.analyses.stiffness.study.ranges import Ranges, Span
from orthostat.analyses.stiffness.study.topology import area, centroid, half_planes
from orthostat.base.dimensions import (
    Kilogram,
    KilogramPerCubicMetre,
    Metre,
    NewtonMetrePerRadian,
    NewtonPerMetre,
    Pascal,
    PascalPerMetre,
    Ratio,
)
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Polygon
from orthostat.model.materials import Material

YARDSTICK = 0.3
MODULUS = 100e9
"""Size and wall modulus of the drawn columns: only ratios to them matter."""
HARDLY = 0.02
TRIES = 2000


def drawn(ranges: Ranges, generator: np.random.Generator) -> StudyDesign:
    """One design within the ranges. Raises `NotStated` where they leave hardly any."""
    for _ in range(TRIES):
        try:
            design = _drawn(ranges, generator)
            if not ranges.outside(design):
                return design
        except NotStated:
            continue
    raise NotStated(reason="the study's ranges leave no design that can be built")


def _drawn(ranges: Ranges, generator: np.random.Generator) -> StudyDesign:
    corners, angles, distances = _plan(ranges, generator)
    kind = str(generator.choice(ranges.kinds))
    wall = _material(generator, ranges, MODULUS)
    fill = None
    if kind in ("filled", "cored"):
        fill = _material(generator, ranges, MODULUS * _spread(generator, ranges.fill))
    reach = reach_of(corners)
    walls: tuple[Metre, ...] = ()
    if kind != "solid":
        thick = np.full(ranges.sides, _spread(generator, ranges.wall))
        if generator.random() < 0.4:
            thick = thick * np.exp(generator.uniform(-0.3, 0.3, ranges.sides))
            thick = np.clip(thick, ranges.wall.low, ranges.wall.high)
        walls = tuple(Metre(float(t)) for t in thick * reach)
    base = YARDSTICK * _spread(generator, ranges.base) if generator.choice(ranges.bases) else 0.0
    lid = YARDSTICK * _spread(generator, ranges.lid) if generator.choice(ranges.lids) else 0.0
    overhang: tuple[Metre, ...] = ()
    if base and ranges.overhang.high > HARDLY and generator.random() < 0.45:
        even = generator.random() < 0.5
        least = max(ranges.overhang.low, HARDLY)
        shares = generator.uniform(least, ranges.overhang.high, 1 if even else ranges.sides)
        overhang = tuple(Metre(YARDSTICK * float(o)) for o in np.broadcast_to(shares, ranges.sides))
    height = YARDSTICK * _spread(generator, ranges.height)
    foot = half_planes(angles, distances + (np.asarray(overhang) if overhang else 0.0))
    return StudyDesign(
        corners=_ring(corners), height=Metre(height), wall=wall, walls=walls, fill=fill,
        core=Ratio(generator.uniform(ranges.core.low, ranges.core.high)) if kind == "cored" else Ratio(0.0),
        base=Metre(base), base_material=_plate(generator, ranges, wall), overhang=overhang,
        lid=Metre(lid), lid_material=_plate(generator, ranges, wall),
        joint=_joint(
            generator, ranges, corners, foot, base=base, top=height, from_top=bool(lid) or kind == "solid"
        ),
        table=_table(generator), places=_places(generator, corners, angles, distances, height),
    )  # fmt: skip


def _plan(ranges: Ranges, generator: np.random.Generator) -> tuple[Floats, Floats, Floats]:
    """Corners of a plan of the yardstick's size: regular, oblong or uneven."""
    sides = ranges.sides
    angles, distances = -2.0 * np.pi * np.arange(sides) / sides, np.ones(sides)
    shape = generator.random()
    if sides == 4 and shape < 0.4:
        oblong = exp(generator.uniform(-1.0, 1.0) * log(ranges.plan.high))
        distances = np.array([1.0, oblong, 1.0, oblong])
    elif shape > 0.7 and ranges.plan.high > 1.0 and ranges.corner.high > 1.0:
        room = 0.5 * min(ranges.corner.high - 1.0, 1.0 - ranges.corner.low)
        angles = angles + generator.uniform(-room, room, sides) * 2.0 * np.pi / sides
        angles -= angles[0]
        distances = distances * np.exp(generator.uniform(-0.2, 0.2, sides))
        if sides == 4 and generator.random() < 0.5:
            distances = distances * np.array([1.0, 1.6, 1.0, 1.6])
    corners = half_planes(angles, distances)
    size = area(corners)
    if size <= 0.0:
        raise NotStated(reason="the sides close")
    scale = YARDSTICK / np.sqrt(size)
    return corners * scale, angles, distances * scale


def _spread(generator: np.random.Generator, span: Span) -> float:
    """Even in the logarithm."""
    return exp(generator.uniform(log(span.low), log(span.high)))


def _material(generator: np.random.Generator, ranges: Ranges, modulus: float) -> Material:
    return Material(
        "drawn", KilogramPerCubicMetre(generator.uniform(1500.0, 8000.0)), Pascal(modulus),
        Ratio(generator.uniform(ranges.poisson.low, ranges.poisson.high)), path="study",
    )  # fmt: skip


def _plate(generator: np.random.Generator, ranges: Ranges, wall: Material) -> Material:
    if generator.random() < 0.6:
        return wall
    return _material(generator, ranges, MODULUS * _spread(generator, ranges.plates))


def _joint(
    generator: np.random.Generator,
    ranges: Ranges,
    corners: Floats,
    foot: Floats,
    *,
    base: float,
    top: float,
    from_top: bool,
) -> JointSprings:
    normal = _spread(generator, ranges.joint) * MODULUS / YARDSTICK
    contact: tuple[Polygon, ...] = ()
    if generator.random() < 0.25:
        middle = centroid(foot)
        hole = middle + generator.uniform(0.3, 0.75) * (foot - middle)
        contact = tuple(
            Polygon(_ring(np.array([foot[k - 1], foot[k], hole[k], hole[k - 1]]))) for k in range(len(foot))
        )
    studs: tuple[StudSpring, ...] = ()
    seats = ([base] if base else []) + ([top] if from_top else [])
    if seats and ranges.stud.high > 0.0 and generator.random() < 0.5:
        seat = float(generator.choice(seats))
        middle = centroid(corners)
        flanged = area(foot) > 1.3 * area(corners) and seat == base
        at = 0.5 * (corners + foot) if flanged else middle + 0.5 * (corners - middle)
        stiff = ranges.stud.high * 10.0 ** generator.uniform(-1.5, 0.0) * MODULUS * YARDSTICK
        studs = tuple(
            StudSpring(f"stud {k}", (float(x), float(z)), Metre(seat), Metre(0.012), NewtonPerMetre(stiff))
            for k, (x, z) in enumerate(at)
        )
    sideways = normal * generator.uniform(ranges.sideways.low, ranges.sideways.high)
    return JointSprings(PascalPerMetre(normal), PascalPerMetre(sideways), contact, studs)


def _table(generator: np.random.Generator) -> Table:
    if generator.random() < 0.5:
        return Table()
    turning = 10.0 ** generator.uniform(6.7, 8.5, 2)
    return Table(
        NewtonPerMetre(10.0 ** generator.uniform(8.5, 10.0)),
        NewtonMetrePerRadian(float(turning[0])),
        NewtonMetrePerRadian(float(turning[1])),
    )


def _places(
    generator: np.random.Generator, corners: Floats, angles: Floats, distances: Floats, height: float
) -> tuple[Place, ...]:
    made = []
    for k, (angle, distance) in enumerate(zip(angles.tolist(), distances.tolist(), strict=True)):
        if generator.random() < 0.4:
            continue
        s, c = float(np.sin(angle)), float(np.cos(angle))
        ends = [c * x - s * z for x, z in (corners[k - 1], corners[k])]
        middle, half = 0.5 * sum(ends), 0.35 * abs(ends[1] - ends[0])
        v, rise = generator.uniform(0.4, 0.8) * height, min(0.25 * YARDSTICK, 0.15 * height)
        mass = generator.uniform(0.0, 40.0)
        (u0, v0), (u1, v1) = (middle - half, v - rise), (middle + half, v + rise)
        patch = Polygon(((u0, v0), (u1, v0), (u1, v1), (u0, v1)))
        origin = (s * distance, 0.0, c * distance)
        centre = (origin[0] + middle * c + 0.03 * s, v, origin[2] - middle * s + 0.03 * c)
        turning = mass * (half**2 + rise**2) / 3.0
        hung = RigidMass(Kilogram(mass), centre, (turning, turning, turning, 0.0, 0.0, 0.0))
        made.append(Place(f"place {k}", "study", k, origin, (c, 0.0, -s), (s, 0.0, c), patch, (hung,)))
    return tuple(made)


def _ring(corners: Floats) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(z)) for x, z in corners)
