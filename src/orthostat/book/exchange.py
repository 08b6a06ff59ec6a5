"""What the CAD kernel is told: pieces as prisms to add and cut, in millimetres, as plain data."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from orthostat.analyses.pieces import Part, View
from orthostat.base.frames import Frame, Vector
from orthostat.model.bodies import Body, Disc, Prism

MM = 1e3
"""STEP files are in millimetres."""


def body_data(body: Body, view: View | None = None) -> dict[str, Any]:
    """One body: its name, colour, prisms; in the frame of `view` where one is given."""
    frame = None if view is None else view.frame
    return {
        "name": body.name,
        "role": body.role.value,
        "adds": [prism_data(p, frame) for p in body.adds],
        "cuts": [prism_data(p, frame) for p in body.cuts],
    }


def prism_data(prism: Prism, frame: Frame | None) -> dict[str, Any]:
    """A prism as its starting corners (or circle) and the vector it is swept along."""
    start = [prism.frame.point(a, b, prism.low) for a, b in _points(prism)]
    run = tuple((prism.high - prism.low) * c for c in prism.frame.third)
    data: dict[str, Any] = {
        "points": [_seen(p, frame) for p in start],
        "sweep": _turned(run, frame),
    }
    if isinstance(prism.section, Disc):
        data["radius"] = prism.section.radius * MM
    return data


def _points(prism: Prism) -> Iterable[tuple[float, float]]:
    return [prism.section.centre] if isinstance(prism.section, Disc) else prism.section.points


def _seen(point: Vector, frame: Frame | None) -> list[float]:
    if frame is None:
        return [c * MM for c in point]
    shifted = tuple(p - o for p, o in zip(point, frame.origin, strict=True))
    return _turned(shifted, frame)


def _turned(vector: Iterable[float], frame: Frame | None) -> list[float]:
    v = list(vector)
    if frame is None:
        return [c * MM for c in v]
    return [
        MM * sum(a * b for a, b in zip(v, axis, strict=True))
        for axis in (frame.first, frame.second, frame.third)
    ]


def job(name: str, parts: Iterable[Part], bodies: Iterable[Body], folder: str) -> dict[str, Any]:
    """Everything the kernel writes: a file a drawn piece, and the assembly in the column frame."""
    return {
        "folder": folder,
        "assembly": {"name": name, "bodies": [body_data(b) for b in bodies]},
        "pieces": [
            {"file": piece_file(part), "body": body_data(part.bodies[0], part.views[0])}
            for part in parts
            if part.views
        ],
    }


def piece_file(part: Part) -> str:
    """File name of a piece without its ending: its number and plain letters of its name."""
    return f"{part.number:02d}-{plain(part.name)}"


def plain(name: str) -> str:
    """Letters, digits and hyphens of a name, at most 48, for files that travel between systems."""
    kept = "".join(c if c.isascii() and c.isalnum() else "-" for c in name.lower())
    while "--" in kept:
        kept = kept.replace("--", "-")
    return kept.strip("-")[:48].rstrip("-") or "piece"
