"""Pictures of natural modes: the body's outside bent as it rings, over its outline at rest."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np
import numpy.typing as npt

from orthostat.analyses.stiffness import Mode, Solved
from orthostat.analyses.stiffness.matching import shapes_at
from orthostat.analyses.stiffness.skin import Skin
from orthostat.presentation import svg
from orthostat.presentation.blocks import Figure

Floats = npt.NDArray[np.float64]

_YAW, _PITCH = radians(32.0), radians(22.0)
_ACROSS, _CELL_WIDTH, _CELL_HEIGHT = 5, 150.0, 200.0
_BENT = 0.14
"""Largest movement drawn, as a share of the body's height."""


def modes_figure(solved: Solved, outside: Solved, name: str = "modes") -> Figure:
    """All modes side by side, each with its number, frequency and what it does; drawn on the outside of a
    coarser model of the same body.
    """
    rows = -(-len(solved.modes) // _ACROSS)
    shapes = solved.shapes if outside is solved else shapes_at(solved, outside.skin.points)
    parts = [
        part
        for number, (mode, shape) in enumerate(zip(solved.modes, shapes, strict=True))
        for part in _cell(mode, outside.skin, shape, number)
    ]
    words = "; ".join(
        f"mode {k}: {mode.kind} at {mode.frequency:.4g} Hz" for k, mode in enumerate(solved.modes, 1)
    )
    picture = svg.document(
        _ACROSS * _CELL_WIDTH,
        rows * _CELL_HEIGHT,
        *parts,
        title="Natural modes",
        description=words,
    )
    by = "quick" if outside is solved else "verified"
    caption = f"Natural modes by the {by} model, drawn large over the dotted outline; x runs across face 1."
    return Figure(name, picture, caption, words + ".")


def _cell(mode: Mode, skin: Skin, shape: Floats, number: int) -> list[svg.Element]:
    column, row = number % _ACROSS, number // _ACROSS
    left, top = column * _CELL_WIDTH, row * _CELL_HEIGHT
    rest = skin.points
    height = float(np.ptp(rest[:, 1]))
    bent = rest + _BENT * height * shape
    flat_rest, flat_bent = _seen(rest), _seen(bent)
    both = np.vstack([flat_rest[:, :2], flat_bent[:, :2]])
    view = svg.View.fitting(
        (float(both[:, 0].min()), float(both[:, 1].min())),
        (float(both[:, 0].max()), float(both[:, 1].max())),
        box=(left + 12.0, top + 8.0, _CELL_WIDTH - 24.0, _CELL_HEIGHT - 46.0),
    )
    faces = [_face(view, flat_bent, quad) for quad in _from_behind(flat_bent, skin.quads)]
    rest_lines = " ".join(
        f"M{_place(view, flat_rest, a)}L{_place(view, flat_rest, b)}" for a, b in skin.rims.tolist()
    )
    parts = [
        svg.group(*faces, fill=svg.COLUMN, stroke=svg.INK, stroke_width=0.35),
        svg.element(
            "path", d=rest_lines, fill="none", stroke=svg.QUIET, stroke_width=0.4, stroke_dasharray="1 2"
        ),
    ]
    middle = left + 0.5 * _CELL_WIDTH
    label = f"{number + 1} · {mode.frequency:.4g} Hz"
    parts.append(svg.text((middle, top + _CELL_HEIGHT - 24.0), label, size=11.0, anchor="middle", bold=True))
    parts.append(
        svg.text((middle, top + _CELL_HEIGHT - 11.0), mode.kind, size=9.0, anchor="middle", fill=svg.QUIET)
    )
    return parts


def _seen(points: Floats) -> Floats:
    """(n, 3): across, up and toward the viewer, from above and aside."""
    x, y, z = points.T
    across = x * cos(_YAW) - z * sin(_YAW)
    near = x * sin(_YAW) + z * cos(_YAW)
    return np.stack(
        [across, y * cos(_PITCH) - near * sin(_PITCH), near * cos(_PITCH) + y * sin(_PITCH)], axis=1
    )


def _from_behind(seen: Floats, quads: npt.NDArray[np.intp]) -> list[list[int]]:
    """Quadrilaterals in the order to paint them, farthest first."""
    order = np.argsort(seen[quads][:, :, 2].mean(axis=1))
    return [[int(corner) for corner in quads[k]] for k in order]


def _face(view: svg.View, seen: Floats, quad: list[int]) -> svg.Element:
    return svg.element("path", d="M" + "L".join(_place(view, seen, corner) for corner in quad) + "Z")


def _place(view: svg.View, seen: Floats, k: int) -> str:
    x, y = view.point((float(seen[k, 0]), float(seen[k, 1])))
    return f"{svg.number(x)} {svg.number(y)}"
