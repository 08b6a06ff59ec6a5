"""Matrices of a design over the study model's unknowns: a few hundred, dense."""

from __future__ import annotations

from dataclasses import dataclass
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
from orthostat.analyses.stiffness.study.topology import FLANGE, Topology, topology
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


@dataclass(frozen=True, slots=True)
class _Body:
    top: Topology
    layout: Layout
    shape: Shape
    storeys: Storeys
    points: Floats
    within: Floats
    along: Floats
    values: SectionValues
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
    for stud in design.joint.studs:
        row = _lift(body, stud, motions, size)
        held += stud.stiffness * np.outer(row, row)
    values = (design.table.translation,) * 3 + (design.table.tilt, design.table.turn, design.table.tilt)
    for k, motion in enumerate(motions):
        held[layout.count + k, layout.count + k] += values[motion] or 0.0
    stiffness += held
    ports, centres = [np.empty((0, size))], []
    for place in design.places:
        port, centre = _port(body, place, size)
        ports.append(port)
        centres.append(centre)
        if place.masses:
            mass += port.T @ mass_about(centre, place.masses) @ port
    return Reduced(stiffness, mass, held, np.vstack(ports), np.array(centres).reshape(-1, 3))


def _body(basis: SectionBasis, design: StudyDesign) -> _Body:
    shape, storeys = shape_of(design), storeys_of(design)
    top = topology(len(shape.outer))
    points = top.weights @ shape.controls
    learnt = (basis.within, basis.along)
    if basis.scaled:
        scale = scale_of(top, shape.controls)
        learnt = (to_design(top, scale, basis.within), to_design(top, scale, basis.along))
    given_within, given_along = given_sections(top, points)
    inner = np.concatenate([given_within, learnt[0]], axis=2)
    along = np.concatenate([given_along, learnt[1]], axis=1)
    values = section_values(top, points, inner, along)
    terms = tuple(
        (ring, ring_terms(values, where)) for ring, where in _alike(top.slices(), storeys.constants)
    )
    return _Body(top, basis.layout(storeys.layout), shape, storeys, points, inner, along, values, terms)


def _alike(slices: tuple[slice, ...], constants: Floats) -> list[tuple[int, slice]]:
    """Neighbouring rings with the same constants in every layer, as one; empty ones left out."""
    made: list[tuple[int, slice]] = []
    for ring, where in enumerate(slices):
        if not constants[:, ring, 1].any():
            continue
        last = made[-1] if made else None
        if last and last[1].stop == where.start and np.array_equal(constants[:, last[0]], constants[:, ring]):
            made[-1] = (last[0], slice(last[1].start, where.stop))
        else:
            made.append((ring, where))
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


def _add_layers(body: _Body, stiffness: Floats, mass: Floats) -> None:
    s, a = body.layout.within, body.layout.along
    after = s.count
    for k, letter in enumerate(body.layout.letters):
        lines = line_kinds(letter, float(body.storeys.levels[k + 1] - body.storeys.levels[k]))
        first, second = s.layers[k], a.layers[k]
        shifted = slice(after + second.start, after + second.stop)
        start = within(body.layout.letters, k).start
        i, j = s.profile[first] - start, a.profile[second] - start
        inner, outer = s.modes[:, first], a.modes[:, second]
        flat, steep, mass_s, flat_a, steep_a, mass_a, swelling, leaning = _materials(body, k)
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


def _materials(body: _Body, layer: int) -> tuple[Floats, ...]:
    """Section matrices of a layer with its rings' constants."""
    s, a = body.within.shape[2], body.along.shape[1]
    sizes = ((s, s), (s, s), (s, s), (a, a), (a, a), (a, a), (s, a), (s, a))
    made = tuple(np.zeros(size) for size in sizes)
    for ring, terms in body.terms:
        first, shear, density = body.storeys.constants[layer, ring]
        if shear <= 0.0:
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


def _add_foot(body: _Body, design: StudyDesign, held: Floats, motions: tuple[int, ...]) -> None:
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


def _pressed(body: _Body, design: StudyDesign) -> tuple[Floats, Floats]:
    pressable = body.storeys.constants[0, :, 1] > 0.0
    contact = design.joint.contact
    foot = body.shape.flange if pressable[FLANGE] else body.shape.outer
    if not contact or _covers(contact, foot):
        found = [(term.still, term.stretched) for ring, term in body.terms if pressable[ring]]
    else:
        found = [_over(body, _integrals(body.top.sides, body.shape.controls.tobytes(), contact), pressable)]
    still, upright = (np.asarray(sum(pair[k] for pair in found)) for k in range(2))
    if not np.trace(upright) > 0.0:
        raise NotStated(reason="the joint's contact area lies nowhere under the column")
    return still, upright


def _over(body: _Body, integrals: Floats, pressable: Flags) -> tuple[Floats, Floats]:
    """(s, s) of movement within and (a, a) along, over the pressed area."""
    chosen = np.flatnonzero(pressable[body.top.region] & (integrals[:, 0, 0] > 0.0))
    nodes = body.top.nodes[chosen]
    made = []
    for field in (body.within[:, 0], body.within[:, 1], body.along):
        local = field[nodes]
        weighed = integrals[chosen] @ local
        made.append(local.reshape(-1, field.shape[1]).T @ weighed.reshape(-1, field.shape[1]))
    return made[0] + made[1], made[2]


@lru_cache(maxsize=64)
def _integrals(sides: int, controls: bytes, contact: tuple[Polygon, ...]) -> Floats:
    """(nt, 6, 6) over the pressed part of each triangle."""
    top = topology(sides)
    return contact_integrals(top.mesh(np.frombuffer(controls).reshape(-1, 2)), contact)


def _covers(contact: tuple[Polygon, ...], foot: Floats) -> bool:
    region = contact_region(contact)
    outline = shapely.Polygon(foot)
    return bool(shapely.area(shapely.intersection(region, outline)) >= WHOLE * outline.area)


def _lift(body: _Body, stud: StudSpring, motions: tuple[int, ...], size: int) -> Floats:
    """(size,) mean rise of the ring under a stud's nut, over the table's at the stud."""
    turn = 2.0 * np.pi * np.arange(RING_POINTS) / RING_POINTS
    ring = np.asarray(stud.at) + stud.radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    levels = body.storeys.levels
    layer = int(np.clip(np.searchsorted(levels, stud.seat - 1e-9) - 1, 0, len(levels) - 2))
    filled = body.storeys.constants[layer, :, 1] > 0.0
    triangle, bary = body.top.mesh(body.shape.controls).locate(ring, filled[body.top.region])
    a, b, c = bary.T
    section = np.stack([a, b, c, 4.0 * a * b, 4.0 * b * c, 4.0 * a * c], axis=1)
    mean = np.einsum("nf,nfa->a", section, body.along[body.top.nodes[triangle]]) / RING_POINTS
    made = np.zeros(size)
    profile = values_at(
        body.layout.letters, levels, np.array([float(np.clip(stud.seat, levels[0], levels[-1]))])
    )
    family = body.layout.along
    start = body.layout.within.count
    made[start : start + family.count] = (mean @ family.modes) * profile[0, family.profile]
    foot = rigid_motion(np.array([[stud.at[0], 0.0, stud.at[1]]]))[0, 1, list(motions)]
    made[body.layout.count :] = -foot
    return made


def _port(body: _Body, place: Place, size: int) -> tuple[Floats, Floats]:
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
    inner = body.within[nodes] @ s.modes
    made[:, : s.count] = np.einsum("gcub,bcu->gu", summed[:, [0, 2]][:, :, s.profile], inner)
    outer = body.along[nodes] @ a.modes
    made[:, s.count : body.layout.count] = np.einsum("gub,bu->gu", summed[:, 1, a.profile], outer)
    return made, centre


@lru_cache(maxsize=256)
def _patch(place: Place) -> tuple[Floats, Floats, Floats]:
    """Points (n, 3) of a patch, their centre (3,), and the fit (6 · 3, n) of a rigid motion to theirs."""
    points, centre = patch_points(place)
    motion = rigid_motion(points - centre).reshape(-1, 6)
    fit = np.linalg.solve(motion.T @ motion, motion.T).reshape(6, len(points), 3)
    return points, centre, np.ascontiguousarray(fit.transpose(0, 2, 1)).reshape(18, len(points))


def _on_side(body: _Body, place: Place, points: Floats) -> tuple[Floats, Indices]:
    """Values (n, k) at points of a face of the section functions that live on it, and their numbers (k,)."""
    top, outer = body.top, body.shape.outer
    angle = np.arctan2(place.out[0], place.out[2])
    side = int(np.argmax(np.cos(body.shape.angles - angle)))
    start, end = outer[side - 1], outer[side]
    along = end - start
    share = np.clip((points[:, [0, 2]] - start) @ along / (along @ along), 0.0, 1.0) * top.pieces
    piece = np.minimum(share.astype(np.intp), top.pieces - 1)
    t = share - piece
    rows = np.arange(len(points))
    made = np.zeros((len(points), 2 * top.pieces + 1))
    made[rows, piece], made[rows, piece + 1] = 1.0 - t, t
    made[rows, top.pieces + 1 + piece] = 4.0 * t * (1.0 - t)
    return made, np.concatenate([top.side_vertices[side], top.side_edges[side]])
