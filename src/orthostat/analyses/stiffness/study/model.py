"""What was learnt: section modes for every profile, the ranges they hold for, and how far off they were."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.give import Give
from orthostat.analyses.stiffness.study.profiles import DEGREE, profiles_of, reference_lines, within
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


@dataclass(frozen=True, eq=False)
class Family:
    """Unknowns of one kind (within or along): the mode of each from given and learnt ones (r, n), the profile
    of each (n,), and each profile with its first unknown and the one after its last.
    """

    modes: Floats
    profile: Indices
    runs: tuple[tuple[int, int, int], ...]

    @property
    def count(self) -> int:
        return int(self.modes.shape[1])

    @property
    def foot(self) -> slice:
        """The unknowns of the lowest profile."""
        return slice(0, self.runs[0][2])

    def of(self, profiles: slice) -> slice:
        """The unknowns of neighbouring profiles."""
        runs = self.runs[profiles]
        return slice(runs[0][1], runs[-1][2])

    def picked(self, values: Floats) -> Floats:
        """(n, count) from values (n, profiles, r): each unknown's own mode at its own profile."""
        return np.hstack([values[:, at] @ self.modes[:, low:high] for at, low, high in self.runs])


@dataclass(frozen=True, eq=False)
class Layer:
    """One layer's unknowns within and along, their modes, and the integrals of their profiles over the height
    from -1 to 1: ∫ψψ, ∫ψ'ψ' of each kind, ∫ψψ', ∫ψ'ψ between the kinds; the profile of each unknown among the
    layer's, and the integrals of those themselves (4, p, p).
    """

    within: slice
    along: slice
    modes_within: Floats
    modes_along: Floats
    still_within: Floats
    steep_within: Floats
    still_along: Floats
    steep_along: Floats
    swelling: Floats
    leaning: Floats
    profile_within: Indices
    profile_along: Indices
    lines: Floats


@dataclass(frozen=True, eq=False)
class Layout:
    """Unknowns within the sections, then those along the height, of a column whose layers are `letters`."""

    letters: str
    within: Family
    along: Family
    layers: tuple[Layer, ...]

    @property
    def count(self) -> int:
        """Unknowns of the body."""
        return self.within.count + self.along.count


@lru_cache(maxsize=64)
def layout_of(basis: SectionBasis, letters: str) -> Layout:
    """The unknowns of a column whose layers are `letters`."""
    inner, along = _family(basis, letters, 0), _family(basis, letters, 1)
    layers = tuple(_layer(letters, k, inner, along) for k in range(len(letters)))
    return Layout(letters, inner, along, layers)


def _family(basis: SectionBasis, letters: str, kind: int) -> Family:
    blocks = [basis.of_role[profile.role][kind] for profile in profiles_of(letters)]
    sizes = [block.shape[1] for block in blocks]
    ends = np.cumsum([0, *sizes]).tolist()
    runs = tuple((k, *pair) for k, pair in enumerate(pairwise(ends)))
    return Family(np.hstack(blocks), np.repeat(np.arange(len(blocks)), sizes), runs)


def _layer(letters: str, number: int, inner: Family, along: Family) -> Layer:
    profiles = within(letters, number)
    s, a = inner.of(profiles), along.of(profiles)
    i, j = inner.profile[s] - profiles.start, along.profile[a] - profiles.start
    still, swelling, leaning, steep = lines = reference_lines(DEGREE[letters[number]])
    return Layer(
        s, slice(inner.count + a.start, inner.count + a.stop), inner.modes[:, s], along.modes[:, a],
        still[np.ix_(i, i)], steep[np.ix_(i, i)], still[np.ix_(j, j)], steep[np.ix_(j, j)],
        swelling[np.ix_(i, j)], leaning[np.ix_(i, j)], i, j, lines,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Trial:
    """A design that the model had not been taught, by its number among those given: the body seen from its
    stations, by the mesh that is learnt from and by the study model.
    """

    number: int
    exact: Ports
    found: Ports

    @property
    def frequencies(self) -> Floats:
        """(m,) what the frequencies are off, as a share."""
        return np.asarray(np.sqrt(self.found.squares / self.exact.squares) - 1.0)

    @property
    def compliance(self) -> Floats:
        """(s, 6) what the movement along each force and the turn about each couple at a station is off."""
        off = np.diag(self.found.compliance) / np.diag(self.exact.compliance) - 1.0
        return off.reshape(-1, 6)


@dataclass(frozen=True, eq=False)
class StudyModel:
    """A family of plans learnt from so many columns, and tried on others."""

    ranges: Ranges
    basis: SectionBasis
    give: Give | None
    trials: tuple[Trial, ...]
    learnt: int

    @property
    def errors(self) -> Floats:
        """(trials, 3) of the first three frequencies."""
        return np.array([trial.frequencies[:3] for trial in self.trials])

    @property
    def worst_first(self) -> float:
        """Largest error of the first frequency."""
        return float(np.abs(self.errors[:, 0]).max())

    @property
    def median_first(self) -> float:
        """Median error of the first frequency."""
        return float(np.median(self.errors[:, 0]))

    @property
    def worst_moved(self) -> float:
        """Largest error of a station's movement along a force; not a number where none had stations."""
        return self._worst(slice(0, 3))

    @property
    def worst_turned(self) -> float:
        """The same of its turn about a couple."""
        return self._worst(slice(3, 6))

    def _worst(self, loads: slice) -> float:
        every = np.concatenate([trial.compliance[:, loads].ravel() for trial in self.trials])
        return float(np.abs(every).max()) if len(every) else float("nan")
