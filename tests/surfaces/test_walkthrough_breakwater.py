"""docs/walkthroughs/breakwater.md and docs/methods/pour.md say what the program says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import orthostat
from orthostat.base.findings import Finding
from orthostat.evaluation import Evaluation

ROOT = Path(__file__).resolve().parents[2]
SHOP = ROOT / "examples" / "saltmarsh"
PAGE = (ROOT / "docs" / "walkthroughs" / "breakwater.md").read_text(encoding="utf-8")
TEXT = (SHOP / "columns" / "breakwater.toml").read_text(encoding="utf-8")

INWARD = (
    "[[-100, -100], [100, -100], [100, 100], [-100, 100]]",
    "[[-80, -80], [80, -80], [80, 80], [-80, 80]]",
)
STUFFED = ("stuffed = false", "stuffed = true")
HELD = ('hold_down = "20 N"', 'hold_down = "120 N"')
IN_LIFTS = ('compaction = "rodded"', 'compaction = "rodded"\nlifts = [{ top = 258 }, { top = 516 }]')


def evaluation(folder: Path, *changes: tuple[str, str]) -> Evaluation:
    """The column with texts of its document replaced."""
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (folder / "columns").mkdir()
    (folder / "shop.toml").write_text((SHOP / "shop.toml").read_text("utf-8"), encoding="utf-8")
    (folder / "columns" / "breakwater.toml").write_text(text, encoding="utf-8")
    return orthostat.open_shop(folder).column("breakwater").evaluate()


@pytest.fixture(scope="module")
def planned() -> Evaluation:
    return orthostat.open_shop(SHOP).column("breakwater").evaluate()


@pytest.fixture(scope="module")
def found(planned: Evaluation) -> dict[str, Finding]:
    return {finding.slug: finding for finding in planned.findings(only="pour")}


def test_every_mistake_on_the_page_is_found_and_no_other(found: dict[str, Finding]) -> None:
    named = set(re.findall(r"^\| `([a-z_.]+)`", PAGE, re.MULTILINE))
    assert named == {slug for slug, f in found.items() if f.verdict.value in ("fails", "unknown")}


def test_the_numbers_on_the_page(found: dict[str, Finding], planned: Evaluation) -> None:
    def worst(slug: str) -> tuple[float, float]:
        row = found[slug].worst
        assert row.value is not None
        assert row.limit is not None
        return row.value, row.limit

    assert worst("pour.gap") == pytest.approx((0.011, 0.015))
    assert worst("pour.tube_collapse") == pytest.approx((10.2e3, 1.10e3), rel=5e-3)
    assert worst("pour.uplift") == pytest.approx((21.6, 80.2), abs=0.06)
    heat = planned.cure.known_heat()
    assert heat.peak - 273.15 == pytest.approx(62.9, abs=0.3)
    assert heat.peak_time / 3600.0 == pytest.approx(4.1, abs=0.1)
    ends = [end.peak - 273.15 for end in heat.ends]
    assert ends == pytest.approx([42.0, 62.9, 90.0], abs=1.0)
    assert heat.final_least == pytest.approx(0.845, abs=0.005)
    assert heat.post_cured == pytest.approx(0.86, abs=0.005)
    mix = planned.pour.known_mix()
    assert mix.own is not None
    assert (mix.own.voids, mix.best.voids) == pytest.approx((0.34, 0.44), abs=0.005)


def test_what_else_would_cool_it(planned: Evaluation) -> None:
    peaks = {effect.change: effect.peak - 273.15 for effect in planned.pour_effects}
    assert peaks["room, form and mix at 18.0 °C (64.4 °F)"] == pytest.approx(58.0, abs=0.5)
    assert peaks["plates twice as thick"] == pytest.approx(53.0, abs=0.5)
    chosen = planned.lift_study.chosen
    assert chosen is not None
    assert len(chosen.lifts) == 2
    assert chosen.peak - 273.15 == pytest.approx(51.0, abs=0.5)
    assert chosen.total / 3600.0 == pytest.approx(10.0, abs=0.3)


def test_with_all_remedies_every_question_holds(tmp_path: Path) -> None:
    mended = evaluation(tmp_path, INWARD, STUFFED, HELD, IN_LIFTS)
    verdicts = {finding.slug: finding.verdict.value for finding in mended.findings(only="pour")}
    assert set(verdicts.values()) <= {"holds", "tight"}, verdicts


@pytest.mark.parametrize(
    ("change", "slug"),
    [
        (INWARD, "fit.pallet_holes"),
        (INWARD, "pour.gap"),
        (HELD, "pour.uplift"),
        (IN_LIFTS, "pour.peak"),
    ],
)
def test_each_remedy_mends_its_own(
    tmp_path: Path, planned: Evaluation, change: tuple[str, str], slug: str
) -> None:
    def verdict(of: Evaluation) -> str:
        subject = slug.partition(".")[0]
        return next(f.verdict.value for f in of.findings(only=subject) if f.slug == slug)

    assert verdict(planned) == "fails"
    assert verdict(evaluation(tmp_path, change)) in ("holds", "tight")


def test_nothing_but_the_plan_of_the_page_is_wrong(planned: Evaluation) -> None:
    failing = {f.slug for f in planned.findings(quick=True) if f.verdict.value == "fails"}
    of_the_page = set(re.findall(r"`([a-z]+\.[a-z_]+)`", PAGE))
    assert failing - of_the_page == {"reach.truing"}  # the machine's travel, as for the demo column


def test_every_picture_is_there() -> None:
    for picture in re.findall(r"\((pictures/[^)]+)\)", PAGE):
        assert (ROOT / "docs" / "walkthroughs" / picture).is_file()


def test_the_demo_column_can_be_poured() -> None:
    harbour = orthostat.open_shop(SHOP).column("harbour").evaluate()
    verdicts = {finding.slug: finding.verdict.value for finding in harbour.findings(only="pour")}
    assert set(verdicts.values()) <= {"holds", "tight"}, verdicts
    assert len(harbour.cure.known_batches().batches) == 4
