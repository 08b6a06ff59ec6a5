"""The quick look at a filled column: a Timoshenko beam on the joint's springs, to screen with and to compare.

It holds within a few per cent where the section keeps its shape. On a hollow column it is a quarter too
stiff and blind to the lowest mode, the section's own distortion; `Screening.holds` says which it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from scipy.linalg import eigh

from orthostat.analyses.stiffness.body import swept_body
from orthostat.analyses.stiffness.build import Part
from orthostat.analyses.stiffness.contact import contact_share
from orthostat.analyses.stiffness.inputs import BodyInputs, Fineness
from orthostat.analyses.stiffness.seams import SectionStiffness, filled_share, middle_layer, section_stiffness
from orthostat.analyses.stiffness.section import Floats, SectionMesh
from orthostat.analyses.stiffness.sweep import Swept
from orthostat.base.dimensions import Hertz, MetrePerNewton, Ratio
from orthostat.formulas.beams import rectangle_shear_coefficient

ELEMENTS = 12
FILLED_ENOUGH = 0.75
"""Share of the section that must be solid for the beam to hold: measured, see docs/methods/stiffness.md."""
COARSE = Fineness(Ratio(0.3), Ratio(2.0))


@dataclass(frozen=True, slots=True)
class Screening:
    """What the beam says along one plan direction; `holds` is false where it may not be believed."""

    direction: tuple[float, float]
    frequency: Hertz
    top_compliance: MetrePerNewton
    """Movement of the top under a unit force there."""
    filled_share: float

    @property
    def holds(self) -> bool:
        """Whether enough of the section is solid."""
        return self.filled_share >= FILLED_ENOUGH


def screen(inputs: BodyInputs, direction: tuple[float, float]) -> Screening:
    """A beam of the middle layer's section, as high as the body, with the stations' masses at their heights.


    Raises `NotStated` where materials are missing.
    """
    swept, properties = swept_body(
        inputs.parts, width=inputs.width, height=inputs.height, fineness=COARSE, clamped=False
    )
    layer = middle_layer(swept.layers)
    section = section_stiffness(inputs.parts, swept.mesh, swept.layers.shares[layer], direction)
    shear = float(properties.shear[layer] @ swept.mesh.areas)
    coefficient = rectangle_shear_coefficient(
        _poissons_ratio(inputs.parts, swept.layers.shares[layer], swept.mesh)
    )
    masses = properties.density @ swept.mesh.areas
    inertias = properties.density @ _second(swept.mesh, direction)
    height = float(swept.heights[-1] - swept.heights[0])
    stiffness, mass = _beam(
        section, shear * coefficient, height, _per_height(swept, masses), _per_height(swept, inertias)
    )
    _hang(inputs, swept, mass)
    held = _held(inputs, swept, direction)
    if held is None:
        stiffness, mass = stiffness[2:, 2:], mass[2:, 2:]
    else:
        stiffness[:2, :2] += held
    load = np.zeros(len(stiffness))
    load[-2] = 1.0
    square = float(eigh(stiffness, mass, eigvals_only=True, subset_by_index=[0, 0])[0])
    return Screening(
        direction,
        Hertz(sqrt(square) / (2.0 * pi)),
        MetrePerNewton(float(np.linalg.solve(stiffness, load)[-2])),
        filled_share(swept.mesh, swept.layers.shares[layer]),
    )


def _poissons_ratio(parts: tuple[Part, ...], shares: Floats, mesh: SectionMesh) -> Ratio:
    areas = shares @ mesh.areas
    ratios = np.array([part.material.poissons_ratio or 0.0 for part in parts])
    return Ratio(float(areas @ ratios / areas.sum()))


def _second(mesh: SectionMesh, direction: tuple[float, float]) -> Floats:
    s = mesh.points[mesh.triangles] @ np.asarray(direction)
    return np.asarray(mesh.areas / 12.0 * (s.sum(axis=1) ** 2 + (s**2).sum(axis=1)))


def _per_height(swept: Swept, by_layer: Floats) -> Floats:
    """Values per layer averaged over the beam's equal elements."""
    ends = np.linspace(swept.heights[0], swept.heights[-1], ELEMENTS + 1)
    levels = swept.layers.levels
    overlap = np.minimum(ends[1:, None], levels[None, 1:]) - np.maximum(ends[:-1, None], levels[None, :-1])
    return np.asarray(np.clip(overlap, 0.0, None) @ by_layer / np.diff(ends))


def _beam(
    section: SectionStiffness, shear: float, height: float, mass: Floats, inertia: Floats
) -> tuple[Floats, Floats]:
    """Stiffness and lumped mass of the standing beam; unknowns are deflection and turn of each level."""
    length = height / ELEMENTS
    bending = float(section.bending)
    phi = 12.0 * bending / (shear * length**2)
    a, b = 12.0, 6.0 * length
    c, d = (4.0 + phi) * length**2, (2.0 - phi) * length**2
    element = (
        bending
        / ((1.0 + phi) * length**3)
        * np.array([[a, b, -a, b], [b, c, -b, d], [-a, -b, a, -b], [b, d, -b, c]])
    )
    size = 2 * (ELEMENTS + 1)
    stiffness, masses = np.zeros((size, size)), np.zeros((size, size))
    for k in range(ELEMENTS):
        where = slice(2 * k, 2 * k + 4)
        stiffness[where, where] += element
        translation, rotation = mass[k] * length / 2.0, inertia[k] * length / 2.0
        masses[where, where] += np.diag([translation, rotation, translation, rotation])
    return stiffness, masses


def _hang(inputs: BodyInputs, swept: Swept, mass: Floats) -> None:
    """Add the stations' masses to the nearest level, with their turning inertia about it."""
    levels = np.linspace(swept.heights[0], swept.heights[-1], ELEMENTS + 1)
    for rigid in (rigid for place in inputs.places for rigid in place.masses):
        level = int(np.argmin(np.abs(levels - rigid.centre[1])))
        mass[2 * level, 2 * level] += rigid.mass
        arm = rigid.centre[1] - levels[level]
        mass[2 * level + 1, 2 * level + 1] += (
            0.5 * (rigid.inertia[0] + rigid.inertia[2]) + rigid.mass * arm**2
        )


def _held(inputs: BodyInputs, swept: Swept, direction: tuple[float, float]) -> Floats | None:
    """(2, 2) spring at the foot of joint and table in series; `None` for a clamped foot."""
    if inputs.joint is None or inputs.joint.is_rigid:
        return None
    pressed = contact_share(swept.mesh, inputs.joint.contact) * swept.layers.filled[0]
    area = float(pressed @ swept.mesh.areas)
    middle = float(
        pressed
        @ (swept.mesh.points[swept.mesh.triangles].mean(axis=1) @ np.asarray(direction) * swept.mesh.areas)
    )
    second = float(pressed @ _second(swept.mesh, direction)) - middle**2 / area
    joint = np.array([inputs.joint.tangential * area, inputs.joint.normal * second])
    table = np.array([inputs.table.translation or np.inf, inputs.table.tilt or np.inf])
    return np.diag(1.0 / (1.0 / joint + 1.0 / table))
