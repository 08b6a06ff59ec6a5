"""The generated pages of the docs name every finding and every published value."""

from __future__ import annotations

from orthostat.checks import all_rules
from orthostat.presentation.generated import findings_page, validation_page
from orthostat.validation import all_cases


def test_the_findings_page_names_every_rule() -> None:
    page = findings_page(all_rules())
    for rule in all_rules():
        assert f"| `{rule.slug}` | " in page
        assert rule.source.replace("|", "/") in page


def test_the_validation_page_names_every_case() -> None:
    page = validation_page(all_cases())
    for case in all_cases():
        assert case.name.replace("|", "/") in page
