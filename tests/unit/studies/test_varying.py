"""What a study varies, as people write it."""

import pytest

from orthostat.base.problems import DocumentError
from orthostat.studies import MOST, axes_of
from orthostat.studies.varying import combinations


def test_a_range_and_a_list_of_values() -> None:
    height, plate = axes_of(["height = 500 mm to 700 mm in 5", "body.plate=20 mm, 1 in"])
    assert height.path == ("height",)
    assert height.values == ("500 mm", "550 mm", "600 mm", "650 mm", "700 mm")
    assert (plate.key, plate.values) == ("body.plate", ("20 mm", "1 in"))
    assert list(combinations((height, plate)))[:3] == [
        ("500 mm", "20 mm"), ("500 mm", "1 in"), ("550 mm", "20 mm"),
    ]  # fmt: skip


def test_items_of_lists_and_bare_numbers() -> None:
    (tube,) = axes_of(["tubes[0].outside = 100 to 120 in 3"])
    assert tube.path == ("tubes", 0, "outside")
    assert tube.values == (100.0, 110.0, 120.0)
    assert axes_of(["body.bonded = true, false"])[0].values == (True, False)


WRONG = [
    "height",
    "body.plat = 20 mm",
    "lid.thickness = 20 mm to 10 mm in 3",
    "height = 1 mm to 2 in in 3",
    "height = 450 mm to",
    "height = , 3",
    "hei ght = 3 mm",
    "height = high to low in 3",
    "stations.cuts[0].depth = 1 mm, 2 mm",
]


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(DocumentError) as told:
        axes_of(WRONG)
    said = [problem.sentence() for problem in told.value.problems]
    assert len(said) == 9
    for part, sentence in zip(
        ("KEY = VALUES", "did you mean `plate`?", "rises", "one unit", "half a range", "empty", "not a key",
         "from number to number", "allowed: `stations[0].cuts` for the first"), said, strict=True,
    ):  # fmt: skip
        assert part in sentence


def test_what_is_varied_twice_too_often_or_not_at_all() -> None:
    with pytest.raises(DocumentError, match="twice"):
        axes_of(["height = 1 mm, 2 mm", "height = 3 mm"])
    with pytest.raises(DocumentError, match="nothing is varied"):
        axes_of([])
    with pytest.raises(DocumentError, match=f"up to {MOST}"):
        axes_of(["height = 500 mm to 700 mm in 100", "body.plate = 10 mm to 30 mm in 100"])
