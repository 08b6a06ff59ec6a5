"""The command line as a person and as a program meets it."""

from __future__ import annotations

import csv
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from orthostat.base.units import KINDS
from orthostat.checks import all_rules
from orthostat.cli.main import main

ROOT = Path(__file__).resolve().parents[2]
SALTMARSH = str(ROOT / "examples" / "saltmarsh")
COPPERFIELD = str(ROOT / "examples" / "copperfield")
KEYS = {"finding", "question", "verdict", "value", "limit", "unit", "margin", "depends_on", "source", "why"}


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Exit code, output and errors of one command."""
    code = main(arguments)
    said = capsys.readouterr()
    return code, said.out, said.err


def test_json_has_every_field_in_si(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "check", SALTMARSH, "harbour", "--json", "--quick")
    assert err == ""
    (column,) = json.loads(out)["columns"]
    assert column["column"] == "harbour"
    assert code == int(any(f["verdict"] == "fails" for f in column["findings"]))
    found = {finding["finding"]: finding for finding in column["findings"]}
    assert found.keys() >= {"fit.swing", "fit.load", "fit.inertia", "fit.travel", "handling.tip_over_bench"}
    units = {kind.si or "1" for kind in KINDS.values()}
    for finding in column["findings"]:
        assert finding.keys() >= KEYS
        assert finding["verdict"] in ("holds", "tight", "fails", "unknown")
        assert (finding["margin"] is None) == (finding["verdict"] == "unknown")
        assert finding["unit"] in units
        assert finding["why"]
        assert finding["source"]
    assert found["fit.swing"]["limit"] == pytest.approx(0.76)


def test_exit_codes_tell_good_from_failing_from_unreadable(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert run(capsys, "check", COPPERFIELD, "lintel", "--only", "body")[0] == 0
    assert run(capsys, "check", SALTMARSH, "undertow", "--quick")[0] == 1
    code, out, err = run(capsys, "check", str(tmp_path / "no shop"))
    assert (code, out) == (2, "")
    assert "there is no such folder" in err
    code, out, err = run(capsys, "check", SALTMARSH, "harbour", "--only", "fits")
    assert (code, out) == (2, "")
    assert "--only: there is no such subject; read fits; allowed: fit, handling, body" in err
    code, out, err = run(capsys, "check", SALTMARSH, "harbor", "groyne", "--only", "fit")
    assert code == 2
    assert "did you mean `harbour`" in err
    assert "groyne" in out


def test_faults_of_shop_and_columns_are_told_together(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text('units = { length = "mm" }\nwish = 3\n', encoding="utf-8")
    column = 'height = 500\nplan = { shape = "cube" }\n'
    (tmp_path / "columns" / "c.toml").write_text(column, encoding="utf-8")
    code, _, err = run(capsys, "check", str(tmp_path))
    assert code == 2
    assert "shop.toml:2: wish: unknown key" in err
    assert "columns/c.toml:2: plan.shape: is not a word we know" in err
    assert "height" not in err.replace("allowed: ", "").split("plan.shape")[0]
    code, _, err = run(capsys, "book", str(tmp_path), "c", "--to", str(tmp_path / "out"))
    assert code == 2
    assert "plan.shape" in err
    assert not (tmp_path / "out").exists()


def test_the_table_for_people_names_every_finding_worst_first(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "check", SALTMARSH, "undertow", "--why", "--quick")
    assert "undertow: " in out.splitlines()[0]
    words = [line.split()[1] for line in out.splitlines() if line[1:3] in ("x ", "? ", "! ", "+ ")]
    order = ["fails", "unknown", "tight", "holds"]
    assert words == sorted(words, key=order.index)
    assert "can be changed by: " in out
    assert "source: " in out
    assert "\x1b[" not in out


def test_what_holds_can_be_left_out_of_the_list(capsys: pytest.CaptureFixture[str]) -> None:
    code, every, _ = run(capsys, "check", SALTMARSH, "undertow", "--quick")
    again, left, _ = run(capsys, "check", SALTMARSH, "undertow", "--quick", "--open")
    assert code == again
    assert every.splitlines()[0] == left.splitlines()[0]
    assert "fit.height" in left
    assert "fit.swing" in every
    assert "fit.swing" not in left
    assert left.count("holds ") == 0


def test_a_key_that_a_reason_names_is_not_named_twice(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "check", SALTMARSH, "undertow", "--quick", "--only", "cost")
    said = " ".join(out.split())
    assert said.count("columns.undertow.pour.resin") == 1


def test_inch_shops_are_answered_in_inches(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "check", COPPERFIELD, "tern", "--only", "fit")
    assert "31.0 in" in out
    assert " mm" not in out


def test_new_makes_a_shop_that_checks(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for start in ("metric", "inch"):
        folder = tmp_path / f"shop {start}"
        assert run(capsys, "new", str(folder), "--from", start)[0] == 0
        assert run(capsys, "check", str(folder), "--only", "fit")[0] in (0, 1)
        code, _, err = run(capsys, "new", str(folder))
        assert code == 2
        assert "not empty" in err
    assert run(capsys, "new", str(tmp_path / "bare"), "--from", "empty")[0] == 0
    code, _, err = run(capsys, "check", str(tmp_path / "bare"))
    assert code == 2
    assert "no columns yet" in err


def test_the_schema_accepts_the_examples_and_describes_keys(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "schema", "column")
    schema = json.loads(out)
    assert schema["required"] == ["height", "plan"]
    assert schema["properties"]["stations"]["type"] == "array"
    assert "underside" in schema["properties"]["height"]["description"]
    _, out, _ = run(capsys, "schema", "shop")
    assert "machines" in json.loads(out)["properties"]


def test_findings_lists_every_rule(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "findings", "--json")
    assert [row["finding"] for row in json.loads(out)["findings"]] == [rule.slug for rule in all_rules()]
    _, out, _ = run(capsys, "findings")
    assert "fit.swing" in out


def test_validation_prints_every_row_inside_its_tolerance(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "validation", "threads")
    assert code == 0
    assert "deviation" in out
    assert "rows inside their tolerance" in out
    assert run(capsys, "validation", "astrology")[0] == 2


def test_help_and_no_arguments_read_well(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    out = capsys.readouterr().out
    for verb in ("new", "check", "show", "draw", "schema", "findings", "validation"):
        assert re.search(rf"^    {verb}\b", out, re.MULTILINE)


def test_a_reader_that_stops_early_is_no_error() -> None:
    command = [sys.executable, "-m", "orthostat", "findings"]
    piped = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT, env=_environment()
    )
    assert piped.stdout is not None
    assert piped.stderr is not None
    piped.stdout.close()
    errors = piped.stderr.read()
    piped.stderr.close()
    assert piped.wait() == 0
    assert errors == b""


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT / "src")}


def test_a_study_prints_its_table_and_writes_every_design(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "designs.csv"
    code, out, err = run(
        capsys, "study", SALTMARSH, "spindrift", "--vary", "body.plate = 24 mm, 30 mm, 300 mm", "--best", "1",
        "--to", str(file), "--afresh",
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert "the best by first mode" in out
    assert "full model" in out
    assert "3 designs, 1 of them unknown" in out
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["by"] for row in rows] == ["quick", "quick", "unknown"]
    assert float(rows[1]["first_mode_Hz"]) > float(rows[0]["first_mode_Hz"])
    assert float(rows[1]["verified_first_mode_Hz"]) == pytest.approx(
        float(rows[1]["first_mode_Hz"]), rel=0.03
    )
    assert rows[0]["verified_first_mode_Hz"] == ""
    assert rows[2]["mass_kg"] == ""
    assert rows[2]["why"]


def test_a_study_names_every_fault_of_its_question(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(
        capsys, "study", SALTMARSH, "spindrif", "--vary", "body.plat = 3 mm", "--vary", "height",
        "--by", "beauty", "--best", "-1",
    )  # fmt: skip
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 5
    for part in ("did you mean `plate`?", "KEY = VALUES", "nothing to rank by", "0 or more", "spindrift"):
        assert part in err
