"""Snippets of the page on making come out as printed, and every finding is on it."""

import doctest
from pathlib import Path

from orthostat.checks import all_rules

PAGE = Path(__file__).parents[3] / "docs" / "methods" / "cost.md"


def test_snippets_come_out() -> None:
    text = PAGE.read_text(encoding="utf-8")
    examples = doctest.DocTestParser().get_doctest(text, {}, PAGE.name, str(PAGE), 0)
    assert len(examples.examples) >= 6
    report: list[str] = []
    doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(examples, out=report.append)
    assert not report, "".join(report)


def test_every_finding_is_on_the_page() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert [
        r.slug for r in all_rules() if r.subject in ("making", "cost") and f"`{r.slug}`" not in text
    ] == []
