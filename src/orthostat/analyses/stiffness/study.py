"""The study model: a few hundred unknowns that answer for one geometry in milliseconds.

Displacements are sums of section modes (what whole sections were seen to do in training) times integrated
Legendre polynomials in each layer's height. Training solves the quick model of the same geometry for spread
materials and joints; after that a design with other materials or another joint costs one small dense
problem. For another plan or other heights, train anew. Check what a study finds against the full model.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg import cho_factor, cho_solve
from skfem.quadrature import get_quadrature
from skfem.refdom import RefTri

from orthostat.analyses.stiffness.body import Assembled, assembled
from orthostat.analyses.stiffness.build import Part, lame
from orthostat.analyses.stiffness.contact import contact_share
from orthostat.analyses.stiffness.factor import factorised
from orthostat.analyses.stiffness.fields import triangle_functions
from orthostat.analyses.stiffness.inputs import BodyInputs, JointSprings
from orthostat.analyses.stiffness.modes import lowest_modes
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.supports import mass_about, patch_points, rigid_motion
from orthostat.analyses.stiffness.sweep import Swept, section_integrals
from orthostat.base.dimensions import Pascal, PascalPerMetre
from orthostat.base.findings import NotStated, stated
from orthostat.model.materials import Material

SECTION_MODES = 48
DEGREE = 4
"""Section modes and degree: the first frequency within 1.5 % of the quick model in 350 to 550 unknowns."""
DESIGNS = 8
"""Designs solved in training, with materials spread over a factor of three each way and joints of ten."""
SEED = 1919


@dataclass(frozen=True, slots=True)
class Answer:
    """What a study asks: squares (m,) [rad²/s²], shapes at the stations (6s, m), compliance (6s, 6s)."""

    squares: Floats
    shapes: Floats
    compliance: Floats

    @property
    def frequencies(self) -> Floats:
        """(m,) [Hz]."""
        return np.asarray(np.sqrt(np.clip(self.squares, 0.0, None)) / (2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class StudyModel:
    """A trained geometry. Blocks are small matrices over section modes r and profiles p of the height.

    elastic: (layers, parts, 2, 4, r²), for λ and µ and the line kinds 00, 01, 10, 11. inertia: (layers,
    parts, r²). lines: (layers, 4, p²). foot: (2, n, n), contact upright and sideways for unit springs.
    ports: (6s, n). hung: (n, n).
    """

    inputs: BodyInputs
    elastic: Floats
    inertia: Floats
    lines: Floats
    foot: Floats
    ports: Floats
    hung: Floats
    modes: int

    def answer(self, parts: tuple[Part, ...], joint: JointSprings) -> Answer:
        """Modes and compliance of the same geometry with other materials and another joint, no table.

        Raises `NotStated` where a material's properties are missing, `ValueError` for another geometry.
        """
        if [part.pieces for part in parts] != [part.pieces for part in self.inputs.parts]:
            raise ValueError("another geometry needs its own training")
        constants = np.array([lame(part.material) for part in parts])
        density = np.array([stated(p.material.density, f"{p.material.path}.density") for p in parts])
        stiffness = self._spread(np.einsum("pk,lpktr->ltr", constants, self.elastic))
        mass = self._spread(np.einsum("p,lpr->lr", density, self.inertia)[:, None], kinds=1) + self.hung
        stiffness += joint.normal * self.foot[0] + joint.tangential * self.foot[1]
        factor = cho_factor(stiffness, lower=True, check_finite=False)
        compliance = self.ports @ cho_solve(factor, self.ports.T, check_finite=False)
        squares, vectors = _lowest(factor, mass, self.modes)
        return Answer(squares, self.ports @ vectors, compliance)

    def _spread(self, blocks: Floats, kinds: int = 4) -> Floats:
        """(n, n) from blocks (layers, kinds, r²) and the line matrices of those kinds."""
        r = round(blocks.shape[-1] ** 0.5)
        p = round(self.lines.shape[-1] ** 0.5)
        terms = blocks.reshape(-1, r * r).T @ self.lines[:, :kinds].reshape(-1, p * p)
        return np.ascontiguousarray(terms.reshape(r, r, p, p).transpose(0, 2, 1, 3)).reshape(r * p, r * p)


def _lowest(factor: tuple[Floats, bool], mass: Floats, count: int) -> tuple[Floats, Floats]:
    """Lowest modes by subspace iteration on the factorised stiffness, Rayleigh and Ritz at each step."""
    block = min(len(mass), count + 6)
    vectors = np.random.default_rng(SEED).standard_normal((len(mass), block))
    values = np.zeros(block)
    for _ in range(40):
        image = cho_solve(factor, mass @ vectors, check_finite=False)
        weighted = mass @ image
        gram = image.T @ weighted
        scale = np.sqrt(np.diag(gram))
        q, upper = np.linalg.eigh(gram / np.outer(scale, scale))
        half = (upper / np.sqrt(np.clip(q, 1e-14, None))) / scale[:, None]
        basis = image @ half
        pulled = cho_solve(factor, mass @ basis, check_finite=False)
        projected = (mass @ basis).T @ pulled
        found, turn = np.linalg.eigh(0.5 * (projected + projected.T))
        vectors = basis @ turn[:, ::-1]
        if np.allclose(found[::-1][:count], values[:count], rtol=1e-7):
            break
        values = found[::-1]
    return 1.0 / found[::-1][:count], vectors[:, :count]


def train(inputs: BodyInputs, *, section_modes: int = SECTION_MODES, degree: int = DEGREE) -> StudyModel:
    """Train on one geometry. Raises `NotStated` where the quick model can't be solved, or has a table, studs
    or a sliding fill, which a study does not know.
    """
    joint = inputs.joint
    if joint is None or joint.is_rigid or inputs.sliding:
        raise NotStated(reason="a study needs a joint's contact stiffness and a bonded fill")
    if joint.studs or any(
        v is not None for v in (inputs.table.translation, inputs.table.tilt, inputs.table.turn)
    ):
        raise NotStated(
            reason="a study knows no studs and no table; leave them out, compare with the full model"
        )
    plain = inputs
    model = assembled(plain)
    basis = _section_modes(plain, model, joint, section_modes)
    return _projected(plain, model.swept, basis, degree)


def _spread_designs(inputs: BodyInputs, held: JointSprings) -> list[BodyInputs]:
    generator = np.random.default_rng(SEED)
    roles = sorted({part.role for part in inputs.parts}, key=lambda role: role.value)
    made = []
    for _ in range(DESIGNS):
        factor = {role: 3.0 ** generator.uniform(-1.0, 1.0) for role in roles}
        parts = tuple(
            replace(part, material=_stiffer(part.material, factor[part.role])) for part in inputs.parts
        )
        soft = 10.0 ** generator.uniform(-1.0, 1.0)
        joint = replace(
            held, normal=PascalPerMetre(soft * held.normal), tangential=PascalPerMetre(soft * held.tangential)
        )
        made.append(replace(inputs, parts=parts, joint=joint))
    return made


def _stiffer(of: Material, factor: float) -> Material:
    return replace(of, youngs_modulus=Pascal(factor * stated(of.youngs_modulus, f"{of.path}.youngs_modulus")))


def _section_modes(inputs: BodyInputs, model: Assembled, held: JointSprings, count: int) -> Floats:
    """(section functions, 3, r): a section's six rigid motions, then what sections did beyond them in the
    training designs, within the section and along the height apart (one goes with the other's slope).
    """
    swept = model.swept
    total = len(swept.number)
    levels = swept.number[:, : len(swept.heights)]
    q, _ = np.linalg.qr(_rigid_sections(swept, total))
    gram = np.zeros((3 * total, 3 * total))
    for design in _spread_designs(inputs, held):
        made = assembled(design)
        factor = factorised(made.stiffness)
        pairs = lowest_modes(made.stiffness, made.mass, factor, inputs.modes, verify=False)
        still = factor.solve(made.ports.toarray().T) if made.ports.shape[0] else np.empty((made.unknowns, 0))
        for vector in np.hstack([pairs.vectors, still]).T:
            field = np.vstack([vector[: swept.unknowns].reshape(-1, 3), np.zeros((1, 3))])
            seen = field[levels].transpose(1, 0, 2).reshape(len(swept.heights), -1)
            beyond = seen - (seen @ q) @ q.T
            for component in ((0, 2), (1,)):
                part = np.zeros_like(beyond).reshape(-1, total, 3)
                part[:, :, component] = beyond.reshape(-1, total, 3)[:, :, component]
                part = part.reshape(len(beyond), -1)
                size = float(np.linalg.norm(part))
                if size > 0.0:
                    gram += (part.T @ part) / size**2
    within = np.zeros((total, 3), dtype=bool)
    within[:, [0, 2]] = True
    share = (count - 6) * 3 // 5
    chosen = [
        _largest(gram, kind.ravel(), number)
        for kind, number in ((within, share), (~within, count - 6 - share))
    ]
    return np.hstack([q, *chosen]).reshape(total, 3, -1)


def _largest(gram: Floats, kept: np.ndarray[tuple[int], np.dtype[np.bool_]], count: int) -> Floats:
    """The strongest shapes of some of the components."""
    where = np.flatnonzero(kept)
    values, vectors = np.linalg.eigh(gram[np.ix_(where, where)])
    made = np.zeros((len(gram), count))
    made[where] = vectors[:, np.argsort(-values)[:count]]
    return made


def _rigid_sections(swept: Swept, total: int) -> Floats:
    nodes, plan = swept.hats
    motion = rigid_motion(np.stack([plan[:, 0], np.zeros(len(plan)), plan[:, 1]], axis=1))
    made = np.zeros((total, 3, 6))
    made[nodes] = motion
    return made.reshape(3 * total, 6)


def _projected(inputs: BodyInputs, swept: Swept, basis: Floats, degree: int) -> StudyModel:
    layers = swept.layers
    values, slopes_x, slopes_z, weights = _at_points(swept, basis)
    blocks, inertia = [], []
    for k in range(len(layers.levels) - 1):
        shares = np.where(layers.filled[k], layers.shares[k], 0.0)
        by_part = [_part_blocks(values, slopes_x, slopes_z, weights * share[:, None]) for share in shares]
        blocks.append([found[0] for found in by_part])
        inertia.append([found[1] for found in by_part])
    lines = np.array([_line_kinds(layers.levels, k, degree) for k in range(len(layers.levels) - 1)])
    ports, hung = _stations(inputs, swept, basis, degree)
    modes = inputs.modes
    return StudyModel(
        inputs,
        np.array(blocks),
        np.array(inertia),
        lines,
        _foot(inputs, swept, basis, degree),
        ports,
        hung,
        modes,
    )


def _at_points(swept: Swept, basis: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Basis (t, q, 3, r) and its slopes along x and z at the triangles' points, and weights (t, q)."""
    place, weight = get_quadrature(RefTri, 4)
    section, slope_r, slope_s = triangle_functions(place)
    corners = swept.mesh.points[swept.mesh.triangles]
    jacobian = np.stack([corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]], axis=2)
    in_plan = np.einsum("tac,aqp->tcqp", np.linalg.inv(jacobian), np.stack([slope_r, slope_s]))
    local = basis[swept.nodes]
    values = np.einsum("qp,tpcr->tqcr", section, local, optimize=True)
    along_x = np.einsum("tqp,tpcr->tqcr", in_plan[:, 0], local, optimize=True)
    along_z = np.einsum("tqp,tpcr->tqcr", in_plan[:, 1], local, optimize=True)
    return values, along_x, along_z, np.linalg.det(jacobian)[:, None] * weight[None, :]


def _part_blocks(values: Floats, x: Floats, z: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """(2, 4, r²) for λ and µ and the line kinds 00, 01, 10, 11; and the mass block (r²,)."""
    flat = weights.ravel()

    def pair(a: Floats, b: Floats) -> Floats:
        left, right = a.reshape(len(flat), -1), b.reshape(len(flat), -1)
        return np.asarray(left.T @ (flat[:, None] * right))

    def square(a: Floats) -> Floats:
        return pair(a, a)

    spread, up = x[:, :, 0] + z[:, :, 2], values[:, :, 1]
    cross = pair(spread, up)
    volume = np.stack([square(spread), cross, cross.T, square(up)])
    still = 2.0 * square(x[:, :, 0]) + 2.0 * square(z[:, :, 2]) + square(x[:, :, 2] + z[:, :, 0])
    still += square(x[:, :, 1]) + square(z[:, :, 1])
    mixed = pair(x[:, :, 1], values[:, :, 0]) + pair(z[:, :, 1], values[:, :, 2])
    steep = 2.0 * square(up) + square(values[:, :, 0]) + square(values[:, :, 2])
    shape = np.stack([still, mixed, mixed.T, steep])
    mass = sum(square(values[:, :, c]) for c in range(3))
    return np.stack([volume, shape]).reshape(2, 4, -1), np.asarray(mass).ravel()


def _profiles(heights: Floats, levels: Floats, degree: int) -> tuple[Floats, Floats]:
    """Functions of the height (n, p) and their slopes [1/m]: a hat at every level, and integrated Legendre
    polynomials within every layer, `degree` in the thickest and two in thin ones.
    """
    thickness = np.diff(levels)
    layer = np.clip(np.searchsorted(levels, heights, side="right") - 1, 0, len(thickness) - 1)
    t = 2.0 * (heights - levels[layer]) / thickness[layer] - 1.0
    scale = 2.0 / thickness[layer]
    values = [np.clip(1.0 - np.abs(_from_level(heights, levels, k)), 0.0, None) for k in range(len(levels))]
    slopes = [
        np.where(layer == k, -0.5 * scale, np.where(layer == k - 1, 0.5 * scale, 0.0))
        for k in range(len(levels))
    ]
    for k, share in enumerate(np.sqrt(thickness / thickness.max())):
        for power in range(2, max(2, round(degree * float(share))) + 1):
            polynomial = legendre.Legendre.basis(power - 1).integ(lbnd=-1)
            values.append(np.where(layer == k, polynomial(t), 0.0))
            slopes.append(np.where(layer == k, legendre.Legendre.basis(power - 1)(t) * scale, 0.0))
    return np.stack(values, axis=1), np.stack(slopes, axis=1)


def _from_level(heights: Floats, levels: Floats, k: int) -> Floats:
    """Distance from a level, one at its neighbours."""
    below = levels[k] - levels[k - 1] if k > 0 else np.inf
    above = levels[k + 1] - levels[k] if k + 1 < len(levels) else np.inf
    away = heights - levels[k]
    return np.asarray(np.where(away < 0.0, away / below, away / above))


def _line_kinds(levels: Floats, layer: int, degree: int) -> Floats:
    """(4, p²) integrals over a layer's height of the kinds 00, 01, 10, 11."""
    node, weight = legendre.leggauss(degree + 2)
    low, high = levels[layer], levels[layer + 1]
    values, slopes = _profiles(low + 0.5 * (node + 1.0) * (high - low), levels, degree)
    w = 0.5 * (high - low) * weight[:, None]
    return np.stack(
        [
            (values.T @ (w * values)),
            (values.T @ (w * slopes)),
            (slopes.T @ (w * values)),
            (slopes.T @ (w * slopes)),
        ]
    ).reshape(4, -1)


def _foot(inputs: BodyInputs, swept: Swept, basis: Floats, degree: int) -> Floats:
    contact = inputs.joint.contact if inputs.joint else ()
    pressed = contact_share(swept.mesh, contact) * swept.layers.filled[0]
    integrals = section_integrals(swept.mesh)[:, 0, 0] * pressed[:, None, None]
    local = basis[swept.nodes]
    by_axis = np.einsum("tpcr,tpq,tqcs->crs", local, integrals, local, optimize=True)
    end, _ = _profiles(swept.layers.levels[:1], swept.layers.levels, degree)
    line = np.outer(end[0], end[0])
    return np.stack([np.kron(by_axis[1], line), np.kron(by_axis[0] + by_axis[2], line)])


def _stations(inputs: BodyInputs, swept: Swept, basis: Floats, degree: int) -> tuple[Floats, Floats]:
    count = _profiles(swept.layers.levels[:1], swept.layers.levels, degree)[0].shape[1]
    size = basis.shape[2] * count
    ports, hung = [np.empty((0, size))], np.zeros((size, size))
    for place in inputs.places:
        points, centre = patch_points(place)
        motion = rigid_motion(points - centre).reshape(-1, 6)
        fit = np.linalg.solve(motion.T @ motion, motion.T)
        powers, _ = _profiles(
            np.clip(points[:, 1], swept.heights[0], swept.heights[-1]), swept.layers.levels, degree
        )
        moved = np.einsum("ncr,np->ncrp", _section_at(swept, basis, points), powers)
        port = fit @ moved.reshape(3 * len(points), size)
        ports.append(port)
        if place.masses:
            hung += port.T @ mass_about(centre, place.masses) @ port
    return np.vstack(ports), hung


def _section_at(swept: Swept, basis: Floats, points: Floats) -> Floats:
    """(n, 3, r) the section modes at plan points, in the layer that holds each height."""
    made = np.empty((len(points), 3, basis.shape[2]))
    layer = np.clip(
        np.searchsorted(swept.layers.levels, points[:, 1] - 1e-9) - 1, 0, len(swept.layers.levels) - 2
    )
    for k in np.unique(layer):
        chosen = np.flatnonzero(layer == k)
        triangle, bary = swept.mesh.locate(points[chosen][:, [0, 2]], swept.layers.filled[k])
        a, b, c = bary.T
        section = np.stack([a, b, c, 4.0 * a * b, 4.0 * b * c, 4.0 * a * c], axis=1)
        made[chosen] = np.einsum("np,npcr->ncr", section, basis[swept.nodes[triangle]])
    return made
