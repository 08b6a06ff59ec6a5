"""Limits and fits by ISO 286-1: what must hold for every class and size."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orthostat.base.dimensions import Metre
from orthostat.catalogue import UnknownRow, deviations, fit, is_hole_class

SIZES = st.floats(min_value=1e-3, max_value=0.25)
GRADES = st.integers(min_value=5, max_value=11)
LETTERS = st.sampled_from(["d", "e", "f", "g", "h", "js", "m", "n", "p"])


@given(LETTERS, GRADES, SIZES)
def test_hole_and_shaft_of_one_grade_are_equally_wide(letter: str, grade: int, size: float) -> None:
    shaft = deviations(f"{letter}{grade}", Metre(size))
    hole = deviations(f"{letter.upper()}{grade}", Metre(size))
    assert hole.upper - hole.lower == pytest.approx(shaft.upper - shaft.lower)
    assert shaft.least < shaft.greatest


@given(st.sampled_from(["d", "e", "f", "g", "h"]), GRADES, SIZES)
def test_clearance_letters_mirror(letter: str, grade: int, size: float) -> None:
    shaft = deviations(f"{letter}{grade}", Metre(size))
    hole = deviations(f"{letter.upper()}{grade}", Metre(size))
    assert hole.lower == pytest.approx(-shaft.upper)


@given(st.sampled_from(["k", "m", "n"]), st.integers(min_value=6, max_value=7), st.floats(0.0031, 0.25))
def test_the_special_rule_makes_hole_basis_and_shaft_basis_fits_the_same(
    letter: str, grade: int, size: float
) -> None:
    hole_basis = fit(f"H{grade + 1}/{letter}{grade}", Metre(size))
    shaft_basis = fit(f"{letter.upper()}{grade + 1}/h{grade}", Metre(size))
    assert shaft_basis.least_clearance == pytest.approx(hole_basis.least_clearance)
    assert shaft_basis.greatest_clearance == pytest.approx(hole_basis.greatest_clearance)


@given(GRADES, SIZES)
def test_coarser_grades_are_wider(grade: int, size: float) -> None:
    if grade < 11:
        fine, coarse = deviations(f"h{grade}", Metre(size)), deviations(f"h{grade + 1}", Metre(size))
        assert coarse.lower < fine.lower


@pytest.mark.parametrize(
    ("symbol", "kind"),
    [("H7/g6", "clearance"), ("H7/h6", "clearance"), ("H7/m6", "transition"), ("H7/p6", "interference")],
)
def test_the_kind_of_fit(symbol: str, kind: str) -> None:
    assert fit(symbol, Metre(12e-3)).kind == kind


@pytest.mark.parametrize(
    "symbol", ["H7m6", "m6/H7", "H7/", "H7/z6", "H7/m4", "H7/m6/m6", "hello", "K9/h8", "Js7/h6"]
)
def test_what_is_not_a_fit_of_the_table_is_refused(symbol: str) -> None:
    with pytest.raises(UnknownRow):
        fit(symbol, Metre(12e-3))


@pytest.mark.parametrize("size", [0.0, -0.01, 0.3])
def test_sizes_outside_the_table_are_refused(size: float) -> None:
    with pytest.raises(UnknownRow, match="mm"):
        deviations("H7", Metre(size))


@pytest.mark.parametrize(
    ("symbol", "known"),
    [
        ("H7", True),
        ("H13", True),
        ("ZC18", True),
        ("JS01", True),
        ("H99", False),
        ("h7", False),
        ("I7", False),
    ],
)  # fmt: skip
def test_classes_of_holes_are_a_letter_and_a_grade_of_the_standard(symbol: str, *, known: bool) -> None:
    """ISO 286-1: no letters I, L, O, Q, W; grades 01, 0 and 1 to 18."""
    assert is_hole_class(symbol) is known


def test_js_is_split_evenly_and_k_is_zero_in_coarse_grades() -> None:
    js = deviations("js6", Metre(12e-3))
    assert js.upper == -js.lower == pytest.approx(5.5e-6)
    assert deviations("k8", Metre(12e-3)).lower == 0.0
    assert deviations("N9", Metre(12e-3)).upper == 0.0
