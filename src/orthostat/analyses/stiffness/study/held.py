"""What holds a design and what touches it: contact and studs below, stations on its faces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from orthostat.analyses.stiffness.contact import contact_integrals
from orthostat.analyses.stiffness.inputs import Place, StudSpring
from orthostat.analyses.stiffness.section import Flags, Floats, Indices
from orthostat.analyses.stiffness.study.assemble import Body, body_matrices, body_of_study
from orthostat.analyses.stiffness.study.design import StudyDesign, loss_factors, pressed_of, side_of
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
class Reduced:
    """Matrices (n, n) over the unknowns, then the table's motions.

    held: contact, studs and table alone; they are in `stiffness` too. lossy: the stiffness of each material,
    of joint and table times their loss factors, not a number where one is not stated. ports: (6s, n), each
    station's mean rigid motion. centres: (s, 3) [m].
    """

    stiffness: Floats
    mass: Floats
    held: Floats
    lossy: Floats
    ports: Floats
    centres: Floats


def reduced(basis: SectionBasis, design: StudyDesign) -> Reduced:
    """Assemble. Raises `NotStated` where the design can't be built or nothing holds it."""
    body = body_of_study(basis, design)
    motions = table_motions(design.table)
    size = body.layout.count + len(motions)
    own = body_matrices(body, size)
    held = _foot(body, design, motions, size)
    if design.joint.studs:
        rows = _lifts(body, design.joint.studs, motions, size)
        held += rows.T @ (np.array([float(stud.stiffness) for stud in design.joint.studs])[:, None] * rows)
    values = (design.table.translation,) * 3 + (design.table.tilt, design.table.turn, design.table.tilt)
    table = np.diag([0.0] * body.layout.count + [float(values[motion] or 0.0) for motion in motions])
    joint_loss, table_loss = loss_factors(design)
    lossy = own.lossy + joint_loss * held + table_loss * table
    held += table
    ports, centres = _ports(body, design.places, size)
    mass = own.mass
    for port, centre, place in zip(ports.reshape(-1, 6, size), centres, design.places, strict=True):
        if place.masses:
            mass += port.T @ mass_about(centre, place.masses) @ port
    return Reduced(own.stiffness + held, mass, held, lossy, ports, centres)


def _foot(body: Body, design: StudyDesign, motions: tuple[int, ...], size: int) -> Floats:
    """(size, size) contact springs between the lowest section and the table's motions (or the ground)."""
    still, upright = _pressed(body, design)
    layout = body.layout
    s, a = layout.within.foot, layout.along.foot
    shifted = slice(layout.within.count + a.start, layout.within.count + a.stop)
    inner, outer = layout.within.modes[:, s], layout.along.modes[:, a]
    foot = np.zeros((size, size))
    foot[s, s] = design.joint.tangential * (inner.T @ still @ inner)
    foot[shifted, shifted] = design.joint.normal * (outer.T @ upright @ outer)
    if motions:
        # the section's rigid motions at the foot come first among the unknowns of each kind
        of_motion = {0: s.start, 2: s.start + 1, 4: s.start + 2}
        of_motion |= {1: shifted.start, 3: shifted.start + 1, 5: shifted.start + 2}
        rows = [of_motion[motion] for motion in motions]
        foot[:, layout.count :] = -foot[:, rows]
        foot[layout.count :, :] = -foot[rows, :]
    return foot


def _pressed(body: Body, design: StudyDesign) -> tuple[Floats, Floats]:
    """(s, s) of movement within and (a, a) along, over the pressed area."""
    pressable = body.storeys.constants[0, :, 1] > 0.0
    if pressed_of(design).share >= WHOLE:
        terms = body.section.terms
        still, upright = (
            terms.within[pressable, STILL].sum(axis=0),
            terms.along[pressable, STRETCHED].sum(axis=0),
        )
    else:
        integrals = _integrals(body.top, body.shape.controls.tobytes(), design.joint.contact)
        still, upright = _over(body, integrals, pressable)
    if not np.trace(upright) > 0.0:
        raise NotStated(reason="the joint's contact area lies nowhere under the column")
    return still, upright


def _over(body: Body, integrals: Floats, pressable: Flags) -> tuple[Floats, Floats]:
    chosen = np.flatnonzero(pressable[body.top.region] & (integrals[:, 0, 0] > 0.0))
    nodes = body.top.nodes[chosen]
    made = []
    for values in (body.section.within[:, 0], body.section.within[:, 1], body.section.along):
        local = values[nodes]
        weighed = integrals[chosen] @ local
        made.append(local.reshape(-1, values.shape[1]).T @ weighed.reshape(-1, values.shape[1]))
    return made[0] + made[1], made[2]


@lru_cache(maxsize=64)
def _integrals(top: Topology, controls: bytes, contact: tuple[Polygon, ...]) -> Floats:
    """(nt, 6, 6) over the pressed part of each triangle."""
    return contact_integrals(top.mesh(np.frombuffer(controls).reshape(-1, 2)), contact)


def _lifts(body: Body, studs: tuple[StudSpring, ...], motions: tuple[int, ...], size: int) -> Floats:
    """(studs, size) mean rise of the ring under each stud's nut, over the table's at the stud."""
    at = np.array([stud.at for stud in studs])
    radius = np.array([float(stud.radius) for stud in studs])
    turn = 2.0 * np.pi * np.arange(RING_POINTS) / RING_POINTS
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    rings = at[:, None, :] + radius[:, None, None] * circle
    levels = body.storeys.levels
    seats = np.clip(np.array([float(stud.seat) for stud in studs]), levels[0], levels[-1])
    layer = np.clip(np.searchsorted(levels, seats - 1e-9) - 1, 0, len(levels) - 2)
    mean = np.empty((len(studs), body.section.along.shape[1]))
    mesh = body.top.mesh(body.shape.controls)
    for each in set(layer.tolist()):
        here = np.flatnonzero(layer == each)
        filled = body.storeys.constants[each, :, 1] > 0.0
        triangle, bary = mesh.locate(rings[here].reshape(-1, 2), filled[body.top.region])
        a, b, c = bary.T
        functions = np.stack([a, b, c, 4.0 * a * b, 4.0 * b * c, 4.0 * a * c], axis=1)
        values = (functions[:, None, :] @ body.section.along[body.top.nodes[triangle]])[:, 0]
        mean[here] = values.reshape(len(here), RING_POINTS, -1).mean(axis=1)
    family, start = body.layout.along, body.layout.within.count
    made = np.zeros((len(studs), size))
    profile = values_at(body.layout.letters, levels, seats)
    made[:, start : start + family.count] = (mean @ family.modes) * profile[:, family.profile]
    feet = np.stack([at[:, 0], np.zeros(len(studs)), at[:, 1]], axis=1)
    made[:, body.layout.count :] = -rigid_motion(feet)[:, 1, list(motions)]
    return made


def _ports(body: Body, places: tuple[Place, ...], size: int) -> tuple[Floats, Floats]:
    """(6 · places, size) mean rigid motion of each station's patch, and the patches' centres (places, 3)."""
    made = np.zeros((6 * len(places), size))
    if not places:
        return made, np.empty((0, 3))
    patches = [_patch(place) for place in places]
    levels, s, a = body.storeys.levels, body.layout.within, body.layout.along
    within, along = [], []
    for place, (points, _, fit) in zip(places, patches, strict=True):
        functions, nodes = _on_side(body, place, points)
        profile = values_at(body.layout.letters, levels, np.clip(points[:, 1], levels[0], levels[-1]))
        # Σ over points: (6 · 3, profiles, functions of the side)
        both = (profile[:, :, None] * functions[:, None, :]).reshape(len(points), -1)
        summed = (fit @ both).reshape(6, 3, profile.shape[1], len(nodes))
        modes = body.section.within[nodes]
        within.append(summed[:, 0] @ modes[:, 0] + summed[:, 2] @ modes[:, 1])
        along.append(summed[:, 1] @ body.section.along[nodes])
    made[:, : s.count] = s.picked(np.concatenate(within))
    made[:, s.count : body.layout.count] = a.picked(np.concatenate(along))
    return made, np.array([centre for _, centre, _ in patches])


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
    side = side_of(body.shape, place.out)
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
