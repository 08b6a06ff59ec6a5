"""Matrices of a design over the study model's unknowns: a few hundred, dense."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.section import Floats
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
from orthostat.analyses.stiffness.study.topology import Topology


@dataclass(frozen=True, slots=True)
class Body:
    """A design and its own section, before anything holds it."""

    top: Topology
    layout: Layout
    shape: Shape
    storeys: Storeys
    section: Section


@dataclass(frozen=True, slots=True)
class BodyMatrices:
    """stiffness, mass, and lossy, the stiffness of every material times its loss factor; (n, n) each."""

    stiffness: Floats
    mass: Floats
    lossy: Floats


def body_of_study(basis: SectionBasis, design: StudyDesign) -> Body:
    """Raises `NotStated` where the design can't be built."""
    shape, storeys, top = shape_of(design), storeys_of(design), design.topology
    section = section_of(basis, top, shape.controls, flange=bool(design.overhang))
    return Body(top, layout_of(basis, storeys.layout), shape, storeys, section)


def body_matrices(body: Body, size: int) -> BodyMatrices:
    """Over the body's unknowns and as many more as make up `size`, which stay zero."""
    stiffness, mass, lossy = (np.zeros((size, size)) for _ in range(3))
    for layer, inner, outer, across in zip(body.layout.layers, *_by_layer(body), strict=True):
        s, a = layer.within, layer.along
        within = _between(layer.modes_within, inner, layer.modes_within)
        along = _between(layer.modes_along, outer, layer.modes_along)
        both = _between(layer.modes_within, across, layer.modes_along)
        for total, k in ((stiffness, 0), (lossy, 2)):
            total[s, s] += within[k] * layer.still_within + within[k + 1] * layer.steep_within
            total[a, a] += along[k] * layer.still_along + along[k + 1] * layer.steep_along
            block = both[k] * layer.swelling + both[k + 1] * layer.leaning
            total[s, a] += block
            total[a, s] += block.T
        mass[s, s] += within[4] * layer.still_within
        mass[a, a] += along[4] * layer.still_along
    return BodyMatrices(stiffness, mass, lossy)


def _between(left: Floats, sections: Floats, right: Floats) -> Floats:
    return left.T @ (sections @ right)


def _by_layer(body: Body) -> tuple[Floats, Floats, Floats]:
    """Section matrices of each layer from its materials: (layers, 5, s, s) and (layers, 5, a, a) of what goes
    with ∫ψψ, with ∫ψ'ψ', these times the loss factors, and of the mass; (layers, 4, s, a) of what goes with
    ∫ψψ', with ∫ψ'ψ, and these times the loss factors. The layer's height is in them.
    """
    terms, storeys = body.section.terms, body.storeys
    first, shear, density = np.moveaxis(storeys.constants, 2, 0)
    half = 0.5 * np.diff(storeys.levels)[:, None]
    loss = np.where(shear > 0.0, storeys.losses, 0.0)[..., None, None]
    inner = np.zeros((*first.shape, 5, terms.within.shape[1]))
    inner[..., 0, SHAPE], inner[..., 0, SPREAD] = half * shear, half * first
    inner[..., 1, STILL], inner[..., 4, STILL] = shear / half, half * density
    outer = np.zeros((*first.shape, 5, terms.along.shape[1]))
    outer[..., 0, SHEARED], outer[..., 1, STRETCHED] = half * shear, (first + 2.0 * shear) / half
    outer[..., 4, STRETCHED] = half * density
    across = np.zeros((*first.shape, 4, terms.across.shape[1]))
    across[..., 0, SWELLING], across[..., 1, LEANING] = first, shear
    for made in (inner, outer, across):
        made[..., 2:4, :] = made[..., :2, :] * loss
    return _mixed(inner, terms.within), _mixed(outer, terms.along), _mixed(across, terms.across)


def _mixed(shares: Floats, terms: Floats) -> Floats:
    """(layers, k, r, c) sums over rings and kinds of shares (layers, rings, k, kinds) of terms (rings, kinds,
    r, c).
    """
    layers, rings, k, kinds = shares.shape
    flat = shares.transpose(0, 2, 1, 3).reshape(layers * k, rings * kinds)
    return (flat @ terms.reshape(rings * kinds, -1)).reshape(layers, k, *terms.shape[2:])
