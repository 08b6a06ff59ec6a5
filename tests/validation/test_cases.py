"""Every published value of `orthostat.validation` is met within its stated tolerance."""

import pytest

from orthostat.validation import Case, all_cases, run


@pytest.mark.parametrize("published", all_cases(), ids=lambda published: published.name)
def test_published_value_is_met(published: Case) -> None:
    outcome = run(published)
    if outcome.computed is None:
        pytest.skip(f"{published.needs} is not installed")
    assert outcome.inside, (
        f"{published.source}: expected {published.expected} {published.unit} "
        f"± {published.tolerance}, computed {outcome.computed}"
    )
