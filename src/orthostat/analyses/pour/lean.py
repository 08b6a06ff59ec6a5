"""The lean that locks in when a fill sets with one side warmer.

The whole section counts as free of stress at the instant it sets (plates still able to slide on the
fill). When it has cooled to one temperature, plane sections stay plane and the side that was warmer is
shorter: the top leans that way.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.pour.inputs import Inputs
from orthostat.base.dimensions import Metre, Pascal, PerKelvin
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue import material
from orthostat.meshing import SectionMesh
from orthostat.model.bodies import Point2

Floats = NDArray[np.float64]
USUAL_FILL = "mineral casting, shop mix"


@dataclass(frozen=True, slots=True)
class Lean:
    """How far the top leans, in plan (x, z) [m], over the column's height."""

    at_top: Point2
    height: Metre

    @property
    def size(self) -> Metre:
        """Distance the top leans [m]."""
        return Metre(hypot(*self.at_top))


def lean_locked_in(inputs: Inputs, mesh: SectionMesh, temperatures: Floats) -> Lean:
    """Lean from temperatures (n,) [K] of the mesh nodes when the fill sets.

    δ = κ H²/2 with κ = (∫E r rᵀ dA)⁻¹ ∫E α (T - T̄) r dA about the stiffness-weighted middle; for an
    even section with a uniform gradient that is α ΔT H²/(2 W). Raises `NotStated` naming a plate's
    missing modulus or expansion.
    """
    stiffness, expansion = _properties(inputs)
    of = np.minimum(mesh.region, len(inputs.plates))
    modulus = np.append(stiffness, _fill(inputs)[0])[of]
    growth = np.append(expansion, _fill(inputs)[1])[of]
    corners = mesh.points[mesh.triangles]
    heated = temperatures[mesh.triangles]
    weight = modulus * mesh.areas
    middle = (weight[:, None] * corners.mean(axis=1)).sum(axis=0) / weight.sum()
    arms = corners - middle
    # exact integrals of products of linear functions over a triangle: A/12 (Σ a_i Σ b_j + Σ a_i b_i)
    tensor = np.einsum("t,tij->ij", weight / 12.0, _products(arms, arms))
    moment = np.einsum("t,tij->i", weight * growth / 12.0, _products(arms, heated[:, :, None]))
    axial = (weight * growth * heated.mean(axis=1)).sum() / weight.sum()
    moment -= axial * (weight[:, None] * arms.mean(axis=1)).sum(axis=0)
    curvature = np.linalg.solve(tensor, moment)
    height = inputs.column_height
    top = 0.5 * height**2 * curvature
    return Lean((float(top[0]), float(top[1])), height)


def _products(first: Floats, second: Floats) -> Floats:
    """Σᵢ aᵢ Σⱼ bⱼ + Σᵢ aᵢ bᵢ over the corners of each triangle: (t, 3, a) and (t, 3, b) to (t, a, b)."""
    sums = np.einsum("ta,tb->tab", first.sum(axis=1), second.sum(axis=1))
    return np.asarray(sums + np.einsum("tia,tib->tab", first, second))


def _properties(inputs: Inputs) -> tuple[Floats, Floats]:
    moduli, growths = [], []
    for plate in inputs.plates:
        made_of = stated(plate.material, f"{plate.path}.material")
        path = made_of.path or plate.path
        if made_of.youngs_modulus is None or made_of.expansion is None:
            raise NotStated(f"{path}.youngs_modulus", f"{path}.expansion")
        moduli.append(float(made_of.youngs_modulus))
        growths.append(float(made_of.expansion))
    return np.array(moduli), np.array(growths)


def _fill(inputs: Inputs) -> tuple[Pascal, PerKelvin]:
    """Modulus and expansion of the cured fill: the document's, else the catalogue's shop mix."""
    usual = material(USUAL_FILL)
    own = inputs.fill
    modulus = (
        own.youngs_modulus if own is not None and own.youngs_modulus is not None else usual.youngs_modulus
    )
    growth = own.expansion if own is not None and own.expansion is not None else usual.expansion
    return stated(modulus, f"{inputs.path}.fill.youngs_modulus"), stated(
        growth, f"{inputs.path}.fill.expansion"
    )
