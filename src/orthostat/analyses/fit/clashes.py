"""Which bodies take up the same room. Cuts count: what sits in a hole that is wide enough does not clash."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.fit.sections import inset
from orthostat.analyses.fit.separation import PARALLEL, separation
from orthostat.analyses.solids import Piece, Solids, support
from orthostat.base.dimensions import Metre
from orthostat.base.frames import Vector
from orthostat.model.bodies import FASTENING_ROLES, Body, Disc, Polygon, Prism, Section

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


def clearances(solids: Solids) -> tuple[Clearance, ...]:
    """Every pair that overlaps, and where none does, the nearest pair, for each kind of pair.

    Not compared: bodies of one station with each other (a clamp reaches over its part), platforms with
    each other, and studs and pins with the platform they are screwed into or stand in.
    """
    pieces = (*solids.own, *solids.risen, *solids.beneath, *solids.carried)
    if len(pieces) < 2:
        return ()
    kinds = _kinds(solids)
    gaps = _box_gaps(pieces)
    found: dict[Between, list[Clearance]] = {kind: [] for kind in Between}
    least: dict[Between, Clearance] = {}
    for number, kind in enumerate(Between):
        wanted = np.where(kinds == number, gaps, np.inf)
        for i, j in zip(*np.nonzero(wanted < -CONTACT), strict=True):
            gap = body_clearance(pieces[i].body, pieces[j].body)
            pair = _pair(pieces[i].body, pieces[j].body, gap, kind)
            if gap < -CONTACT:
                found[kind].append(pair)
            elif kind not in least or gap < least[kind].gap:
                least[kind] = pair
            wanted[i, j] = np.inf
        i, j = np.unravel_index(int(np.argmin(wanted)), wanted.shape)
        if np.isfinite(wanted[i, j]) and (kind not in least or wanted[i, j] < least[kind].gap):
            least[kind] = _pair(pieces[i].body, pieces[j].body, float(wanted[i, j]), kind)
    return tuple(
        pair
        for kind in Between
        for pair in (
            sorted(found[kind], key=lambda pair: pair.gap) or ([least[kind]] if kind in least else [])
        )
    )


def body_clearance(one: Body, other: Body) -> float:
    """Room between two bodies [m], their cuts respected; negative when they overlap."""
    return min([_add_clearance(one, a, other, b) for a in one.adds for b in other.adds])


def _add_clearance(one: Body, a: Prism, other: Body, b: Prism) -> float:
    in_hole = max(room_in_cuts(b, a, one.cuts), room_in_cuts(a, b, other.cuts))
    return in_hole if in_hole >= 0.0 else max(in_hole, separation(a, b))


def room_in_cuts(inner: Prism, add: Prism, cuts: tuple[Prism, ...]) -> float:
    """Room of `inner` in the holes that `cuts` make through `add`, along its own axis [m].

    The stretch of `inner` inside `add` is walked from cut end to cut end; on each step the widest cut
    counts, and the narrowest step is the answer. `-inf` where a step has no cut.
    """
    axis = inner.frame.third
    spans = []
    for cut in cuts:
        if abs(_dot(cut.frame.third, axis)) > PARALLEL:
            section = _seen_in(inner, cut)
            room = inset(section, cut.section)
            if room > -_width(section):
                spans.append((*_stretch(cut, axis), room))
    if not spans:
        return float("-inf")
    (inner_low, inner_high), (add_low, add_high) = _stretch(inner, axis), _stretch(add, axis)
    low, high = max(inner_low, add_low), min(inner_high, add_high)
    if high - low <= 2.0 * CONTACT:
        return float("-inf")
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


def _width(section: Section) -> float:
    """A size that no width of the section exceeds [m]."""
    if isinstance(section, Disc):
        return 2.0 * section.radius
    first, second = zip(*section.points, strict=True)
    return hypot(max(first) - min(first), max(second) - min(second))


def _seen_in(inner: Prism, cut: Prism) -> Section:
    """The section of `inner` in the local plane of `cut`."""
    if inner.frame == cut.frame:
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


def _box_gaps(pieces: tuple[Piece, ...]) -> NDArray[np.float64]:
    """Gap between the boxes of each pair (n, n) [m], +inf at and below the diagonal."""
    boxes = np.array([piece.extents[:6] for piece in pieces])
    low, high = boxes[:, 0::2], boxes[:, 1::2]
    gaps = np.maximum(low[:, None], low[None]) - np.minimum(high[:, None], high[None])
    gap = np.asarray(gaps.max(axis=2))
    gap[np.tril_indices(len(pieces))] = np.inf
    return gap


def _kinds(solids: Solids) -> NDArray[np.int64]:
    """Index into `Between` for each pair (n, n); -1 for pairs that are not compared."""
    column = [piece.body.role in FASTENING_ROLES for piece in solids.own]
    ground = len(solids.risen) + len(solids.beneath)
    own = len(column) + ground
    stations = [piece.body.station or piece.body.path for piece in solids.carried]
    kinds = np.full((own + len(stations), own + len(stations)), 1, dtype=np.int64)
    kinds[:own, :own] = 0
    kinds[len(column) : own, len(column) : own] = -1
    fastening = np.array([*column, *[False] * ground])
    rests = np.arange(own) >= len(column)
    kinds[:own, :own][fastening[:, None] & rests[None]] = -1
    named = np.array([*stations]) if stations else np.empty(0, dtype=str)
    kinds[own:, own:] = np.where(named[:, None] == named[None], -1, 2)
    return kinds


def _pair(one: Body, other: Body, gap: float, between: Between) -> Clearance:
    return Clearance(one.name, other.name, Metre(gap), between, (one.path, other.path))


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
