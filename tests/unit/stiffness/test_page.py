"""Every snippet of the page on stiffness comes out as printed, and every finding is on it."""

import doctest
import importlib
from pathlib import Path

from orthostat.base.findings import Rule

PAGE = Path(__file__).parents[3] / "docs" / "methods" / "stiffness.md"


def test_snippets_come_out() -> None:
    examples = doctest.DocTestParser().get_doctest(
        PAGE.read_text(encoding="utf-8"), {}, PAGE.name, str(PAGE), 0
    )
    assert len(examples.examples) >= 5
    report: list[str] = []
    doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(examples, out=report.append)
    assert not report, "".join(report)


def test_every_finding_is_on_the_page() -> None:
    rules = vars(importlib.import_module("orthostat.checks.stiffness")).values()
    text = PAGE.read_text(encoding="utf-8")
    assert {rule.slug for rule in rules if isinstance(rule, Rule) and f"`{rule.slug}`" not in text} == set()
