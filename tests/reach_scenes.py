"""Random columns, tools and machines for trying reach: all plan shapes, every number invented by a seed."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, sin

import numpy as np

from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import Frame, face_frame
from orthostat.model.bodies import Body, Disc, Face, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.model.machine import HeadBox, HeadCylinder, Machine
from orthostat.model.stations import Station
from orthostat.model.tools import CutterKind, Step, Tool

SHAPES = ("triangle", "square", "slab", "pentagon", "hexagon", "polygon")


def turned(made: Column, by: float) -> Column:
    """The whole column, pallet included, turned about the B axis so that a face at θ comes to θ + by."""

    def spun(v: tuple[float, float, float]) -> tuple[float, float, float]:
        return v[0] * cos(by) + v[2] * sin(by), v[1], v[2] * cos(by) - v[0] * sin(by)

    def body(given: Body) -> Body:
        adds = tuple(
            replace(
                p,
                frame=Frame(
                    *(spun(v) for v in (p.frame.origin, p.frame.first, p.frame.second, p.frame.third))
                ),
            )
            for p in given.adds
        )
        return replace(given, adds=adds)

    flat = [spun((x, 0.0, z)) for x, z in made.outline.points]
    return replace(
        made,
        outline=Polygon(tuple((x, z) for x, _, z in flat)),
        faces=tuple(replace(face, angle=face.angle + by) for face in made.faces),
        bodies=tuple(map(body, made.bodies)),
        platforms=tuple(map(body, made.platforms)),
        stations=tuple(replace(s, bodies=tuple(map(body, s.bodies))) for s in made.stations),
    )


def column(seed: int) -> Column:
    """One random design with one tool; its shape goes through all plan shapes with the seed."""
    rng = np.random.default_rng(seed)
    sides = _sides(rng, SHAPES[seed % len(SHAPES)])
    corners = _corners(sides)
    height = rng.uniform(0.25, 0.5)
    base = 0.02
    faces = tuple(
        Face(
            k + 1,
            f"face {k + 1}",
            angle,
            Metre(distance),
            Metre(min(us)),
            Metre(max(us)),
            Metre(base),
            Metre(height),
        )
        for k, (angle, distance) in enumerate(sides)
        for us in [_across(angle, corners[k - 1], corners[k])]
    )
    flange = Polygon(_scaled(corners, rng.uniform(0.9, 1.4)))
    bodies = [
        Body("core", Role.SOLID, (Prism(Polygon(tuple(corners)), Metre(base), Metre(height)),)),
        Body("base plate", Role.BASE_PLATE, (Prism(flange, Metre(0.0), Metre(base)),)),
    ]
    for k in range(4):
        at = (rng.uniform(-0.2, 0.2), rng.uniform(-0.2, 0.2))
        top = Metre(rng.uniform(0.01, 0.05))
        bodies.append(Body(f"nut {k}", Role.NUT, (Prism(Disc(at, Metre(0.014)), Metre(0.0), top),)))
    if rng.random() < 0.5:
        lid = Prism(Polygon(_scaled(corners, rng.uniform(0.9, 1.25))), Metre(height), Metre(height + 0.015))
        bodies.append(Body("lid", Role.LID, (lid,)))
    stations = tuple(_station(rng, face, k) for face in faces for k in range(rng.integers(0, 3)))
    return Column(
        name=f"random {seed}", path=f"columns.random{seed}", shape="polygon", outline=Polygon(tuple(corners)),
        height=Metre(height), base_height=Metre(0.0), faces=faces, shape_of_body=None, bodies=tuple(bodies),
        platforms=(Body("pallet", Role.PALLET, (_pallet(rng),)),), studs=(), pins=(), tubes=(), anchors=(),
        patterns=(), stations=stations, machine=_machine(rng), pallet=None, base=None, riser=None,
        tools=(_tool(rng),), truing_depth=Metre(0.0003),
    )  # fmt: skip


def _sides(rng: np.random.Generator, shape: str) -> list[tuple[float, float]]:
    turn = rng.choice([0.0, rng.uniform(0.0, 2 * pi)])
    if shape == "slab":
        thin, wide = rng.uniform(0.04, 0.08), rng.uniform(0.1, 0.2)
        return [(turn + k * pi / 2, thin if k % 2 == 0 else wide) for k in range(4)]
    if shape == "polygon":
        angles = np.cumsum(rng.uniform(0.7, 1.4, 5))
        angles = 2 * pi * angles / (angles[-1] + rng.uniform(0.7, 1.4)) if angles[-1] > 5.5 else angles
        return [(turn + a, rng.uniform(0.12, 0.15)) for a in angles]
    count = {"triangle": 3, "square": 4, "pentagon": 5, "hexagon": 6}[shape]
    distance = rng.uniform(0.08, 0.16)
    return [(turn + 2 * pi * k / count, distance) for k in range(count)]


def _corners(sides: list[tuple[float, float]]) -> list[tuple[float, float]]:
    made = []
    for (a, da), (b, db) in zip(sides, sides[1:] + sides[:1], strict=True):
        det = sin(a) * cos(b) - cos(a) * sin(b)
        made.append(((da * cos(b) - db * cos(a)) / det, (db * sin(a) - da * sin(b)) / det))
    return made


def _across(angle: float, a: tuple[float, float], b: tuple[float, float]) -> list[float]:
    return [cos(angle) * x - sin(angle) * z for x, z in (a, b)]


def _scaled(points: list[tuple[float, float]], by: float) -> tuple[tuple[float, float], ...]:
    return tuple((by * x, by * z) for x, z in points)


def _pallet(rng: np.random.Generator) -> Prism:
    half = rng.uniform(0.12, 0.25)
    if rng.random() < 0.3:
        return Prism(Disc((0.0, 0.0), Metre(half)), Metre(-0.06), Metre(0.0))
    cut = rng.uniform(0.0, 0.6) * half + 1e-3
    ring = [(half, -half + cut), (half, half - cut), (half - cut, half), (-half + cut, half)]
    return Prism(Polygon((*ring, *((-x, -z) for x, z in ring))), Metre(-0.06), Metre(0.0))


def _station(rng: np.random.Generator, face: Face, number: int) -> Station:
    frame = face_frame(Radian(face.angle), face.distance)
    u = rng.uniform(face.u_low, face.u_high)
    v = rng.uniform(face.v_low, face.v_high)
    name = f"s{face.number}.{number}"
    thick = rng.uniform(0.01, 0.08)
    w, h = rng.uniform(0.01, 0.07, 2)
    block = Polygon(((u - w, v - h), (u + w, v - h), (u + w, v + h), (u - w, v + h)))
    bodies = [
        Body(
            f"{name} block",
            Role.FIXTURE,
            (Prism(block, Metre(0.0), Metre(thick), frame),),
            face=face.number,
            station=name,
        )
    ]
    clamp = Prism(
        Disc((u + 0.5 * w, v), Metre(rng.uniform(0.005, 0.02))),
        Metre(thick),
        Metre(thick + rng.uniform(0.005, 0.06)),
        frame,
    )
    bodies.append(Body(f"{name} clamp", Role.CLAMP, (clamp,), face=face.number, station=name))
    a = rng.uniform(0.0, pi)
    local = ((-w, -0.5 * h), (w, -0.5 * h), (0.0, h))
    ring = tuple((u + cos(a) * p - sin(a) * q, v + sin(a) * p + cos(a) * q) for p, q in local)
    bodies.append(
        Body(
            f"{name} part",
            Role.PART,
            (Prism(Polygon(ring), Metre(thick), Metre(thick + 0.02), frame),),
            face=face.number,
            station=name,
        )
    )
    return Station(name, f"stations.{name}", face.number, (u, v), tuple(bodies), None)


def _tool(rng: np.random.Generator) -> Tool:
    radius = rng.uniform(0.006, 0.05)
    chamfer = rng.choice([0.0, 0.0, 0.006])
    flute = rng.uniform(0.004, 0.05)
    neck = flute + rng.uniform(0.01, 0.06)
    gauge = neck + rng.uniform(0.03, 0.08)
    steps = (
        Step(Metre(radius + chamfer), Metre(0.0), Metre(flute), True),
        Step(Metre(rng.uniform(0.6, 1.3) * radius), Metre(flute), Metre(neck)),
        Step(Metre(rng.uniform(0.02, 0.04)), Metre(neck), Metre(gauge)),
    )
    return Tool(
        "tool", "tools.tool", CutterKind.END_MILL, steps, Metre(gauge), Metre(radius),
        Metre(radius + chamfer), plunges=bool(rng.random() < 0.5),
    )  # fmt: skip


def _machine(rng: np.random.Generator) -> Machine:
    return Machine(
        "m", "machines.m", Metre(-rng.uniform(0.15, 0.3)), Metre(rng.uniform(0.15, 0.3)),
        Metre(rng.uniform(-0.02, 0.1)), Metre(rng.uniform(0.35, 0.7)), Metre(0.0), Metre(2.0),
        head_cylinders=(HeadCylinder(Metre(0.06), Metre(0.0), Metre(0.07)),),
        head_boxes=(HeadBox(Metre(-0.12), Metre(0.16), Metre(-0.1), Metre(0.2), Metre(0.07), Metre(0.5)),),
    )  # fmt: skip
