"""Matrices of a design over the study model's unknowns: a few hundred, dense."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.section import Floats, Indices
from orthostat.analyses.stiffness.study.design import Shape, Storeys, StudyDesign, shape_of, storeys_of
from orthostat.analyses.stiffness.study.model import Layout, SectionBasis, layout_of
from orthostat.analyses.stiffness.study.section_terms import (
    LEANING,
    SHAPE,
    SHEARED,
    SPREAD,
    STILL,
    STRETCHED,
    SWELLING,
)
from orthostat.analyses.stiffness.study.sections import Section, section_of
from orthostat.analyses.stiffness.study.topology import WALL, Topology


@dataclass(frozen=True, slots=True)
class Body:
    """A design and its own section, before anything holds it."""

    top: Topology
    layout: Layout
    shape: Shape
    storeys: Storeys
    section: Section


def body_of_study(basis: SectionBasis, design: StudyDesign) -> Body:
    """Raises `NotStated` where the design can't be built."""
    shape, storeys, top = shape_of(design), storeys_of(design), design.topology
    section = section_of(basis, top, shape.controls, flange=bool(design.overhang))
    return Body(top, layout_of(basis, storeys.layout), shape, storeys, section)


def body_matrices(body: Body, size: int) -> tuple[Floats, Floats]:
    """Stiffness and mass (n, n), over the body's unknowns and as many more as make up `size`, which stay
    zero.
    """
    stiffness, mass = np.zeros((size, size)), np.zeros((size, size))
    mixed = _by_layer(body, *np.moveaxis(body.storeys.constants, 2, 0))
    for layer, inner, outer, across in zip(body.layout.layers, *mixed, strict=True):
        s, a = layer.within, layer.along
        within = _between(layer.modes_within, inner, layer.modes_within)
        along = _between(layer.modes_along, outer, layer.modes_along)
        both = _between(layer.modes_within, across, layer.modes_along)
        for at, found, still, steep in (
            (s, within, layer.still_within, layer.steep_within),
            (a, along, layer.still_along, layer.steep_along),
        ):
            found[::2] *= still
            found[1] *= steep
            found[0] += found[1]
            stiffness[at, at] += found[0]
            mass[at, at] += found[2]
        both[0] *= layer.swelling
        both[1] *= layer.leaning
        both[0] += both[1]
        stiffness[s, a] += both[0]
    count = body.layout.within.count
    stiffness[count:, :count] = stiffness[:count, count:].T
    return stiffness, mass


def lost(body: Body, vectors: Floats, energies: Floats) -> Floats:
    """(m,) strain energies of displacements (n, m), twice, in each material times its loss factor; of all
    materials together they are `energies` (m,).
    """
    first, shear, density = np.moveaxis(body.storeys.constants, 2, 0)
    # only what damps unlike the walls is asked for
    of_walls = body.storeys.losses[body.storeys.layout.index("M"), WALL]
    loss = np.where(shear > 0.0, body.storeys.losses - of_walls, 0.0)
    total = np.asarray(of_walls * energies)
    if not loss.any():
        return total
    mixed = _by_layer(body, loss * first, loss * shear, 0.0 * density)
    for unlike, layer, inner, outer, across in zip(loss, body.layout.layers, *mixed, strict=True):
        if not unlike.any():
            continue
        lines = layer.lines
        u = _by_profile(layer.modes_within, layer.profile_within, vectors[layer.within], lines.shape[1])
        v = _by_profile(layer.modes_along, layer.profile_along, vectors[layer.along], lines.shape[1])
        alone, together = lines[::3], 2.0 * lines[1:3].swapaxes(1, 2)
        of_u = _on(inner[:2], u, alone) + _on(across, v, together)
        total += np.einsum("rmp,rmp->m", u, of_u) + np.einsum("rmp,rmp->m", v, _on(outer[:2], v, alone))
    return total


def _by_profile(modes: Floats, profile: Indices, values: Floats, profiles: int) -> Floats:
    """(r, m, profiles) sections of each profile from unknowns (k, m)."""
    apart = np.zeros((*values.shape, profiles))
    apart[np.arange(len(values)), :, profile] = values
    return (modes @ apart.reshape(len(values), -1)).reshape(len(modes), -1, profiles)


def _on(matrices: Floats, sections: Floats, lines: Floats) -> Floats:
    """(r, m, p) the sum of what section matrices (k, r, c), each with one of the profiles (k, q, p), do to
    sections (c, m, q).
    """
    c, m, q = sections.shape
    lined = (sections.reshape(c * m, q) @ lines).reshape(len(lines), c, -1)
    return np.asarray((matrices @ lined).sum(axis=0).reshape(-1, m, lines.shape[2]))


def _between(left: Floats, sections: Floats, right: Floats) -> Floats:
    return left.T @ (sections @ right)


def _by_layer(body: Body, first: Floats, shear: Floats, density: Floats) -> tuple[Floats, Floats, Floats]:
    """Section matrices of each layer from what its rings have (layers, rings): (layers, 3, s, s) and
    (layers, 3, a, a) of what goes with ∫ψψ, with ∫ψ'ψ' and of the mass; (layers, 2, s, a) of what goes with
    ∫ψψ' and with ∫ψ'ψ. The layer's height is in them.
    """
    terms = body.section.terms
    rings = len(terms.within)
    first, shear, density = first[:, :rings], shear[:, :rings], density[:, :rings]
    half = 0.5 * np.diff(body.storeys.levels)[:, None]
    inner = np.zeros((len(half), 3, rings, 3))
    inner[:, 0, :, SHAPE], inner[:, 0, :, SPREAD] = half * shear, half * first
    inner[:, 1, :, STILL], inner[:, 2, :, STILL] = shear / half, half * density
    outer = np.zeros((len(half), 3, rings, 2))
    outer[:, 0, :, SHEARED], outer[:, 1, :, STRETCHED] = half * shear, (first + 2.0 * shear) / half
    outer[:, 2, :, STRETCHED] = half * density
    across = np.zeros((len(half), 2, rings, 2))
    across[:, 0, :, SWELLING], across[:, 1, :, LEANING] = first, shear
    return _mixed(inner, terms.within), _mixed(outer, terms.along), _mixed(across, terms.across)


def _mixed(shares: Floats, terms: Floats) -> Floats:
    """(layers, k, r, c) sums over rings and kinds of shares (layers, k, rings, kinds) of terms (rings, kinds,
    r, c).
    """
    layers, k, rings, kinds = shares.shape
    flat = shares.reshape(layers * k, rings * kinds) @ terms.reshape(rings * kinds, -1)
    return flat.reshape(layers, k, *terms.shape[2:])
