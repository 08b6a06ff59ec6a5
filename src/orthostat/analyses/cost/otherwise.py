"""What the same envelope costs made otherwise: by the shop's own bill, by quotes, or by a range per mass."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from orthostat.analyses.cost.amounts import Amount, NoRate, in_own_currency
from orthostat.analyses.cost.compare import Offer
from orthostat.analyses.cost.solve import Cost
from orthostat.base.dimensions import Kilogram, Metre
from orthostat.base.findings import NotStated
from orthostat.catalogue import UnknownRow, material_row
from orthostat.catalogue.bought import BoughtRow
from orthostat.model.bodies import Body, Polygon, Prism, Role
from orthostat.model.buying import Buying
from orthostat.model.column import Column
from orthostat.model.joining import LID
from orthostat.model.materials import Material

OF_THE_FILL = frozenset({Role.FILL, Role.VOID_FORMER, Role.SLEEVE, Role.ANCHOR})
"""What a hollow column does without."""


@dataclass(frozen=True, slots=True)
class VersionCost:
    """The cost of one way to make or buy the column, in the shop's currency."""

    amount: Amount | None
    """`None` where it is not known; `missing` and `how` say why."""
    how: str
    missing: tuple[str, ...] = ()
    at_least: float | None = None
    """The likely sum of what is known of it, where the whole is not."""
    quoted_mass: Kilogram | None = None
    """What the quote weighs, where it is a quote: it may be of another size."""


def cost_of_making(cost: Cost) -> VersionCost:
    """Percentiles of making, or the keys that keep it from being known."""
    if cost.missing:
        shown = ", ".join(cost.missing[:3]) + (", …" if len(cost.missing) > 3 else "")
        return VersionCost(None, f"bill and hours; not stated: {shown}", cost.missing, cost.known.likely)
    return VersionCost(cost.spread, "bill and hours, 10th, 50th and 90th percentile")


def cost_of_buying(
    offers: tuple[Offer, ...], *, wall: Material, mass: Kilogram | None, row: BoughtRow, buying: Buying
) -> VersionCost:
    """The cheapest quote for a column of the wall's family of material; without one, a range per mass.

    A quote without a material is no one's. What is estimated carries neither freight nor waiting.
    """
    same = [offer for offer in offers if _family(offer.quote.material) == _family(wall.name)]
    priced = [(offer.cost.likely, offer.cost, offer) for offer in same if offer.cost is not None]
    if priced:
        _, amount, offer = min(priced, key=lambda each: each[0])
        says = f"quote: {offer.quote.name}, with freight and waiting"
        return VersionCost(amount, says, quoted_mass=offer.quote.mass)
    if same:
        missing = tuple(dict.fromkeys(path for offer in same for path in offer.missing))
        return VersionCost(None, f"quote: {same[0].quote.name}; not stated: {', '.join(missing)}", missing)
    if mass is None:
        return VersionCost(None, "no quote, and its mass is not known", ("quotes",))
    try:
        rate = in_own_currency(buying, 1.0, row.currency)
    except NoRate as gap:
        return VersionCost(None, f"no quote; an estimate per mass is in {row.currency}", gap.missing)
    ends = Amount(row.low, row.likely, row.high).times(mass * rate)
    says = f"estimate: {row.low:g} to {row.high:g} {row.currency}/kg ({row.year}); {row.source}"
    return VersionCost(ends, f"{says}; no quote is stated", ("quotes",))


def _family(name: str | None) -> str | None:
    """Family of a material by any of its names; `None` where none is stated or the catalogue lacks it."""
    if name is None:
        return None
    try:
        return material_row(name).family
    except UnknownRow:
        return None


def column_made(
    column: Column, *, wall: Material, fill: Material | None, lid: bool, lid_thickness: Metre
) -> Column:
    """The design of the same plates and holes with a fill or without, with a lid or without.

    Plates of another family become `wall`, base plate and lid with them. A fill that the design does not have
    takes its cavity, without tubes or anchors. Raises `NotStated` where the walls are not plates.
    """
    plates = [body for body in column.bodies if body.role is Role.PLATE]
    if not plates or any(body.face is None for body in plates):
        raise NotStated(reason="the design has no plates whose work could be counted")
    swapped = any(
        body.material is None or _family(body.material.name) != _family(wall.name) for body in plates
    )
    bodies = [_of(body, wall) if swapped else body for body in column.bodies]
    if not lid:
        bodies = [body for body in bodies if body.role is not Role.LID]
        column = replace(column, joints=tuple(joint for joint in column.joints if joint.kind != LID))
    elif not any(body.role is Role.LID for body in bodies):
        bodies.append(_lid(column, wall, lid_thickness))
    if fill is None:
        bodies = [body for body in bodies if body.role not in OF_THE_FILL]
        return replace(column, bodies=tuple(bodies), tubes=(), anchors=(), pour=None, fill_material=None)
    if not any(body.role is Role.FILL for body in bodies):
        bodies.append(_fill(column, fill))
    return replace(column, bodies=tuple(bodies), fill_material=fill)


def _of(body: Body, wall: Material) -> Body:
    made = body.role in (Role.PLATE, Role.BASE_PLATE, Role.LID)
    return replace(body, material=wall, mass=None) if made else body


def _lid(column: Column, wall: Material, thickness: Metre) -> Body:
    slab = Prism(column.outline, Metre(column.height - thickness), column.height)
    return Body("lid", Role.LID, (slab,), (), wall, path=f"{column.path}.lid")


def _fill(column: Column, fill: Material) -> Body:
    shape = column.shape_of_body
    if shape is None or shape.inner is None or shapely.Polygon(shape.inner.points).area <= 0.0:
        raise NotStated(f"{column.path}.body", reason="the design has no cavity to fill")
    base = max(
        (p.high for b in column.bodies if b.role is Role.BASE_PLATE for p in b.adds), default=shape.bottom
    )
    top = min((p.low for b in column.bodies if b.role is Role.LID for p in b.adds), default=shape.top)
    cavity = Prism(Polygon(shape.inner.points), Metre(base), Metre(top))
    return Body("fill", Role.FILL, (cavity,), (), fill, path=f"{column.path}.body.fill")
