"""What holds a design and what touches it: contact and studs below, stations on its faces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from orthostat.analyses.stiffness.contact import contact_integrals
from orthostat.analyses.stiffness.inputs import Place, StudSpring
from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.assemble import Body, body_matrices, body_of_study
from orthostat.analyses.stiffness.study.design import StudyDesign, loss_factors, pressed_of, sides_of
from orthostat.analyses.stiffness.study.model import SectionBasis
from orthostat.analyses.stiffness.study.profiles import values_at
from orthostat.analyses.stiffness.study.section_terms import STILL, STRETCHED
from orthostat.analyses.stiffness.study.topology import Topology, shares
from orthostat.analyses.stiffness.supports import (
    RING_POINTS,
    mass_about,
    patch_points,
    rigid_motion,
    table_motions,
)
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Polygon

WHOLE = 0.999
"""Share of the underside in contact from which it counts as all of it."""


@dataclass(frozen=True, slots=True)
class Held:
    """What holds a body of n unknowns, the table's motions the last of them.

    contact: (k, k) between the unknowns `at` (k,). lifts: (studs, l) rise at each stud, whose stiffness
    is in `studs`, of the last l unknowns. table: stiffness of each motion.
    """

    at: Indices
    contact: Floats
    lifts: Floats
    studs: Floats
    table: Floats

    def add_to(self, stiffness: Floats) -> None:
        """Add all of it to the body's stiffness (n, n)."""
        stiffness[np.ix_(self.at, self.at)] += self.contact
        if len(self.studs):
            rising = slice(len(stiffness) - self.lifts.shape[1], None)
            stiffness[rising, rising] += self.lifts.T @ (self.studs[:, None] * self.lifts)
        last = np.arange(len(stiffness) - len(self.table), len(stiffness))
        stiffness[last, last] += self.table

    def energies(self, vectors: Floats) -> tuple[Floats, Floats]:
        """(m,) of displacements (n, m) twice the energy in joint and studs, and in the table."""
        foot = vectors[self.at]
        joint = (foot * (self.contact @ foot)).sum(axis=0)
        if len(self.studs):
            joint += self.studs @ (self.lifts @ vectors[-self.lifts.shape[1] :]) ** 2
        return joint, self.table @ vectors[len(vectors) - len(self.table) :] ** 2


@dataclass(frozen=True, slots=True)
class Reduced:
    """Matrices (n, n) over the unknowns, then the table's motions.

    stiffness: `held` is in it. losses: of joint and table, not a number where not stated. ports: (6s, n),
    each station's mean rigid motion. centres: (s, 3) [m].
    """

    body: Body
    stiffness: Floats
    mass: Floats
    held: Held
    losses: tuple[float, float]
    ports: Floats
    centres: Floats


def reduced(basis: SectionBasis, design: StudyDesign) -> Reduced:
    """Assemble. Raises `NotStated` where the design can't be built or nothing holds it."""
    body = body_of_study(basis, design)
    motions = table_motions(design.table)
    size = body.layout.count + len(motions)
    stiffness, mass = body_matrices(body, size)
    held = _held(body, design, motions, size)
    held.add_to(stiffness)
    ports, centres, hung = _ports(body, design.places, size)
    if hung.any():
        mass += ports.T @ (hung @ ports.reshape(-1, 6, size)).reshape(-1, size)
    return Reduced(body, stiffness, mass, held, loss_factors(design), ports, centres)


def _held(body: Body, design: StudyDesign, motions: tuple[int, ...], size: int) -> Held:
    """Contact springs between the lowest section and the table's motions (or the ground), studs and table."""
    layout = body.layout
    s, a = layout.within.foot, layout.along.foot
    still, upright = _pressed(body, design, layout.within.modes[:, s], layout.along.modes[:, a])
    inside = len(still)
    foot = np.zeros((inside + len(upright) + len(motions),) * 2)
    own = foot[: inside + len(upright), : inside + len(upright)]
    own[:inside, :inside], own[inside:, inside:] = (
        design.joint.tangential * still,
        design.joint.normal * upright,
    )
    # the section's rigid motions at the foot come first among the unknowns of each kind
    of_motion = {0: 0, 2: 1, 4: 2, 1: inside, 3: inside + 1, 5: inside + 2}
    rows = [of_motion[motion] for motion in motions]
    foot[: len(own), len(own) :] = -own[:, rows]
    foot[len(own) :] = -foot[rows]
    first = layout.within.count
    at = np.concatenate(
        [
            np.arange(s.start, s.stop),
            np.arange(first + a.start, first + a.stop),
            np.arange(layout.count, size),
        ]
    )
    studs = design.joint.studs
    values = (design.table.translation,) * 3 + (design.table.tilt, design.table.turn, design.table.tilt)
    return Held(
        at,
        foot,
        _lifts(body, studs, motions, size) if studs else np.zeros((0, 0)),
        np.array([float(stud.stiffness) for stud in studs]),
        np.array([float(values[motion] or 0.0) for motion in motions]),
    )


def _pressed(body: Body, design: StudyDesign, inner: Floats, outer: Floats) -> tuple[Floats, Floats]:
    """Integrals over the pressed area of movement within (k, k), of sections that `inner` (s, k) mixes, and
    along (l, l), of those that `outer` (a, l) does.
    """
    pressable = body.storeys.constants[0, :, 1] > 0.0
    if pressed_of(design).share >= WHOLE:
        terms = body.section.terms
        rings = pressable[: len(terms.within)]
        still = inner.T @ terms.within[rings, STILL].sum(axis=0) @ inner
        upright = outer.T @ terms.along[rings, STRETCHED].sum(axis=0) @ outer
    else:
        integrals = _integrals(body.top, body.shape.controls.tobytes(), design.joint.contact)
        chosen = np.flatnonzero(pressable[body.top.region] & (integrals[:, 0, 0] > 0.0))
        nodes, weights = body.top.nodes[chosen], integrals[chosen]
        within = (body.section.within @ inner).swapaxes(0, 1)
        still = sum(_over(values[nodes], weights) for values in within)
        upright = _over((body.section.along @ outer)[nodes], weights)
    if not np.trace(upright) > 0.0:
        raise NotStated(reason="the joint's contact area lies nowhere under the column")
    return still, upright


def _over(local: Floats, weights: Floats) -> Floats:
    """(k, k) sum over triangles of their nodes' values (t, 6, k) by integrals (t, 6, 6)."""
    count = local.shape[2]
    return local.reshape(-1, count).T @ (weights @ local).reshape(-1, count)


@lru_cache(maxsize=64)
def _integrals(top: Topology, controls: bytes, contact: tuple[Polygon, ...]) -> Floats:
    """(nt, 6, 6) over the pressed part of each triangle."""
    return contact_integrals(top.mesh(np.frombuffer(controls).reshape(-1, 2)), contact)


def _lifts(body: Body, studs: tuple[StudSpring, ...], motions: tuple[int, ...], size: int) -> Floats:
    """(studs, k) mean rise of the ring under each stud's nut, over the table's at the stud, of the unknowns
    along and the table's motions, the last k of `size`.
    """
    at = np.array([stud.at for stud in studs])
    radius = np.array([float(stud.radius) for stud in studs])
    turn = 2.0 * np.pi * np.arange(RING_POINTS) / RING_POINTS
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    rings = at[:, None, :] + radius[:, None, None] * circle
    levels = body.storeys.levels
    seats = np.clip(np.array([float(stud.seat) for stud in studs]), levels[0], levels[-1])
    layer = np.clip(np.searchsorted(levels, seats - 1e-9) - 1, 0, len(levels) - 2)
    weights = np.zeros((len(studs), RING_POINTS, body.top.count))
    mesh = body.top.mesh(body.shape.controls)
    for each in set(layer.tolist()):
        here = np.flatnonzero(layer == each)
        filled = body.storeys.constants[each, :, 1] > 0.0
        triangle, bary = mesh.locate(rings[here].reshape(-1, 2), filled[body.top.region])
        a, b, c = bary.T
        functions = np.stack([a, b, c, 4.0 * a * b, 4.0 * b * c, 4.0 * a * c], axis=1)
        rows, points = np.divmod(np.arange(len(triangle)), RING_POINTS)
        weights[here[rows][:, None], points[:, None], body.top.nodes[triangle]] = functions
    family = body.layout.along
    made = np.zeros((len(studs), size - body.layout.within.count))
    profile = values_at(body.layout.letters, levels, seats)
    mean = weights.mean(axis=1) @ body.section.along
    made[:, : family.count] = (mean @ family.modes) * profile[:, family.profile]
    feet = np.stack([at[:, 0], np.zeros(len(studs)), at[:, 1]], axis=1)
    made[:, family.count :] = -rigid_motion(feet)[:, 1, list(motions)]
    return made


def _ports(body: Body, places: tuple[Place, ...], size: int) -> tuple[Floats, Floats, Floats]:
    """(6 · places, size) mean rigid motion of each station's patch, the patches' centres (places, 3), and the
    mass that hangs on each (places, 6, 6).
    """
    made = np.zeros((6 * len(places), size))
    if not places:
        return made, np.empty((0, 3)), np.empty((0, 6, 6))
    points, centres, fits, hung = _patches(places)
    ends = np.cumsum([0, *(fit.shape[1] for fit in fits)]).tolist()
    sides = sides_of(body.shape, places)
    functions = _on_sides(body, np.repeat(sides, np.diff(ends)), points)
    levels, s, a = body.storeys.levels, body.layout.within, body.layout.along
    profile = values_at(body.layout.letters, levels, np.clip(points[:, 1], levels[0], levels[-1]))
    both = profile[:, :, None] * functions[:, None, :]
    within, along = [], []
    for fit, side, start, end in zip(fits, sides, ends, ends[1:], strict=False):
        # Σ over points: (6 · 3, profiles, functions of the side)
        summed = (fit @ both[start:end].reshape(end - start, -1)).reshape(6, 3, *both.shape[1:])
        nodes = np.concatenate([body.top.side_vertices[side], body.top.side_edges[side]])
        modes = body.section.within[nodes]
        within.append(summed[:, 0] @ modes[:, 0] + summed[:, 2] @ modes[:, 1])
        along.append(summed[:, 1] @ body.section.along[nodes])
    made[:, : s.count] = s.picked(np.concatenate(within))
    made[:, s.count : body.layout.count] = a.picked(np.concatenate(along))
    return made, centres, hung


@lru_cache(maxsize=64)
def _patches(places: tuple[Place, ...]) -> tuple[Floats, Floats, tuple[Floats, ...], Floats]:
    """Points (n, 3) of all patches, the centre of each (places, 3), its fit (6 · 3, n) of a rigid motion to
    that of its points, and the mass that hangs on it (places, 6, 6).
    """
    found = [patch_points(place) for place in places]
    points, centres = np.concatenate([each for each, _ in found]), np.array([centre for _, centre in found])
    counts = np.array([len(each) for each, _ in found])
    ends = np.cumsum(counts)
    # about the points' own middle translations and turns are found apart
    turning = rigid_motion(points - np.repeat(centres, counts, axis=0))[:, :, 3:]
    back = turning.swapaxes(1, 2)
    inertia = np.add.reduceat(back @ turning, ends - counts)
    fit = np.empty((6, 3, len(points)))
    fit[:3] = np.eye(3)[:, :, None] / np.repeat(counts, counts)
    fit[3:] = (np.repeat(np.linalg.inv(inertia), counts, axis=0) @ back).transpose(1, 2, 0)
    fits = np.split(fit.reshape(18, -1), ends[:-1], axis=1)
    hung = np.array([mass_about(centre, place.masses) for centre, place in zip(centres, places, strict=True)])
    for each in (points, centres, hung, *fits):
        each.setflags(write=False)
    return points, centres, tuple(fits), hung


def _on_sides(body: Body, side: Indices, points: Floats) -> Floats:
    """Values (n, k) at points, each on the face of a side (n,), of the section functions that live on it: its
    vertices', then its bubbles'.
    """
    top, outer = body.top, body.shape.outer
    start = outer[side - 1]
    along = outer[side] - start
    share = ((points[:, ::2] - start) * along).sum(axis=1) / (along * along).sum(axis=1)
    share = np.clip(share, 0.0, 1.0)
    ends = np.append(shares(top.pieces), 1.0)
    piece = np.clip(np.searchsorted(ends, share, side="right") - 1, 0, top.pieces - 1)
    t = (share - ends[piece]) / (ends[piece + 1] - ends[piece])
    rows = np.arange(len(points))
    made = np.zeros((len(points), 2 * top.pieces + 1))
    made[rows, piece], made[rows, piece + 1] = 1.0 - t, t
    made[rows, top.pieces + 1 + piece] = 4.0 * t * (1.0 - t)
    return made
