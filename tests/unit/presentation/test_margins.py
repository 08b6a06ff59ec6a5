"""What stands in the column of margins."""

from __future__ import annotations

import pytest

from orthostat.base.findings import Finding, Measured, Rule, Sense, apply
from orthostat.presentation.cards import cards
from orthostat.presentation.findings import findings_table, share_of


def found(value: float, limit: float, *, tight: float | None = 0.0, scale: float | None = 0.01) -> Finding:
    rule = Rule(
        slug="trial.gap",
        question="Is there a gap?",
        wanted="a gap",
        sense=Sense.AT_LEAST,
        kind="length",
        source="geometry",
        levers=(),
        hangs_on="plan",
        tight=tight,
        measure=lambda evaluation: Measured(value, limit, "gap", scale=scale),
    )
    made = apply(rule, None, 0.1)
    assert made is not None
    return made


@pytest.mark.parametrize("gap", [0.0, 0.004, -0.004])
def test_a_limit_of_zero_shows_no_share_of_an_arbitrary_scale(gap: float) -> None:
    """Two bodies that touch are as good as two apart: 0 % would look like the edge of failing."""
    one = found(gap, 0.0)
    assert one.margin == pytest.approx(gap / 0.01)
    assert share_of(one) == "–"
    assert findings_table([one], "metric", "").rows[0][-1] == "–"
    (card,) = cards([one], "metric")
    assert card.margin == "–"
    assert f"the limit is zero: {one.verdict.value}" in card.bar


def test_every_other_margin_is_shown() -> None:
    assert share_of(found(0.012, 0.010, scale=None)) == "20.0%"
    # A rule that wants more than its limit kept says how much more there is.
    assert share_of(found(0.004, 0.0, tight=0.5)) == "40.0%"
    (card,) = cards([found(0.012, 0.010, scale=None)], "metric")
    assert (card.margin, "margin 20.0%" in card.bar) == ("20.0%", True)
