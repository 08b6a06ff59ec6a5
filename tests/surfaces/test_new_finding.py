"""Adding a finding touches one file: it then shows in terminal, JSON and listing by itself."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import orthostat.checks
from orthostat.checks import all_rules, rules_of
from orthostat.cli.main import main
from orthostat.presentation.generated import findings_page

SALTMARSH = str(Path(__file__).resolve().parents[2] / "examples" / "saltmarsh")
RULE = '''
"""A rule that a test drops in."""

from orthostat.base.findings import Measured, Sense, finding


@finding(
    "trial.faces",
    question="Are there at least three faces to work on?",
    wanted="three faces or more",
    sense=Sense.AT_LEAST,
    kind="count",
    source="common practice, no source",
    hangs_on="plan.shape",
)
def faces(evaluation):
    return Measured(len(evaluation.column.faces), 3, "faces of the plan")
'''


@pytest.fixture(params=["trial_rule"])
def dropped_in(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[None]:
    """One more module in the room of checks."""
    (tmp_path / f"{request.param}.py").write_text(RULE, encoding="utf-8")
    monkeypatch.setattr(orthostat.checks, "__path__", [*orthostat.checks.__path__, str(tmp_path)])
    _forget()
    yield
    sys.modules.pop(f"orthostat.checks.{request.param}", None)
    _forget()


def _forget() -> None:
    all_rules.cache_clear()
    rules_of.cache_clear()


@pytest.mark.usefixtures("dropped_in")
def test_it_appears_everywhere(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", SALTMARSH, "groyne", "--json", "--only", "trial"])
    (column,) = json.loads(capsys.readouterr().out)["columns"]
    (found,) = [finding for finding in column["findings"] if finding["finding"] == "trial.faces"]
    assert (found["verdict"], found["value"], found["limit"], found["margin"]) == ("holds", 6, 3, 1.0)
    main(["check", SALTMARSH, "groyne", "--only", "trial"])
    assert "Are there at least three faces" in capsys.readouterr().out
    main(["findings"])
    assert "trial.faces" in capsys.readouterr().out
    assert "| `trial.faces` | " in findings_page(all_rules())


@pytest.mark.parametrize("dropped_in", ["fit_trial"], indirect=True)
@pytest.mark.usefixtures("dropped_in")
def test_it_must_stand_in_a_module_of_its_subject() -> None:
    """Or a check of one subject would miss it."""
    with pytest.raises(ValueError, match=r"trial\.faces stands in the module of another subject: fit_trial"):
        all_rules()


def test_it_is_gone_afterwards() -> None:
    assert "trial.faces" not in {rule.slug for rule in all_rules()}
