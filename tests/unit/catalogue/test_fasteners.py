"""Threads, classes, heads and washers: found by the names people use, refused with the nearest."""

import pytest

from orthostat.base.dimensions import Metre
from orthostat.catalogue import (
    UnknownRow,
    dowel,
    dowel_of,
    head,
    nut,
    property_class,
    table,
    thread,
    washer,
    washers_for,
)
from orthostat.catalogue.fasteners import (
    DOWELS,
    HEADS,
    NUTS,
    PROPERTY_CLASSES,
    THREADS,
    WASHERS,
    PropertyClass,
    Thread,
)
from orthostat.formulas.threads import thread_height_share


@pytest.mark.parametrize(
    ("written", "row"),
    [
        ("M12", "M12"),
        ("m12", "M12"),
        ("M12x1.75", "M12"),
        ("M12 x 1.75", "M12"),
        ("M12×1.25", "M12x1.25"),
        ("1/2-13 UNC", "1/2-13 UNC"),
        ("1/2-13", "1/2-13 UNC"),
        ("1/2-20", "1/2-20 UNF"),
        ("1 1/4-7 UNC", "1-1/4-7 UNC"),
        ("10-24", "#10-24 UNC"),
    ],
)
def test_a_thread_is_found_as_people_write_it(written: str, row: str) -> None:
    assert thread(written).name == row


@pytest.mark.parametrize(("written", "near"), [("M13", "M12"), ("1/2-12", "1/2-13 UNC"), ("M12x1.7", "M12")])
def test_an_unknown_thread_says_the_nearest(written: str, near: str) -> None:
    with pytest.raises(UnknownRow) as caught:
        thread(written)
    assert near in caught.value.nearest


@pytest.mark.parametrize("row", tuple(THREADS), ids=lambda row: row.name)
def test_holes_of_every_thread_are_in_order(row: Thread) -> None:
    assert row.tapping_drill is not None
    assert row.external_minor_diameter < row.internal_minor_diameter < row.tapping_drill < row.nominal
    assert 0.75 < thread_height_share(nominal=row.nominal, pitch=row.pitch, hole=row.tapping_drill) < 1
    clearances = (row.clearance_close, row.clearance_normal, row.clearance_loose)
    if None not in clearances:
        assert [row.nominal, *clearances] == sorted([row.nominal, *clearances])  # type: ignore[type-var]


@pytest.mark.parametrize("row", tuple(PROPERTY_CLASSES), ids=lambda row: row.name)
def test_strengths_are_in_order_and_bands_meet(row: PropertyClass) -> None:
    end = 0.0
    for band in row.bands:
        assert band.over == end
        end = band.up_to
        assert band.yield_strength < band.tensile_strength
        assert band.proof is None or band.proof < band.yield_strength


def test_the_band_follows_the_diameter() -> None:
    strong = property_class("8.8")
    for diameter, proof in ((0.016, 580e6), (0.0161, 600e6), (0.039, 600e6)):
        band = strong.band(Metre(diameter))
        assert band is not None
        assert band.proof == proof
    assert strong.band(Metre(0.048)) is None
    b7 = property_class("B7").band(Metre(0.0254))
    assert b7 is not None
    assert b7.proof is None


def test_every_class_that_a_nut_carries_is_in_the_catalogue_and_weaker() -> None:
    for row in NUTS:
        for carried in row.carries:
            property_class(carried)
    assert "12.9" not in nut("nut 8").carries


def test_heads_and_washers_are_found_for_a_thread() -> None:
    assert head("M12x1.25").across_flats == pytest.approx(0.018)
    assert head("1/2-13 UNC").across_flats == pytest.approx(0.75 * 0.0254)
    assert washer("DIN 6340 M16").thickness == pytest.approx(0.006)
    assert [row.standard for row in washers_for("M16")] == ["ISO 7089", "DIN 6340"]
    assert [row.standard for row in washers_for("5/8-11 UNC")] == ["ASTM F436"]
    with pytest.raises(UnknownRow):
        head("M7")
    with pytest.raises(UnknownRow):
        head("M99")


def test_washers_clear_their_thread_and_are_wider_than_their_hole() -> None:
    for row in WASHERS:
        assert row.nominal < row.inside < row.outside, row.name


def test_heads_stand_wider_than_their_thread() -> None:
    for row in HEADS:
        assert row.nominal < row.across_flats
        assert row.bearing_diameter is None or row.nominal < row.bearing_diameter < row.across_flats


def test_rows_are_made_once() -> None:
    assert thread("M12") is thread("m12x1.75")
    assert table("threads").row("M12") is thread("M12")


def test_dowels_are_found_by_name_and_diameter_and_break_at_a_steady_stress() -> None:
    assert dowel("12 mm") is dowel_of(Metre(0.012))
    assert dowel("1/2 in").single_shear == pytest.approx(25_500 * 4.448, rel=1e-3)
    with pytest.raises(UnknownRow, match="12 mm"):
        dowel_of(Metre(0.0125))
    for row in DOWELS:
        assert row.diameter < row.least_diameter < row.greatest_diameter
        assert row.single_shear / (0.7854 * row.diameter**2) == pytest.approx(0.97e9, rel=0.1), row.name
