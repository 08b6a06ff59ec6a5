"""Growth and lean: what a change of temperature does to the faces.

The body is warmed evenly, or from one side to the other, on a pallet that grows by its own expansion. The
elastic solution gives what plates, fill and pallet agree on, not the mean of their free growths.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from orthostat.analyses.stiffness.body import Assembled
from orthostat.analyses.stiffness.build import Part, lame
from orthostat.analyses.stiffness.factor import Factor
from orthostat.analyses.stiffness.inputs import Place
from orthostat.analyses.stiffness.integrals import line_integrals, section_integrals
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.sweep import Swept
from orthostat.base.dimensions import PerKelvin
from orthostat.base.findings import stated

NEGLIGIBLE_SHARE = 0.01
"""A part with less of the body's bulk stiffness may leave its expansion unstated."""


@dataclass(frozen=True, slots=True)
class Growth:
    """Per kelvin, at one place, in its own axes (across, up, out).

    even: (3,) movement when all is one kelvin warmer [m/K]; even_turn: (3,) turns about those axes [rad/K].
    sided: (3,) movement when this side is one kelvin warmer than the opposite one, mean unchanged [m/K].
    """

    name: str
    face: int
    height: float
    distance: float
    """Of the place's middle: above the pallet top, and outward from the B axis [m]."""
    even: Floats
    even_turn: Floats
    sided: Floats
    sided_turn: Floats


def thermal_loads(swept: Swept, parts: tuple[Part, ...], fields: Floats) -> Floats:
    """(unknowns, k) forces of temperatures given at the section's vertices (nv, k) [K], alike at all heights.

    Raises `NotStated` where a part's expansion is missing.
    """
    constants = _pushes(swept, parts)
    integrals = section_integrals(swept.mesh)
    many = fields.shape[1]
    load = np.zeros((swept.count + 1, 3 * many))
    for k in range(len(swept.layers.levels) - 1):
        solid = np.flatnonzero(swept.layers.filled[k])
        push = constants @ swept.layers.shares[k][:, solid]
        warm = fields[swept.mesh.triangles[solid]]
        by_slope = (push[:, None, None, None] * integrals[solid, :, 0, :, :3]) @ warm[:, None]
        lines = swept.line_nodes(k)
        line = line_integrals(float(swept.heights[lines[0, 1]] - swept.heights[lines[0, 0]]))
        even, rise = line[0, 0][:, :2].sum(axis=1), line[1, 0][:, :2].sum(axis=1)
        along = np.stack([even, rise, even], axis=1)
        value = np.einsum("taqk,sa->tqsak", by_slope[:, [1, 0, 2]], along)
        numbers = swept.number[swept.nodes[solid][:, :, None, None], lines[None, None]]
        place = np.where(numbers >= 0, numbers, swept.count).ravel()
        spread = np.broadcast_to(value[:, :, None], (*numbers.shape, 3, many)).reshape(-1, 3 * many)
        for each in range(3 * many):
            load[:, each] += np.bincount(place, weights=spread[:, each], minlength=swept.count + 1)
    return load[:-1].reshape(-1, many)


def _pushes(swept: Swept, parts: tuple[Part, ...]) -> Floats:
    """(parts,) stress per kelvin of each part held still, 3Kα [Pa/K]; none where it hardly matters."""
    bulk = np.array([3.0 * lame(p.material)[0] + 2.0 * lame(p.material)[1] for p in parts])
    volumes = np.einsum("lpt,l,t->p", swept.layers.shares, np.diff(swept.layers.levels), swept.mesh.areas)
    weight = bulk * volumes / float(bulk @ volumes)
    return np.array(
        [
            0.0
            if p.material.expansion is None and share < NEGLIGIBLE_SHARE
            else k * stated(p.material.expansion, f"{p.material.path}.expansion")
            for p, k, share in zip(parts, bulk.tolist(), weight.tolist(), strict=True)
        ]
    )


def thermal_fields(model: Assembled, factor: Factor, pallet: PerKelvin | None) -> Floats:
    """(unknowns, 3): displacement per kelvin of even warming, and per kelvin and metre of rise along x, z."""
    return factor.solve(warming(model, factor, pallet))


def warming(model: Assembled, factor: Factor, pallet: PerKelvin | None) -> Floats:
    """(unknowns, 3): the forces that give `thermal_fields`.

    `pallet` is the expansion of what the column stands on; `None` lets the column's foot grow as it likes.
    """
    swept = model.swept
    points = swept.mesh.points
    loads = np.zeros((model.unknowns, 3))
    fields = np.column_stack([np.ones(len(points)), points])
    loads[: swept.unknowns] = thermal_loads(swept, model.parts, fields)
    growth = _foot_growth(model, factor, loads[:, 0]) if pallet is None else pallet
    loads[:, 0] += model.supports.contact @ _pallet_field(model, growth)
    return loads


def _pallet_field(model: Assembled, expansion: float) -> Floats:
    swept = model.swept
    nodes, plan = swept.hats
    number = swept.number[nodes, 0]
    here = number >= 0
    made = np.zeros(model.unknowns)
    made[3 * number[here]] = expansion * plan[here, 0]
    made[3 * number[here] + 2] = expansion * plan[here, 1]
    return made


def _foot_growth(model: Assembled, factor: Factor, load: Floats) -> float:
    """The pallet expansion that leaves the foot free: least restraint of the tangential springs."""
    unit = _pallet_field(model, 1.0)
    moved = factor.solve(np.stack([load, model.supports.contact @ unit], axis=1))
    strained = moved - np.stack([np.zeros_like(unit), unit], axis=1)
    energy = strained.T @ (model.supports.contact @ strained)
    return float(-energy[0, 1] / energy[1, 1]) if energy[1, 1] > 0.0 else 0.0


def growths(
    model: Assembled,
    fields: Floats,
    places: tuple[Place, ...],
    patches: tuple[sp.csr_array, Floats],
) -> tuple[Growth, ...]:
    """Growth and lean at each place, of which the `patch_motions` are given."""
    made = []
    motions, centres = patches
    moved = (motions @ fields).reshape(len(places), 6, fields.shape[1])
    for place, motion, centre in zip(places, moved, centres, strict=True):
        axes = np.stack([np.asarray(place.across), np.array([0.0, 1.0, 0.0]), np.asarray(place.out)])
        width = _width_along(model.swept, place, float(centre[1]))
        sided = (motion[:, 1] * place.out[0] + motion[:, 2] * place.out[2]) / width
        made.append(
            Growth(
                place.name,
                place.face,
                float(centre[1]),
                float(centre @ np.asarray(place.out)),
                axes @ motion[:3, 0],
                axes @ motion[3:, 0],
                axes @ sided[:3],
                axes @ sided[3:],
            )
        )
    return tuple(made)


def _width_along(swept: Swept, place: Place, height: float) -> float:
    """Extent along a face's normal of the section at a place's height [m]: a base plate may be wider."""
    levels = np.asarray(swept.layers.levels)
    here = int(np.clip(np.searchsorted(levels, height, side="right") - 1, 0, len(levels) - 2))
    used = np.unique(swept.mesh.triangles[swept.layers.filled[here]])
    along = swept.mesh.points[used] @ np.array([place.out[0], place.out[2]])
    return float(along.max() - along.min())
