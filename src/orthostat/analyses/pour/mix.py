"""The mix: which blend packs best, the resin it needs, its grading, and how far the shop's own is from it.

Volumes close: stone + resin + air = 1. The skeleton packs to φ; the surplus that makes the mix move
pushes it apart to φ (1 - s); air takes the place of resin.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from orthostat.analyses.pour.blending import PackingModel, cheapest, densest
from orthostat.analyses.pour.gaps import Gap
from orthostat.analyses.pour.grains import Grains, compaction_index, grains
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.resin import Mixed, mixed
from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, Ratio
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue import Range
from orthostat.catalogue.casting import assumption
from orthostat.formulas import grading
from orthostat.model.pouring import Aggregate, Pour

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Part:
    """One aggregate in a blend: shares of the dry aggregate by mass and by solid volume."""

    aggregate: Aggregate
    mass_share: Ratio
    volume_share: Ratio


@dataclass(frozen=True, slots=True)
class Proportions:
    """One cubic metre of compacted mix: shares by volume, and masses [kg/m³]."""

    stone: Ratio
    resin: Ratio
    air: Ratio
    density: KilogramPerCubicMetre
    stone_mass: KilogramPerCubicMetre
    resin_mass: KilogramPerCubicMetre
    """Resin and hardener together."""

    @property
    def resin_mass_share(self) -> Ratio:
        """Mixed resin over the whole mix, by mass."""
        return Ratio(self.resin_mass / self.density)


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """The blend's grading at a sieve size beside the two ideal curves."""

    size: Metre
    passing: Ratio
    fuller: Ratio
    andreasen: Ratio


@dataclass(frozen=True, slots=True)
class Blend:
    """A blend of aggregates: how it packs and what resin it needs.

    `low`, `likely` and `high` are for low, likely and high resin: voids, surplus and air at the ends
    of their ranges together.
    """

    parts: tuple[Part, ...]
    packing: Ratio
    """φ by the compressible packing model."""
    packing_other: Ratio
    """φ by the linear packing density model."""
    stone_density: KilogramPerCubicMetre
    largest: Metre
    smallest: Metre
    low: Proportions
    likely: Proportions
    high: Proportions
    curve: tuple[CurvePoint, ...]
    from_fuller: Ratio
    """Root mean square distance of the grading from Fuller and Thompson's, in share passing."""
    from_andreasen: Ratio
    cost: float | None
    """Likely cost of a cubic metre, in `Mix.currency`; `None` where a price is not stated."""

    @property
    def voids(self) -> Ratio:
        """Voids of the dry compacted blend."""
        return Ratio(1.0 - self.packing)


@dataclass(frozen=True, slots=True)
class Mix:
    """The best blend, the shop's own, and which of them is poured."""

    best: Blend
    own: Blend | None
    resin: Mixed
    excluded: tuple[tuple[str, str], ...]
    """Aggregates left out of the best blend, and why."""
    surplus: Range
    air: Range
    spread: Ratio
    """Relative uncertainty of the voids: the shop's own, else the catalogue's, which is widened to the
    other packing model's answer."""
    compaction: str
    objective: str
    currency: str
    own_lacks: Ratio | None
    """Resin the shop's recipe has too little (negative: too much) over the mix volume; `None` if the
    recipe does not state its resin."""

    @property
    def used(self) -> Blend:
        """What is poured: the shop's recipe where it states one, else the best blend."""
        return self.own if self.own is not None else self.best


def mix(inputs: Inputs, passages: tuple[Gap, ...], shallowest: Metre) -> Mix:
    """The mix of a pour, its stones small enough for the passages and layers where any are.

    Raises `NotStated` naming what is missing.
    """
    pour = inputs.pour
    if pour.resin is None:
        raise NotStated(f"{pour.path}.resin", reason="no resin is chosen, so no kits can be counted")
    if not pour.aggregates:
        raise NotStated(f"{pour.path}.aggregates")
    liquid = mixed(pour.resin)
    placing = stated(pour.compaction, f"{pour.path}.compaction")
    index = compaction_index(placing, f"{pour.path}.compaction")
    known = tuple(grains(aggregate) for aggregate in pour.aggregates)
    fitting, excluded = _fitting(known, passages, shallowest)
    return _mixed_of(pour, liquid, placing, index, tuple(g.aggregate for g in fitting), excluded)


@lru_cache(maxsize=32)
def _mixed_of(
    pour: Pour,
    liquid: Mixed,
    placing: str,
    index: Ratio,
    stones: tuple[Aggregate, ...],
    excluded: tuple[tuple[str, str], ...],
) -> Mix:
    """The mix of those stones that fit: the same for every column that they fit in, so it is kept."""
    fitting = tuple(map(grains, stones))
    known = tuple(map(grains, pour.aggregates))
    setting = _Setting(pour, liquid, _surplus(pour), _air(pour), _spread(pour))
    model = PackingModel(fitting, index)
    objective = pour.objective
    if objective == "cost" and (
        setting.resin_price is None or any(setting.price(g) is None for g in fitting)
    ):
        reason = "the cheapest blend needs every price, all in one currency"
        raise NotStated(*_unpriced(pour, fitting), reason=reason)
    best = _blend(model, _optimum(model, setting, objective), setting)
    own, lacks = _own(pour, index, known, setting)
    return Mix(
        best, own, liquid, excluded, setting.surplus, setting.air, setting.spread, placing, objective,
        setting.currency or "", lacks,
    )  # fmt: skip


@dataclass(frozen=True)
class _Setting:
    """What turns a packing into proportions."""

    pour: Pour
    liquid: Mixed
    surplus: Range
    air: Range
    spread: Ratio

    @property
    def currency(self) -> str | None:
        """What all prices are in; `None` where they are in several, which can't be added."""
        resin, aggregates = self.pour.resin, self.pour.aggregates
        prices = [resin.price if resin is not None else None, *(a.price for a in aggregates)]
        named = {price.currency for price in prices if price is not None}
        return None if len(named) > 1 else next(iter(named), "")

    @property
    def resin_price(self) -> float | None:
        """Likely price of a kilogram of mixed resin; `None` where it is not to be had."""
        resin = self.pour.resin
        if resin is None or resin.price is None or self.currency is None:
            return None
        if resin.price.per == "kg":
            return resin.price.likely
        return resin.price.likely / self.liquid.kit_mass if self.liquid.kit_mass else None

    def price(self, g: Grains) -> float | None:
        """Likely price of a kilogram of dry aggregate."""
        price, bag = g.aggregate.price, g.aggregate.bag_mass
        if price is None or self.currency is None:
            return None
        wet = 1.0 + (g.aggregate.moisture or 0.0)
        if price.per == "kg":
            return price.likely * wet
        return price.likely / bag * wet if bag else None

    def proportions(self, solid: float, density: float, surplus: float, air: float) -> Proportions:
        """Proportions of a skeleton that packs to `solid`, pushed apart by the surplus."""
        stone = solid * (1.0 - surplus)
        air = min(air, 1.0 - stone)
        return self.closed(stone, 1.0 - stone - air, density)

    def closed(self, stone: float, resin: float, density: float) -> Proportions:
        """Proportions from stone and resin; the rest is air."""
        stone_mass, resin_mass = stone * density, resin * self.liquid.density
        return Proportions(
            stone=Ratio(stone),
            resin=Ratio(resin),
            air=Ratio(1.0 - stone - resin),
            density=KilogramPerCubicMetre(stone_mass + resin_mass),
            stone_mass=KilogramPerCubicMetre(stone_mass),
            resin_mass=KilogramPerCubicMetre(resin_mass),
        )


def _fitting(
    known: tuple[Grains, ...], passages: tuple[Gap, ...], shallowest: Metre
) -> tuple[tuple[Grains, ...], tuple[tuple[str, str], ...]]:
    """The aggregates whose largest stone passes every gap; all of them where none would."""
    tightest = min((gap.largest_stone for gap in passages), default=Metre(np.inf))
    layer = Metre(assumption("stone against layer").likely * shallowest)
    limit = min(tightest, layer)
    fitting = tuple(g for g in known if g.largest <= limit * (1.0 + 1e-9))
    if not fitting:
        return known, ()
    why = (
        "its largest stone does not pass the tightest gap"
        if tightest <= layer
        else "a layer is too shallow for it"
    )
    return fitting, tuple((g.aggregate.name, why) for g in known if g not in fitting)


def _surplus(pour: Pour) -> Range:
    own = pour.surplus
    return assumption("resin surplus").range if own is None else Range(own, own, own)


def _air(pour: Pour) -> Range:
    own = pour.air
    return assumption("air left").range if own is None else Range(own.low, own.likely, own.high)


def _spread(pour: Pour) -> Ratio:
    own = pour.spread
    return Ratio(assumption("packing spread").likely) if own is None else own


def _optimum(model: PackingModel, setting: _Setting, objective: str) -> Floats:
    """Shares (solid volume) of the blend that needs least resin, or costs least."""
    if objective != "cost":
        return densest(model)
    stones = np.array([setting.price(g) or 0.0 for g in model.grains])
    resin = (setting.resin_price or 0.0) * setting.liquid.density
    return cheapest(model, stones * model.densities, resin=resin, loosened=1.0 - setting.surplus.likely)


def _blend(model: PackingModel, shares: Floats, setting: _Setting, resin_share: Ratio | None = None) -> Blend:
    by_mass = shares * model.densities / float(shares @ model.densities)
    density = KilogramPerCubicMetre(float(shares @ model.densities))
    solid, other = model.packings(shares)
    low, likely, high = (
        _stated_resin(setting, solid_of, density, air, resin_share)
        if resin_share is not None
        else setting.proportions(solid_of, density, surplus, air)
        for solid_of, surplus, air in _ends(solid, other, setting)
    )
    if low.resin > high.resin:  # with the resin stated, a denser skeleton holds more of both
        low, high = high, low
    used = [g for g, share in zip(model.grains, shares, strict=True) if share > 0.0]
    largest, smallest = Metre(max(g.largest for g in used)), Metre(min(g.smallest for g in used))
    points = _curve(used, by_mass[shares > 0.0], largest, smallest)
    shares_of = zip(model.grains, by_mass.tolist(), shares.tolist(), strict=True)
    return Blend(
        parts=tuple(Part(g.aggregate, Ratio(mass), Ratio(volume)) for g, mass, volume in shares_of),
        packing=solid,
        packing_other=other,
        stone_density=density,
        largest=largest,
        smallest=smallest,
        low=low,
        likely=likely,
        high=high,
        curve=points,
        from_fuller=_distance(points, lambda point: point.fuller),
        from_andreasen=_distance(points, lambda point: point.andreasen),
        cost=_cost(model, by_mass, likely, setting),
    )


def _ends(solid: Ratio, other: Ratio, setting: _Setting) -> list[tuple[float, float, float]]:
    """(packing, surplus, air) for low, likely and high resin.

    Where the shop states no spread, the range also reaches the other model's voids.
    """
    voids = 1.0 - solid
    low, high = voids * (1.0 - setting.spread), voids * (1.0 + setting.spread)
    if setting.pour.spread is None:
        low, high = min(low, 1.0 - other), max(high, 1.0 - other)
    surplus, air = setting.surplus, setting.air
    return [
        (1.0 - low, surplus.low, air.high),
        (solid, surplus.likely, air.likely),
        (1.0 - high, surplus.high, air.low),
    ]


def _stated_resin(
    setting: _Setting, solid: float, density: KilogramPerCubicMetre, air: float, share: Ratio
) -> Proportions:
    """Proportions of a recipe whose resin is stated: what the resin does not fill stays air."""
    ratio = share / (1.0 - share) * density / setting.liquid.density
    stone = min(solid, (1.0 - air) / (1.0 + ratio))
    return setting.closed(stone, stone * ratio if stone * (1.0 + ratio) < 1.0 else 1.0 - stone, density)


def _own(
    pour: Pour, index: Ratio, known: tuple[Grains, ...], setting: _Setting
) -> tuple[Blend | None, Ratio | None]:
    recipe = pour.recipe
    if recipe is None or not recipe.parts:
        return None, None
    by_name = {g.aggregate.name: g for g in known}
    for part in recipe.parts:
        if part.aggregate not in by_name:
            raise NotStated(
                f"{pour.path}.recipe.parts",
                reason=f"the recipe's {part.aggregate!r} is not among the pour's aggregates",
            )
    total = sum(part.share for part in recipe.parts)
    if total <= 0.0 or any(part.share < 0.0 for part in recipe.parts):
        raise NotStated(f"{pour.path}.recipe.parts", reason="the recipe's shares must be above zero")
    model = PackingModel(tuple(by_name[part.aggregate] for part in recipe.parts), index)
    volume = np.array([part.share / total for part in recipe.parts]) / model.densities
    blend = _blend(model, volume / volume.sum(), setting, recipe.resin_share)
    if recipe.resin_share is None:
        return blend, None
    needed = setting.proportions(
        blend.packing, blend.stone_density, setting.surplus.likely, setting.air.likely
    )
    return blend, Ratio(needed.resin - blend.likely.resin)


def _curve(used: list[Grains], by_mass: Floats, largest: Metre, smallest: Metre) -> tuple[CurvePoint, ...]:
    sizes = np.geomspace(smallest, largest, 33)
    passing = sum(
        (share * g.passing(sizes) for g, share in zip(used, by_mass, strict=True)), np.zeros(len(sizes))
    )
    fuller = grading.fuller_thompson(
        sizes, largest=largest, exponent=Ratio(assumption("grading exponent, Fuller").likely)
    )
    exponent = Ratio(assumption("grading exponent, Andreasen").likely)
    if largest > smallest:
        ideal = grading.modified_andreasen(sizes, smallest=smallest, largest=largest, exponent=exponent)
    else:
        ideal = np.ones(len(sizes))
    return tuple(
        CurvePoint(Metre(s), Ratio(p), Ratio(f), Ratio(a))
        for s, p, f, a in zip(
            sizes.tolist(), np.asarray(passing).tolist(), fuller.tolist(), ideal.tolist(), strict=True
        )
    )


def _distance(points: tuple[CurvePoint, ...], ideal: Callable[[CurvePoint], Ratio]) -> Ratio:
    return Ratio((sum((point.passing - ideal(point)) ** 2 for point in points) / len(points)) ** 0.5)


def _cost(model: PackingModel, by_mass: Floats, made: Proportions, setting: _Setting) -> float | None:
    prices = [setting.price(g) for g in model.grains]
    if setting.resin_price is None or any(price is None for price in prices):
        return None
    stone = sum(share * (price or 0.0) for share, price in zip(by_mass.tolist(), prices, strict=True))
    return float(made.stone_mass * stone + made.resin_mass * setting.resin_price)


def _unpriced(pour: Pour, fitting: tuple[Grains, ...]) -> tuple[str, ...]:
    missing = [f"{g.aggregate.path}.price" for g in fitting if g.aggregate.price is None]
    resin = pour.resin
    if resin is not None and (resin.price is None or not missing):
        missing.append(f"{resin.path}.price")
    return tuple(missing) or (f"{pour.path}.aggregates",)
