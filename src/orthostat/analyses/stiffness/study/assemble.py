"""Matrices of a design over the study model's unknowns: a few hundred, dense."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import shapely

from orthostat.analyses.stiffness.contact import contact_integrals
from orthostat.analyses.stiffness.inputs import Place, StudSpring
from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.design import (
    Shape,
    Storeys,
    StudyDesign,
    contact_region,
    shape_of,
    storeys_of,
)
from orthostat.analyses.stiffness.study.model import Layout, SectionBasis
from orthostat.analyses.stiffness.study.profiles import line_kinds, values_at, within
from orthostat.analyses.stiffness.study.section_terms import (
    RingTerms,
    SectionValues,
    ring_terms,
    section_values,
)
from orthostat.analyses.stiffness.study.thinness import scale_of, to_design
from orthostat.analyses.stiffness.study.topology import FLANGE, Topology, shares
from orthostat.analyses.stiffness.supports import (
    RING_POINTS,
    mass_about,
    patch_points,
    rigid_motion,
    table_motions,
)
from orthostat.analyses.stiffness.sweep import Flags
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Polygon

WHOLE = 0.999
"""Share of the underside in contact from which it counts as all of it."""


@dataclass(frozen=True, slots=True)
class Reduced:
    """stiffness, mass and held (contact, studs and table alone) over the unknowns, then the table's motions.

    ports: (6s, n), each station's mean rigid motion. centres: (s, 3) [m].
    """

    stiffness: Floats
    mass: Floats
    held: Floats
    ports: Floats
    centres: Floats
    body: Body
    table: Floats
    """Stiffness of the table's motions, the last of the unknowns."""


@dataclass(frozen=True, slots=True)
class Body:
    """A design's own matrices, section by section."""

    top: Topology
    layout: Layout
    shape: Shape
    storeys: Storeys
    within: Floats
    along: Floats
    terms: tuple[tuple[int, RingTerms], ...]
    """For each set of rings alike in all layers, the first ring and the integrals over them."""


def reduced(basis: SectionBasis, design: StudyDesign) -> Reduced:
    """Assemble. Raises `NotStated` where the design can't be built or nothing holds it."""
    body = _body(basis, design)
    layout = body.layout
    motions = table_motions(design.table)
    size = layout.count + len(motions)
    stiffness, mass, held = (np.zeros((size, size)) for _ in range(3))
    _add_layers(body, stiffness, mass)
    _add_foot(body, design, held, motions)
    if design.joint.studs:
        rows = _lifts(body, design.joint.studs, motions, size)
        held += rows.T @ (np.array([float(stud.stiffness) for stud in design.joint.studs])[:, None] * rows)
    values = (design.table.translation,) * 3 + (design.table.tilt, design.table.turn, design.table.tilt)
    table = np.array([float(values[motion] or 0.0) for motion in motions])
    held[range(layout.count, size), range(layout.count, size)] += table
    stiffness += held
    ports, centres = [np.empty((0, size))], []
    for place in design.places:
        port, centre = _port(body, place, size)
        ports.append(port)
        centres.append(centre)
        if place.masses:
            mass += port.T @ mass_about(centre, place.masses) @ port
    return Reduced(stiffness, mass, held, np.vstack(ports), np.array(centres).reshape(-1, 3), body, table)


@dataclass(frozen=True, eq=False)
class _Section:
    """What a plan with its walls gives, whatever the heights and materials.

    within (count, 2, s), along (count, a): modes, with their integrals over each ring, worked out when first
    wanted.
    """

    within: Floats
    along: Floats
    values: SectionValues
    slices: tuple[slice, ...]
    found: dict[tuple[int, int], RingTerms] = field(default_factory=dict, repr=False)

    def terms(self, first: int, last: int) -> RingTerms:
        """Over the rings from first to last."""
        key = (first, last)
        if key not in self.found:
            where = slice(self.slices[first].start, self.slices[last].stop)
            self.found[key] = ring_terms(self.values, where)
        return self.found[key]


def _body(basis: SectionBasis, design: StudyDesign) -> Body:
    shape, storeys, top = shape_of(design), storeys_of(design), design.topology
    section = _section(basis, top, shape.controls.tobytes())
    terms = tuple(
        (first, section.terms(first, last))
        for first, last in _alike(np.dstack([storeys.constants, storeys.losses]))
    )
    return Body(top, basis.layout(storeys.layout), shape, storeys, section.within, section.along, terms)


@lru_cache(maxsize=8)
def _section(basis: SectionBasis, top: Topology, controls_of: bytes) -> _Section:
    """A sweep over heights and plates asks for one section again and again."""
    controls = np.frombuffer(controls_of).reshape(-1, 2)
    points = top.weights @ controls
    learnt = (basis.within, basis.along)
    if basis.hollow:
        scale = scale_of(top, controls)
        learnt = (to_design(top, scale, basis.within), to_design(top, scale, basis.along))
    given_within, given_along = given_sections(top, points)
    inner = np.concatenate([given_within, learnt[0]], axis=2)
    along = np.concatenate([given_along, learnt[1]], axis=1)
    return _Section(inner, along, section_values(top, points, inner, along), top.slices())


def _alike(constants: Floats) -> list[tuple[int, int]]:
    """Neighbouring rings that are alike in every layer, first and last; empty ones left out."""
    made: list[tuple[int, int]] = []
    for ring in range(constants.shape[1]):
        if not constants[:, ring, 1].any():
            continue
        if (
            made
            and made[-1][1] == ring - 1
            and np.array_equal(constants[:, ring - 1], constants[:, ring], equal_nan=True)
        ):
            made[-1] = (made[-1][0], ring)
        else:
            made.append((ring, ring))
    return made


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


def _add_layers(body: Body, stiffness: Floats, mass: Floats) -> None:
    s, a = body.layout.within, body.layout.along
    after = s.count
    for k, letter in enumerate(body.layout.letters):
        lines = line_kinds(letter, float(body.storeys.levels[k + 1] - body.storeys.levels[k]))
        first, second = s.layers[k], a.layers[k]
        shifted = slice(after + second.start, after + second.stop)
        start = within(body.layout.letters, k).start
        i, j = s.profile[first] - start, a.profile[second] - start
        inner, outer = s.modes[:, first], a.modes[:, second]
        flat, steep, mass_s, flat_a, steep_a, mass_a, swelling, leaning = _materials(
            body, body.storeys.constants[k]
        )
        by_s, by_a, across = np.ix_(i, i), np.ix_(j, j), np.ix_(i, j)
        still, sloped = lines[0], lines[3]
        stiffness[first, first] += _between(inner, flat, inner) * still[by_s]
        stiffness[first, first] += _between(inner, steep, inner) * sloped[by_s]
        stiffness[shifted, shifted] += _between(outer, flat_a, outer) * still[by_a]
        stiffness[shifted, shifted] += _between(outer, steep_a, outer) * sloped[by_a]
        both = _between(inner, swelling, outer) * lines[1][across]
        both += _between(inner, leaning, outer) * lines[2][across]
        stiffness[first, shifted] += both
        stiffness[shifted, first] += both.T
        mass[first, first] += _between(inner, mass_s, inner) * still[by_s]
        mass[shifted, shifted] += _between(outer, mass_a, outer) * still[by_a]


def _between(left: Floats, matrix: Floats, right: Floats) -> Floats:
    return left.T @ (matrix @ right)


def lost(body: Body, vectors: Floats) -> Floats:
    """(m,) strain energies in the body's materials, twice, each times its loss factor.

    Not a number where one is not stated.
    """
    s, a = body.layout.within, body.layout.along
    total = np.zeros(vectors.shape[1])
    for k, letter in enumerate(body.layout.letters):
        constants = body.storeys.constants[k] * body.storeys.losses[k][:, None]
        lines = line_kinds(letter, float(body.storeys.levels[k + 1] - body.storeys.levels[k]))
        inner, outer = s.spread(vectors[: s.count], k), a.spread(vectors[s.count :], k)
        flat, steep, _, flat_a, steep_a, _, swelling, leaning = _materials(body, constants)
        total += _energy(inner, flat, lines[0], inner) + _energy(inner, steep, lines[3], inner)
        total += _energy(outer, flat_a, lines[0], outer) + _energy(outer, steep_a, lines[3], outer)
        total += 2.0 * _energy(inner, swelling, lines[1], outer)
        total += 2.0 * _energy(inner, leaning, lines[2], outer)
    return total


def _energy(left: Floats, section: Floats, line: Floats, right: Floats) -> Floats:
    """(m,) from fields (r, p, m)."""
    moved = np.tensordot(section, right, axes=(1, 0))
    return np.asarray(np.einsum("rpm,pq,rqm->m", left, line, moved, optimize=True))


def _materials(body: Body, constants: Floats) -> tuple[Floats, ...]:
    """Section matrices of a layer with its rings' constants (rings, 3)."""
    s, a = body.within.shape[2], body.along.shape[1]
    sizes = ((s, s), (s, s), (s, s), (a, a), (a, a), (a, a), (s, a), (s, a))
    made = tuple(np.zeros(size) for size in sizes)
    for ring, terms in body.terms:
        first, shear, density = constants[ring]
        if shear == 0.0:
            continue
        made[0][:] += shear * terms.shape + first * terms.spread
        made[1][:] += shear * terms.still
        made[2][:] += density * terms.still
        made[3][:] += shear * terms.sheared
        made[4][:] += (first + 2.0 * shear) * terms.stretched
        made[5][:] += density * terms.stretched
        made[6][:] += first * terms.swelling
        made[7][:] += shear * terms.leaning
    return made


def _add_foot(body: Body, design: StudyDesign, held: Floats, motions: tuple[int, ...]) -> None:
    """Contact springs between the lowest section and the table's motions (or the ground)."""
    still, upright = _pressed(body, design)
    layout = body.layout
    s, a = layout.within.foot, layout.along.foot
    shifted = slice(layout.within.count + a.start, layout.within.count + a.stop)
    inner, outer = layout.within.modes[:, s], layout.along.modes[:, a]
    foot = np.zeros_like(held)
    foot[s, s] = design.joint.tangential * _between(inner, still, inner)
    foot[shifted, shifted] = design.joint.normal * _between(outer, upright, outer)
    if motions:
        # the section's rigid motions at the foot come first among the unknowns of each kind
        of_motion = {0: s.start, 2: s.start + 1, 4: s.start + 2}
        of_motion |= {1: shifted.start, 3: shifted.start + 1, 5: shifted.start + 2}
        rows = [of_motion[motion] for motion in motions]
        table = slice(layout.count, layout.count + len(motions))
        foot[:, table] = -foot[:, rows]
        foot[table, :] = -foot[rows, :]
    held += foot


def _pressed(body: Body, design: StudyDesign) -> tuple[Floats, Floats]:
    pressable = body.storeys.constants[0, :, 1] > 0.0
    contact = design.joint.contact
    foot = body.shape.flange if pressable[FLANGE] else body.shape.outer
    if not contact or _covers(contact, foot):
        found = [(term.still, term.stretched) for ring, term in body.terms if pressable[ring]]
    else:
        found = [_over(body, _integrals(body.top, body.shape.controls.tobytes(), contact), pressable)]
    still, upright = (np.asarray(sum(pair[k] for pair in found)) for k in range(2))
    if not np.trace(upright) > 0.0:
        raise NotStated(reason="the joint's contact area lies nowhere under the column")
    return still, upright


def _over(body: Body, integrals: Floats, pressable: Flags) -> tuple[Floats, Floats]:
    """(s, s) of movement within and (a, a) along, over the pressed area."""
    chosen = np.flatnonzero(pressable[body.top.region] & (integrals[:, 0, 0] > 0.0))
    nodes = body.top.nodes[chosen]
    made = []
    for values in (body.within[:, 0], body.within[:, 1], body.along):
        local = values[nodes]
        weighed = integrals[chosen] @ local
        made.append(local.reshape(-1, values.shape[1]).T @ weighed.reshape(-1, values.shape[1]))
    return made[0] + made[1], made[2]


@lru_cache(maxsize=64)
def _integrals(top: Topology, controls: bytes, contact: tuple[Polygon, ...]) -> Floats:
    """(nt, 6, 6) over the pressed part of each triangle."""
    return contact_integrals(top.mesh(np.frombuffer(controls).reshape(-1, 2)), contact)


def _covers(contact: tuple[Polygon, ...], foot: Floats) -> bool:
    region = contact_region(contact)
    outline = shapely.Polygon(foot)
    return bool(shapely.area(shapely.intersection(region, outline)) >= WHOLE * outline.area)


def _lifts(body: Body, studs: tuple[StudSpring, ...], motions: tuple[int, ...], size: int) -> Floats:
    """(studs, size) mean rise of the ring under each stud's nut, over the table's at the stud."""
    at = np.array([stud.at for stud in studs])
    radius = np.array([float(stud.radius) for stud in studs])
    rings = at[:, None, :] + radius[:, None, None] * _ring_points()
    levels = body.storeys.levels
    seats = np.clip(np.array([float(stud.seat) for stud in studs]), levels[0], levels[-1])
    layer = np.clip(np.searchsorted(levels, seats - 1e-9) - 1, 0, len(levels) - 2)
    mean = np.empty((len(studs), body.along.shape[1]))
    mesh = body.top.mesh(body.shape.controls)
    for each in set(layer.tolist()):
        here = np.flatnonzero(layer == each)
        filled = body.storeys.constants[each, :, 1] > 0.0
        triangle, bary = mesh.locate(rings[here].reshape(-1, 2), filled[body.top.region])
        a, b, c = bary.T
        section = np.stack([a, b, c, 4.0 * a * b, 4.0 * b * c, 4.0 * a * c], axis=1)
        values = (section[:, None, :] @ body.along[body.top.nodes[triangle]])[:, 0]
        mean[here] = values.reshape(len(here), RING_POINTS, -1).mean(axis=1)
    family, start = body.layout.along, body.layout.within.count
    made = np.zeros((len(studs), size))
    profile = values_at(body.layout.letters, levels, seats)
    made[:, start : start + family.count] = (mean @ family.modes) * profile[:, family.profile]
    feet = np.stack([at[:, 0], np.zeros(len(studs)), at[:, 1]], axis=1)
    made[:, body.layout.count :] = -rigid_motion(feet)[:, 1, list(motions)]
    return made


@lru_cache(maxsize=1)
def _ring_points() -> Floats:
    turn = 2.0 * np.pi * np.arange(RING_POINTS) / RING_POINTS
    return np.stack([np.cos(turn), np.sin(turn)], axis=1)


def _port(body: Body, place: Place, size: int) -> tuple[Floats, Floats]:
    """(6, size) mean rigid motion of a station's patch, and its centre (3,)."""
    points, centre, fit = _patch(place)
    functions, nodes = _on_side(body, place, points)
    levels = body.storeys.levels
    profile = values_at(body.layout.letters, levels, np.clip(points[:, 1], levels[0], levels[-1]))
    # Σ over points: (6 · 3, profiles, functions of the side)
    both = (profile[:, :, None] * functions[:, None, :]).reshape(len(points), -1)
    summed = (fit @ both).reshape(6, 3, profile.shape[1], len(nodes))
    s, a = body.layout.within, body.layout.along
    made = np.zeros((6, size))
    # (6, profiles, section modes), then each unknown's own profile
    inner = summed[:, 0] @ body.within[nodes, 0] + summed[:, 2] @ body.within[nodes, 1]
    outer = summed[:, 1] @ body.along[nodes]
    made[:, : s.count] = s.picked(inner)
    made[:, s.count : body.layout.count] = a.picked(outer)
    return made, centre


@lru_cache(maxsize=256)
def _patch(place: Place) -> tuple[Floats, Floats, Floats]:
    """Points (n, 3) of a patch, their centre (3,), and the fit (6 · 3, n) of a rigid motion to theirs."""
    points, centre = patch_points(place)
    motion = rigid_motion(points - centre).reshape(-1, 6)
    fit = np.linalg.solve(motion.T @ motion, motion.T).reshape(6, len(points), 3)
    return points, centre, np.ascontiguousarray(fit.transpose(0, 2, 1)).reshape(18, len(points))


def _on_side(body: Body, place: Place, points: Floats) -> tuple[Floats, Indices]:
    """Values (n, k) at points of a face of the section functions that live on it, and their numbers (k,)."""
    top, outer = body.top, body.shape.outer
    angle = np.arctan2(place.out[0], place.out[2])
    side = int(np.argmax(np.cos(body.shape.angles - angle)))
    start, end = outer[side - 1], outer[side]
    along = end - start
    share = np.clip((points[:, [0, 2]] - start) @ along / (along @ along), 0.0, 1.0)
    ends = np.append(shares(top.pieces), 1.0)
    piece = np.clip(np.searchsorted(ends, share, side="right") - 1, 0, top.pieces - 1)
    t = (share - ends[piece]) / (ends[piece + 1] - ends[piece])
    rows = np.arange(len(points))
    made = np.zeros((len(points), 2 * top.pieces + 1))
    made[rows, piece], made[rows, piece + 1] = 1.0 - t, t
    made[rows, top.pieces + 1 + piece] = 4.0 * t * (1.0 - t)
    return made, np.concatenate([top.side_vertices[side], top.side_edges[side]])
