"""Every snippet of the pages on solids and fit comes out as printed, and every finding is on its page."""

import doctest
from pathlib import Path

import pytest

from evaluations import rules

PAGES = Path(__file__).parents[3] / "docs" / "methods"


@pytest.mark.parametrize("name", ["solids.md", "fit.md"])
def test_snippets_come_out(name: str) -> None:
    text = (PAGES / name).read_text(encoding="utf-8")
    examples = doctest.DocTestParser().get_doctest(text, {}, name, str(PAGES / name), 0)
    assert len(examples.examples) >= 5
    report: list[str] = []
    doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(examples, out=report.append)
    assert not report, "".join(report)


def test_every_machine_finding_is_on_the_page() -> None:
    text = (PAGES / "fit.md").read_text(encoding="utf-8")
    asked = {slug for slug in rules() if slug.startswith("fit.") and "pallet" not in slug}
    assert {slug for slug in asked if f"`{slug}`" not in text} == set()
