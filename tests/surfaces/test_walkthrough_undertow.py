"""docs/walkthroughs/undertow.md says what the program says."""

from __future__ import annotations

import re
from math import degrees
from pathlib import Path

import pytest

import orthostat
from orthostat.base.findings import Finding

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "walkthroughs" / "undertow.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def found() -> dict[str, Finding]:
    evaluation = orthostat.open_shop(ROOT / "examples" / "saltmarsh").column("undertow").evaluate()
    return {
        f.slug: f
        for subject in ("fit", "handling", "body", "joining")
        for f in evaluation.findings(only=subject)
    }


def test_every_mistake_on_the_page_is_found_and_no_other(found: dict[str, Finding]) -> None:
    named = set(re.findall(r"^\| `([a-z_.]+)`", PAGE, re.MULTILINE))
    bad = {slug for slug, finding in found.items() if finding.verdict.value in ("fails", "unknown")}
    # The way to the machine tips it as the bench does.
    assert named == bad - {"handling.tip_over_transport"}


def test_the_numbers_on_the_page(found: dict[str, Finding]) -> None:
    worst = {slug: finding.worst for slug, finding in found.items()}
    assert worst["fit.height"].value == pytest.approx(0.905, abs=5e-4)
    assert worst["fit.pallet_holes"].value == pytest.approx(0.0412, abs=5e-5)
    assert degrees(worst["handling.tip_over_bench"].value or 0.0) == pytest.approx(7.65, abs=0.01)
    assert worst["body.void_in_cavity"].value == pytest.approx(-0.005)
    assert worst["body.thread_depth"].value == pytest.approx(0.028)
    assert worst["body.station_overlap"].value == pytest.approx(-0.020)
    assert worst["fit.changer"].margin == pytest.approx(0.0228, abs=5e-5)
