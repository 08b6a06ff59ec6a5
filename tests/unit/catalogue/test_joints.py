"""Friction, tightening, embedding and cutting constants."""

import pytest

from orthostat.base.dimensions import Metre
from orthostat.catalogue import (
    UnknownRow,
    cut_material,
    embedding,
    friction,
    material_row,
    nut_factor,
    table,
    thread_friction,
    tightening_method,
)


def test_friction_does_not_care_for_the_order_of_the_pair() -> None:
    assert friction(("grey iron", "aluminium"), "wet") is friction(("aluminium", "grey iron"), "wet")
    assert friction(("steel", "steel"), "dry").pair == ("steel", "steel")


def test_oil_and_coolant_are_wet() -> None:
    assert friction(("steel", "grey iron"), "oiled") is friction(("steel", "grey iron"), "wet")


def test_an_unknown_pair_or_condition_says_what_there_is() -> None:
    with pytest.raises(UnknownRow, match="steel on grey iron, dry"):
        friction(("steel", "grey iron"), "frozen")
    with pytest.raises(UnknownRow, match="steel"):
        friction(("steel", "butter"), "dry")


@pytest.mark.parametrize("name", ["friction", "thread_friction"])
def test_friction_ranges_are_in_order(name: str) -> None:
    for row in table(name):
        assert 0 < row.low <= row.likely <= row.high < 1, row.name


def test_wet_is_never_better_than_dry() -> None:
    for row in table("friction"):
        if row.condition == "wet":
            dry = friction(row.pair, "dry")
            assert row.low <= dry.low
            assert row.likely < dry.likely


def test_every_pair_is_of_families_that_materials_have() -> None:
    families = {row.family for row in table("materials")}
    for row in table("friction"):
        assert set(row.pair) <= families
    assert material_row("6061").family == "aluminium"


@pytest.mark.parametrize(
    ("name", "row"),
    [("torque wrench", "torque wrench"), ("stretch", "stretch measured"), ("hand tight", "by hand")],
)
def test_methods_are_found_by_other_names(name: str, row: str) -> None:
    method = tightening_method(name)
    assert method.name == row
    assert 1 < method.scatter_low <= method.scatter <= method.scatter_high


def test_lubrication_leads_to_its_class() -> None:
    assert thread_friction("oiled").name == "B"
    assert nut_factor("oiled").nut_factor == 0.18


def test_embedding_grows_with_roughness_and_ends_where_the_table_ends() -> None:
    smooth, rough = embedding(Metre(8e-6)), embedding(Metre(20e-6))
    assert smooth.bearing < rough.bearing
    assert embedding(Metre(8e-6), "transverse").bearing >= smooth.bearing
    with pytest.raises(UnknownRow, match="Rz 200"):
        embedding(Metre(200e-6))
    with pytest.raises(UnknownRow, match="twisting"):
        embedding(Metre(8e-6), "twisting")


def test_cutting_constants_come_with_their_source() -> None:
    cut = cut_material("6061")
    assert cut.name == "aluminium, wrought, age-hardened"
    assert (cut.kc11, cut.mc) == (800e6, 0.25)
    assert cut.source == "turning-catalogue-p558, group 22"
    with pytest.raises(UnknownRow, match="titanium"):
        cut_material("titanum")
