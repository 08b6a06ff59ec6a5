"""Movement and vibration at the stations: static compliance, modal damping, harmonic response.

Everything a person asks happens at a few stations, so the large body is condensed once to the rigid
motions of its station patches. The harmonic response sums the modes and adds the static residual of
those left out, without which the static answer is far off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.body import Assembled
from orthostat.analyses.stiffness.build import lame
from orthostat.analyses.stiffness.fields import layer_energies
from orthostat.analyses.stiffness.modes import EigenPairs
from orthostat.analyses.stiffness.section import Complexes, Floats
from orthostat.analyses.stiffness.supports import rigid_motion


@dataclass(frozen=True, slots=True)
class Ports:
    """The body seen from its stations: 6 motions (translation, turn) at each patch's centre.

    centres: (s, 3) [m]. compliance: (6s, 6s) static. parts: (3, 6s, 6s), what contact, studs and table
    add to it. squares: (m,) [rad²/s²]. loss: (m,). shapes: (6s, m), mass-normalised.
    """

    centres: Floats
    compliance: Floats
    parts: Floats
    squares: Floats
    loss: Floats
    shapes: Floats

    def centre(self, place: int) -> tuple[float, float, float]:
        """Middle of a station's patch (x, y, z) [m]."""
        x, y, z = self.centres[place].tolist()
        return x, y, z

    def reach(self, place: int, at: tuple[float, float, float]) -> Floats:
        """(3, 6s): movement of a point rigidly fixed to a station's patch, per unit motion of the ports."""
        made = np.zeros((3, len(self.compliance)))
        arm = (np.asarray(at) - self.centres[place])[None, :]
        made[:, 6 * place : 6 * place + 6] = rigid_motion(arm)[0]
        return made

    def static(self, place: int, at: tuple[float, float, float]) -> Floats:
        """(3, 3) static compliance at a point of a station [m/N]."""
        arm = self.reach(place, at)
        return np.asarray(arm @ self.compliance @ arm.T)

    def static_parts(self, place: int, at: tuple[float, float, float]) -> Floats:
        """(3, 3, 3): what contact, studs and table add to `static`."""
        arm = self.reach(place, at)
        return np.asarray(arm @ self.parts @ arm.T)

    def gain(self, circular: Floats) -> Complexes:
        """(..., m): what each mode adds to the static answer at circular frequencies (...) [1/s²]."""
        return np.asarray(
            1.0 / (self.squares * (1.0 + 1j * self.loss) - circular[..., None] ** 2) - 1.0 / self.squares
        )

    def harmonic(self, place: int, at: tuple[float, float, float], circular: Floats) -> Complexes:
        """(n, 3, 3) dynamic compliance at circular frequencies (n,) [m/N] (hysteretic damping)."""
        arm = self.reach(place, at)
        shapes = arm @ self.shapes
        gain = self.gain(circular)
        residual = arm @ self.compliance @ arm.T
        pairs = shapes[:, None, :] * shapes[None, :, :]
        return np.asarray((gain @ pairs.reshape(9, -1).T).reshape(-1, 3, 3) + residual)


def seen_from(centres: Floats, compliance: Floats, squares: Floats, loss: Floats, shapes: Floats) -> Ports:
    """`Ports` that do not tell apart what contact, studs and table add."""
    return Ports(centres, compliance, np.zeros((3, *compliance.shape)), squares, loss, shapes)


def ports(model: Assembled, moved: Floats, modes: EigenPairs, loss: Floats) -> Ports:
    """Condense the body to its stations; `moved` (unknowns, 6 · stations) is how each of their unit loads
    moves it, `loss` (m,) the loss factor of each mode.
    """
    held = (model.supports.contact, model.supports.studs, model.supports.table)
    parts = np.array([moved.T @ (matrix @ moved) for matrix in held])
    return Ports(
        model.centres,
        np.asarray(model.ports @ moved),
        parts,
        modes.squares,
        loss,
        np.asarray(model.ports @ modes.vectors),
    )


@dataclass(frozen=True, slots=True)
class EnergyShares:
    """Where the strain energy of each mode sits: (m, parts) in the parts, (m, 3) in contact, studs, table."""

    parts: Floats
    held: Floats


def energy_shares(model: Assembled, modes: EigenPairs) -> EnergyShares:
    """Share of each mode's strain energy in every part and support; each row adds to one
    (but for the seam springs of a sliding fill, which carry the little that is left).
    """
    squares = modes.squares
    held = np.array(
        [
            np.einsum("im,im->m", modes.vectors, matrix @ modes.vectors)
            for matrix in (model.supports.contact, model.supports.studs, model.supports.table)
        ]
    ).T
    return EnergyShares(_part_energies(model, modes.vectors) / squares[:, None], held / squares[:, None])


def _part_energies(model: Assembled, vectors: Floats) -> Floats:
    """(m, parts): twice the strain energy of each displacement in each part, by share of triangles."""
    layers = model.swept.layers
    constants = np.array([lame(part.material) for part in model.parts])
    total = np.zeros((vectors.shape[1], len(model.parts)))
    for k in range(len(layers.levels) - 1):
        volumetric, deviatoric, triangles = layer_energies(model.swept, vectors, k)
        share = layers.shares[k][:, triangles]
        total += constants[:, 0] * (volumetric @ share.T) + constants[:, 1] * (deviatoric @ share.T)
    return total
