"""A scene as a line-and-tone picture from above one corner, for paper and where there is no 3D."""

from __future__ import annotations

from math import cos, radians, sin

from orthostat.presentation import svg
from orthostat.presentation.blocks import Figure
from orthostat.presentation.scene import Layer, Piece, Scene

_TURN, _TILT = radians(-33.0), radians(24.0)
"""How the viewer stands: round the column, and above it."""
_TONES = {
    "column": ("#f0c260", "#dfa42c", "#c98f1f"),
    "stands on": ("#e9e1d1", "#d6ccb8", "#c9bfae"),
    "station": ("#f4efe3", "#e2dac9", "#d3cab6"),
    "fastening": ("#b9b0a0", "#9a9182", "#857c6e"),
    "mouth": ("#4a443b", "#4a443b", "#4a443b"),
}
"""Fill by kind: seen from above, toward the light, away from it."""

Vector = tuple[float, float, float]


def axonometric(scene: Scene, size: tuple[float, float] = (420.0, 420.0)) -> Figure:
    """The scene seen from above its front right corner."""
    patches = sorted(_patches(scene.pieces), key=lambda patch: patch[0])
    shown = [point for _, ring, _ in patches for point in ring] or [(0.0, 0.0)]
    low = (min(x for x, _ in shown), min(y for _, y in shown))
    high = (max(x for x, _ in shown), max(y for _, y in shown))
    view = svg.View.fitting(low, high, box=(12.0, 12.0, size[0] - 24.0, size[1] - 24.0))
    drawn = [
        svg.polygon(view.ring(ring), fill=fill, stroke=svg.INK, width=0.4, stroke_linejoin="round")
        for _, ring, fill in patches
    ]
    picture = svg.document(*size, *drawn, title="The column on its pallet", description=scene.words)
    caption = "The column on its pallet, seen from above its front right corner."
    return Figure("column", picture, caption, scene.words)


Patch = tuple[float, list[tuple[float, float]], str]
"""Nearness to the viewer, outline in the picture's plane [m], fill."""

_INSIDE = ("fill", "void former", "anchor", "pin", "sleeve", "stud")
"""Roles that are hidden in the column, or nearly so."""


def _patches(pieces: tuple[Piece, ...]) -> list[Patch]:
    found: list[Patch] = []
    hosts: dict[tuple[str, str, Vector], float] = {}
    for piece in pieces:
        if piece.role in _INSIDE:
            continue
        for layer in piece.layers:
            if piece.kind == "mouth":
                found += _mouth(piece, layer, hosts)
            else:
                found += _layer(piece, layer, hosts)
    return found


def _mouth(piece: Piece, layer: Layer, hosts: dict[tuple[str, str, Vector], float]) -> list[Patch]:
    """The mouth of a hole, just in front of the face of its own body that it lies in."""
    axes = piece.axes
    for sign in (1.0, -1.0):
        normal = _direction(sign * axes[6], sign * axes[7], sign * axes[8])
        depth = hosts.get((piece.name, piece.path, normal))
        if depth is not None and _toward(normal) > 1e-9:
            ring = [_project(_place(axes, x, y, 0.5 * (layer.low + layer.high))) for x, y in layer.rings[0]]
            return [(depth + 1e-6, ring, _TONES["mouth"][0])]
    return []


def _layer(piece: Piece, layer: Layer, hosts: dict[tuple[str, str, Vector], float]) -> list[Patch]:
    axes = piece.axes
    outer = _anticlockwise(layer.rings[0])
    sides: list[tuple[Vector, list[Vector]]] = [
        (_direction(axes[6], axes[7], axes[8]), [_place(axes, x, y, layer.high) for x, y in outer]),
        (_direction(-axes[6], -axes[7], -axes[8]), [_place(axes, x, y, layer.low) for x, y in outer]),
    ]
    for (ax, ay), (bx, by) in zip(outer, (*outer[1:], outer[0]), strict=True):
        across, along = by - ay, ax - bx  # outward in the outline's plane
        normal = _direction(*(across * axes[k] + along * axes[3 + k] for k in range(3)))
        corners = [(ax, ay, layer.low), (bx, by, layer.low), (bx, by, layer.high), (ax, ay, layer.high)]
        sides.append((normal, [_place(axes, *corner) for corner in corners]))
    found = []
    for normal, corners3 in sides:
        if _toward(normal) <= 1e-9:
            continue
        depth = sum(_toward(corner) for corner in corners3) / len(corners3)
        found.append((depth, [_project(corner) for corner in corners3], _tone(_TONES[piece.kind], normal)))
        key = (piece.name, piece.path, normal)
        hosts[key] = max(depth, hosts.get(key, depth))
    return found


def _direction(x: float, y: float, z: float) -> Vector:
    length = (x * x + y * y + z * z) ** 0.5 or 1.0
    return (round(x / length, 4) + 0.0, round(y / length, 4) + 0.0, round(z / length, 4) + 0.0)


def _anticlockwise(ring: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    doubled = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))
    return ring if doubled > 0.0 else tuple(reversed(ring))


def _place(axes: tuple[float, ...], x: float, y: float, level: float) -> Vector:
    a, b, c = (axes[9 + k] + x * axes[k] + y * axes[3 + k] + level * axes[6 + k] for k in range(3))
    return (a, b, c)


def _toward(v: Vector) -> float:
    """How far a direction points at the viewer (a point: how near it is)."""
    forward = cos(_TURN) * v[2] - sin(_TURN) * v[0]
    return sin(_TILT) * v[1] + cos(_TILT) * forward


def _project(v: Vector) -> tuple[float, float]:
    across = cos(_TURN) * v[0] + sin(_TURN) * v[2]
    forward = cos(_TURN) * v[2] - sin(_TURN) * v[0]
    return (across, cos(_TILT) * v[1] - sin(_TILT) * forward)


def _tone(tones: tuple[str, str, str], normal: Vector) -> str:
    if normal[1] > 0.7:
        return tones[0]
    return tones[1] if normal[0] * 0.35 + normal[2] * 0.9 > 0.45 else tones[2]
