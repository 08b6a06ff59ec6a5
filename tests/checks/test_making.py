"""Findings of making and cost, each broken on purpose and mended."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import orthostat
from orthostat.base.findings import Finding, Verdict

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def shop_with(
    folder: Path, *changes: tuple[str, str], column_changes: tuple[tuple[str, str], ...] = ()
) -> Any:
    """Copperfield with text replaced; the evaluation of its three-sided column."""
    (folder / "columns").mkdir(parents=True)
    for source, target, edits in (
        (EXAMPLES / "copperfield" / "shop.toml", folder / "shop.toml", changes),
        (
            EXAMPLES / "copperfield" / "columns" / "tern.toml",
            folder / "columns" / "tern.toml",
            column_changes,
        ),
    ):
        text = source.read_text("utf-8")
        for old, new in edits:
            assert old in text, old
            text = text.replace(old, new)
        target.write_text(text, encoding="utf-8")
    return orthostat.open_shop(folder).column("tern").evaluate()


def one(evaluation: Any, slug: str) -> Finding:
    found: list[Finding] = [f for f in evaluation.findings(only=slug.partition(".")[0]) if f.slug == slug]
    assert len(found) == 1
    return found[0]


def test_a_piece_larger_than_the_plate_sold_fails_by_its_share(tmp_path: Path) -> None:
    small = ("width = 48\nlength = 96", "width = 16\nlength = 16")
    found = one(shop_with(tmp_path, small), "making.stock_size")
    assert found.verdict is Verdict.FAILS
    assert found.worst.subject == "plates 1 to 3"
    # 17 in and 1/8 in at each end, of 16 in.
    assert found.worst.value == pytest.approx(17.25 / 16.0)


def test_no_stock_of_a_material_is_unknown(tmp_path: Path) -> None:
    other = ('"hollow"\nmaterial = "A36"', '"hollow"\nmaterial = "steel C45"')
    found = one(shop_with(tmp_path, column_changes=(other,)), "making.stock_size")
    assert found.verdict is Verdict.UNKNOWN
    assert "steel C45" in found.worst.why


def test_the_edge_distance_is_from_centre_to_edge_over_the_thread(tmp_path: Path) -> None:
    # A pitch of 9.5 in leaves (10.5 - 9.5)/2 = 0.5 in beside a 1/2 in thread.
    near = ("pitch = [3, 4]", 'pitch = ["9 1/2", 4]')
    found = one(shop_with(tmp_path, column_changes=(near,)), "making.edge_distance")
    assert found.verdict is Verdict.FAILS
    assert found.worst.value == pytest.approx(1.0)
    assert one(shop_with(tmp_path / "b"), "making.edge_distance").verdict is Verdict.HOLDS


def test_a_tap_of_another_thread_leaves_the_tool_missing(tmp_path: Path) -> None:
    other = ('thread = "1/2-13 UNC"\ncutting_length', 'thread = "1/2-20 UNF"\ncutting_length')
    assert one(shop_with(tmp_path / "a", other), "making.hole_tool").verdict is Verdict.FAILS
    assert one(shop_with(tmp_path / "b"), "making.hole_tool").verdict is Verdict.HOLDS


def test_prices_grow_old_with_the_day_of_the_cost(tmp_path: Path) -> None:
    later = ("as_of = 2026-11-20", "as_of = 2027-02-12")  # 100 days after 2026-11-04
    found = one(shop_with(tmp_path, later), "cost.price_age")
    assert found.verdict is Verdict.FAILS
    ages = {row.subject: row.value for row in found.rows}
    assert ages["nut 5/8-11 UNC B7"] == pytest.approx(100 * 86_400.0)


def test_a_price_without_a_date_is_not_fresh(tmp_path: Path) -> None:
    undated = ('{ likely = "1.10 USD/piece", date = 2026-11-04 }', '"1.10 USD/piece"')
    found = one(shop_with(tmp_path, undated), "cost.price_age")
    assert found.verdict is Verdict.UNKNOWN
    assert "no date" in found.worst.why


def test_making_dearer_than_buying_fails(tmp_path: Path) -> None:
    cheap = (
        'low = "4900 USD", likely = "5400 USD", high = "6100 USD"',
        'low = "400 USD", likely = "450 USD", high = "500 USD"',
    )
    soon = ('lead_time = "56 day"', 'lead_time = "5 day"')
    found = one(shop_with(tmp_path, cheap, soon), "cost.making_cheaper")
    assert found.verdict is Verdict.FAILS
    assert "0 of 100 draws" in found.worst.why


def test_no_quotes_no_question(tmp_path: Path) -> None:
    evaluation = shop_with(tmp_path, ('[quotes."iron column, catalog size"]', '[quotes."other"]'))
    assert one(evaluation, "cost.making_cheaper").worst.subject == "other"
