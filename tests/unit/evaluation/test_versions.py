"""The same envelope made otherwise: its weight, its cost and how that is known, and its findings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import orthostat
from orthostat.analyses.cost.otherwise import cost_of_buying
from orthostat.analyses.stiffness import Compared
from orthostat.base.dimensions import Kilogram
from orthostat.base.findings import Verdict
from orthostat.catalogue import material
from orthostat.catalogue.bought import bought
from orthostat.evaluation import Evaluation
from orthostat.evaluation.versions import Beside, Version
from orthostat.model.bodies import COLUMN_ROLES
from orthostat.model.buying import Buying, Quote, Rates
from orthostat.model.prices import Price
from orthostat.presentation.blocks import Table, VerdictMark
from orthostat.presentation.chapters import chapters_of

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


@cache
def design(shop: str, column: str) -> Evaluation:
    return orthostat.open_shop(EXAMPLES / shop).column(column).evaluate()


def versions(shop: str = "saltmarsh", column: str = "harbour") -> dict[str, Version]:
    return {version.name: version for version in design(shop, column).versions}


WAYS = (
    "this design", "cored grey iron", "cored grey iron, open top", "welded steel", "welded steel, open top",
    "hollow aluminium", "hollow aluminium, open top", "filled aluminium", "filled aluminium, open top",
)  # fmt: skip


def test_the_design_stands_first_then_every_way_with_a_lid_and_without() -> None:
    assert tuple(versions()) == WAYS


def mass_of_the_body(evaluation: Evaluation) -> float:
    """Without studs, nuts and pins."""
    own = evaluation.solids.own
    return sum(piece.mass for piece in own if piece.body.role in COLUMN_ROLES)


@pytest.mark.parametrize("column", ["harbour", "skerry"])
def test_the_weight_that_goes_through_fit_and_hold_is_that_of_the_meshed_body(column: str) -> None:
    own = mass_of_the_body(design("saltmarsh", column))
    loaded = design("saltmarsh", column).solids.loaded.known.total
    for version in versions(column=column).values():
        if version.compared is None or version.solved is None:
            continue
        beside = Beside(version)
        # outlines are rounded to a tenth of a micrometre before they are meshed
        assert mass_of_the_body(beside) == pytest.approx(version.solved.mass, rel=1e-5)
        more = beside.solids.loaded.known.total - loaded
        assert more == pytest.approx(version.solved.mass - own, rel=1e-5, abs=1e-2)


def test_hollow_aluminium_is_the_designs_plates_without_what_belongs_to_the_fill() -> None:
    hollow, ours = versions()["hollow aluminium"]._made, design("saltmarsh", "harbour").cost
    groups = {line.group for line in hollow.lines}
    assert "resin and aggregate" not in groups
    assert "failed pour" not in groups
    assert [line.cost for line in hollow.line_group("plate")] == [
        line.cost for line in ours.line_group("plate")
    ]
    names = {line.name for line in hollow.lines}
    assert not names & {"mix and place", "fit an anchor", "seal and clamp the form"}
    amount = versions()["hollow aluminium"].cost.amount
    assert amount is not None
    assert amount.likely == hollow.making.likely < ours.making.likely


def test_an_open_top_needs_no_lid() -> None:
    closed, opened = (versions()[name]._made for name in ("filled aluminium", "filled aluminium, open top"))
    assert any(part.role.value == "lid" for part in closed.inputs.pieces.parts)
    assert not any(part.role.value == "lid" for part in opened.inputs.pieces.parts)
    assert opened.known.likely < closed.known.likely


def test_a_fill_that_the_design_has_not_is_unknown_in_cost_and_names_the_pour() -> None:
    cost = versions(column="spindrift")["filled aluminium"].cost
    assert cost.amount is None
    assert "columns.spindrift.pour" in cost.missing
    assert cost.at_least is not None
    hollow = versions(column="spindrift")["hollow aluminium"].cost.amount
    assert hollow is not None
    assert cost.at_least > hollow.likely


def test_a_casting_has_no_plates_to_count() -> None:
    cost = versions(column="skerry")["hollow aluminium"].cost
    assert cost.amount is None
    assert "no plates" in cost.how


def quote(name: str, likely: float, of: str | None) -> Quote:
    price = Price(likely, likely, likely, "EUR", "piece")
    return Quote(name, f"quotes.{name}", price, mass=Kilogram(300.0), material=of)


def buying_with(*quotes: Quote, currency: str = "EUR", rates: Rates | None = None) -> Evaluation:
    harbour = design("saltmarsh", "harbour")
    made = Buying(currency, rates or Rates(), (), tuple(quotes), ())
    return Evaluation(harbour.column, harbour.limits, harbour.memory, made)


def bought_iron(*quotes: Quote, buying: Buying | None = None) -> Callable[[], object]:
    evaluation = buying_with(*quotes)
    row = bought("cored grey iron")
    assert row is not None
    return lambda: cost_of_buying(
        evaluation.cost.offers,
        wall=material("grey iron"),
        mass=Kilogram(100.0),
        row=row,
        buying=buying or evaluation.buying,
    )


def test_the_cheapest_quote_of_the_same_family_is_taken_and_one_without_material_is_not() -> None:
    evaluation = buying_with(
        quote("gift", 1.0, None), quote("steel", 2.0, "steel S355"),
        quote("dear", 5000.0, "EN-GJL-300"), quote("cheap", 4000.0, "gray iron"),
    )  # fmt: skip
    iron, steel = (
        next(v for v in evaluation.versions if v.name == name).cost
        for name in ("cored grey iron", "welded steel")
    )
    assert iron.amount is not None
    assert steel.amount is not None
    assert (iron.amount.likely, steel.amount.likely) == (4000.0, 2.0)
    assert "cheap" in iron.how
    assert iron.quoted_mass == 300.0


def test_without_a_quote_it_is_an_estimate_by_mass_and_says_so() -> None:
    row = bought("cored grey iron")
    assert row is not None
    cost = next(v for v in buying_with().versions if v.name == "cored grey iron").cost
    mass = versions()["cored grey iron"].solved
    assert mass is not None
    assert cost.amount is not None
    assert cost.amount.low == pytest.approx(row.low * mass.mass)
    assert cost.amount.high == pytest.approx(row.high * mass.mass)
    assert "estimate" in cost.how
    assert "no source" in cost.how


def test_an_estimate_needs_a_rate_to_the_shops_currency() -> None:
    evaluation = buying_with(currency="USD")
    cost = next(v for v in evaluation.versions if v.name == "welded steel").cost
    assert cost.amount is None
    assert cost.missing == ("rates.exchange.EUR",)
    paid = buying_with(currency="USD", rates=Rates(exchange=(("EUR", 1.1),)))
    known = next(v for v in paid.versions if v.name == "welded steel").cost.amount
    euros = next(v for v in buying_with().versions if v.name == "welded steel").cost.amount
    assert known is not None
    assert euros is not None
    assert known.likely == pytest.approx(1.1 * euros.likely)


def test_every_version_answers_the_questions_asked_side_by_side() -> None:
    asked = {"fit.load", "hold.lift", "stiffness.movement", "stiffness.depth", "stiffness.resonance"}
    for version in versions().values():
        found = {finding.slug: finding for finding in version.findings}
        assert asked <= set(found), version.name
        value = found["fit.load"].worst.value
        assert value is not None
    loads = {
        name: next(f.worst.value for f in version.findings if f.slug == "fit.load")
        for name, version in versions().items()
    }
    masses = {name: v.solved.mass for name, v in versions().items() if v.solved and v.compared}
    assert sorted(masses, key=masses.__getitem__) == sorted(masses, key=lambda name: loads[name] or 0.0)


def test_damping_is_why_a_filled_column_may_cut_deeper_than_a_hollow_one() -> None:
    hollow, filled = (versions()[name].solved for name in ("hollow aluminium", "filled aluminium"))
    assert hollow is not None
    assert filled is not None
    deepest = [min(limit.lowest for limit in s.limits if limit is not None) for s in (hollow, filled)]
    assert deepest[1] > deepest[0]


def test_a_version_that_can_not_be_made_is_unknown_and_never_passes() -> None:
    iron = versions()["cored grey iron"]
    assert iron.compared is not None
    thick = Version(iron.name, iron.parent, Compared(iron.compared.variant, None, "walls leave no cavity"))
    assert thick.findings
    assert {finding.verdict for finding in thick.findings} == {Verdict.UNKNOWN}
    no_quotes = replace(iron.parent.buying, quotes=())
    bare = Evaluation(iron.parent.column, iron.parent.limits, iron.parent.memory, no_quotes)
    assert Version(iron.name, bare, thick.compared).cost.amount is None


def test_cost_never_stands_without_findings_nor_the_comparison_without_cost() -> None:
    evaluation = design("saltmarsh", "harbour")
    (cost,) = chapters_of(evaluation, "metric", only="cost")
    tables = {block.caption: block for block in cost.blocks if isinstance(block, Table)}
    money = tables["The same envelope made or bought otherwise (EUR)"]
    beside = tables["What each of them holds and fails"]
    assert [row[0] for row in money.rows] == list(WAYS)
    assert [column.heading for column in beside.columns[1:]] == [
        name for name in WAYS if "open top" not in name
    ]
    for row in beside.rows:
        for cell in row[1:]:
            assert isinstance(cell, VerdictMark)
            assert cell.says or cell.verdict == "unknown"
    (stiffness,) = chapters_of(evaluation, "metric", only="stiffness")
    compared = next(
        block for block in stiffness.blocks
        if isinstance(block, Table) and block.caption == "The same envelope made otherwise"
    )  # fmt: skip
    assert compared.columns[-1].heading == "Cost, likely (EUR)"
    assert compared.rows[1][-1] == "5,800"
