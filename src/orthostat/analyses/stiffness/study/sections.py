"""What a plan with its walls gives, whatever the heights and materials: section modes and their integrals."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.model import SectionBasis
from orthostat.analyses.stiffness.study.section_terms import SectionTerms, section_terms
from orthostat.analyses.stiffness.study.thinness import scale_of, to_design
from orthostat.analyses.stiffness.study.topology import FLANGE, Topology

KEPT = 32
"""Sections remembered: a study over heights and plates asks for the same ones again and again."""


@dataclass(frozen=True, eq=False)
class Section:
    """Modes within (count, 2, s) and along (count, a) on a design's own section, the given ones first, and
    their integrals.
    """

    within: Floats
    along: Floats
    terms: SectionTerms


def section_of(basis: SectionBasis, top: Topology, controls: Floats, *, flange: bool) -> Section:
    """The section of a plan with the triangulation's controls in their places."""
    return _section(basis, top, controls.tobytes(), FLANGE + 1 if flange else FLANGE)


@lru_cache(maxsize=KEPT)
def _section(basis: SectionBasis, top: Topology, controls_of: bytes, rings: int) -> Section:
    controls = np.frombuffer(controls_of).reshape(-1, 2)
    points = top.weights @ controls
    learnt = _together(basis)
    if basis.hollow:
        learnt = to_design(top, scale_of(top, controls), learnt)
    inner, outer = given_sections(top, points)
    within = np.concatenate([inner, learnt[:, : basis.within[0].size].reshape(basis.within.shape)], axis=2)
    along = np.concatenate([outer, learnt[:, basis.within[0].size :]], axis=1)
    return Section(within, along, section_terms(top, points, within, along, rings=rings))


@lru_cache(maxsize=16)
def _together(basis: SectionBasis) -> Floats:
    return np.hstack([basis.within.reshape(len(basis.within), -1), basis.along])


def given_sections(top: Topology, points: Floats) -> tuple[Floats, Floats]:
    """What every section can do: move along x and z and turn about y (count, 2, 3); move along y, turn about
    x and z, and warp by x·z as a bar in torsion does (count, 4).
    """
    count = len(points)
    inner, along = np.zeros((top.count, 2, 3)), np.zeros((top.count, 4))
    x, z = points.T
    inner[:count, 0, 0] = inner[:count, 1, 1] = along[:count, 0] = 1.0
    inner[:count, 0, 2], inner[:count, 1, 2] = z, -x
    along[:count, 1], along[:count, 2], along[:count, 3] = -z, x, x * z
    step = points[top.edges[:, 1]] - points[top.edges[:, 0]]
    along[count:, 3] = -0.25 * step[:, 0] * step[:, 1]
    return inner, along
