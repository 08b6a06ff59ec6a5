"""Simple bodies for tests of the stiffness kernel, and their matrices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from orthostat.analyses.stiffness.assembly import mass_matrix, stiffness_matrix
from orthostat.analyses.stiffness.build import Part, Piece, elastic, layered, levels_of, rings_of
from orthostat.analyses.stiffness.factor import Factor, factorised
from orthostat.analyses.stiffness.modes import EigenPairs, lowest_modes
from orthostat.analyses.stiffness.section import Ring, mesh_section
from orthostat.analyses.stiffness.sweep import Swept, sweep
from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, Pascal, PerKelvin, Ratio
from orthostat.model.bodies import Role
from orthostat.model.materials import Material

Floats = npt.NDArray[np.float64]


def material(
    modulus: float = 206e9, ratio: float = 0.3, density: float = 7850.0, name: str = "steel"
) -> Material:
    return Material(
        name, KilogramPerCubicMetre(density), Pascal(modulus), Ratio(ratio), PerKelvin(12e-6), Ratio(0.001),
        path=f"materials.{name}",
    )  # fmt: skip


def rectangle(width: float, depth: float, *, x: float = 0.0, z: float = 0.0) -> Ring:
    a, b = 0.5 * width, 0.5 * depth
    return ((x - a, z - b), (x + a, z - b), (x + a, z + b), (x - a, z + b))


def prism(
    outline: Ring,
    height: float,
    of: Material,
    *,
    hole: Ring | None = None,
    low: float = 0.0,
    name: str = "bar",
    role: Role = Role.SOLID,
) -> Part:
    pieces = [Piece(outline, Metre(low), Metre(low + height), 1.0, True)]
    if hole:
        pieces.append(Piece(hole, Metre(low), Metre(low + height), -1.0, True))
    return Part(name, f"parts.{name}", role, of, tuple(pieces))


@dataclass(frozen=True)
class Model:
    """Matrices of a body: lower stiffness, full mass (three components), numbering, density."""

    swept: Swept
    stiffness: sp.csc_array
    mass: sp.csr_array

    @property
    def factor(self) -> Factor:
        return factorised(self.stiffness)

    def modes(self, count: int, *, shift: float = 0.0) -> EigenPairs:
        shifted = (
            sp.csc_array(self.stiffness - shift * sp.tril(self.mass, format="csc"))
            if shift
            else self.stiffness
        )
        return lowest_modes(self.stiffness, self.mass, factorised(shifted), count, shift=shift)

    def frequencies(self, count: int) -> Floats:
        return np.asarray(np.sqrt(self.modes(count).squares) / (2.0 * np.pi))

    def mean_row(self, height: float, component: int, *, width: float, depth: float) -> Floats:
        """Mean displacement over a rectangle at a height, as a row over the unknowns."""
        node, weight = np.polynomial.legendre.leggauss(5)
        x, z = np.meshgrid(0.5 * width * node, 0.5 * depth * node)
        w = np.outer(weight, weight).ravel() / 4.0
        rows = self.swept.rows(np.stack([x.ravel(), z.ravel()], axis=1), np.full(25, height))
        made = np.zeros(self.swept.unknowns)
        made[component::3] = w @ rows.toarray()
        return made


def model(parts: list[Part], *, size: float, rise: float, clamped: bool = True) -> Model:
    mesh = mesh_section(rings_of(parts), size=Metre(size), gap=Metre(1e-4 * size))
    layers = layered(parts, mesh, levels_of(parts, Metre(1e-6)))
    properties = elastic(parts, layers)
    swept = sweep(mesh, layers, size=rise, clamped=clamped)
    mass = sp.csr_array(sp.kron(mass_matrix(swept, properties.density), sp.eye_array(3)))
    return Model(swept, stiffness_matrix(swept, properties), mass)


def without(matrix: sp.csr_array | sp.csc_array, dropped: npt.NDArray[np.bool_]) -> sp.csc_array:
    """The matrix with the rows and columns of held unknowns left out."""
    kept = np.flatnonzero(~dropped)
    return sp.csc_array(sp.csr_array(matrix)[kept][:, kept])
