"""Which bodies take up the same room. Cuts count: what sits in a hole that is wide enough does not clash."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.fit.sections import inset
from orthostat.analyses.fit.separation import PARALLEL, separation
from orthostat.analyses.solids import Solids, support
from orthostat.base.dimensions import Metre
from orthostat.base.frames import Vector
from orthostat.model.bodies import FASTENING_ROLES, Body, Disc, Polygon, Prism, Section
from orthostat.model.column import Column

CONTACT = 1e-9
"""Bodies that overlap by less than this [m] touch."""


class Between(str, Enum):
    """Whose bodies a pair is."""

    COLUMN = "column"
    STATION_AND_COLUMN = "station and column"
    STATIONS = "stations"


@dataclass(frozen=True, slots=True)
class Clearance:
    """A pair of bodies and the room between them: negative when they overlap, by that depth."""

    first: str
    second: str
    gap: Metre
    between: Between
    paths: tuple[str, str]


def clearances(column: Column, solids: Solids) -> tuple[Clearance, ...]:
    """Every pair that overlaps, and where none does, the nearest pair, for each kind of pair.

    Not compared: bodies of one station with each other (a clamp reaches over its part), platforms with
    each other, and studs and pins with the platform they are screwed into or stand in.
    """
    pieces = (*solids.own, *solids.risen, *solids.beneath, *solids.carried)
    if len(pieces) < 2:
        return ()
    kinds = _kinds(column, solids)
    gaps = box_gaps([piece.extents[:6] for piece in pieces])
    found: list[Clearance] = []
    for number, kind in enumerate(Between):
        pairs = overlapping_or_nearest(
            np.where(kinds == number, gaps, np.inf),
            lambda i, j: body_clearance(pieces[i].body, pieces[j].body),
        )
        found += [_pair(pieces[i].body, pieces[j].body, gap, kind) for i, j, gap in pairs]
    return tuple(found)


def overlapping_or_nearest(
    gaps: NDArray[np.float64], distance: Callable[[int, int], float]
) -> list[tuple[int, int, float]]:
    """Pairs (i, j, distance) that overlap, worst first; where none does, the nearest pair; `[]` for no pair.

    `gaps` (n, m) are lower bounds of the distances, +inf for pairs that are not asked; a pair is
    measured only while its bound is below the least distance found.
    """
    measured: list[tuple[int, int, float]] = []
    least = float("inf")
    limit = CONTACT
    while True:
        near = np.argwhere(gaps < limit)
        order = np.argsort(gaps[near[:, 0], near[:, 1]], kind="stable")
        for i, j in near[order]:
            if gaps[i, j] >= max(least, -CONTACT):
                break
            measured.append((int(i), int(j), distance(int(i), int(j))))
            least = min(least, measured[-1][2])
            gaps[i, j] = np.inf
        nearest = float(gaps.min()) if gaps.size else float("inf")
        if nearest >= least or nearest == float("inf"):
            break
        limit = min(least, 2.0 * abs(nearest) + CONTACT)
    measured.sort(key=lambda pair: pair[2])
    return [pair for pair in measured if pair[2] < -CONTACT] or measured[:1]


def body_clearance(one: Body, other: Body) -> float:
    """Room between two bodies [m], their cuts respected; negative when they overlap."""
    return min([_add_clearance(one, a, other, b) for a in one.adds for b in other.adds])


def _add_clearance(one: Body, a: Prism, other: Body, b: Prism) -> float:
    in_hole = room_in_cuts(b, a, one.cuts)
    if in_hole < 0.0:
        in_hole = max(in_hole, room_in_cuts(a, b, other.cuts))
    return in_hole if in_hole >= 0.0 else max(in_hole, separation(a, b))


def room_in_cuts(inner: Prism, add: Prism, cuts: tuple[Prism, ...]) -> float:
    """Room of `inner` in the holes that `cuts` make through `add`, along its own axis [m].

    The stretch of `inner` inside `add` is walked from cut end to cut end; on each step the widest cut
    counts, and the narrowest step is the answer. `-inf` where a step has no cut.
    """
    axis = inner.frame.third
    spans = []
    for cut in cuts:
        if cut.frame is inner.frame or abs(_dot(cut.frame.third, axis)) > PARALLEL:
            section = _seen_in(inner, cut)
            if not _beside(section, cut.section):
                spans.append((*_stretch(cut, axis), inset(section, cut.section)))
    if not spans:
        return float("-inf")
    (inner_low, inner_high), (add_low, add_high) = _stretch(inner, axis), _stretch(add, axis)
    low, high = max(inner_low, add_low), min(inner_high, add_high)
    if high - low <= 2.0 * CONTACT:
        return float("-inf")
    if len(spans) == 1 and spans[0][0] <= low + CONTACT and high <= spans[0][1] + CONTACT:
        return spans[0][2]
    ends = sorted({low, high, *(end for span in spans for end in span[:2] if low < end < high)})
    narrowest = float("inf")
    for start, stop in pairwise(ends):
        if stop - start > 2.0 * CONTACT:
            middle = 0.5 * (start + stop)
            here = [room for first, last, room in spans if first < middle < last]
            narrowest = min(narrowest, max(here, default=float("-inf")))
    return narrowest


def _stretch(prism: Prism, axis: Vector) -> tuple[float, float]:
    """Lowest and highest projection of a prism on an axis [m]."""
    along = _dot(prism.frame.third, axis)
    if abs(along) > PARALLEL:
        start = _dot(prism.frame.origin, axis)
        ends = (start + along * prism.low, start + along * prism.high)
        return (ends[0], ends[1]) if along > 0.0 else (ends[1], ends[0])
    return -support(prism, (-axis[0], -axis[1], -axis[2])), support(prism, axis)


def _beside(one: Section, other: Section) -> bool:
    """Whether two discs lie wholly apart in their plane; other sections are left to `inset`."""
    if not isinstance(one, Disc) or not isinstance(other, Disc):
        return False
    across = hypot(one.centre[0] - other.centre[0], one.centre[1] - other.centre[1])
    return across > one.radius + other.radius


def _seen_in(inner: Prism, cut: Prism) -> Section:
    """The section of `inner` in the local plane of `cut`."""
    if inner.frame is cut.frame or inner.frame == cut.frame:
        return inner.section
    section = inner.section
    points = [section.centre] if isinstance(section, Disc) else section.points
    origin = cut.frame.origin
    seen = []
    for a, b in points:
        x, y, z = inner.frame.point(a, b, 0.0)
        away = (x - origin[0], y - origin[1], z - origin[2])
        seen.append((_dot(away, cut.frame.first), _dot(away, cut.frame.second)))
    return Disc(seen[0], section.radius) if isinstance(section, Disc) else Polygon(tuple(seen))


def box_gaps(boxes: Sequence[Sequence[float]], first: int | None = None) -> NDArray[np.float64]:
    """Gaps between boxes (x low, x high, y low, …) of each pair [m], (first, n), +inf at and below i = j.

    With `first`, only pairs with one of the first boxes; negative where the boxes overlap.
    """
    ends = np.array(boxes)
    rows = ends if first is None else ends[:first]
    gaps = np.full((len(rows), len(ends)), -np.inf)
    for axis in (0, 2, 4):
        lows = np.maximum(rows[:, None, axis], ends[None, :, axis])
        highs = np.minimum(rows[:, None, axis + 1], ends[None, :, axis + 1])
        np.maximum(gaps, lows - highs, out=gaps)
    gaps[np.tril_indices(len(rows), 0, len(ends))] = np.inf
    return gaps


def _kinds(column: Column, solids: Solids) -> NDArray[np.int64]:
    """Index into `Between` for each pair (n, n); -1 for pairs that are not compared."""
    fastens = [piece.body.role in FASTENING_ROLES for piece in solids.own]
    ground = len(solids.risen) + len(solids.beneath)
    own = len(fastens) + ground
    stations = [number for number, station in enumerate(column.stations) for _ in station.bodies]
    kinds = np.full((own + len(stations), own + len(stations)), 1, dtype=np.int64)
    kinds[:own, :own] = 0
    kinds[len(fastens) : own, len(fastens) : own] = -1
    fastening = np.array([*fastens, *[False] * ground])
    rests = np.arange(own) >= len(fastens)
    kinds[:own, :own][fastening[:, None] & rests[None]] = -1
    owner = np.array(stations, dtype=np.int64)
    kinds[own:, own:] = np.where(owner[:, None] == owner[None], -1, 2)
    return kinds


def _pair(one: Body, other: Body, gap: float, between: Between) -> Clearance:
    return Clearance(one.name, other.name, Metre(gap), between, (one.path, other.path))


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
