"""What was learnt: section modes for every profile, the ranges they hold for, and how far off they were."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.profiles import profiles_of, within
from orthostat.analyses.stiffness.study.ranges import Ranges

GIVEN = (3, 4)
"""Motions that the design gives: rigid ones within the section, rigid ones and a warp along the height."""


class OutsideStudy(Exception):
    """A design that the study model was not learnt on; `reasons` says in what."""

    def __init__(self, reasons: tuple[str, ...]) -> None:
        self.reasons = reasons
        super().__init__("outside what the study was learnt on: " + "; ".join(reasons))


@dataclass(frozen=True, eq=False)
class SectionBasis:
    """Section modes on the reference. within: (count, 2, s), along: (count, a), shared by all profiles.

    of_role mixes those of `GIVEN`, which come from the design, and these into the modes of each role:
    (given + s, k) and (given + a, l). `hollow`: of hollow columns, whose walls scale with their thickness.
    """

    within: Floats
    along: Floats
    of_role: Mapping[str, tuple[Floats, Floats]]
    hollow: bool
    cache: dict[str, Layout] = field(default_factory=dict, repr=False)

    def layout(self, letters: str) -> Layout:
        """The unknowns of a column whose layers are `letters`."""
        if letters not in self.cache:
            self.cache[letters] = _layout(self, letters)
        return self.cache[letters]


@dataclass(frozen=True, eq=False)
class Family:
    """Unknowns of one kind (within or along): the mode of each from given and learnt ones (r, n), the profile
    of each (n,), and where those of each layer stand.
    """

    modes: Floats
    profile: Indices
    layers: tuple[slice, ...]
    foot: slice
    runs: tuple[tuple[int, int, int], ...]
    """Each profile with its first unknown and the one after its last."""
    of_layer: tuple[slice, ...]
    """The profiles of each layer."""

    @property
    def count(self) -> int:
        return int(self.modes.shape[1])

    def spread(self, vectors: Floats, layer: int) -> Floats:
        """(r, profiles of the layer, m) section modes' shares of unknowns (count, m)."""
        return np.stack(
            [self.modes[:, low:high] @ vectors[low:high] for _, low, high in self.within(layer)], axis=1
        )

    def within(self, layer: int) -> tuple[tuple[int, int, int], ...]:
        """The runs of a layer's profiles."""
        return self.runs[self.of_layer[layer]]

    def picked(self, values: Floats) -> Floats:
        """(n, count) from values (n, profiles, r): each unknown's own mode at its own profile."""
        return np.hstack([values[:, at] @ self.modes[:, low:high] for at, low, high in self.runs])


@dataclass(frozen=True, eq=False)
class Layout:
    """Unknowns within the sections, then those along the height."""

    letters: str
    within: Family
    along: Family

    @property
    def count(self) -> int:
        """Unknowns of the body."""
        return self.within.count + self.along.count


def _layout(basis: SectionBasis, letters: str) -> Layout:
    return Layout(letters, _family(basis, letters, 0), _family(basis, letters, 1))


def _family(basis: SectionBasis, letters: str, kind: int) -> Family:
    profiles = profiles_of(letters)
    blocks, owner, starts = [], [], [0]
    for number, profile in enumerate(profiles):
        block = basis.of_role[profile.role][kind]
        blocks.append(block)
        owner += [number] * block.shape[1]
        starts.append(starts[-1] + block.shape[1])
    runs = tuple((k, *ends) for k, ends in enumerate(pairwise(starts)))
    of_layer = tuple(within(letters, k) for k in range(len(letters)))
    layers = tuple(slice(starts[here.start], starts[here.stop]) for here in of_layer)
    return Family(np.hstack(blocks), np.array(owner), layers, slice(0, starts[1]), runs, of_layer)


@dataclass(frozen=True, eq=False)
class StudyModel:
    """A family of plans learnt.

    For columns that it had not seen, what it said over what the mesh says that it was learnt from: errors
    (designs, 3) of the first three frequencies; moved (designs,), the movement of a station along a force on
    it, the farthest off of the column's stations (not a number without stations).
    """

    ranges: Ranges
    basis: SectionBasis
    errors: Floats
    moved: Floats
    learnt: int

    @property
    def worst_first(self) -> float:
        """Largest error of the first frequency on columns it had not seen."""
        return float(np.abs(self.errors[:, 0]).max())

    @property
    def worst_moved(self) -> float:
        """Largest error of a movement on columns it had not seen; not a number where none had stations."""
        known = self.moved[np.isfinite(self.moved)]
        return float(np.abs(known).max()) if len(known) else float("nan")

    @property
    def median_first(self) -> float:
        """Median error of the first frequency on columns it had not seen."""
        return float(np.median(self.errors[:, 0]))
