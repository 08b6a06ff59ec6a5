"""Studies on the page: every fault is told, and the answers are those of the API."""

from __future__ import annotations

import csv
import io
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

import orthostat
from orthostat.studies import axes_of, sweep
from orthostat.web.app import create_app

PORT = 8126
ORIGIN = f"http://127.0.0.1:{PORT}"
TOKEN = "a-token-of-a-test"
SHOP = 'name = "Test"\n[units]\nlength = "mm"\nsystem = "metric"\n'
COLUMN = """height = 500
plan = { shape = "square", across_flats = 300 }
body = { kind = "solid", material = "aluminium 6082" }
"""
PAGE = "/column/quay/study"
ASKED = {"key1": "height", "from1": "400 mm", "to1": "500 mm", "in1": "2", "best": "0", "by": "mass"}
Shop = tuple[TestClient, Path]


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = tmp_path / "shop"
    (folder / "columns").mkdir(parents=True)
    (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    (folder / "columns" / "quay.toml").write_text(COLUMN, encoding="utf-8")
    app = create_app(folder, port=PORT, token=TOKEN)
    with TestClient(app, base_url=ORIGIN, follow_redirects=False) as client:
        assert client.get(f"/enter?token={TOKEN}").status_code == 303
        yield client, folder


def content(client: TestClient, asked: dict[str, str], *, seconds: float = 120.0) -> dict[str, Any]:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        answer: dict[str, Any] = client.get(f"{PAGE}/content?{urlencode(asked)}").json()
        if "working" not in answer:
            return answer
        time.sleep(0.05)
    raise AssertionError("it never came")


def test_nothing_runs_before_something_is_asked_and_the_fields_are_offered(shop: Shop) -> None:
    client, _ = shop
    page = client.get(PAGE).text
    assert 'data-from="' not in page
    assert "problem" not in page
    assert '<option value="plan.across_flats">300</option>' in page
    assert '<option value="body.kind"' not in page  # no number


def test_every_fault_is_told_and_what_was_typed_stays(shop: Shop) -> None:
    client, _ = shop
    asked = {"key1": "hight", "from1": "400 mm", "key2": "height", "from2": "500", "to2": "<b>4", "in2": "3"}
    page = client.get(f"{PAGE}?{urlencode(asked)}").text
    assert "did you mean `height`" in page
    assert "a range goes from number to number" in page
    assert 'value="hight"' in page
    assert 'value="&lt;b&gt;4"' in page
    assert "<b>" not in page.partition("<form")[2]
    assert 'data-from="' not in page
    assert "did you mean" in content(client, asked)["html"]
    assert client.get(f"{PAGE}?key1={'x' * 201}").status_code == 400


def test_a_value_that_the_document_refuses_is_told_in_place_of_a_table(shop: Shop) -> None:
    client, _ = shop
    html = content(client, {"key1": "height", "from1": "-400 mm, 500 mm", "best": "0"})["html"]
    assert "columns/quay.toml" in html
    assert "<table" not in html
    assert "designs.csv" not in html


def test_it_finds_what_the_api_finds_and_gives_every_design_out(shop: Shop) -> None:
    client, folder = shop
    there = f"{PAGE}/designs.csv?{urlencode(ASKED)}"
    assert client.get(there).status_code == 404  # not worked out yet
    assert "data-from=" in client.get(f"{PAGE}?{urlencode(ASKED)}").text
    html = content(client, ASKED)["html"]
    assert "the best by mass" in html
    assert "off at most" not in html  # no study model answered, so that is told of none
    given = client.get(there)
    assert given.headers["content-disposition"] == "attachment; filename*=utf-8''quay-study.csv"
    rows = list(csv.DictReader(io.StringIO(given.text)))
    study = sweep(
        orthostat.open_shop(folder), "quay", axes_of(["height = 400 mm to 500 mm in 2"]), by="mass", best=0
    )
    found = [row.found for row in study.rows if row.found is not None]
    assert len(found) == 2
    assert [float(row["first_mode_Hz"]) for row in rows] == pytest.approx([each.first for each in found])
    assert [row["height"] for row in rows] == ["400 mm", "500 mm"]


def test_a_study_is_of_the_design_as_it_is_now(shop: Shop) -> None:
    client, folder = shop
    before = content(client, ASKED)["state"]
    file = folder / "columns" / "quay.toml"
    file.write_text(COLUMN.replace("300", "320"), encoding="utf-8")
    assert client.get(f"{PAGE}/designs.csv?{urlencode(ASKED)}").status_code == 404
    assert client.get("/column/quay/state").json()["state"] != before
    assert content(client, ASKED)["state"] != before
    assert client.get(f"{PAGE}/designs.csv?{urlencode(ASKED)}").status_code == 200
