"""Reach's geometry against integral geometry, general-purpose libraries and what shops say."""

from __future__ import annotations

from math import cos, pi, radians, sin
from typing import Any

import numpy as np
import shapely

from orthostat.analyses.reach import Clearances, Inputs, solve
from orthostat.analyses.reach.cuts import tip_of
from orthostat.analyses.reach.inputs import CHORD, Limits
from orthostat.analyses.reach.minkowski import missed, rounded, shrunk, sums
from orthostat.analyses.reach.scene import Scene, project, solids_of, view
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import face_frame
from orthostat.model.bodies import Body, Face, Polygon, Prism, Role
from orthostat.model.machine import Magazine
from orthostat.model.stations import Cut
from orthostat.model.tools import CutterKind, Step, Tool
from orthostat.validation.cases import case

_CHORDS = "arcs are drawn with chords within 5 µm, round it to the safe side"
_HEXAGON = shapely.Polygon([(0.1 * cos(0.2 + k * pi / 3), 0.07 * sin(0.2 + k * pi / 3)) for k in range(6)])
_NONE = Metre(0.0)


def _grown(shape: shapely.Polygon, low: tuple[float, float], high: tuple[float, float]) -> shapely.Polygon:
    return sums(np.array([shape], dtype=object), low, high)[0]


def _round(shape: shapely.Polygon, radius: Metre) -> shapely.Polygon:
    return rounded(np.array([shape], dtype=object), radius, CHORD)[0]


@case(
    "area of a rectangle 300 × 200 mm grown by a circle of 50 mm: A + L r + π r² (Steiner)",
    expected=0.3 * 0.2 + 2.0 * (0.3 + 0.2) * 0.05 + pi * 0.05**2,
    unit="m^2",
    source="schneider-2014, section 4.1, Steiner's formula in the plane",
    reason=_CHORDS,
    tolerance=2.0 * pi * 0.05 * 5e-6,
)
def _steiner() -> float:
    return float(_round(shapely.box(0.0, 0.0, 0.3, 0.2), Metre(0.05)).area)


@case(
    "area of a hexagon grown by a circle of 50 mm: A + L r + π r² (Steiner)",
    expected=float(_HEXAGON.area + _HEXAGON.length * 0.05 + pi * 0.05**2),
    unit="m^2",
    source="schneider-2014, section 4.1, Steiner's formula in the plane",
    reason=_CHORDS,
    tolerance=2.0 * pi * 0.05 * 5e-6,
)
def _steiner_of_a_hexagon() -> float:
    return float(_round(_HEXAGON, Metre(0.05)).area)


@case(
    "sides of the sum of a hexagon and a box: at most n + m",
    expected=10.0,
    unit="1",
    source="deberg-2008, theorem 13.5",
    reason="a count",
    tolerance=0.0,
)
def _sides() -> float:
    grown = _grown(_HEXAGON, (-0.02, -0.01), (0.03, 0.04))
    return float(shapely.get_num_coordinates(grown.normalize().simplify(1e-12)) - 1)


@case(
    "perimeter of the sum of two convex shapes: the sum of theirs",
    expected=_HEXAGON.length + 2.0 * (0.05 + 0.05),
    unit="m",
    source="schneider-2014, section 5.1, mixed volumes are additive",
    reason="exact for polygons",
    relative=1e-12,
)
def _perimeter() -> float:
    return float(_grown(_HEXAGON, (-0.02, -0.01), (0.03, 0.04)).length)


@case(
    "a hexagon grown by 40 mm, symmetric difference to a general buffer with 4000 chords",
    expected=0.0,
    unit="m^2",
    source="shapely-2, buffer of a convex polygon",
    reason="chords within 5 µm along the arcs",
    tolerance=2.0 * pi * 0.04 * 6e-6,
    needs="shapely",
)
def _buffer() -> float:
    ours = _round(_HEXAGON, Metre(0.04))
    return float(shapely.symmetric_difference(ours, _HEXAGON.buffer(0.04, quad_segs=1000)).area)


@case(
    "a hexagon shrunk by 15 mm, symmetric difference to a general mitred buffer",
    expected=0.0,
    unit="m^2",
    source="shapely-2, negative buffer of a convex polygon",
    reason="exact for convex polygons",
    tolerance=1e-12,
    needs="shapely",
)
def _shrunk() -> float:
    return float(
        shapely.symmetric_difference(
            shrunk(_HEXAGON, Metre(0.015)), _HEXAGON.buffer(-0.015, join_style="mitre")
        ).area
    )


@case(
    "area of the projection of a tilted block between two planes, against a mesh sliced twice",
    expected=0.0,
    unit="m^2",
    source="trimesh, slice_mesh_plane and the convex hull of what is left",
    reason="both are exact for a convex mesh; only rounding differs",
    tolerance=1e-10,
    needs="trimesh",
)
def _slab() -> float:
    import trimesh

    frame = face_frame(Radian(radians(60.0)), Metre(0.13))
    block = Prism(Polygon(((-0.05, 0.1), (0.05, 0.12), (0.02, 0.2))), Metre(0.0), Metre(0.06), frame)
    seen = view(Scene(solids_of([Body("block", Role.FIXTURE, (block,))]), CHORD), Radian(radians(25.0)))
    low, high = 0.11, 0.14
    ours = project(seen, np.array([0]), np.array([low]), np.array([high]))[0]
    mesh: Any = trimesh.convex.convex_hull(seen.points)
    mesh = mesh.slice_plane([0.0, 0.0, low], [0.0, 0.0, 1.0])
    mesh = mesh.slice_plane([0.0, 0.0, high], [0.0, 0.0, -1.0])
    theirs = shapely.MultiPoint(mesh.vertices[:, :2]).convex_hull
    return float(shapely.symmetric_difference(ours, theirs).area)


@case(
    "ground a disc covers round an L-shaped room: area against a buffer of its triangles",
    expected=0.0,
    unit="m^2",
    source="shapely-2, union of buffers of convex parts",
    reason="chords within 5 µm along the arcs, inside them",
    tolerance=1e-5,
    needs="shapely",
)
def _covered() -> float:
    room = shapely.difference(shapely.box(0.0, 0.0, 0.3, 0.3), shapely.box(0.12, 0.12, 0.4, 0.4))
    wanted = shapely.box(-0.1, -0.1, 0.4, 0.4)
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(room))
    whole = shapely.union_all(shapely.buffer(parts, 0.03, quad_segs=500))
    ours = shapely.difference(wanted, missed(room, Metre(0.03), wanted, CHORD))
    return float(shapely.symmetric_difference(ours, whole).area)


def _lowest(diameter: float) -> float:
    """Lowest full-width line of a free face with the axis stopped 60 mm above the pallet [m]."""
    face = Face(1, "front", 0.0, Metre(0.1), Metre(-0.1), Metre(0.1), _NONE, Metre(0.4))
    tool = Tool(
        "mill", "tools.mill", CutterKind.FACE_MILL,
        (Step(Metre(0.5 * diameter), _NONE, Metre(0.01), cuts=True),), Metre(0.1), Metre(0.5 * diameter),
        Metre(0.5 * diameter),
    )  # fmt: skip
    plan = Polygon(((-0.1, -0.1), (0.1, -0.1), (0.1, 0.1), (-0.1, 0.1)))
    core = Prism(plan, _NONE, Metre(0.4))
    scene = Scene(solids_of([Body("core", Role.SOLID, (core,))]), CHORD)
    limits = Limits("m", Metre(-0.3), Metre(0.3), Metre(0.06), Metre(0.6), _NONE, Metre(2.0))
    inputs = Inputs(
        scene, scene, (face,), (), (tool,), limits, Magazine(), Clearances(_NONE, _NONE, _NONE, _NONE),
        _NONE, "truing.depth", plan, _NONE,
    )  # fmt: skip
    line = solve(inputs).face_map(face.number, "mill").ground.lowest_line
    return float("nan") if line is None else line


@case(
    "a face mill 0.500 in larger in diameter reaches lower by 0.250 in while nothing is in the way",
    expected=0.25 * 25.4e-3,
    unit="m",
    source="common practice, no source",
    reason="exact: the lowest line is the end of travel less the radius",
    tolerance=1e-12,
)
def _larger_mill() -> float:
    return _lowest(2.5 * 25.4e-3) - _lowest(3.0 * 25.4e-3)


@case(
    "height of a 118° drill's point over its diameter",
    expected=0.3004,
    unit="1",
    source="machinerys-handbook, twist drills, length of point; from memory",
    reason="given to four figures",
    tolerance=5e-5,
)
def _point() -> float:
    step = Step(Metre(0.005), _NONE, Metre(0.05), cuts=True)
    drill = Tool(
        "drill", "tools.drill", CutterKind.DRILL, (step,), Metre(0.1), Metre(0.005), Metre(0.005),
        point_angle=Radian(radians(118.0)),
    )  # fmt: skip
    cut = Cut("hole", "cuts.hole", "drill", "drill", Radian(0.0), ((0.0, 0.0),), None, Metre(0.02), _NONE)
    return -tip_of(cut, drill, _NONE) / 0.01
