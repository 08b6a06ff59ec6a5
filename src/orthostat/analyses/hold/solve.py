"""All joints of a design under all loads, and the pallet on its clamp."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.hold.extremes import first_greatest
from orthostat.analyses.hold.fastener import Joint, Plane, Wanted
from orthostat.analyses.hold.joint import solve_joint
from orthostat.analyses.hold.outcome import JointResult, LoadSet
from orthostat.analyses.hold.reading import Clamp, Inputs, JointInput
from orthostat.analyses.loads import CutLoads, moved
from orthostat.analyses.loads import Result as Loads
from orthostat.analyses.loads.handling import handling
from orthostat.analyses.loads.inputs import Moving
from orthostat.base.dimensions import Metre
from orthostat.base.findings import Gap
from orthostat.model.bodies import Point2

Array = NDArray[np.float64]
_DIGITS = 7
"""Decimals of a load in its joint's axes [N, N·m]."""


@dataclass(frozen=True, slots=True)
class Worst:
    """The greatest size of something over all loads, and the load."""

    value: float
    load: str


@dataclass(frozen=True, slots=True)
class ClampUse:
    """What the pallet clamp sees: torque about B while cutting, lifting force and tilting moment."""

    clamp: Clamp
    torque: Worst | None
    force: Worst | None
    moment: Worst | Gap | None


@dataclass(frozen=True, slots=True, eq=False)
class StackJoint:
    """A joint's answer with the tolerance of what hangs on it."""

    result: JointResult
    station: str | None
    tolerance: Metre | None

    @property
    def joint(self) -> Joint:
        return self.result.joint


@dataclass(frozen=True, slots=True, eq=False)
class Hold:
    """What `solve` gives: column joints from the top down, then the fixtures on their faces."""

    joints: tuple[StackJoint, ...]
    clamp: ClampUse | None
    pin_shift: Metre | None

    @property
    def stack(self) -> tuple[StackJoint, ...]:
        """The joints under the column."""
        return tuple(each for each in self.joints if each.station is None)

    @property
    def fixtures(self) -> tuple[StackJoint, ...]:
        """The joints of fixtures on their faces."""
        return tuple(each for each in self.joints if each.station is not None)


def solve(inputs: Inputs) -> Hold:
    """Every joint on its own, so that one with a missing input leaves the others standing."""
    joints = tuple(
        StackJoint(_solved(given, inputs.loads, inputs.wanted), given.station, given.tolerance)
        for given in inputs.joints
    )
    clamp = None if inputs.clamp is None else clamp_use(inputs.clamp, inputs.loads)
    return Hold(joints, clamp, inputs.pin_shift)


def _solved(given: JointInput, loads: Loads, wanted: Wanted) -> JointResult:
    """A joint's answers; those found before, where everything about it is as it was.

    Where it lies does not matter: loads and places come in its own axes.
    """
    joint = given.joint
    motions, steady = ((), None) if given.moving is None else _of_motions(joint.plane, given.moving)
    cuts = tuple(cut for cut in loads.cuts if given.station is None or cut.station == given.station)
    sets = (*_of_cuts(joint.plane, cuts), *motions)
    lying = replace(joint, plane=replace(joint.plane, origin=(0.0, 0.0, 0.0)))
    lacks = () if sets else _lacking(given, loads)
    return replace(_remembered(lying, sets, steady, given.places, wanted, lacks), joint=joint)


def _lacking(given: JointInput, loads: Loads) -> tuple[str, ...]:
    """What would give a joint a load: what its cuts and motions lack, or else the cuts themselves."""
    lacks = [
        key
        for cut in loads.open_cuts
        if given.station is None or cut.station == given.station
        for key in cut.missing
    ]
    lacks += [key for motion in loads.open_handling for key in motion.missing]
    cuts = "stations" if given.station is None else "cuts"
    return tuple(dict.fromkeys(lacks)) or (f"{given.joint.path}.{cuts}",)


class _Known(NamedTuple):
    """A load set as a key: its loads in the joint's axes, as bytes."""

    name: str
    path: str
    labels: tuple[str, ...]
    reversing: bool
    rows: bytes


@lru_cache(maxsize=128)
def _of_cuts(plane: Plane, cuts: tuple[CutLoads, ...]) -> tuple[_Known, ...]:
    if not cuts:
        return ()
    ends = np.cumsum([len(cut.wrenches) for cut in cuts])[:-1]
    rows = np.split(in_plane(plane, np.concatenate([cut.wrenches for cut in cuts])), ends)
    return tuple(
        _Known(cut.label, cut.path, cut.labels, reversing=True, rows=each.tobytes())
        for cut, each in zip(cuts, rows, strict=True)
    )


@lru_cache(maxsize=128)
def _of_motions(plane: Plane, moving: Moving) -> tuple[tuple[_Known, ...], bytes | None]:
    """What the machine's motions load a joint with, and the weight."""
    motions, _, weight = handling(moving)
    every = [*(each.wrenches for each in motions), *(() if weight is None else (weight[None, :],))]
    if not every:
        return (), None
    rows = np.split(in_plane(plane, np.concatenate(every)), np.cumsum([len(each) for each in every])[:-1])
    sets = tuple(
        _Known(each.name, each.path, each.labels, reversing=False, rows=mine.tobytes())
        for each, mine in zip(motions, rows, strict=False)
    )
    return sets, None if weight is None else rows[-1].tobytes()


@lru_cache(maxsize=96)
def _remembered(
    joint: Joint,
    sets: tuple[_Known, ...],
    steady: bytes | None,
    places: tuple[Point2, ...],
    wanted: Wanted,
    lacks: tuple[str, ...],
) -> JointResult:
    weight = None if steady is None else np.frombuffer(steady)
    loads = tuple(
        LoadSet(
            each.name,
            each.path,
            np.frombuffer(each.rows).reshape(-1, 6),
            each.labels,
            each.reversing,
            weight,
        )
        for each in sets
    )
    return solve_joint(joint, loads, np.array(places).reshape(-1, 2), wanted, lacks)


def in_plane(plane: Plane, rows: Array) -> Array:
    """Wrenches (m, 6) about the column's origin, in a joint's axes about its own origin."""
    axes = np.array([plane.x, plane.y, plane.z])
    turned = moved(rows, plane.origin).reshape(-1, 3) @ axes.T
    # Alike loads on alike joints come out alike to the last bit, whichever way the face looks.
    return np.asarray(np.round(turned.reshape(-1, 6), _DIGITS) + 0.0, dtype=np.float64)


def clamp_use(clamp: Clamp, loads: Loads) -> ClampUse:
    """The worst torque about B of a cut, and what pulls and tilts the pallet on its receiver.

    Indexing turns the table with the clamp open, so only cuts count for the torque.
    """
    sets = [cut.wrenches for cut in loads.cuts] + [motion.wrenches for motion in loads.handling]
    every = np.concatenate(sets) if sets else np.zeros((0, 6))
    cutting = every[: sum(len(cut.wrenches) for cut in loads.cuts)]
    moment: Worst | Gap | None = None
    if len(every):
        if clamp.height is None:
            moment = Gap((clamp.pallet_path,))
        else:
            rows = moved(every, (0.0, clamp.height, 0.0))
            moment = _worst(np.hypot(rows[:, 3], rows[:, 5]), loads)
    return ClampUse(
        clamp,
        _worst(np.abs(cutting[:, 4]), loads),
        _worst(every[:, 1].clip(min=0.0), loads),
        moment,
    )


def _worst(values: Array, loads: Loads) -> Worst | None:
    """The greatest of a value for each load, cuts before motions."""
    if not len(values):
        return None
    k = first = first_greatest(values)
    for cut in loads.cuts:
        if k < len(cut.labels):
            return Worst(float(values[first]), f"{cut.label}: {cut.labels[k]}")
        k -= len(cut.labels)
    for motion in loads.handling:
        if k < len(motion.labels):
            return Worst(float(values[first]), f"{motion.name}: {motion.labels[k]}")
        k -= len(motion.labels)
    return None
