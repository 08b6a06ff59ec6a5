"""A plain block on a pallet, and mills to try on it: reach by hand is easy there."""

from __future__ import annotations

from orthostat.analyses import reach
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import face_frame
from orthostat.model.bodies import Body, Disc, Face, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.model.machine import HeadCylinder, Machine
from orthostat.model.stations import Cut, Station
from orthostat.model.tools import CutterKind, Step, Tool

AXIAL = 0.001
CLEARANCES = reach.Clearances(Metre(0.002), Metre(AXIAL), Metre(0.0), Metre(AXIAL))
MACHINE = Machine(
    "m", "machines.m", Metre(-0.4), Metre(0.4), Metre(0.06), Metre(0.7), Metre(0.0), Metre(2.0),
    head_cylinders=(HeadCylinder(Metre(0.06), Metre(0.0), Metre(0.5)),),
)  # fmt: skip


def mill(radius: float, *, chamfer: float = 0.0, holder: float = 0.02, plunges: bool = False) -> Tool:
    steps = (
        Step(Metre(radius + chamfer), Metre(0.0), Metre(0.01), True),
        Step(Metre(holder), Metre(0.01), Metre(0.1)),
    )
    return Tool(
        "mill", "tools.mill", CutterKind.FACE_MILL, steps, Metre(0.1), Metre(radius), Metre(radius + chamfer),
        plunges=plunges,
    )  # fmt: skip


def box(u0: float, u1: float, v0: float, v1: float) -> Polygon:
    return Polygon(((u0, v0), (u1, v0), (u1, v1), (u0, v1)))


def block(name: str, role: Role, face: Face, ground: Polygon | Disc, low: float, high: float) -> Body:
    frame = face_frame(Radian(face.angle), face.distance)
    return Body(name, role, (Prism(ground, Metre(low), Metre(high), frame),), face=face.number, station="s")


def skim(region: Polygon, *, top: float = 0.02, depth: float = 0.015) -> Cut:
    """A region that is milled flat, from `top` above the face down to `depth`."""
    return Cut("skim", "cuts.skim", "face", "mill", Radian(0.0), (), region, Metre(top), Metre(depth))


def column(
    *,
    half: float = 0.15,
    distance: float = 0.15,
    pallet: float | None = None,
    machine: Machine = MACHINE,
    tool: Tool | None = None,
    bodies: tuple[Body, ...] = (),
    cuts: tuple[Cut, ...] = (),
    v_low: float = 0.0,
) -> Column:
    """A block of which only the face at angle 0 matters, on a square pallet of half-width `pallet`."""
    face = Face(1, "front", 0.0, Metre(distance), Metre(-half), Metre(half), Metre(v_low), Metre(0.5))
    core = Body("core", Role.SOLID, (Prism(box(-half, half, -half, distance), Metre(v_low), Metre(0.5)),))
    stands = () if pallet is None else (
        Body("pallet", Role.PALLET,
             (Prism(box(-pallet, pallet, -pallet, pallet), Metre(-0.08), Metre(0.0)),)),
    )  # fmt: skip
    station = Station("s", "stations.s", 1, (0.0, 0.0), bodies, None, cuts=cuts)
    return Column(
        name="c", path="columns.c", shape="square", outline=box(-half, half, -half, distance),
        height=Metre(0.5), base_height=Metre(0.0), faces=(face,), shape_of_body=None, bodies=(core,),
        platforms=stands, studs=(), pins=(), tubes=(), anchors=(), patterns=(),
        stations=(station,) if bodies or cuts else (), machine=machine, pallet=None, base=None, riser=None,
        tools=(tool or mill(0.04),), truing_depth=Metre(0.0003),
    )  # fmt: skip


def solved(made: Column, clearances: reach.Clearances = CLEARANCES) -> reach.Reach:
    return reach.solve(reach.inputs_from(made, clearances))
