"""A resin system as sold: masses and volumes of its two parts, and its kit."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Kilogram, KilogramPerCubicMetre, Ratio
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue import Range, UnknownRow
from orthostat.catalogue.resins import ResinFamilyRow, resin_family
from orthostat.model.pouring import ResinSystem


@dataclass(frozen=True, slots=True)
class Mixed:
    """Resin and hardener mixed: share of resin by mass, density of the liquid, mass of a kit."""

    resin_share: Ratio
    density: KilogramPerCubicMetre
    kit_mass: Kilogram | None


def mixed(resin: ResinSystem) -> Mixed:
    """The mixed resin. Raises `NotStated` naming what is missing, such as whether the ratio is by mass."""
    path = resin.path
    ratio = stated(resin.ratio, f"{path}.ratio")
    by = stated(resin.ratio_by, f"{path}.ratio_by")
    first = stated(resin.resin_density, f"{path}.resin_density")
    second = stated(resin.hardener_density, f"{path}.hardener_density")
    if by not in ("mass", "volume"):
        raise NotStated(f"{path}.ratio_by", reason=f"{resin.name}: a mixing ratio is by mass or by volume")
    if ratio <= 0.0 or first <= 0.0 or second <= 0.0:
        raise NotStated(f"{path}.ratio", reason=f"{resin.name}: ratio and densities must be above zero")
    by_mass = ratio if by == "mass" else ratio * first / second
    share = by_mass / (1.0 + by_mass)
    density = 1.0 / (share / first + (1.0 - share) / second)
    kit = resin.kit_mass
    if kit is None and resin.kit_volume is not None:
        kit = Kilogram(resin.kit_volume * density)
    return Mixed(Ratio(share), KilogramPerCubicMetre(density), kit)


def shrinkage(resin: ResinSystem) -> Range:
    """Shrinkage of the resin's volume from mixing to cured: stated, or the family's range."""
    return property_range(resin, "shrinkage")


def property_range(resin: ResinSystem, name: str) -> Range:
    """A property of the resin: what the shop stated (no range), else its family's row.

    Raises `NotStated` naming the property's own key and `family` where neither is known.
    """
    own: float | None = getattr(resin, name, None)
    if own is not None:
        return Range(own, own, own)
    return family_of(resin, name).range_of(name)


def family_of(resin: ResinSystem, wanted: str = "family") -> ResinFamilyRow:
    """The catalogue row of the resin's family; raises `NotStated`."""
    if resin.family is None:
        missing = (
            (f"{resin.path}.{wanted}", f"{resin.path}.family")
            if wanted != "family"
            else (f"{resin.path}.family",)
        )
        raise NotStated(*missing)
    try:
        return resin_family(resin.family)
    except UnknownRow as unknown:
        raise NotStated(f"{resin.path}.family", reason=str(unknown)) from unknown


def source_of(resin: ResinSystem, name: str) -> str:
    """Where a property came from: `shop`, or the family row's citation."""
    if getattr(resin, name, None) is not None:
        return "shop"
    return family_of(resin, name).source_of(name)
