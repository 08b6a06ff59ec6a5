"""A design solved in three dimensions on the study's own triangulation: what is learnt from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp

from orthostat.analyses.stiffness.assembly import mass_matrix, stiffness_matrix
from orthostat.analyses.stiffness.build import Elastic, Layers
from orthostat.analyses.stiffness.factor import factorised
from orthostat.analyses.stiffness.fields import layer_energies
from orthostat.analyses.stiffness.modes import EigenPairs, lowest_modes
from orthostat.analyses.stiffness.response import Ports, seen_from
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.design import Storeys, StudyDesign, loss_factors, shape_of, storeys_of
from orthostat.analyses.stiffness.study.topology import Topology
from orthostat.analyses.stiffness.supports import (
    Supports,
    mass_about,
    padded,
    patch_motions,
    supports,
)
from orthostat.analyses.stiffness.sweep import Swept, sweep

RISE = 0.2
"""Height of an element as a share of the yardstick."""
MODES = 10


@dataclass(frozen=True, eq=False)
class Mapped:
    """A solved design: its mesh, its modes, how it moves under unit loads at the stations (unknowns, 6s), and
    the body seen from there.
    """

    top: Topology
    controls: Floats
    storeys: Storeys
    swept: Swept
    pairs: EigenPairs
    moved: Floats
    ports: Ports


def solve_mapped(design: StudyDesign, *, modes: int = MODES, rise: float = RISE) -> Mapped:
    """Solve a design on its family's triangulation."""
    shape, storeys = shape_of(design), storeys_of(design)
    top = design.topology
    by_triangle = storeys.constants[:, top.region]
    elastic = Elastic(by_triangle[..., 0], by_triangle[..., 1], by_triangle[..., 2])
    filled = (elastic.shear > 0.0).astype(np.float64)
    layers = Layers(storeys.levels, filled[:, None, :])
    swept = sweep(top.mesh(shape.controls), layers, size=rise * design.yardstick, clamped=False)
    held = supports(swept, design.joint, design.table)
    size = (held.size, held.size)
    body = padded(sp.csr_array(stiffness_matrix(swept, elastic)), size)
    stiffness = sp.csc_array(body + sp.csr_array(sp.tril(held.contact + held.studs + held.table)))
    mass = padded(sp.csr_array(sp.kron(mass_matrix(swept, elastic.density), sp.eye_array(3))), size)
    motions, centres = patch_motions(swept, design.places, held.size)
    for number, place in enumerate(design.places):
        own = motions[6 * number : 6 * number + 6]
        mass = mass + own.T @ sp.csr_array(mass_about(centres[number], place.masses)) @ own
    rows = motions.toarray()
    mass = sp.csr_array(mass)
    factor = factorised(stiffness)
    pairs = lowest_modes(stiffness, mass, factor, modes, verify=False)
    moved = factor.solve(np.ascontiguousarray(rows.T)) if len(rows) else np.empty((held.size, 0))
    loss = _lost(swept, by_triangle, storeys.losses[:, top.region], pairs.vectors) + _lost_below(
        held, design, pairs.vectors
    )
    ports = seen_from(centres, rows @ moved, pairs.squares, loss / pairs.squares, rows @ pairs.vectors)
    return Mapped(top, shape.controls, storeys, swept, pairs, moved, ports)


def _lost(swept: Swept, constants: Floats, losses: Floats, vectors: Floats) -> Floats:
    """(m,) strain energies in the body's materials, twice, each times its loss factor; of every layer and
    triangle constants (layers, t, 3) and losses (layers, t).
    """
    total = np.zeros(vectors.shape[1])
    for layer in range(len(constants)):
        volumetric, deviatoric, triangles = layer_energies(swept, vectors, layer)
        first, shear, _ = constants[layer, triangles].T
        loss = losses[layer, triangles]
        total += volumetric @ (first * loss) + deviatoric @ (shear * loss)
    return total


def _lost_below(held: Supports, design: StudyDesign, vectors: Floats) -> Floats:
    """(m,) the same of joint and table."""
    joint, table = loss_factors(design)
    matrix = joint * (held.contact + held.studs) + table * held.table
    return np.asarray((vectors * (matrix @ vectors)).sum(axis=0))
