"""Every snippet of the pages on hold and loads comes out as printed, and every finding is on its page."""

import doctest
from pathlib import Path

import pytest

from orthostat.checks import all_rules

PAGES = Path(__file__).parents[3] / "docs" / "methods"


@pytest.mark.parametrize(("name", "least"), [("hold.md", 20), ("loads.md", 8)])
def test_snippets_come_out(name: str, least: int) -> None:
    text = (PAGES / name).read_text(encoding="utf-8")
    examples = doctest.DocTestParser().get_doctest(text, {}, name, str(PAGES / name), 0)
    assert len(examples.examples) >= least
    report: list[str] = []
    doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(examples, out=report.append)
    assert not report, "".join(report)


@pytest.mark.parametrize(("name", "subjects"), [("hold.md", ("hold", "fixture")), ("loads.md", ("loads",))])
def test_every_finding_is_on_its_page(name: str, subjects: tuple[str, ...]) -> None:
    text = (PAGES / name).read_text(encoding="utf-8")
    asked = {rule.slug for rule in all_rules() if rule.subject in subjects}
    assert asked
    assert {slug for slug in asked if f"`{slug}`" not in text} == set()
