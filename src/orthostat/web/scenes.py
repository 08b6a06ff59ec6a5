"""The scene as the browser gets it: every shape once, every piece by the number of its shape."""

from __future__ import annotations

from typing import Any

from orthostat.presentation.scene import Scene


def scene_shown(scene: Scene | None) -> dict[str, Any]:
    """The scene as plain data; `none` where the column can't be read."""
    if scene is None:
        return {"none": True}
    numbers: dict[int, int] = {}
    shapes: list[list[Any]] = []
    pieces = []
    for piece in scene.pieces:
        number = numbers.setdefault(id(piece.layers), len(shapes))
        if number == len(shapes):
            shapes.append([[layer.low, layer.high, layer.rings] for layer in piece.layers])
        shown = {"name": piece.name, "kind": piece.kind, "role": piece.role, "axes": piece.axes}
        pieces.append({**shown, "shape": number, "inside": piece.inside})
    return {
        "shapes": shapes,
        "pieces": pieces,
        "centre": scene.centre,
        "radius": scene.radius,
        "swing": scene.swing,
        "envelope": scene.envelope,
        "words": scene.words,
    }
