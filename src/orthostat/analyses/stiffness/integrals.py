"""Integrals of quadratic wedges: one over the triangle times one over the height.

Reference matrices come from scikit-fem, turned into hierarchical functions (hats and bubbles).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from skfem import Basis, BilinearForm, ElementLineP2, ElementTriP2, MeshLine, MeshTri

from orthostat.analyses.stiffness.section import Floats, SectionMesh

_TO_BUBBLES_TRIANGLE = np.eye(6)
_TO_BUBBLES_TRIANGLE[3, [0, 1]] = _TO_BUBBLES_TRIANGLE[4, [1, 2]] = _TO_BUBBLES_TRIANGLE[5, [0, 2]] = 0.5
_TO_BUBBLES_LINE = np.eye(3)
_TO_BUBBLES_LINE[2, [0, 1]] = 0.5


@lru_cache(maxsize=1)
def reference_triangle() -> Floats:
    """(3, 3, 6, 6): integrals of (φ, φ_r, φ_s) of row times the same of column on the unit triangle."""
    basis = Basis(MeshTri.init_refdom(), ElementTriP2(), intorder=4)
    made = np.empty((3, 3, 6, 6))
    for a in range(3):
        for b in range(3):
            made[a, b] = _element(basis, a, b)
    return np.asarray(np.einsum("ki,abkl,lj->abij", _TO_BUBBLES_TRIANGLE, made, _TO_BUBBLES_TRIANGLE))


@lru_cache(maxsize=1)
def reference_line() -> Floats:
    """(2, 2, 3, 3): integrals of (ψ, ψ_t) of row times column on the unit interval."""
    basis = Basis(MeshLine.init_refdom(), ElementLineP2(), intorder=4)
    made = np.array([[_element(basis, a, b) for b in range(2)] for a in range(2)])
    return np.asarray(np.einsum("ki,abkl,lj->abij", _TO_BUBBLES_LINE, made, _TO_BUBBLES_LINE))


def _element(basis: Basis, row: int, column: int) -> Floats:
    """One element matrix in the order of the element's own functions; 0 is the value, k the k-th slope."""

    def part(field: object, which: int) -> object:
        return field if which == 0 else field.grad[which - 1]  # type: ignore[attr-defined]

    form = BilinearForm(lambda u, v, _: part(v, row) * part(u, column))  # type: ignore[operator]
    data = form.elemental(basis).data.reshape(basis.Nbfun, basis.Nbfun)
    return np.asarray(data.T, dtype=np.float64)


@lru_cache(maxsize=4)
def section_integrals(mesh: SectionMesh) -> Floats:
    """(nt, 3, 3, 6, 6): integrals of (φ, φ_x, φ_z) of row times column on each triangle."""
    a, b, c = (mesh.points[mesh.triangles[:, k]] for k in range(3))
    jacobian = np.stack([b - a, c - a], axis=2)
    determinant = np.linalg.det(jacobian)
    slopes = np.zeros((len(mesh.triangles), 3, 3))
    slopes[:, 0, 0] = 1.0
    slopes[:, 1:, 1:] = np.linalg.inv(jacobian).transpose(0, 2, 1)
    flat = reference_triangle().reshape(9, 36)
    combined = np.einsum("tac,tbd->tabcd", slopes, slopes).reshape(-1, 9)
    product = (combined @ flat).reshape(-1, 3, 3, 6, 6)
    made = np.asarray(product * determinant[:, None, None, None, None])
    made.setflags(write=False)  # stiffness, mass, contact and growth share it
    return made


def line_integrals(length: float) -> Floats:
    """(2, 2, 3, 3): integrals of (ψ, ψ_y) of row times column over an element of this length [m]."""
    scale = np.array([[length, 1.0], [1.0, 1.0 / length]])
    return np.asarray(reference_line() * scale[:, :, None, None])
