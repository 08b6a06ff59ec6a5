"""Materials: other names, ranges that hold the likely value, sources by property."""

import pytest

from orthostat.catalogue import UnknownRow, cut_material, material, material_row, names
from orthostat.catalogue.materials import MATERIALS, MaterialRow


@pytest.mark.parametrize(
    ("name", "row"),
    [
        ("6061-t6", "aluminium 6061-T651"),
        ("EN-GJL-250", "grey iron EN-GJL-250"),
        ("Epoxy Granite", "mineral casting, shop mix"),
        ("a36", "steel A36"),
    ],
)
def test_other_names_find_the_row(name: str, row: str) -> None:
    assert material(name).name == row


def test_an_unknown_material_says_the_nearest() -> None:
    with pytest.raises(UnknownRow, match="6061-T651"):
        material("aluminium 6016")


@pytest.mark.parametrize("row", tuple(MATERIALS), ids=lambda row: row.name)
def test_ranges_hold_the_likely_value(row: MaterialRow) -> None:
    for name, _ in row.ranges:
        found = row.range_of(name)
        assert found is not None
        assert 0 < found.low <= found.likely <= found.high


@pytest.mark.parametrize("row", tuple(MATERIALS), ids=lambda row: row.name)
def test_values_are_physical(row: MaterialRow) -> None:
    assert row.poissons_ratio is None or 0 < row.poissons_ratio < 0.5
    if row.yield_strength is not None and row.tensile_strength is not None:
        assert row.yield_strength < row.tensile_strength
    if row.shear_strength is not None and row.tensile_strength is not None and row.family != "grey iron":
        assert row.shear_strength < row.tensile_strength


def test_a_property_has_its_own_source_and_mark() -> None:
    row = material_row("6061-T6")
    assert row.source_of("density") == "matweb, aluminum 6061-T6 and 6061-T651"
    assert row.source_of("yield_strength") == "astm-b209, T651 plate 0.25 to 4 in, from memory"
    assert material_row("rubber").range_of("yield_strength") is None


METALS = ("aluminium", "steel", "grey iron", "ductile iron")


@pytest.mark.parametrize("row", [row for row in MATERIALS if row.family in METALS], ids=lambda row: row.name)
def test_every_metal_can_be_cut_under_any_of_its_names(row: MaterialRow) -> None:
    named = {cut_material(name).name for name in (row.name, *row.names)}
    assert named <= set(names("cut_materials"))


def test_what_has_no_cutting_constants_is_unknown() -> None:
    with pytest.raises(UnknownRow):
        cut_material("basalt")
