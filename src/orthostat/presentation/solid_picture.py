"""Bodies as a line picture in dimetric projection: the whole column, or its pieces pulled apart.

Convex prisms are drawn back to front. Of two that overlap on the sheet, the one on the viewer's side
of a plane that parts them is drawn later; that order is exact for prisms that do not interpenetrate.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sin

import numpy as np
from numpy.typing import NDArray

from orthostat.base.frames import Vector
from orthostat.model.bodies import Body, Disc, Prism, Role
from orthostat.presentation import svg

Points = NDArray[np.float64]

TURN, TILT = radians(32.0), radians(24.0)
"""The viewer stands to the right of face 1 and looks down."""
CHORDS = 20
LIGHT = {0: "#ffffff", 1: "#f1ead9", 2: "#e2d8c1"}
"""Fill by how a face looks at the light: top, toward, away."""
SHADES = {
    Role.PLATE: ("#f3cd7c", "#e2a72e", "#c58d1e"),
    Role.SOLID: ("#f3cd7c", "#e2a72e", "#c58d1e"),
    Role.LID: ("#f3cd7c", "#e2a72e", "#c58d1e"),
    Role.CLEAT: ("#f3cd7c", "#e2a72e", "#c58d1e"),
    Role.BASE_PLATE: ("#e7c57f", "#cf9a33", "#b28225"),
}
PLAIN = ("#f6f1e4", "#e9e1d1", "#d6ccb8")


@dataclass(frozen=True)
class Solid:
    """One convex prism as corner points (n, 3) and outward faces (index tuples)."""

    points: Points
    faces: tuple[tuple[int, ...], ...]
    shades: tuple[str, str, str]
    holes: tuple[tuple[int, Points], ...]
    """(face, points (m, 3)) of openings drawn on a face."""


def right_axis() -> Vector:
    """The sheet's right in column coordinates."""
    return (cos(TURN), 0.0, -sin(TURN))


def viewer() -> Vector:
    """Toward the viewer in column coordinates."""
    return (sin(TURN) * cos(TILT), sin(TILT), cos(TURN) * cos(TILT))


def up_axis() -> Vector:
    """The sheet's up in column coordinates."""
    return (-sin(TURN) * sin(TILT), cos(TILT), -cos(TURN) * sin(TILT))


def picture(
    bodies: Iterable[tuple[Body, Vector]],
    title: str,
    *,
    width: float = 560.0,
    height: float = 620.0,
    tags: Sequence[tuple[str, Vector]] = (),
    description: str = "",
) -> str:
    """SVG of bodies, each moved by a vector [m]; `tags` are words at points, with a leader."""
    solids = [solid for body, shift in bodies for solid in _solids(body, shift)]
    if not solids:
        return svg.document(
            width, 60.0, svg.text((12.0, 30.0), "nothing to draw"), title=title, description=title
        )
    basis = np.array([right_axis(), up_axis(), viewer()])
    seen = [solid.points @ basis.T for solid in solids]
    low = np.min([p[:, :2].min(axis=0) for p in seen], axis=0)
    high = np.max([p[:, :2].max(axis=0) for p in seen], axis=0)
    side = 150.0 if tags else 20.0
    size = min(
        (width - side - 20.0) / max(high[0] - low[0], 1e-9), (height - 40.0) / max(high[1] - low[1], 1e-9)
    )
    tall = (high[1] - low[1]) * size + 40.0
    if not tags:
        width = (high[0] - low[0]) * size + 40.0

    def place(p: Points) -> svg.Point:
        return (20.0 + (p[0] - low[0]) * size, tall - 20.0 - (p[1] - low[1]) * size)

    parts: list[svg.Element] = []
    for index in _order(solids, seen, basis):
        parts += _faces(solids[index], seen[index], basis, place)
    parts += _tags(tags, basis, place, width, tall)
    return svg.document(width, tall, *parts, title=title, description=description or title)


def _tags(
    tags: Sequence[tuple[str, Vector]], basis: Points, place: object, width: float, tall: float
) -> list[svg.Element]:
    """Words in a column at the right, in order of height, each with a line to its point."""
    placed = [(place(np.array(at) @ basis.T), words) for words, at in tags]  # type: ignore[operator]  # a closure over the scale
    placed.sort(key=lambda each: each[0][1])
    parts: list[svg.Element] = []
    last = -1e9
    gap = 15.0
    for at, words in placed:
        y = max(min(at[1], tall - 12.0), last + gap, 14.0)
        last = y
        x = width - 122.0
        parts.append(svg.line(at, (x - 4.0, y - 3.0), stroke=svg.QUIET, width=0.6))
        parts.append(svg.circle(at, 1.6, fill=svg.QUIET, stroke=None))
        parts.append(svg.text((x, y), words if len(words) < 22 else f"{words[:21]}…", size=10.0, halo=True))
    return parts


def _solids(body: Body, shift: Vector) -> list[Solid]:
    shades = SHADES.get(body.role, PLAIN)
    made = []
    for prism in body.adds:
        ring = _ring(prism)
        ends = [[prism.frame.point(a, b, c) for a, b in ring] for c in (prism.low, prism.high)]
        points = np.array(ends[0] + ends[1]) + np.array(shift)
        count = len(ring)
        faces = [tuple(range(count)), tuple(range(count, 2 * count))]
        faces += [(i, (i + 1) % count, count + (i + 1) % count, count + i) for i in range(count)]
        made.append(Solid(points, _outward(points, faces), shades, ()))
    holes = [_opening(cut, shift) for cut in body.cuts if isinstance(cut.section, Disc)]
    return [_with_holes(solid, holes) for solid in made]


def _opening(cut: Prism, shift: Vector) -> tuple[Points, Points]:
    """Both rims of a round cut."""
    ring = _ring(cut)
    low, high = (
        np.array([cut.frame.point(a, b, c) for a, b in ring]) + np.array(shift) for c in (cut.low, cut.high)
    )
    return low, high


def _with_holes(solid: Solid, holes: list[tuple[Points, Points]]) -> Solid:
    """The solid with the rims that lie in one of its faces."""
    found = []
    for index, face in enumerate(solid.faces):
        corners = solid.points[list(face)]
        normal = _normal(corners)
        offset = float(corners[0] @ normal)
        for rims in holes:
            found += [
                (index, rim)
                for rim in rims
                if np.all(np.abs(rim @ normal - offset) < 1e-6) and _over(rim.mean(axis=0), corners, normal)
            ]
    return Solid(solid.points, solid.faces, solid.shades, tuple(found))


def _over(point: Points, corners: Points, normal: Points) -> bool:
    """Whether a point in a convex face's plane lies inside it (either turn)."""
    signs = [
        float(np.dot(np.cross(b - a, point - a), normal))
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    return min(signs) > -1e-9 or max(signs) < 1e-9


def _ring(prism: Prism) -> list[tuple[float, float]]:
    section = prism.section
    if isinstance(section, Disc):
        (a, b), r = section.centre, section.radius
        return [(a + r * cos(2 * pi * i / CHORDS), b + r * sin(2 * pi * i / CHORDS)) for i in range(CHORDS)]
    return list(section.points)


def _normal(corners: Points) -> Points:
    """Unit normal by Newell's method, right-handed about the corner order."""
    following = np.roll(corners, -1, axis=0)
    normal = np.cross(corners - corners.mean(axis=0), following - corners.mean(axis=0)).sum(axis=0)
    length = float(np.linalg.norm(normal))
    return np.asarray(normal / length if length > 0.0 else normal)


def _outward(points: Points, faces: list[tuple[int, ...]]) -> tuple[tuple[int, ...], ...]:
    middle = points.mean(axis=0)
    made = []
    for face in faces:
        corners = points[list(face)]
        outward = float(_normal(corners) @ (corners.mean(axis=0) - middle)) >= 0.0
        made.append(face if outward else tuple(reversed(face)))
    return tuple(made)


def _order(solids: list[Solid], seen: list[Points], basis: Points) -> list[int]:
    """Indices back to front: a topological order of who hides whom."""
    count = len(solids)
    boxes = [(p[:, 0].min(), p[:, 1].min(), p[:, 0].max(), p[:, 1].max()) for p in seen]
    normals = [np.array([_normal(solid.points[list(face)]) for face in solid.faces]) for solid in solids]
    heights = [
        np.array(
            [
                float(solid.points[face[0]] @ normal)
                for face, normal in zip(solid.faces, normals[i], strict=True)
            ]
        )
        for i, solid in enumerate(solids)
    ]
    behind: list[set[int]] = [set() for _ in range(count)]
    for i in range(count):
        for j in range(i + 1, count):
            a, b = boxes[i], boxes[j]
            if a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]:
                continue
            front = _in_front(i, j, solids, normals, heights, basis[2])
            if front is not None:
                behind[front].add(j if front == i else i)
    return _sorted(behind, [float(p[:, 2].mean()) for p in seen])


def _in_front(
    i: int, j: int, solids: list[Solid], normals: list[Points], heights: list[Points], toward: Points
) -> int | None:
    """Which of two can hide the other; `None` where neither can, or no plane of theirs parts them.

    What lies beyond a plane that faces the viewer can't be hidden by what lies before it. Where one
    plane says so of the first and another of the second, neither hides the other.
    """
    found: set[int] = set()
    for one, other in ((i, j), (j, i)):
        clear = (solids[other].points @ normals[one].T).min(axis=0) - heights[one]
        facing = normals[one] @ toward
        for gap, look in zip(clear, facing, strict=True):
            if gap > -1e-7 and abs(look) > 1e-9:
                found.add(other if look > 0.0 else one)
    return found.pop() if len(found) == 1 else None


def _sorted(behind: list[set[int]], depth: list[float]) -> list[int]:
    """Those with nothing left behind them first, the farthest of them before; rings break at the farthest."""
    left = set(range(len(behind)))
    order: list[int] = []
    while left:
        ready = [i for i in left if not behind[i] & left] or list(left)
        chosen = min(ready, key=lambda i: (depth[i], i))
        order.append(chosen)
        left.discard(chosen)
    return order


def _faces(solid: Solid, seen: Points, basis: Points, place: object) -> list[svg.Element]:
    parts = []
    for index, face in enumerate(solid.faces):
        normal = _normal(solid.points[list(face)])
        if float(normal @ basis[2]) <= 1e-9:
            continue
        shade = (
            solid.shades[0]
            if normal[1] > 0.7
            else solid.shades[1]
            if float(normal @ basis[0]) < 0.35
            else solid.shades[2]
        )
        round_side = len(solid.faces) == CHORDS + 2 and index >= 2
        ring = [place(seen[k]) for k in face]  # type: ignore[operator]  # a closure over the scale
        parts.append(
            svg.polygon(
                ring,
                fill=shade,
                stroke=shade if round_side else svg.INK,
                width=0.5 if round_side else 0.7,
                stroke_linejoin="round",
            )
        )
        for number, rim in solid.holes:
            if number == index:
                opening = [place(p) for p in rim @ basis.T]  # type: ignore[operator]  # a closure over the scale
                parts.append(svg.polygon(opening, fill="#5c5347", stroke=svg.INK, width=0.4))
    return parts
