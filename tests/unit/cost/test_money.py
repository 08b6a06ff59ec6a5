"""Money: sums against a few independent lines, ranges against closed forms, gaps named."""

from __future__ import annotations

import re
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

import orthostat
from orthostat.analyses.cost import Amount, Cost, Line, NoRate
from orthostat.analyses.cost.amounts import draw, in_own_currency
from orthostat.analyses.cost.nesting import bars_needed, sheets_needed
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated
from orthostat.base.problems import DocumentError
from orthostat.model.buying import Buying, Rates
from orthostat.presentation.orders import cut_list

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


def changed(folder: Path, *changes: tuple[str, str], shop: str = "saltmarsh", column: str = "groyne") -> Any:
    """A copy of an example shop with text replaced; the evaluation of one column."""
    (folder / "columns").mkdir(parents=True, exist_ok=True)
    text = (EXAMPLES / shop / "shop.toml").read_text("utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    for path in (EXAMPLES / shop / "columns").glob("*.toml"):
        (folder / "columns" / path.name).write_text(path.read_text("utf-8"), encoding="utf-8")
    return orthostat.open_shop(folder).column(column).evaluate()


def tern() -> Cost:
    cost: Cost = orthostat.open_shop(EXAMPLES / "copperfield").column("tern").evaluate().cost
    return cost


def test_plate_cost_by_hand() -> None:
    """Three plates 17 × 10.5 × 3/4 in: sawn 1/8 in larger all round, steel of the catalogue, 0.92 USD/lb."""
    cost = tern()
    (line,) = (each for each in cost.line_group("plate") if each.name.startswith("plates"))
    inch = 0.0254
    volume = 3 * (17.25 * 10.75 * 0.75) * inch**3
    pounds = volume * 7850.0 / 0.45359237
    assert line.cost is not None
    assert line.cost.likely == pytest.approx(pounds * 0.92, rel=1e-12)
    assert line.cost.low == pytest.approx(pounds * 0.78, rel=1e-12)


def test_labour_by_hand() -> None:
    """18 tapped holes, 30 s each, half a person's time at 52 USD/h."""
    (line,) = (each for each in tern().line_group("labour") if each.name == "tap a hole")
    assert line.cost is not None
    assert line.cost.likely == pytest.approx(18 * 30.0 / 3600.0 * 0.5 * 52.0)


def test_sums_are_the_sums_of_their_lines() -> None:
    cost = tern()
    for end in ("low", "likely", "high"):
        whole = 0.0
        for line in cost.lines:
            whole += getattr(line.cost, end)
        assert getattr(cost.known, end) == pytest.approx(whole)
        assert sum(getattr(each, end) for _, each in cost.groups) == pytest.approx(whole)


def test_planning_is_shared_by_the_batch() -> None:
    (line,) = (each for each in tern().line_group("labour") if each.name == "plan and programme")
    assert line.quantity == pytest.approx(4.0 / 2)


def test_draws_of_a_sum_agree_with_the_closed_form() -> None:
    """Mean and variance of a sum of independent triangular variates are the sums of theirs."""
    amounts = [Amount(1.0, 2.0, 6.0), Amount(10.0, 10.0, 13.0), Amount(0.0, 4.0, 4.0), Amount(5.0, 5.0, 5.0)]
    lines = [Line("g", str(i), 1.0, "piece", each, f"key {i}") for i, each in enumerate(amounts)]
    count = 200_000
    drawn = draw(lines, count, 7)
    mean, variance = sum(a.mean for a in amounts), sum(a.variance for a in amounts)
    assert drawn.mean() == pytest.approx(mean, abs=4.0 * sqrt(variance / count))
    assert drawn.var() == pytest.approx(variance, rel=0.015)  # four standard errors of a variance


def test_lines_of_one_key_move_together() -> None:
    amount = Amount(1.0, 2.0, 6.0)
    lines = [Line("g", str(i), 1.0, "piece", amount, "one quote") for i in range(2)]
    assert draw(lines, 100_000, 3).var() == pytest.approx(4.0 * amount.variance, rel=0.02)


@given(
    low=st.floats(0.0, 100.0),
    rise=st.floats(0.0, 50.0),
    fall=st.floats(0.0, 50.0),
    share=st.floats(0.001, 0.999),
)
def test_the_quantile_is_that_of_a_general_purpose_library(
    low: float, rise: float, fall: float, share: float
) -> None:
    if rise + fall < 1e-6:
        return
    amount = Amount(low, low + rise, low + rise + fall)
    wanted = stats.triang.ppf(share, rise / (rise + fall), loc=low, scale=rise + fall)
    assert amount.at(np.array([share]))[0] == pytest.approx(wanted, abs=1e-6)


def test_the_same_seed_gives_the_same_chance() -> None:
    assert tern().offers[0].making_cheaper == tern().offers[0].making_cheaper
    assert tern().spread == tern().spread


def test_a_failed_pour_costs_its_chance_of_what_is_lost(tmp_path: Path) -> None:
    cost: Cost = changed(tmp_path, column="harbour").cost
    lost = sum(line.cost.likely for line in cost.lines if line.lost_with_pour and line.cost)
    (risk,) = cost.line_group("failed pour")
    assert risk.cost is not None
    assert risk.cost.likely == pytest.approx(0.05 * lost)
    assert lost > 0.0


def test_a_missing_price_is_named_and_the_rest_is_summed(tmp_path: Path) -> None:
    evaluation = changed(
        tmp_path,
        ('thread = "M16"\nprice = { likely = "0.60 EUR/piece", date = 2026-09-18 }', 'thread = "M16"'),
    )
    cost: Cost = evaluation.cost
    assert cost.missing == ('stock."nut M16".price',)
    assert cost.known.likely > 1000.0
    with pytest.raises(NotStated, match="nut M16"):
        _ = cost.making
    (found,) = (f for f in evaluation.findings(only="cost") if f.slug == "cost.making_cheaper")
    assert found.verdict.value == "unknown"
    assert "nut M16" in found.worst.why


def test_another_currency_needs_a_rate(tmp_path: Path) -> None:
    swap = ('likely = "0.60 EUR/piece"', 'likely = "0.60 CHF/piece"')
    without: Cost = changed(tmp_path / "a", swap).cost
    assert without.missing == ("rates.exchange.CHF",)
    given_rate = ("as_of = 2026-11-20", "exchange = { CHF = 1.05 }\nas_of = 2026-11-20")
    cost: Cost = changed(tmp_path / "b", swap, given_rate).cost
    (nut,) = (line for line in cost.line_group("fasteners") if line.name.startswith("nut"))
    assert nut.cost is not None
    assert nut.cost.likely == pytest.approx(5 * 0.60 * 1.05)


def test_currencies_without_any_statement_are_refused() -> None:
    with pytest.raises(NoRate, match="currency"):
        in_own_currency(Buying(rates=Rates()), 1.0, "EUR")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('form = "plate"\nmaterial = "aluminium 6082"\nthickness = 25\n', 'form = "plate"\nmaterial = "aluminium 6082"\n', "thickness"),
        ('labour = "48 EUR/h"', 'labour = "48 EUR/h"\ntimes = { "tap a hole" = "-3 s" }', "below zero|tap a hole"),
        ('labour = "48 EUR/h"', 'labour = "48 EUR/h"\ntimes = { "tap a hol" = "3 s" }', "tap a hole"),
        ('likely = "7.90 EUR/kg", high = "9.60 EUR/kg"', 'likely = "7.90 EUR/kg", high = "5.60 EUR/kg"', "rise"),
        ('likely = "7.90 EUR/kg", high = "9.60 EUR/kg"', 'likely = "7.90 EUR/kg", high = "9.60 USD/kg"', "currenc"),
    ],
)  # fmt: skip
def test_faults_of_money_are_named(tmp_path: Path, old: str, new: str, told: str) -> None:
    with pytest.raises(DocumentError) as caught:
        changed(tmp_path, (old, new))
    assert re.search(told, "\n".join(problem.sentence() for problem in caught.value.problems))


def test_square_tube_is_bought_as_square_tube(tmp_path: Path) -> None:
    """Its area is that of the outer square less the inner one, 8 mm narrower."""
    sold = """
[stock."square pipe"]
form = "tube"
material = "PVC"
width = 100
wall = 4
length = 2000
price = { likely = "3 EUR/kg", date = 2026-09-18 }

[stock."pipe 120 x 4"]"""
    copied = changed(tmp_path, ('\n[stock."pipe 120 x 4"]', sold), column="harbour")
    path = tmp_path / "columns" / "harbour.toml"
    text = path.read_text("utf-8").replace("outside = 120\nwall", "width = 100\nwall")
    path.write_text(text, encoding="utf-8")
    cost = orthostat.open_shop(tmp_path).column("harbour").evaluate().cost
    (line,) = [each for each in cost.lines if each.name == "square pipe"]
    (blank,) = [each for each in cost.blanks if each.stock is not None and each.stock.name == "square pipe"]
    area = 0.1**2 - 0.092**2
    assert blank.part.material is not None
    mass = area * blank.length * (blank.part.material.density or 0.0)
    assert blank.mass == pytest.approx(mass)
    assert line.cost is not None
    # The saw's kerf is paid for too: 3 mm in some 600.
    assert line.cost.likely == pytest.approx(3.0 * mass, rel=0.01)
    assert "square pipe" not in {each.name for each in copied.cost.lines}
    assert "100 mm × 100 mm × " in str(cut_list(cost, "metric"))


def test_a_square_tube_that_nobody_sells_is_named_by_its_size(tmp_path: Path) -> None:
    changed(tmp_path, column="harbour")
    path = tmp_path / "columns" / "harbour.toml"
    text = path.read_text("utf-8").replace("outside = 120\nwall", "width = 90\nwall")
    path.write_text(text, encoding="utf-8")
    cost = orthostat.open_shop(tmp_path).column("harbour").evaluate().cost
    missing = [key for line in cost.lines for key in line.missing]
    assert 'stock."tube PVC-U 90 mm x 90 mm x 4 mm"' in missing


def test_a_tube_that_is_too_short_is_named_as_the_nearest(tmp_path: Path) -> None:
    """Harbour's void tube is longer than 300 mm."""
    head, tail = '[stock."pipe 120 x 4"]', "\nlength = "
    text = (EXAMPLES / "saltmarsh" / "shop.toml").read_text("utf-8")
    said = text[text.index(head) :]
    stated = said[: said.index("\n", said.index(tail) + 1)]
    short = stated[: stated.index(tail)] + tail + "300"
    cost = changed(tmp_path, (stated, short), column="harbour").cost
    (line,) = (each for each in cost.lines if each.missing and each.group == "tube and sleeves")
    assert line.cost is None
    assert line.reason.endswith("in stock is long enough; pipe 120 x 4 comes nearest")


def test_bars_are_filled_first_fit() -> None:
    # Three of 1.9 m do not share a 3 m bar; four of 0.9 m go one beside each and one more on a new bar.
    pieces = [(Metre(1.9), 3), (Metre(0.9), 4)]
    assert bars_needed(pieces, bar=Metre(3.0), kerf=Metre(0.003)) == 4
    assert bars_needed([(Metre(1.0), 3)], bar=Metre(3.0), kerf=Metre(0.0)) == 1
    assert bars_needed([(Metre(1.0), 3)], bar=Metre(3.0), kerf=Metre(0.003)) == 2


def test_sheets_hold_what_a_saw_can_cut() -> None:
    whole = {"length": Metre(2.0), "width": Metre(1.0), "kerf": Metre(0.0)}
    assert sheets_needed([(Metre(1.0), Metre(0.5), 4)], **whole) == 1
    assert sheets_needed([(Metre(1.0), Metre(0.5), 5)], **whole) == 2
    assert (
        sheets_needed([(Metre(0.5), Metre(1.0), 4)], length=Metre(2.0), width=Metre(1.0), kerf=Metre(0.003))
        == 2
    )


@given(st.lists(st.tuples(st.floats(0.05, 1.0), st.floats(0.05, 1.0)), min_size=1, max_size=25))
def test_no_fewer_sheets_than_the_area_asks_for(sizes: list[tuple[float, float]]) -> None:
    needed = sheets_needed(
        [(Metre(a), Metre(b), 1) for a, b in sizes], length=Metre(2.0), width=Metre(1.0), kerf=Metre(0.0)
    )
    assert needed >= sum(a * b for a, b in sizes) / 2.0 - 1e-9
    assert needed <= len(sizes)


def test_cost_grows_no_faster_than_its_pieces() -> None:
    """The bill has a line a kind of piece, whatever their count."""
    cost = tern()
    assert len(cost.line_group("plate")) == 2


def test_material_of_the_demo_column_is_a_part_of_a_bought_iron_one() -> None:
    """Common practice, no source: a quarter to a half before labour. The demo's prices are invented."""
    cost: Cost = orthostat.open_shop(EXAMPLES / "saltmarsh").column("harbour").evaluate().cost
    bought = sum(
        cost_of(line)
        for line in cost.lines
        if line.unit != "h" and line.group not in ("waiting", "failed pour")
    )
    iron = next(offer.quote.price.likely for offer in cost.offers if "iron" in offer.quote.name)
    assert 0.25 <= bought / iron <= 0.5


def cost_of(line: Line) -> float:
    return line.cost.likely if line.cost is not None else 0.0
