"""Reach by brute force: a grid of axis positions against the solids. Shares nothing with the engine.

Every solid is met by the line through each grid cell parallel to the spindle: half-spaces and a
quadratic give the stretch of the line inside it. Cells whose stretch meets a slab are occupied; a
distance transform grows them by the tool. Everything is done twice, so that the truth lies between:
`sure` is ground certainly reached, `possible` ground not certainly out of reach.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, inf, sin

import numpy as np
from scipy import ndimage

from orthostat.model.bodies import Disc, Prism

HALF_DIAGONAL = 0.7072


@dataclass(frozen=True)
class Part:
    """One cylinder (`radius`) or box (`low`, `high`) of the tool over start..end from the tip."""

    start: float
    end: float
    radius: float | None
    low: tuple[float, float] = (0.0, 0.0)
    high: tuple[float, float] = (0.0, 0.0)
    cuts: bool = False
    radial: float = 0.0
    axial: float = 0.0


@dataclass(frozen=True)
class Grid:
    """Cell centres x (columns) and y (rows), square cells."""

    x: np.ndarray
    y: np.ndarray
    pitch: float

    @staticmethod
    def over(x_low: float, y_low: float, x_high: float, y_high: float, pitch: float) -> Grid:
        return Grid(np.arange(x_low, x_high + pitch, pitch), np.arange(y_low, y_high + pitch, pitch), pitch)


@dataclass(frozen=True)
class Stretch:
    """Where the spindle-parallel line of each cell is inside a solid, for the cell's centre and for the
    whole cell (never too short)."""

    low: np.ndarray
    high: np.ndarray
    low_out: np.ndarray
    high_out: np.ndarray


def stretch(prism: Prism, angle: float, grid: Grid) -> Stretch:
    """Line by line, in machine coordinates with the direction `angle` of the column at the spindle."""
    made = []
    for swell in (0.0, 0.5 * grid.pitch):
        low = np.full((len(grid.y), len(grid.x)), -inf)
        high = np.full_like(low, inf)
        for normal, bound in _half_spaces(prism, angle):
            allowed = bound + swell * (abs(normal[0]) + abs(normal[1]))
            rest = allowed - normal[0] * grid.x[None, :] - normal[1] * grid.y[:, None]
            if abs(normal[2]) < 1e-12:
                low = np.where(rest < 0.0, inf, low)
            elif normal[2] > 0.0:
                high = np.minimum(high, rest / normal[2])
            else:
                low = np.maximum(low, rest / normal[2])
        if isinstance(prism.section, Disc):
            near, far = _round(prism, angle, grid, prism.section.radius + swell * 2 * HALF_DIAGONAL)
            low, high = np.maximum(low, near), np.minimum(high, far)
        made += [low, high]
    return Stretch(*made)


def _machine(vector: tuple[float, float, float], angle: float) -> np.ndarray:
    x, y, z = vector
    return np.array([x * cos(angle) - z * sin(angle), y, x * sin(angle) + z * cos(angle)])


def _half_spaces(prism: Prism, angle: float) -> list[tuple[np.ndarray, float]]:
    axes = [_machine(v, angle) for v in (prism.frame.first, prism.frame.second, prism.frame.third)]
    origin = _machine(prism.frame.origin, angle)
    base = axes[2] @ origin
    made = [(axes[2], prism.high + base), (-axes[2], -prism.low - base)]
    if isinstance(prism.section, Disc):
        return made
    points = np.array(prism.section.points)
    middle = points.mean(axis=0)
    for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
        out = np.array([b[1] - a[1], a[0] - b[0]]) / hypot(*(b - a))
        if out @ (middle - a) > 0.0:
            out = -out
        normal = out[0] * axes[0] + out[1] * axes[1]
        made.append((normal, float(out @ a + normal @ origin)))
    return made


def _round(prism: Prism, angle: float, grid: Grid, radius: float) -> tuple[np.ndarray, np.ndarray]:
    assert isinstance(prism.section, Disc)
    a, b = prism.section.centre
    centre = _machine(prism.frame.point(a, b, 0.0), angle)
    axis = _machine(prism.frame.third, angle)
    dx = grid.x[None, :] - centre[0]
    dy = grid.y[:, None] - centre[1]
    a = 1.0 - axis[2] ** 2
    along = dx * axis[0] + dy * axis[1]
    if a < 1e-12:
        missed = dx**2 + dy**2 > radius**2
        return np.where(missed, inf, -inf), np.where(missed, -inf, inf)
    b = -along * axis[2]
    c = dx**2 + dy**2 - along**2 - radius**2
    root = b * b - a * c
    hit = root >= 0.0
    wide = np.sqrt(np.where(hit, root, 0.0))
    return (
        np.where(hit, centre[2] + (-b - wide) / a, inf),
        np.where(hit, centre[2] + (-b + wide) / a, -inf),
    )


@dataclass(frozen=True)
class Answer:
    """Ground reached for certain, and ground not certainly out of reach; shape (rows, columns)."""

    sure: np.ndarray
    possible: np.ndarray


def machinable(
    solids: list[tuple[Prism, bool]],
    angle: float,
    parts: list[Part],
    tip: float,
    flat_radius: float,
    travel: tuple[float, float, float, float],
    grid: Grid,
    *,
    plunges: bool,
    removed: tuple[tuple[float, float], ...] = (),
) -> Answer:
    """Solids come with whether they are being cut; travel is x_low, y_low, x_high, y_high. `removed` is a
    convex region, anticlockwise, that is cut away before parts wider than the cutter get there."""
    met = [(stretch(prism, angle, grid), cut) for prism, cut in solids]
    widest = max((p.radius for p in parts if p.cuts and p.radius is not None), default=0.0)
    gone = _region(removed, grid)
    at_depth = _forbidden(met, parts, tip, grid, widest, gone, sweep=False, shy=False)
    coming_in = _forbidden(met, parts, tip, grid, widest, gone, sweep=True, shy=not plunges)
    inside = (
        (grid.x[None, :] >= travel[0]) & (grid.x[None, :] <= travel[2])
        & (grid.y[:, None] >= travel[1]) & (grid.y[:, None] <= travel[3])
    )  # fmt: skip
    slack = 0.51 * grid.pitch
    loosely = (
        (grid.x[None, :] >= travel[0] - slack) & (grid.x[None, :] <= travel[2] + slack)
        & (grid.y[:, None] >= travel[1] - slack) & (grid.y[:, None] <= travel[3] + slack)
    )  # fmt: skip
    sure = _entered(inside & ~at_depth[0], inside & ~coming_in[0], corners=False)
    possible = _entered(loosely & ~at_depth[1], loosely & ~coming_in[1], corners=True)
    return Answer(
        _within(sure, flat_radius, grid.pitch),
        _within(possible, flat_radius + HALF_DIAGONAL * grid.pitch, grid.pitch),
    )


def _forbidden(
    met: list[tuple[Stretch, bool]],
    parts: list[Part],
    tip: float,
    grid: Grid,
    widest: float,
    gone: tuple[np.ndarray, np.ndarray],
    *,
    sweep: bool,
    shy: bool,
) -> tuple[np.ndarray, np.ndarray]:
    """Positions that are not certainly free, and positions that are certainly not free."""
    doubtful = np.zeros((len(grid.y), len(grid.x)), dtype=bool)
    barred = np.zeros_like(doubtful)
    for part in parts:
        low, high = tip + part.start - part.axial, inf if sweep else tip + part.end + part.axial
        outer = np.zeros_like(doubtful)
        inner = np.zeros_like(doubtful)
        follows = part.cuts or (part.radius is not None and part.radius <= widest)
        for line, cut in met:
            if cut and follows and not shy:
                continue
            touching = (line.low_out < high) & (line.high_out > low) & (line.low_out < line.high_out)
            meeting = (line.low < high - 1e-9) & (line.high > low + 1e-9) & (line.low + 1e-9 < line.high)
            outer |= touching & ~gone[0] if cut and not follows else touching
            inner |= meeting & ~gone[1] if cut and not follows else meeting
        doubtful |= _grown(outer, part, (1.0 + HALF_DIAGONAL) * grid.pitch, grid.pitch)
        barred |= _grown(inner, part, -HALF_DIAGONAL * grid.pitch, grid.pitch)
    return doubtful, barred


def _region(ring: tuple[tuple[float, float], ...], grid: Grid) -> tuple[np.ndarray, np.ndarray]:
    """Cells wholly inside a convex region, and cells whose centre is not outside it."""
    whole = np.full((len(grid.y), len(grid.x)), bool(ring))
    centre = whole.copy()
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        out = np.array([y1 - y0, x0 - x1]) / hypot(x1 - x0, y1 - y0)
        beyond = out[0] * (grid.x[None, :] - x0) + out[1] * (grid.y[:, None] - y0)
        whole &= beyond <= -0.5 * grid.pitch * (abs(out[0]) + abs(out[1]))
        centre &= beyond <= 1e-9
    return whole, centre


def _grown(occupied: np.ndarray, part: Part, more: float, pitch: float) -> np.ndarray:
    if not occupied.any():
        return occupied
    if part.radius is not None:
        return _within(occupied, part.radius + part.radial + more, pitch)
    x_low, x_high = (part.low[0] - part.radial - more, part.high[0] + part.radial + more)
    y_low, y_high = (part.low[1] - part.radial - more, part.high[1] + part.radial + more)
    rows, columns = np.nonzero(occupied)
    made = np.zeros(tuple(n + 1 for n in occupied.shape), dtype=int)
    limit_x, limit_y = occupied.shape[1], occupied.shape[0]
    left = np.clip(np.ceil(columns - x_high / pitch - 1e-9), 0, limit_x).astype(int)
    right = np.clip(np.floor(columns - x_low / pitch + 1e-9) + 1, 0, limit_x).astype(int)
    down = np.clip(np.ceil(rows - y_high / pitch - 1e-9), 0, limit_y).astype(int)
    up = np.clip(np.floor(rows - y_low / pitch + 1e-9) + 1, 0, limit_y).astype(int)
    for r, c, sign in ((down, left, 1), (down, right, -1), (up, left, -1), (up, right, 1)):
        np.add.at(made, (r, c), sign)
    return made.cumsum(axis=0).cumsum(axis=1)[:-1, :-1] > 0


def _within(cells: np.ndarray, distance: float, pitch: float) -> np.ndarray:
    if distance < 0.0 or not cells.any():
        return np.zeros_like(cells)
    return ndimage.distance_transform_edt(~cells) * pitch <= distance + 1e-12


def _entered(free: np.ndarray, way_in: np.ndarray, *, corners: bool) -> np.ndarray:
    labels, _ = ndimage.label(free, structure=np.ones((3, 3)) if corners else None)
    named = np.unique(labels[way_in & free])
    return free & np.isin(labels, named[named > 0])
