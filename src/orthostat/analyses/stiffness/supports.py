"""What holds the body and what touches it: contact foundation, studs, table, patches on faces.

Each support is a symmetric matrix over the body's unknowns followed by the table's own rigid motions
(three translations, three turns about the B axis' foot), kept apart so that its share of any movement
and of any mode's energy can be told.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import scipy.sparse as sp
import shapely

from orthostat.analyses.stiffness.assembly import bottom_matrix
from orthostat.analyses.stiffness.contact import contact_integrals
from orthostat.analyses.stiffness.inputs import JointSprings, Place, RigidMass, Table
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.sweep import Swept
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Polygon

PATCH_POINTS = 7
"""Points across a patch, each way, that carry its load."""
RING_POINTS = 8


@dataclass(frozen=True, slots=True)
class Supports:
    """Matrices (n, n) [N/m] with n = body unknowns + table motions; `names` of the table's motions."""

    contact: sp.csr_array
    studs: sp.csr_array
    table: sp.csr_array
    size: int
    table_motions: tuple[int, ...]
    """Which of the six rigid motions the table has (0-2 translations x, y, z; 3-5 turns)."""


def rigid_motion(points: Floats) -> Floats:
    """(n, 3, 6): displacement of points (n, 3) under unit translations and unit turns about the origin."""
    made = np.zeros((len(points), 3, 6))
    made[:, 0, 0] = made[:, 1, 1] = made[:, 2, 2] = 1.0
    x, y, z = points.T
    made[:, 1, 3], made[:, 2, 3] = -z, y
    made[:, 0, 4], made[:, 2, 4] = z, -x
    made[:, 0, 5], made[:, 1, 5] = -y, x
    return made


def supports(swept: Swept, joint: JointSprings | None, table: Table) -> Supports:
    """The supports of a body. A clamped joint (or none) gives empty matrices.

    Raises `NotStated` where the contact does not reach the column's underside.
    """
    motions = table_motions(table)
    size = swept.unknowns + len(motions)
    empty = sp.csr_array((size, size))
    if joint is None or joint.is_rigid:
        if motions:
            raise NotStated(reason="a table's stiffness needs the joint's contact stiffness with it")
        return Supports(empty, empty, empty, size, motions)
    contact = _contact(swept, joint, motions)
    studs = _studs(swept, joint, motions)
    return Supports(contact, studs, _table(swept, table, motions), size, motions)


def table_motions(table: Table) -> tuple[int, ...]:
    """Which of the six rigid motions a table has a stiffness for."""
    stated = (table.translation,) * 3 + (table.tilt, table.turn, table.tilt)
    return tuple(k for k, value in enumerate(stated) if value is not None)


def _bottom_field(swept: Swept, motions: tuple[int, ...]) -> sp.csr_array:
    """(body unknowns, motions): coefficients of the table's rigid motions on the lowest section."""
    nodes, plan = swept.hats
    number, kept = np.unique(swept.number[nodes, 0], return_index=True)
    number, kept = number[number >= 0], kept[number >= 0]
    x, z = plan[kept].T
    points = np.stack([x, np.full_like(x, swept.heights[0]), z], axis=1)
    field = rigid_motion(points)[:, :, list(motions)]
    rows = (3 * number[:, None, None] + np.arange(3)[None, :, None]) + np.zeros_like(field, dtype=int)
    columns = np.broadcast_to(np.arange(len(motions)), field.shape)
    keep = field != 0.0
    return sp.csr_array((field[keep], (rows[keep], columns[keep])), shape=(swept.unknowns, len(motions)))


def _contact(swept: Swept, joint: JointSprings, motions: tuple[int, ...]) -> sp.csr_array:
    area = bottom_matrix(swept, contact_integrals(swept.mesh, joint.contact))
    if area.nnz == 0 or area.sum() <= 0.0:
        raise NotStated(reason="the joint's contact area lies nowhere under the column")
    body = sp.csr_array(sp.kron(area, sp.diags_array([joint.tangential, joint.normal, joint.tangential])))
    return _relative(body, swept, motions)


def _relative(body: sp.csr_array, swept: Swept, motions: tuple[int, ...]) -> sp.csr_array:
    """A spring matrix between body and ground, made one between body and table."""
    if not motions:
        return body
    across = sp.hstack([sp.eye_array(swept.unknowns), -_bottom_field(swept, motions)], format="csr")
    return sp.csr_array(across.T @ body @ across)


def _studs(swept: Swept, joint: JointSprings, motions: tuple[int, ...]) -> sp.csr_array:
    size = swept.unknowns + len(motions)
    studs = joint.studs
    if not studs:
        return sp.csr_array((size, size))
    turn = 2.0 * np.pi * np.arange(RING_POINTS) / RING_POINTS
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    rings = np.concatenate([np.asarray(stud.at) + stud.radius * circle for stud in studs])
    rows = swept.rows(rings, np.repeat([float(stud.seat) for stud in studs], RING_POINTS)).tocoo()
    stud, column, value = rows.row // RING_POINTS, 3 * rows.col + 1, rows.data / RING_POINTS
    if motions:
        feet = np.array([[each.at[0], 0.0, each.at[1]] for each in studs])
        foot = -rigid_motion(feet)[:, 1, list(motions)]
        stud = np.concatenate([stud, np.repeat(np.arange(len(studs)), len(motions))])
        column = np.concatenate([column, np.tile(swept.unknowns + np.arange(len(motions)), len(studs))])
        value = np.concatenate([value, foot.ravel()])
    lift = sp.csr_array(sp.coo_array((value, (stud, column)), shape=(len(studs), size)))
    stiff = sp.diags_array([float(each.stiffness) for each in studs], format="csr")
    return sp.csr_array(lift.T @ stiff @ lift)


def _table(swept: Swept, table: Table, motions: tuple[int, ...]) -> sp.csr_array:
    size = swept.unknowns + len(motions)
    values = (table.translation,) * 3 + (table.tilt, table.turn, table.tilt)
    diagonal = np.zeros(size)
    diagonal[swept.unknowns :] = [float(values[k] or 0.0) for k in motions]
    return sp.csr_array(sp.diags_array(diagonal))


def patch_motions(swept: Swept, places: tuple[Place, ...], size: int) -> tuple[sp.csr_array, Floats]:
    """(6 · places, size): mean rigid motion (translation at, turns about, its centre) of each place's face
    patch; the centres (places, 3) [m].

    The least-squares motion of a grid of points on the patch. Its transpose spreads a force and a
    moment at the centre over the patch, so load and movement are taken at the same place.
    """
    if not places:
        return sp.csr_array((0, size)), np.empty((0, 3))
    patches = [patch_points(place) for place in places]
    points = np.vstack([each for each, _ in patches])
    rows = swept.rows(points[:, [0, 2]], np.clip(points[:, 1], swept.heights[0], swept.heights[-1]))
    owner = np.repeat(np.arange(len(places)), [len(each) for each, _ in patches])
    fits = np.concatenate([_fit(each) for each, _ in patches])
    # One row for each motion and component, its columns the points.
    row = 18 * owner[:, None] + np.arange(18)
    starts = np.arange(0, fits.size + 1, 18)
    by_point = sp.csc_array((fits.ravel(), row.ravel(), starts), shape=(18 * len(places), len(points)))
    found = (by_point.tocsr() @ rows).tocoo()
    where = (found.row // 3, 3 * found.col + found.row % 3)
    made = sp.csr_array(sp.coo_array((found.data, where), shape=(6 * len(places), size)))
    return made, np.array([centre for _, centre in patches])


def _fit(points: Floats) -> Floats:
    """(n, 6, 3): what each point's displacement adds to the mean rigid motion of points (n, 3)."""
    motion = rigid_motion(points - points.mean(axis=0)).reshape(-1, 6)
    fit = np.linalg.solve(motion.T @ motion, motion.T)
    return np.asarray(fit.reshape(6, -1, 3).transpose(1, 0, 2))


def padded(matrix: sp.csr_array, shape: tuple[int, int]) -> sp.csr_array:
    """The matrix with empty rows and columns added up to `shape`."""
    if matrix.shape == shape:
        return matrix
    plain = matrix.tocoo()
    return sp.csr_array(sp.coo_array((plain.data, (plain.row, plain.col)), shape=shape))


def patch_points(place: Place) -> tuple[Floats, Floats]:
    """Points (n, 3) [m] of a patch on its face in the body's frame, and their centre (3,)."""
    along, up = _grid(place.patch)
    if len(along) < 3:
        raise NotStated(place.path, reason=f"the footprint of {place.name} has no area")
    points = np.asarray(place.origin) + along[:, None] * np.asarray(place.across)
    points[:, 1] += up
    return points, points.mean(axis=0)


@lru_cache(maxsize=256)
def _grid(patch: Polygon) -> tuple[Floats, Floats]:
    """Points (n,) along and up of a grid over a patch, those that lie in it."""
    across, up = zip(*patch.points, strict=True)
    low_u, low_v, high_u, high_v = min(across), min(up), max(across), max(up)
    step = (np.arange(PATCH_POINTS) + 0.5) / PATCH_POINTS
    u = np.tile(low_u + step * (high_u - low_u), PATCH_POINTS)
    v = np.repeat(low_v + step * (high_v - low_v), PATCH_POINTS)
    corners = {(low_u, low_v), (high_u, low_v), (high_u, high_v), (low_u, high_v)}
    if len(corners) == 4 and corners == set(patch.points):
        return u, v  # a rectangle holds them all
    inside = shapely.contains_xy(shapely.Polygon(patch.points).buffer(1e-9), u, v)
    return u[inside], v[inside]


def mass_about(point: Floats, masses: tuple[RigidMass, ...]) -> Floats:
    """(6, 6) mass matrix of rigid masses for translation at, and turns about, a point (3,)."""
    total = np.zeros((6, 6))
    for rigid in masses:
        m = float(rigid.mass)
        x, y, z = (float(c) - float(p) for c, p in zip(rigid.centre, point, strict=True))
        xx, yy, zz, xy, yz, zx = rigid.inertia
        xx, yy, zz = xx + m * (y * y + z * z), yy + m * (z * z + x * x), zz + m * (x * x + y * y)
        xy, yz, zx = xy - m * x * y, yz - m * y * z, zx - m * z * x
        x, y, z = m * x, m * y, m * z
        total += [
            [m, 0.0, 0.0, 0.0, z, -y],
            [0.0, m, 0.0, -z, 0.0, x],
            [0.0, 0.0, m, y, -x, 0.0],
            [0.0, -z, y, xx, xy, zx],
            [z, 0.0, -x, xy, yy, yz],
            [-y, x, 0.0, zx, yz, zz],
        ]
    return total
