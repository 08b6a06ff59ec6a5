"""Book and files on the page: made beside it, of one revision, never given out for another."""

from __future__ import annotations

import io
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pypdfium2
import pytest
from starlette.testclient import TestClient

import orthostat
from orthostat.book import write_all
from orthostat.web.app import create_app
from orthostat.web.files import ALL, KINDS
from orthostat.web.guard import page_token

PORT = 8124
ORIGIN = f"http://127.0.0.1:{PORT}"
TOKEN = "a-token-of-a-test"
CHANGE = {"Origin": ORIGIN, "X-Page-Token": page_token(TOKEN)}
SHOP = 'name = "Test"\n[units]\nlength = "mm"\nsystem = "metric"\n'
COLUMN = """height = 500
plan = { shape = "square", across_flats = 300 }
body = { kind = "hollow", plate = 20 }
base_plate = { thickness = 25 }
"""
NAME = "Müller & Söhne"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("shop")
    (made / "columns").mkdir()
    (made / "shop.toml").write_text(SHOP, encoding="utf-8")
    (made / "columns" / f"{NAME}.toml").write_text(COLUMN, encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def known(folder: Path) -> Iterator[TestClient]:
    app = create_app(folder, port=PORT, token=TOKEN)
    with TestClient(app, base_url=ORIGIN, follow_redirects=False) as made:
        assert made.get(f"/enter?token={TOKEN}").status_code == 303
        yield made


BASE = f"/column/{quote(NAME, safe='')}"


def make(known: TestClient, **body: Any) -> None:
    assert known.post(f"{BASE}/files", json={"do": "make", **body}, headers=CHANGE).status_code == 200


def settled(known: TestClient) -> str:
    """The markup once nothing is on its way any more."""
    end = time.monotonic() + 240.0
    while (answer := known.get(f"{BASE}/files").json())["busy"]:
        assert time.monotonic() < end
        time.sleep(0.05)
    return str(answer["html"])


def state(known: TestClient) -> str:
    return str(known.get(f"{BASE}/state").json()["state"])


@pytest.fixture
def files(known: TestClient) -> str:
    """The address of the files of the design as it is, made."""
    make(known)
    html = settled(known)
    assert ALL in html, html
    return f"{BASE}/files/{state(known)}"


def test_what_is_given_out_is_what_the_command_line_writes(
    known: TestClient, files: str, folder: Path, tmp_path: Path
) -> None:
    sent = known.get(f"{files}/{ALL}")
    assert sent.headers["content-type"] == "application/zip"
    column = orthostat.open_shop(folder).column(NAME)
    assert f"-{column.revision[:8]}-{ALL}" in sent.headers["content-disposition"]
    assert "attachment" in sent.headers["content-disposition"]
    written = write_all(column.evaluate(), column.revision, column.system, tmp_path, title=NAME)
    with zipfile.ZipFile(io.BytesIO(sent.content)) as archive:
        assert archive.namelist() == [path.name for path in written.files]
        for path in written.files:
            assert archive.read(path.name) == path.read_bytes(), path.name
            single = known.get(f"{files}/{quote(path.name)}")
            assert single.content == path.read_bytes()
            assert single.headers["content-type"] == KINDS[path.suffix][1]
            assert single.headers["x-content-type-options"] == "nosniff"
    assert {path.suffix for path in written.files} >= {".pdf", ".step", ".glb", ".dxf", ".csv"}


@pytest.mark.parametrize(
    "name",
    ["../shop.toml", "..%2F..%2Fshop.toml", "%2e%2e%2fshop.toml", "shop.toml", "/etc/passwd",
     "%2Fetc%2Fpasswd", "..\\shop.toml", "build-book.pdf%00.txt", "BUILD-BOOK.PDF", "x" * 4000],
)  # fmt: skip
def test_no_name_leads_to_another_file(known: TestClient, files: str, name: str) -> None:
    answer = known.get(f"{files}/{name}")
    assert answer.status_code == 404, answer.text[:200]
    assert "root:" not in answer.text
    assert "across_flats" not in answer.text


@pytest.mark.parametrize("wrong", ["0" * 16, "current", "..", "%2e%2e", "x" * 300])
def test_no_other_state_is_given_out(known: TestClient, files: str, wrong: str) -> None:
    answer = known.get(f"{BASE}/files/{wrong}/build-book.pdf")
    assert answer.status_code in (404, 409)
    assert not answer.content.startswith(b"%PDF")


def test_a_design_that_has_changed_gives_no_stale_file(known: TestClient, files: str, folder: Path) -> None:
    for changed in ("shop.toml", f"columns/{NAME}.toml"):
        file = folder / changed
        was = file.read_text("utf-8")
        file.write_text(was + "# another state\n", encoding="utf-8")
        answer = known.get(f"{files}/build-book.pdf")
        assert answer.status_code == 409
        assert "earlier state" in answer.text
        assert "earlier state" in known.get(f"{BASE}/files").json()["html"]
        assert known.get(f"{BASE}/files/{state(known)}/build-book.pdf").status_code == 404
        file.write_text(was, encoding="utf-8")
    assert known.get(f"{files}/build-book.pdf").content.startswith(b"%PDF")


def test_making_can_be_stopped_and_begun_again(known: TestClient) -> None:
    make(known, paper="letter")
    assert known.post(f"{BASE}/files", json={"do": "stop"}, headers=CHANGE).status_code == 200
    assert "Stopped" in settled(known)
    assert known.get(f"{BASE}/files/{state(known)}/build-book.pdf").status_code == 404
    make(known, paper="letter")
    assert ALL in settled(known)
    book = known.get(f"{BASE}/files/{state(known)}/build-book.pdf").content
    assert pypdfium2.PdfDocument(book)[0].get_size() == pytest.approx((612.0, 792.0))


def test_a_design_that_cant_be_read_names_its_faults(known: TestClient, folder: Path) -> None:
    file = folder / "columns" / f"{NAME}.toml"
    file.write_text(COLUMN.replace("500", '"5 parsecs"'), encoding="utf-8")
    make(known)
    html = settled(known)
    file.write_text(COLUMN, encoding="utf-8")
    assert "height" in html
    assert "parsecs" in html


def test_strangers_make_and_get_nothing(known: TestClient, files: str) -> None:
    for headers in ({}, {"Origin": ORIGIN}, {**CHANGE, "Origin": "http://elsewhere.example"}):
        assert known.post(f"{BASE}/files", json={"do": "make"}, headers=headers).status_code == 403
    assert known.get(f"{files}/{ALL}", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert known.get(f"{files}/{ALL}", headers={"Host": "elsewhere.example"}).status_code == 421
    kept = dict(known.cookies)
    known.cookies.clear()
    assert known.get(f"{files}/{ALL}").status_code == 403
    known.cookies.update(kept)
    assert known.get(f"{files}/{ALL}").status_code == 200


@pytest.mark.parametrize("body", [{"do": 5}, {"do": "make", "paper": ["a4"]}, {"do": "x" * 30_000}])
def test_orders_that_the_page_never_sends_are_refused(known: TestClient, body: dict[str, Any]) -> None:
    assert known.post(f"{BASE}/files", json=body, headers=CHANGE).status_code == 400
