"""What the stiffness analysis is fed: the joint's springs from the hold-down, forces from the loads.

The uppermost joint of the stack is the column's foot. Joints below it (a riser on the pallet, say) stand in
series with the machine's table, each a rigid interface on its own springs.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from orthostat.analyses.stiffness import (
    Climate,
    Inputs,
    JointSprings,
    StudSpring,
    Variant,
    inputs_from,
    usual_variants,
)
from orthostat.analyses.stiffness.from_loads import forces_of
from orthostat.base.dimensions import (
    Metre,
    NewtonMetrePerRadian,
    NewtonPerMetre,
    PascalPerMetre,
    PerKelvin,
    Ratio,
)
from orthostat.base.findings import Gap
from orthostat.catalogue import material
from orthostat.catalogue.practice import practice
from orthostat.formulas.contact import tangential_stiffness_share
from orthostat.model.bodies import Polygon, Role
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from orthostat.model.materials import Material

if TYPE_CHECKING:
    from orthostat.analyses.hold import Hold, JointResult
    from orthostat.analyses.loads import Inputs as LoadsInputs
    from orthostat.analyses.loads import Result as Loads
    from orthostat.analyses.stiffness.inputs import Table

IN_TOUCH = 0.999
"""Share of the patch in contact from which the whole patch is taken to carry."""


def stiffness_inputs(
    column: Column, limits: Limits, given: LoadsInputs, loads: Loads, hold: Hold | None
) -> Inputs:
    """The question for a design; without a hold-down result the base is clamped, which findings say."""
    cuts, millings = forces_of(column, given, loads)
    stack = hold.stack if hold else ()
    made = inputs_from(
        column,
        joint=springs_of(column, stack[0].result) if stack else None,
        cuts=cuts,
        millings=millings,
        climate=Climate(
            swing=limits.temperature_change,
            across=limits.temperature_across,
            pallet_expansion=_pallet_expansion(column),
        ),
        variants=variants_of(column),
    )
    table = made.body.table
    for each in stack[1:]:
        table = _in_series(table, each.result)
    return replace(made, body=replace(made.body, table=table))


def springs_of(column: Column, result: JointResult) -> JointSprings:
    """The foot's springs: contact stiffness as the joint has it, over the area that touches at rest."""
    ratio = _foot_ratio(column)
    damping = practice("joint loss factor")
    normal, studs = result.stiffness
    at = {stud.name: stud for stud in column.studs}
    springs = []
    for fastener, stiffness in zip(result.joint.fasteners, studs, strict=True):
        stud = at.get(fastener.name)
        if stud is not None and stiffness > 0.0:
            ring = 0.4 * (stud.washer_outside or fastener.bearing_outside or Metre(0.03))
            springs.append(StudSpring(stud.name, stud.at, stud.seat, Metre(ring), NewtonPerMetre(stiffness)))
    return JointSprings(
        normal,
        PascalPerMetre(normal * tangential_stiffness_share(ratio)),
        _touching(result),
        tuple(springs),
        loss_factor=damping.likely,
        loss_low=damping.low,
        loss_high=damping.high,
        source="the joint's contact stiffness (hold)",
    )


def _foot_ratio(column: Column) -> Ratio:
    """Poisson's ratio of what the column stands on; 0.3 matters little where it is not stated."""
    for platform in (column.riser, column.base, column.pallet):
        if platform is not None and platform.material is not None and platform.material.poissons_ratio:
            return platform.material.poissons_ratio
    return Ratio(0.3)


def _touching(result: JointResult) -> tuple[Polygon, ...]:
    """Cells pressed at rest, as squares of their area; empty (the whole underside) where all are, or where
    the pressure is not known.
    """
    rest = result.at_rest
    if isinstance(rest, Gap) or rest.contact >= IN_TOUCH:
        return tuple(result.joint.pieces or ())
    pressed = rest.pressure > 0.0
    return tuple(
        Polygon(((x - a, z - a), (x + a, z - a), (x + a, z + a), (x - a, z + a)))
        for (x, z), a in zip(
            rest.patch.points[pressed].tolist(),
            (0.5 * np.sqrt(rest.patch.areas[pressed])).tolist(),
            strict=True,
        )
    )


def _in_series(table: Table, result: JointResult) -> Table:
    """The table with a lower joint under its load: compliances add."""
    rest = result.at_rest
    if isinstance(rest, Gap):
        return table
    normal, _ = result.stiffness
    tangential = normal * tangential_stiffness_share(Ratio(0.3))
    arms = rest.patch.points - rest.patch.centroid
    second = min(float(rest.patch.areas @ arms[:, k] ** 2) for k in range(2))
    polar = float(rest.patch.areas @ np.sum(arms**2, axis=1))

    def softer(stated: float | None, spring: float) -> float:
        return spring if stated is None else 1.0 / (1.0 / stated + 1.0 / spring)

    return replace(
        table,
        translation=NewtonPerMetre(softer(table.translation, tangential * rest.patch.area)),
        tilt=NewtonMetrePerRadian(softer(table.tilt, normal * second)),
        turn=NewtonMetrePerRadian(softer(table.turn, tangential * polar)),
    )


def _pallet_expansion(column: Column) -> PerKelvin | None:
    for platform in (column.riser, column.base, column.pallet):
        if platform is not None and platform.material is not None and platform.material.expansion is not None:
            return platform.material.expansion
    return None


def variants_of(column: Column) -> tuple[Variant, ...]:
    """The usual ways to make the same envelope, of catalogue materials; the fill is the design's own."""
    return usual_variants(
        iron=material("grey iron"),
        steel=material("steel"),
        aluminium=_wall(column) or material("aluminium 6082-T651"),
        fill=column.fill_material or material("mineral casting"),
    )


def _wall(column: Column) -> Material | None:
    """The design's own aluminium, where its plates are of aluminium."""
    for body in column.bodies:
        if body.role is Role.PLATE and body.material is not None and "alumin" in body.material.name:
            return body.material
    return None


__all__ = ["springs_of", "stiffness_inputs", "variants_of"]
