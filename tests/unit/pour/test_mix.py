"""Blends, proportions, shopping list, and every bad input named."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from orthostat.analyses.pour import inputs_from, solve
from orthostat.analyses.pour.blending import PackingModel, densest, densest_by_the_other_model
from orthostat.analyses.pour.grains import compaction_index, grains
from orthostat.analyses.pour.mix import Mix, _mixed_of
from orthostat.analyses.pour.purchase import Item
from orthostat.analyses.pour.resin import mixed
from orthostat.base.dimensions import CubicMetre, Kilogram, KilogramPerCubicMetre, Metre, Ratio
from orthostat.base.findings import NotStated
from orthostat.model.pouring import Aggregate, Recipe, RecipePart, SievePoint
from orthostat.model.prices import Price
from pours import firm, flour, gravel, poured, resin, sand


def mix_of(**changes: Any) -> Mix:
    return solve(inputs_from(poured(**changes))).known_mix()


def items_of(**changes: Any) -> tuple[Item, ...]:
    return solve(inputs_from(poured(**changes))).known_items()


def recipe(share: float | None = None, **parts: float) -> Recipe:
    listed = tuple(RecipePart(name, Ratio(value)) for name, value in parts.items())
    return Recipe(listed, None if share is None else Ratio(share))


THREE = PackingModel((grains(gravel()), grains(sand()), grains(flour())), compaction_index("rodded", ""))


def test_a_kept_mix_is_that_of_its_own_stones_and_pour() -> None:
    first = mix_of()
    assert mix_of() is first
    kept = [mix_of(**change) for change in ({"surplus": Ratio(0.2)}, {"aggregates": (gravel(), sand())})]
    _mixed_of.cache_clear()
    assert [mix_of(surplus=Ratio(0.2)), mix_of(aggregates=(gravel(), sand()))] == kept
    assert first not in kept
    assert mix_of() == first


def test_each_aggregate_packs_as_measured() -> None:
    for aggregate in (gravel(), sand(), flour()):
        model = PackingModel((grains(aggregate),), compaction_index("poured", ""))
        both = model.packings(np.ones(1))
        assert aggregate.bulk_density is not None
        assert aggregate.particle_density is not None
        measured = aggregate.bulk_density / aggregate.particle_density
        assert both == pytest.approx((measured, measured), rel=1e-4)


def test_no_blend_on_a_grid_packs_better_than_the_best() -> None:
    best = THREE.volume(densest(THREE))[0]
    steps = np.linspace(0.0, 1.0, 21)
    others = [
        THREE.volume(np.array([a, b, 1.0 - a - b]))[0] for a in steps for b in steps if a + b <= 1.0 + 1e-12
    ]
    assert best <= min(others) * (1.0 + 1e-4)
    assert best <= THREE.volume(densest_by_the_other_model(THREE))[0] + 1e-9


def test_the_other_model_finds_its_own_best() -> None:
    best = densest_by_the_other_model(THREE)
    rng = np.random.default_rng(3)
    for shares in rng.dirichlet(np.ones(3), size=200):
        assert THREE.packings(shares)[1] <= THREE.packings(best)[1] + 1e-9


def test_volumes_close_for_every_case() -> None:
    for blend in (mix_of().best, mix_of(recipe=recipe(0.11, gravel=0.6, sand=0.4)).used):
        for made in (blend.low, blend.likely, blend.high):
            assert made.stone + made.resin + made.air == pytest.approx(1.0)
            assert made.density == pytest.approx(made.stone_mass + made.resin_mass)
            assert min(made.stone, made.resin, made.air) >= 0.0
        assert blend.low.resin <= blend.likely.resin <= blend.high.resin


def test_air_displaces_resin_and_surplus_loosens_the_skeleton() -> None:
    usual = mix_of().best
    assert usual.likely.stone == pytest.approx(usual.packing * (1.0 - 0.06))
    loose = mix_of(surplus=Ratio(0.12)).best
    assert loose.likely.stone == pytest.approx(loose.packing * 0.88)
    assert loose.likely.resin > usual.likely.resin


def test_stone_too_large_for_the_gap_is_left_out_and_said() -> None:
    found = mix_of()
    assert [name for name, _ in found.excluded] == ["gravel"]
    assert found.best.largest < 0.0022


def test_the_shops_recipe_is_what_is_poured() -> None:
    found = mix_of(recipe=recipe(None, gravel=0.55, sand=0.45))
    assert found.used is found.own
    assert [part.aggregate.name for part in found.used.parts] == ["gravel", "sand"]
    assert [part.mass_share for part in found.used.parts] == pytest.approx([0.55, 0.45])


def test_a_lean_recipe_lacks_resin_and_keeps_voids() -> None:
    found = mix_of(recipe=recipe(0.06, gravel=0.55, sand=0.45))
    assert found.own_lacks is not None
    assert found.own_lacks > 0.05
    assert found.used.likely.air > 0.10
    assert found.used.likely.resin_mass_share == pytest.approx(0.06)


def test_a_rich_recipe_pushes_the_stone_apart() -> None:
    found = mix_of(recipe=recipe(0.30, gravel=0.55, sand=0.45))
    assert found.own_lacks is not None
    assert found.own_lacks < 0.0
    assert found.used.likely.stone < found.used.packing
    assert found.used.likely.resin_mass_share == pytest.approx(0.30)


def test_the_cheapest_blend_costs_no_more_than_the_densest() -> None:
    dear = replace(flour(), price=firm(400.0, "bag"))
    three = {"aggregates": (sand(), dear), "objective": "cost"}
    cheap = mix_of(**three).best
    dense = mix_of(aggregates=(sand(), dear)).best
    assert cheap.cost is not None
    assert dense.cost is not None
    assert cheap.cost < dense.cost
    assert cheap.likely.resin > dense.likely.resin


def test_cost_needs_prices_and_names_them() -> None:
    with pytest.raises(NotStated) as caught:
        mix_of(aggregates=(replace(sand(), price=None), flour()), objective="cost")
    assert caught.value.missing == ("aggregates.sand.price",)


def test_whole_kits_and_bags_cover_the_need_and_no_more() -> None:
    for item in items_of():
        for count in (item.low, item.likely, item.high):
            held = (count.buy + item.stock) * item.unit_mass
            assert held >= count.needed - 1e-9
            assert count.left == pytest.approx(held - count.needed)
            assert count.buy == 0 or held - item.unit_mass < count.needed
        assert item.low.needed <= item.likely.needed <= item.high.needed


def test_wet_stone_weighs_more_as_delivered() -> None:
    dry, wet = (
        next(
            i for i in items_of(aggregates=(replace(sand(), moisture=Ratio(m)), flour())) if i.name == "sand"
        )
        for m in (0.0, 0.05)
    )
    assert wet.likely.needed == pytest.approx(1.05 * dry.likely.needed)


def test_price_by_mass_and_by_bag_agree() -> None:
    by_bag = Price(20.0, 22.0, 25.0, "EUR", "bag")
    by_mass = Price(0.8, 0.88, 1.0, "EUR", "kg")
    costs = [
        next(i for i in items_of(aggregates=(replace(sand(), price=p, stock=0), flour())) if i.name == "sand")
        for p in (by_bag, by_mass)
    ]
    assert costs[0].high.cost_high == pytest.approx(costs[1].high.cost_high)


def test_ratio_by_volume_becomes_mass() -> None:
    by_volume = mixed(replace(resin(), ratio=2.0, ratio_by="volume"))
    assert by_volume.resin_share == pytest.approx(2 * 1130.0 / (2 * 1130.0 + 960.0))
    assert by_volume.density == pytest.approx((2 * 1130.0 + 960.0) / 3.0)


def test_a_kit_by_volume_has_its_mass() -> None:
    kit = mixed(replace(resin(), kit_mass=None, kit_volume=CubicMetre(0.01)))
    assert kit.kit_mass == pytest.approx(0.01 * kit.density)


def _bad(aggregate: Aggregate, **changes: object) -> tuple[Aggregate, ...]:
    return (replace(aggregate, **changes), flour())  # type: ignore[arg-type]  # tests name their fields


def _curve(*points: tuple[float, float]) -> tuple[SievePoint, ...]:
    return tuple(SievePoint(Metre(size), Ratio(passing)) for size, passing in points)


@pytest.mark.parametrize(
    ("aggregates", "key"),
    [
        (_bad(sand(), bulk_density=KilogramPerCubicMetre(2700.0)), "bulk_density"),
        (_bad(sand(), bulk_density=None), "bulk_density"),
        (_bad(sand(), bulk_density=KilogramPerCubicMetre(2640.0)), "bulk_density"),
        (_bad(sand(), bulk_state=None), "bulk_state"),
        (_bad(sand(), bulk_state="kicked"), "bulk_state"),
        (_bad(sand(), moisture=Ratio(-0.01)), "moisture"),
        (_bad(gravel(), smallest=Metre(0.006)), "smallest"),
        (_bad(gravel(), largest=None), "largest"),
        (_bad(sand(), sieve=_curve((1e-3, 0.4), (5e-4, 0.6))), "sieve"),
        (_bad(sand(), sieve=_curve((1e-3, 1.0), (1e-3, 0.6))), "sieve"),
        (_bad(sand(), sieve=_curve((1e-3, 0.8), (5e-4, 0.0))), "largest"),
        ((), "aggregates"),
    ],
)  # fmt: skip
def test_bad_aggregates_are_named(aggregates: tuple[Aggregate, ...], key: str) -> None:
    with pytest.raises(NotStated) as caught:
        mix_of(aggregates=aggregates)
    assert any(path.endswith(key) for path in caught.value.missing)


@pytest.mark.parametrize(
    ("field", "value", "key"),
    [("ratio_by", None, "ratio_by"), ("ratio_by", "weight", "ratio_by"), ("ratio", 0.0, "ratio"),
     ("hardener_density", None, "hardener_density")],
)  # fmt: skip
def test_a_resin_that_cant_be_mixed_is_named(field: str, value: object, key: str) -> None:
    with pytest.raises(NotStated) as caught:
        mix_of(resin=replace(resin(), **{field: value}))  # type: ignore[arg-type]  # tests name their fields
    assert caught.value.missing == (f"resins.casting.{key}",)


def test_no_resin_at_all_is_named() -> None:
    with pytest.raises(NotStated) as caught:
        mix_of(resin=None)
    assert caught.value.missing == ("columns.square.pour.resin",)


def test_two_currencies_have_no_cost_and_no_cheapest_blend() -> None:
    abroad = (sand(), replace(flour(), price=Price(1.0, 1.0, 1.0, "USD", "bag")))
    made = mix_of(aggregates=abroad)
    assert made.used.cost is None
    assert made.used.likely == mix_of(aggregates=(sand(), flour())).used.likely
    with pytest.raises(NotStated, match="one currency"):
        mix_of(aggregates=abroad, objective="cost")


def test_a_kit_of_nothing_is_named() -> None:
    with pytest.raises(NotStated, match="must be above zero") as caught:
        items_of(resin=replace(resin(), kit_mass=Kilogram(0.0)))
    assert caught.value.missing == ("resins.casting.kit_mass",)


def test_the_grading_curve_rises_from_nothing_to_all() -> None:
    curve = mix_of().best.curve
    assert curve[0].passing == pytest.approx(0.0, abs=1e-9)
    assert curve[-1].passing == pytest.approx(1.0)
    assert all(a.passing <= b.passing + 1e-12 for a, b in pairwise(curve))
