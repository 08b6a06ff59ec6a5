"""What the sections of a solved design did: coefficients of each profile on the reference, rigid motion out.

Nodes that a design does not have (inside a hollow column, say) are filled in by a smooth continuation, so
that designs with and without them can be learnt from together.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import legendre

from orthostat.analyses.stiffness.integrals import section_integrals
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.section import Flags, Floats
from orthostat.analyses.stiffness.study.design import StudyDesign
from orthostat.analyses.stiffness.study.mapped import Mapped, solve_mapped
from orthostat.analyses.stiffness.study.profiles import NOMINAL, profiles_of
from orthostat.analyses.stiffness.study.sections import given_sections
from orthostat.analyses.stiffness.study.thinness import scale_of, to_reference
from orthostat.analyses.stiffness.study.topology import WALL, Topology, area, regular, topology

WEIGHTS = (1.0, 1.0, 0.7, 0.5, 0.4, 0.35, 0.3, 0.25)
"""What each mode counts in learning; the first two may be a pair."""
FORCE_WEIGHT, COUPLE_WEIGHT = 0.3, 0.3
"""The same for the movement under each force and couple at a station."""
EMPTY_WEIGHT = 0.02
"""What a void counts for beside the wall where all columns of a family are hollow."""
BODY_ROLES = frozenset({"near", "rim", "N2", "N3", *(f"M{p}" for p in range(2, 8))})


@dataclass(frozen=True, eq=False)
class Seen:
    """A solved design. by_role: its movements (2 count, f) and (count, f) for each role, each field weighed.
    ports: the body seen from its stations.
    """

    design: StudyDesign
    by_role: dict[str, tuple[Floats, Floats]]
    ports: Ports


def seen_in(design: StudyDesign) -> Seen:
    """Solve a design and tell what its sections did."""
    solved = solve_mapped(design)
    hollow = design.kind == "hollow"
    top = solved.top
    fields = np.hstack([solved.pairs.vectors[:, : len(WEIGHTS)], solved.moved])
    weights = np.array(
        [*WEIGHTS, *[FORCE_WEIGHT if k % 6 < 3 else COUPLE_WEIGHT for k in range(solved.moved.shape[1])]]
    )
    cleaned = _Cleaned(solved, hollow=hollow)
    found: dict[str, tuple[Floats, Floats]] = {}
    coefficients = {
        profile.role: cleaned.field(*_coefficients(solved, fields, profile.at, profile.degree))
        for profile in profiles_of(solved.storeys.layout)
    }
    energy = sum(_energy(top, role, field, hollow=hollow) for role, field in coefficients.items())
    scale = weights / np.sqrt(np.maximum(energy, 1e-300))
    for role, field in coefficients.items():
        scaled = field * scale
        found[role] = (scaled[:, [0, 2]].reshape(2 * top.count, -1), scaled[:, 1])
    return Seen(design, found, solved.ports)


def _energy(top: Topology, role: str, field: Floats, *, hollow: bool) -> Floats:
    within, along = role_metrics(top.sides, role, hollow=hollow)
    inner = field[:, [0, 2]].reshape(2 * top.count, -1)
    total = np.einsum("if,if->f", inner, within @ inner)
    return np.asarray(total + np.einsum("if,if->f", field[:, 1], along @ field[:, 1]))


def _coefficients(solved: Mapped, fields: Floats, at: int, degree: int) -> tuple[Floats, Flags]:
    """(count, 3, fields) of a profile, and which section functions it has."""
    swept, levels = solved.swept, solved.storeys.levels
    whole = np.vstack([fields[: swept.unknowns], np.zeros((3, fields.shape[1]))])
    whole = whole.reshape(-1, 3, fields.shape[1])
    first = int(np.argmin(np.abs(swept.heights - levels[at])))
    if degree == 1:
        return whole[swept.number[:, first]], swept.number[:, first] >= 0
    last = int(np.argmin(np.abs(swept.heights - levels[at + 1])))
    height = float(levels[at + 1] - levels[at])
    polynomial = legendre.Legendre.basis(degree - 1)
    node, weight = legendre.leggauss(degree + 2)
    y = 0.5 * (node + 1.0)
    total = np.zeros((len(swept.number), 3, fields.shape[1]))
    for element in range(first, last):
        length = float(swept.heights[element + 1] - swept.heights[element])
        t = 2.0 * (swept.heights[element] + y * length - levels[at]) / height - 1.0
        w = 0.5 * weight * polynomial(t) * ((2 * degree - 1) / 2.0) ** 0.5
        rise = whole[swept.number[:, element + 1]] - whole[swept.number[:, element]]
        total += float(w.sum()) * rise
        bubble = swept.number[:, len(swept.heights) + element]
        total += float(w @ (4.0 * (1.0 - 2.0 * y))) * whole[bubble]
    has = np.zeros(solved.top.count, dtype=bool)
    has[solved.top.nodes[solved.storeys.constants[at, solved.top.region, 1] > 0.0].ravel()] = True
    return total * has[:, None, None], has


class _Cleaned:
    """Takes out what every section can do, scales walls, continues into what a design does not have."""

    def __init__(self, solved: Mapped, *, hollow: bool) -> None:
        self.top, self.hollow = solved.top, hollow
        points = self.top.weights @ solved.controls
        self.scale = scale_of(self.top, solved.controls) if hollow else None
        within, along = given_sections(self.top, points)
        self.given = (within.reshape(2 * self.top.count, -1), along)

    def field(self, field: Floats, has: Flags) -> Floats:
        made = field.copy()
        for components, given in zip(([0, 2], [1]), self.given, strict=True):
            flat = made[:, components].reshape(len(given), -1)
            there = np.repeat(has, len(components))
            fitted = np.linalg.lstsq(given[there], flat[there], rcond=None)[0]
            made[:, components] = (flat - given @ fitted).reshape(len(field), len(components), -1)
        made[~has] = 0.0
        if self.scale is not None:
            made = to_reference(self.top, self.scale, made)
        if not has.all():
            inside = made[has].reshape(int(has.sum()), -1)
            made[~has] = (_continued(self.top.sides, has.tobytes(), hollow=self.hollow) @ inside).reshape(
                -1, *made.shape[1:]
            )
        return made


@lru_cache(maxsize=64)
def _continued(sides: int, has: bytes, *, hollow: bool) -> Floats:
    """(missing, present) smooth continuation: the least gradient on the reference."""
    there = np.frombuffer(has, dtype=bool)
    integrals = _reference_integrals(sides, 1.0, hollow=hollow)
    slope = integrals[1, 1] + integrals[2, 2]
    inner, cross = slope[np.ix_(~there, ~there)], slope[np.ix_(~there, there)]
    return np.asarray(-np.linalg.solve(inner + 1e-12 * np.eye(len(inner)), cross))


@lru_cache(maxsize=32)
def _reference_integrals(sides: int, rest: float, *, hollow: bool) -> Floats:
    """(3, 3, count, count) of values and slopes on the reference; what is no wall counts `rest`."""
    top = topology(sides, hollow=hollow)
    share = np.where(top.region == WALL, 1.0, rest)
    integrals = section_integrals(top.mesh(regular(sides, hollow=hollow))) * share[:, None, None, None, None]
    made = np.zeros((3, 3, top.count, top.count))
    row = np.broadcast_to(top.nodes[:, :, None], (len(top.nodes), 6, 6))
    column = np.broadcast_to(top.nodes[:, None, :], row.shape)
    for a in range(3):
        for b in range(3):
            np.add.at(made[a, b], (row, column), integrals[:, a, b])
    return made


@lru_cache(maxsize=128)
def role_metrics(sides: int, role: str, *, hollow: bool) -> tuple[Floats, Floats]:
    """Energies of a role's coefficients within the section (2 count, 2 count) and along (count, count), in a
    column of usual heights with both Lamé constants one.
    """
    light = hollow and role in BODY_ROLES
    found = _reference_integrals(sides, EMPTY_WEIGHT if light else 1.0, hollow=hollow)
    value, slope = found[0, 0], found[1, 1] + found[2, 2]
    yard = area(regular(sides)[:sides]) ** 0.5
    if role in NOMINAL:
        height = NOMINAL[role] * yard
        still, steep = height / 3.0, 1.0 / height
    else:
        p, height = int(role[1:]), NOMINAL[role[0]] * yard
        still, steep = height / ((2 * p - 3) * (2 * p + 1)), 2.0 / height
    count = len(value)
    within = np.empty((count, 2, count, 2))
    within[:, 0, :, 0] = still * (3.0 * found[1, 1] + found[2, 2]) + steep * value
    within[:, 1, :, 1] = still * (3.0 * found[2, 2] + found[1, 1]) + steep * value
    within[:, 0, :, 1] = still * (found[1, 2] + found[2, 1])
    within[:, 1, :, 0] = within[:, 0, :, 1].T
    return within.reshape(2 * count, 2 * count), still * slope + 3.0 * steep * value
