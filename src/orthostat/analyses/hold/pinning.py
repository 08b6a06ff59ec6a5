"""Pins and keys: what they locate, how far the part moves before they carry, and what they then carry.

Pins do not add to friction. While friction holds they carry nothing; once it is beaten the part moves
through the play and the pins carry the whole shear.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.extremes import first_greatests, first_of_columns
from orthostat.analyses.hold.fastener import Dowel
from orthostat.base.dimensions import Metre, Newton, Pascal, Radian
from orthostat.base.findings import NotStated, stated
from orthostat.base.kept import Kept
from orthostat.formulas import pins
from orthostat.model.bodies import Point2

Array = NDArray[np.float64]
_Spot = tuple[Point2, tuple[Point2, ...]]
"""Where a pin stands and the directions in which it locates."""


@dataclass(frozen=True, slots=True)
class Location:
    """What the pins fix of the three freedoms in the plane, and what they fix twice."""

    fixed: int
    """Freedoms of the plane (two shifts, one turn) that pins take away: 0 to 3."""
    redundant: int
    """Directions located more than once by pins with no play to spare for it."""
    redundant_names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shift:
    """How far the part moves before the pins carry, from the middle of the play and wall to wall."""

    centred: Metre
    whole: Metre
    turn: Radian
    """Turn from wall to wall."""
    at_place: Metre
    """Movement of the farthest place asked about, wall to wall, shift and turn together."""


@dataclass(frozen=True, slots=True)
class PinLoad:
    """What one pin carries once friction is beaten, at the worst load."""

    dowel: Dowel
    force: Newton
    load: str
    shear: Pascal
    bearing_above: Pascal | None
    bearing_below: Pascal | None


@lru_cache(maxsize=128)
def location_of(dowels: tuple[Dowel, ...]) -> Location:
    """Freedoms fixed by the pins' directions, and pins that fix one again without play.

    A direction that is located twice over-constrains unless the play of its pins can take up the
    difference of spacing; a pin whose greatest play in the part that comes off is not stated counts
    as tight.
    """
    # One scale for all pins: with one each, two pins in line with the origin would look alike.
    size = _spread(dowel.at for dowel in dowels)
    rows = _rows([(dowel.at, dowel.directions) for dowel in dowels], size)
    fixed = int(np.linalg.matrix_rank(rows, tol=1e-6)) if len(rows) else 0
    extra: list[str] = []
    kept: list[Array] = []
    for dowel in dowels:
        for row in _rows([(dowel.at, dowel.directions)], size):
            trial = np.array([*kept, row])
            if np.linalg.matrix_rank(trial, tol=1e-6) < len(trial):
                extra.append(dowel.name)
            else:
                kept.append(row)
    return Location(fixed, len(extra), tuple(dict.fromkeys(extra)))


def _rows(spots: Iterable[_Spot], size: float) -> Array:
    """Constraint rows (k, 3) on (shift x, shift z, turn times `size` [m])."""
    found = [(x, z, (x * at[1] - z * at[0]) / size) for at, directions in spots for x, z in directions]
    return np.array(found).reshape(-1, 3)


def _spread(places: Iterable[Point2]) -> float:
    return max((float(np.hypot(*at)) for at in places), default=1.0) or 1.0


def shift_of(dowels: tuple[Dowel, ...], places: Array) -> Shift:
    """Movement before the pins take over, from the play of all pins.

    `places` (k, 2) are points of the plane whose movement matters. The shift is bounded by the play
    of the round pin, the turn by the play of both over their spacing.

    Raises:
        NotStated: a pin's fits are not stated, or the pins do not locate all three freedoms.
    """
    location = location_of(dowels)
    if location.fixed < 3:
        raise NotStated(reason="the pins do not locate the part, so nothing ends its movement")
    first = next((dowel for dowel in dowels if len(dowel.directions) == 2), dowels[0])
    others = [dowel for dowel in dowels if dowel is not first]
    whole = _play(first)
    if not others:
        return Shift(pins.centred_shift(whole), whole, Radian(0.0), whole)
    second = max(others, key=lambda each: float(np.hypot(*np.subtract(each.at, first.at))))
    spacing = Metre(float(np.hypot(*np.subtract(second.at, first.at))))
    turn = pins.turn_between_pins(play_first=whole, play_second=_play(second), spacing=spacing)
    return Shift(
        pins.centred_shift(whole),
        whole,
        turn,
        _moved(first, second, places if len(places) else np.zeros((1, 2))),
    )


def _moved(first: Dowel, second: Dowel, places: Array) -> Metre:
    """Largest movement of any place from one wall to the other.

    The first pin moves half its play any way, the second half its play across the line between them;
    the extremes of a linear movement are at the extremes of both.
    """
    origin = np.asarray(first.at)
    line = np.asarray(second.at) - origin
    spacing = float(np.hypot(*line))
    along = line / spacing
    across = np.array([-along[1], along[0]])
    near, far = 0.5 * _play(first), 0.5 * _play(second)
    angle = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    most = 0.0
    for end in (-far, far):
        u, v = near * np.cos(angle), near * np.sin(angle)
        turn = (end - v) / spacing
        away = places - origin
        s, t = away @ along, away @ across
        moved_along = u[:, None] - turn[:, None] * t
        moved_across = v[:, None] + turn[:, None] * s
        most = max(most, float(np.hypot(moved_along, moved_across).max()))
    return Metre(2.0 * most)


def _play(dowel: Dowel) -> Metre:
    """Greatest play of a pin over both its ends; interference counts as none."""
    off = stated(dowel.removable_play, f"{dowel.path}.fit_above")
    on = stated(dowel.fixed_play, f"{dowel.path}.fit_below")
    return Metre(max(0.0, off[1]) + max(0.0, on[1]))


def carried(
    dowels: tuple[Dowel, ...], sets: list[bytes], steady: Array, label: Callable[[int, int], str]
) -> tuple[PinLoad, ...]:
    """What each pin carries when the pins take the whole shear and torsion of loads.

    `sets` are wrenches (m, 6) about the plane's origin as bytes, which come on top of the `steady` one (6,);
    `label` names a load by its set and its place there. Equally stiff pins share; with a round and a
    relieved pin the answer is plain statics.

    Raises:
        NotStated: the pins cannot carry the loads, since they leave a freedom open.
    """
    if location_of(dowels).fixed < 3:
        raise NotStated(reason="the pins do not locate the part and cannot carry every load")
    spots, weight = tuple((dowel.at, dowel.directions) for dowel in dowels), steady.tobytes()
    parts = _GREATEST.answers([(each, weight, spots) for each in sets], _greatest)
    forces = np.array([force for force, _ in parts])
    return tuple(
        _loaded(dowel, Newton(float(forces[k, j])), label(k, int(parts[k][1][j])))
        for j, (dowel, k) in enumerate(zip(dowels, first_of_columns(forces), strict=True))
    )


_Set = tuple[bytes, bytes, tuple[_Spot, ...]]
_GREATEST: Kept[_Set, tuple[Array, NDArray[np.intp]]] = Kept(512)


def _greatest(sets: list[_Set]) -> list[tuple[Array, NDArray[np.intp]]]:
    """For each set of loads the greatest force on each pin, and the place of the load that makes it."""
    _, weight, spots = sets[0]
    listed = [np.frombuffer(each).reshape(-1, 6) for each, _, _ in sets]
    counts, rows = np.array([len(each) for each in listed]), np.concatenate(listed) + np.frombuffer(weight)
    share = rows[:, (0, 2, 4)] @ _shares(spots)
    ends = np.cumsum([len(directions) for _, directions in spots])[:-1]
    forces = np.stack([np.sqrt((each * each).sum(axis=1)) for each in np.split(share, ends, axis=1)], axis=1)
    return list(zip(*first_greatests(forces, np.cumsum(counts) - counts), strict=True))


@lru_cache(maxsize=64)
def _shares(spots: tuple[_Spot, ...]) -> Array:
    """(3, k) what a unit of each shear and of torsion puts on pins in each direction in which one locates."""
    size = _spread(at for at, _ in spots)
    made: Array = np.linalg.pinv(_rows(spots, size)) / np.array([1.0, 1.0, size])[:, None]
    made.setflags(write=False)
    return made


def _loaded(dowel: Dowel, force: Newton, load: str) -> PinLoad:
    def bearing(length: Metre | None) -> Pascal | None:
        return None if not length else pins.bearing_pressure(force, diameter=dowel.diameter, length=length)

    return PinLoad(
        dowel,
        force,
        load,
        pins.shear_stress(force, dowel.diameter),
        bearing(dowel.length_above),
        bearing(dowel.length_below),
    )
