"""What was learnt: section modes for every profile, the ranges they hold for, and how far off they were."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

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

    of_role mixes them into those of each role: (s, k) and (a, l). Those of `GIVEN` come on top, from
    the design. `scaled`: walls are scaled by their thickness.
    """

    within: Floats
    along: Floats
    of_role: Mapping[str, tuple[Floats, Floats]]
    scaled: bool
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

    @property
    def count(self) -> int:
        return int(self.modes.shape[1])


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
    given = GIVEN[kind]
    size = (basis.within, basis.along)[kind].shape[-1]
    blocks, owner, starts = [], [], [0]
    for number, profile in enumerate(profiles):
        learnt = basis.of_role[profile.role][kind]
        block = np.zeros((given + size, given + learnt.shape[1]))
        block[:given, :given] = np.eye(given)
        block[given:, given:] = learnt
        blocks.append(block)
        owner += [number] * block.shape[1]
        starts.append(starts[-1] + block.shape[1])
    found = []
    for k in range(len(letters)):
        here = within(letters, k)
        found.append(slice(starts[here.start], starts[here.stop]))
    return Family(np.hstack(blocks), np.array(owner), tuple(found), slice(0, starts[1]))


@dataclass(frozen=True, eq=False)
class StudyModel:
    """A family of plans learnt.

    errors: (designs, 3) of the first three frequencies over the model it was learnt from (always stiffer),
    for `tried` columns that it had not seen.
    """

    ranges: Ranges
    basis: SectionBasis
    errors: Floats
    learnt: int

    @property
    def worst_first(self) -> float:
        """Largest error of the first frequency on columns it had not seen."""
        return float(self.errors[:, 0].max())

    @property
    def median_first(self) -> float:
        """Median error of the first frequency on columns it had not seen."""
        return float(np.median(self.errors[:, 0]))
