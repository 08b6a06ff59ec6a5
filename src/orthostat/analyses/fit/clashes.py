"""Which bodies take up the same room. Cuts count: what sits in a hole that is wide enough does not clash."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from itertools import chain, compress, pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.fit.sections import inset
from orthostat.analyses.fit.separation import PARALLEL, boxes, separations
from orthostat.analyses.solids import Solids, support
from orthostat.analyses.solids.extents import body_extents, prism_extents
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
    own = tuple(piece.body for piece in solids.own)
    ground = tuple(piece.body for piece in (*solids.risen, *solids.beneath))
    stations = tuple(station.bodies for station in column.stations)
    return (*_in_column(own, ground), *_at_column((*own, *ground), stations), *_of_stations(stations))


# An edit mostly leaves one of the three alone, or all: each is kept by the bodies that it is about.


@lru_cache(maxsize=16)
def _in_column(own: tuple[Body, ...], ground: tuple[Body, ...]) -> tuple[Clearance, ...]:
    bodies = (*own, *ground)
    gaps = box_gaps(_boxes(bodies))
    rests = np.arange(len(bodies)) >= len(own)
    fastens = np.array([body.role in FASTENING_ROLES for body in own] + [False] * len(ground), dtype=bool)
    gaps[(rests | fastens)[:, None] & rests] = np.inf
    return _found(bodies, gaps, Between.COLUMN)


@lru_cache(maxsize=16)
def _at_column(column: tuple[Body, ...], stations: tuple[tuple[Body, ...], ...]) -> tuple[Clearance, ...]:
    bodies = (*column, *chain.from_iterable(stations))
    gaps = box_gaps(_boxes(bodies), len(column))
    gaps[:, : len(column)] = np.inf
    return _found(bodies, gaps, Between.STATION_AND_COLUMN)


@lru_cache(maxsize=16)
def _of_stations(stations: tuple[tuple[Body, ...], ...]) -> tuple[Clearance, ...]:
    bodies = tuple(chain.from_iterable(stations))
    owner = np.repeat(np.arange(len(stations)), [len(each) for each in stations])
    gaps = box_gaps(_boxes(bodies))
    gaps[owner[:, None] == owner] = np.inf
    return _found(bodies, gaps, Between.STATIONS)


def _boxes(bodies: Sequence[Body]) -> list[Sequence[float]]:
    return [body_extents(body)[:6] for body in bodies]


def _found(bodies: Sequence[Body], gaps: NDArray[np.float64], between: Between) -> tuple[Clearance, ...]:
    pairs = overlapping_or_nearest(
        gaps, lambda pairs: body_clearances([(bodies[i], bodies[j]) for i, j in pairs])
    )
    return tuple(
        Clearance(one.name, other.name, Metre(gap), between, (one.path, other.path))
        for one, other, gap in ((bodies[i], bodies[j], gap) for i, j, gap in pairs)
    )


def overlapping_or_nearest(
    gaps: NDArray[np.float64], distances: Callable[[list[tuple[int, int]]], list[float]]
) -> list[tuple[int, int, float]]:
    """Pairs (i, j, distance) that overlap, worst first; where none does, the nearest pair; `[]` for no pair.

    `gaps` (n, m) are lower bounds of the distances, +inf for pairs that are not asked. Pairs are measured in
    the order of their bounds while that is below the least distance found, or below zero: those below zero
    in one go, the others a few at a time.
    """
    measured: list[tuple[int, int, float]] = []
    least = float("inf")
    for low, high in ((-np.inf, CONTACT), (CONTACT, np.inf)):
        rows, columns = np.nonzero((gaps >= low) & (gaps < high))
        bounds = gaps[rows, columns]
        order = np.argsort(bounds, kind="stable")
        bounds, rows, columns = bounds[order], rows[order], columns[order]
        start, count = 0, max(4, int(np.sum(bounds < -CONTACT)))
        while start < len(bounds) and bounds[start] < max(least, -CONTACT):
            some = slice(start, start + count)
            asked = list(zip(rows[some].tolist(), columns[some].tolist(), strict=True))
            for (i, j), bound, distance in zip(asked, bounds[some].tolist(), distances(asked), strict=True):
                if bound >= max(least, -CONTACT):
                    break
                measured.append((i, j, distance))
                least = min(least, distance)
            start, count = start + count, 16
    measured.sort(key=lambda pair: pair[2])
    return [pair for pair in measured if pair[2] < -CONTACT] or measured[:1]


def nearest_of_each(
    bounds: Sequence[Sequence[float]], distances: Callable[[list[tuple[int, int]]], list[float]]
) -> list[tuple[int, float]]:
    """Of each list the nearest and its distance; `bounds` are lower bounds of the distances.

    Those whose bounds are below zero, or least, are measured first, then those whose bounds are less than it.
    """
    first = [max(CONTACT, min(each, default=0.0)) for each in bounds]
    best = [(-1, float("inf"))] * len(bounds)

    def measure(pairs: list[tuple[int, int]]) -> None:
        for (number, k), distance in zip(pairs, distances(pairs), strict=True):
            if distance < best[number][1]:
                best[number] = (k, distance)

    every = [(number, k, bound) for number, each in enumerate(bounds) for k, bound in enumerate(each)]
    measure([(number, k) for number, k, bound in every if bound <= first[number]])
    measure([(number, k) for number, k, bound in every if first[number] < bound < best[number][1]])
    return best


def body_clearances(pairs: Sequence[tuple[Body, Body]]) -> list[float]:
    """Room between the bodies of each pair [m], their cuts respected; negative when they overlap."""
    jobs = [[(one, a, other, b) for a in one.adds for b in other.adds] for one, other in pairs]
    bounds = [[prism_gap(a, b) for _, a, _, b in each] for each in jobs]

    def distances(asked: list[tuple[int, int]]) -> list[float]:
        given = [jobs[number][k] for number, k in asked]
        rooms = _rooms_in_either(given)
        closed = [(a, b) for (_, a, _, b), room in zip(given, rooms, strict=True) if room < 0.0]
        apart = iter(separations(closed))
        return [room if room >= 0.0 else max(room, next(apart)) for room in rooms]

    return [distance for _, distance in nearest_of_each(bounds, distances)]


def _rooms_in_either(jobs: Sequence[tuple[Body, Prism, Body, Prism]]) -> list[float]:
    """Room of one of two prisms in the cuts through the other."""
    cuts = _cuts_beside([*((one, b) for one, _, _, b in jobs), *((other, a) for _, a, other, _ in jobs)])
    found = []
    for (_, a, _, b), first, second in zip(jobs, cuts[: len(jobs)], cuts[len(jobs) :], strict=True):
        in_hole = room_in_cuts(b, a, first)
        found.append(in_hole if in_hole >= 0.0 else max(in_hole, room_in_cuts(a, b, second)))
    return found


def _cuts_beside(asked: Sequence[tuple[Body, Prism]]) -> list[tuple[Prism, ...]]:
    """For each prism the cuts of a body that may hold it: of round ones, where it is round, those whose boxes
    meet its own.
    """
    made = [body.cuts for body, _ in asked]
    of: dict[int, list[int]] = {}
    for number, (body, prism) in enumerate(asked):
        if body.cuts and isinstance(prism.section, Disc):
            of.setdefault(id(body), []).append(number)
    place: dict[int, int] = {}
    rounds: list[Prism] = []
    for prism in chain.from_iterable((*made[each[0]], *(asked[k][1] for k in each)) for each in of.values()):
        if isinstance(prism.section, Disc) and id(prism) not in place:
            place[id(prism)] = len(rounds)
            rounds.append(prism)
    if not rounds:
        return made
    low, high = boxes(rounds)
    for numbers in of.values():
        cuts = made[numbers[0]]
        drilled = [k for k, cut in enumerate(cuts) if id(cut) in place]
        holes = [place[id(cuts[k])] for k in drilled]
        inner = [place[id(asked[number][1])] for number in numbers]
        kept = np.ones((len(numbers), len(cuts)), dtype=bool)
        kept[:, drilled] = ((low[inner, None] <= high[holes]) & (high[inner, None] >= low[holes])).all(axis=2)
        for number, row in zip(numbers, kept.tolist(), strict=True):
            made[number] = tuple(compress(cuts, row))
    return made


def prism_gap(one: Prism, other: Prism) -> float:
    """Gap between the boxes of two prisms [m], never above that between the prisms."""
    a, b = prism_extents(one), prism_extents(other)
    return max(a[0] - b[1], b[0] - a[1], a[2] - b[3], b[2] - a[3], a[4] - b[5], b[4] - a[5])


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
    ends = np.array(boxes).reshape(-1, 6)
    rows = ends if first is None else ends[:first]
    gaps = np.full((len(rows), len(ends)), -np.inf)
    for axis in (0, 2, 4):
        lows = np.maximum(rows[:, None, axis], ends[None, :, axis])
        highs = np.minimum(rows[:, None, axis + 1], ends[None, :, axis + 1])
        np.maximum(gaps, lows - highs, out=gaps)
    gaps[np.tril_indices(len(rows), 0, len(ends))] = np.inf
    return gaps


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
