"""The seams between plates and fill: what the anchors must pass so that both bend as one."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi

import numpy as np
import shapely

from orthostat.analyses.stiffness.build import Layers, Part
from orthostat.analyses.stiffness.inputs import BodyInputs, Bond, CutForce, Place
from orthostat.analyses.stiffness.section import Floats, SectionMesh
from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    Newton,
    NewtonMetre,
    NewtonPerMetre,
    NewtonSquareMetre,
    PerKelvin,
)
from orthostat.base.findings import stated
from orthostat.formulas.composite import end_shear_of_unequal_expansion, seam_shear_flow
from orthostat.model.bodies import Role


@dataclass(frozen=True, slots=True)
class SectionStiffness:
    """The transformed section across a direction: EA [N], EI [N·m²] about its own neutral axis."""

    axial: Newton
    bending: NewtonSquareMetre
    neutral: Metre
    """Where the neutral axis lies along the direction, from the B axis [m]."""


@dataclass(frozen=True, slots=True)
class Seam:
    """What the anchors of one plate carry, and what they can.

    flow: shear per height from the hardest cut [N/m]. from_cut, from_warmth: force on one anchor [N]; the
    latter is `None` where the shop's swing or an expansion is not stated.
    """

    bond: Bond
    flow: NewtonPerMetre
    from_cut: Newton
    from_warmth: Newton | None
    warmth_missing: tuple[str, ...]

    @property
    def anchor_shear(self) -> Newton:
        """What one anchor's own section passes [N]; `NotStated` without its shear strength."""
        strength = stated(self.bond.shear_strength, self.bond.shear_path)
        return Newton(strength * pi / 4.0 * self.bond.diameter**2)

    @property
    def anchor_bearing(self) -> Newton:
        """What the fill under one anchor passes [N]; `NotStated` without its bearing limit."""
        limit = stated(self.bond.bearing_limit, self.bond.bearing_path)
        return Newton(limit * self.bond.diameter * self.bond.length)


def section_stiffness(
    parts: tuple[Part, ...], mesh: SectionMesh, shares: Floats, direction: tuple[float, float]
) -> SectionStiffness:
    """Transformed section of one layer (shares (parts, nt)) for bending along a plan direction (x, z)."""
    modulus = _moduli(parts) @ shares
    first, second = _moments(mesh, direction)
    axial = float(modulus @ mesh.areas)
    neutral = float(modulus @ first) / axial
    bending = float(modulus @ second) - axial * neutral**2
    return SectionStiffness(Newton(axial), NewtonSquareMetre(bending), Metre(neutral))


def filled_share(mesh: SectionMesh, shares: Floats) -> float:
    """How much of the hull of a layer's section is not empty."""
    filled = np.clip(shares.sum(axis=0), 0.0, 1.0)
    hull = shapely.MultiPoint(mesh.points[np.unique(mesh.triangles[filled > 0.0])]).convex_hull
    middles = mesh.points[mesh.triangles].mean(axis=1)
    span = mesh.areas[shapely.contains_xy(hull, middles[:, 0], middles[:, 1])].sum()
    return float(filled @ mesh.areas / span)


def _moduli(parts: tuple[Part, ...]) -> Floats:
    return np.array([stated(p.material.youngs_modulus, f"{p.material.path}.youngs_modulus") for p in parts])


def _moments(mesh: SectionMesh, direction: tuple[float, float]) -> tuple[Floats, Floats]:
    """(nt,) each: ∫s dA and ∫s² dA of the triangles, s along the direction."""
    s = mesh.points[mesh.triangles] @ np.asarray(direction)
    total = s.sum(axis=1)
    return mesh.areas * total / 3.0, mesh.areas / 12.0 * (total**2 + (s**2).sum(axis=1))


def middle_layer(layers: Layers) -> int:
    """The thickest layer: the body's own, away from base plate and lid."""
    return int(np.argmax(np.diff(layers.levels)))


def seams(inputs: BodyInputs, mesh: SectionMesh, layers: Layers) -> tuple[Seam, ...]:
    """What the anchors of every plate with anchors must carry."""
    shares = layers.shares[middle_layer(layers)]
    made = []
    for bond in inputs.bonds:
        plate = next(
            (k for k, p in enumerate(inputs.parts) if p.role is Role.PLATE and p.face == bond.face), None
        )
        place = next((p for p in inputs.faces if p.face == bond.face), None)
        if plate is not None and place is not None:
            made.append(_seam(inputs, mesh, shares, bond, plate, place))
    return tuple(made)


def _seam(
    inputs: BodyInputs, mesh: SectionMesh, shares: Floats, bond: Bond, plate: int, place: Place
) -> Seam:
    direction = (place.out[0], place.out[2])
    whole = section_stiffness(inputs.parts, mesh, shares, direction)
    modulus = stated(
        inputs.parts[plate].material.youngs_modulus, f"{inputs.parts[plate].material.path}.youngs_modulus"
    )
    first, _ = _moments(mesh, direction)
    area = float(shares[plate] @ mesh.areas)
    lever = NewtonMetre(modulus * float(shares[plate] @ first - whole.neutral * area))
    flow = seam_shear_flow(Newton(hardest(inputs.cuts)), first_moment=lever, bending=whole.bending)
    height = max(p.high for p in inputs.parts[plate].pieces) - min(p.low for p in inputs.parts[plate].pieces)
    spacing = (
        height * bond.per_row / bond.count
        if bond.spacing is None
        else max(bond.spacing, height * bond.per_row / bond.count)
    )
    missing, warmth = _warmth(inputs, shares, mesh, plate)
    return Seam(
        bond,
        flow,
        Newton(abs(flow) * spacing / bond.per_row),
        None if warmth is None else Newton(abs(warmth) / (0.5 * bond.count)),
        missing,
    )


def hardest(cuts: tuple[CutForce, ...]) -> float:
    """The largest force of any cut [N]; zero without cuts."""
    return max((hypot(cut.in_plane, cut.axial) for cut in cuts), default=0.0)


def _warmth(
    inputs: BodyInputs, shares: Floats, mesh: SectionMesh, plate: int
) -> tuple[tuple[str, ...], Newton | None]:
    """Force one plate's seam passes at each end when the shop warms by its swing."""
    part = inputs.parts[plate]
    fill = next((k for k, p in enumerate(inputs.parts) if p.role is Role.FILL), None)
    if fill is None:
        return (), None
    filling = inputs.parts[fill]
    wanted = (
        (inputs.climate.swing, inputs.climate.swing_path),
        (part.material.expansion, f"{part.material.path}.expansion"),
        (filling.material.expansion, f"{filling.material.path}.expansion"),
    )
    missing = tuple(path for value, path in wanted if value is None)
    if missing:
        return missing, None
    swing, of_plate, of_fill = (float(value) for value, _ in wanted if value is not None)
    plates = [k for k, p in enumerate(inputs.parts) if p.role is Role.PLATE]
    modulus = _moduli(inputs.parts)
    areas = shares @ mesh.areas
    all_plates = float(sum(modulus[k] * areas[k] for k in plates))
    force = end_shear_of_unequal_expansion(
        KelvinDifference(swing),
        plate_expansion=PerKelvin(of_plate),
        fill_expansion=PerKelvin(of_fill),
        plate_axial=Newton(all_plates),
        fill_axial=Newton(float(modulus[fill] * areas[fill])),
    )
    return (), Newton(force * float(modulus[plate] * areas[plate]) / all_plates)
