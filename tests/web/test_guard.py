"""Hostile requests are refused before anything looks at them."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from orthostat.web import guard
from orthostat.web.app import create_app
from orthostat.web.guard import Guard, page_token

PORT = 8123
ORIGIN = f"http://127.0.0.1:{PORT}"
TOKEN = "a-token-of-a-test"
CHANGE = {"Origin": ORIGIN, "X-Page-Token": page_token(TOKEN), "Content-Type": "application/json"}
SHOP = 'name = "Test"\n[units]\nlength = "mm"\n'
COLUMN = 'height = 500\nplan = { shape = "square", across_flats = 300 }\n'
EDIT = {"revision": "", "edits": [{"do": "set", "path": ["height"], "text": "510"}]}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("shop")
    (made / "columns").mkdir()
    (made / "shop.toml").write_text(SHOP, encoding="utf-8")
    (made / "columns" / "quay.toml").write_text(COLUMN, encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def client(folder: Path) -> Iterator[TestClient]:
    app = create_app(folder, port=PORT, token=TOKEN)
    with TestClient(app, base_url=ORIGIN, follow_redirects=False) as made:
        yield made


@pytest.fixture
def known(client: TestClient) -> Iterator[TestClient]:
    """A browser that was given the token."""
    client.cookies.clear()
    assert client.get(f"/enter?token={TOKEN}").status_code == 303
    yield client
    client.cookies.clear()


def test_the_token_opens_the_page_and_a_wrong_one_does_not(client: TestClient) -> None:
    client.cookies.clear()
    assert client.get("/").status_code == 403
    for wrong in ("", "token=", "token=nonsense", f"token={TOKEN}x", f"token={TOKEN}&more=1"):
        refused = client.get(f"/enter?{wrong}")
        assert refused.status_code == 403
        assert "set-cookie" not in refused.headers
    entered = client.get(f"/enter?token={TOKEN}")
    cookie = entered.headers["set-cookie"]
    assert cookie.startswith(f"orthostat-{PORT}=")
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert client.get("/").status_code == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"localhost:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"127.0.0.1:{PORT}.evil"],
)
def test_a_foreign_host_is_refused(known: TestClient, host: str) -> None:
    assert known.get("/", headers={"Host": host}).status_code == 421
    assert known.get(f"/enter?token={TOKEN}", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_site_is_refused(known: TestClient, site: str) -> None:
    assert known.get("/", headers={"Sec-Fetch-Site": site}).status_code == 403
    headers = {**CHANGE, "Sec-Fetch-Site": site}
    assert known.post("/column/quay/edit", json=EDIT, headers=headers).status_code == 403


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", f"http://localhost:{PORT}", f"https://127.0.0.1:{PORT}", ""]
)
def test_a_foreign_origin_is_refused(known: TestClient, origin: str) -> None:
    assert known.post("/column/quay/edit", json=EDIT, headers={**CHANGE, "Origin": origin}).status_code == 403


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": None}, 403),
        ({"X-Page-Token": None}, 403),
        ({"X-Page-Token": TOKEN}, 403),
        ({"Content-Type": "text/plain"}, 415),
        ({"Content-Type": "multipart/form-data; boundary=x"}, 415),
        ({"Content-Type": "application/x-www-form-urlencoded"}, 415),
        ({"Content-Type": None}, 415),
        ({"Content-Length": "999999999"}, 413),
        ({"Cookie": "orthostat-8123=wrong"}, 403),
        ({"Cookie": f"orthostat-9999={TOKEN}"}, 403),
    ],
    ids=str,
)
def test_a_change_needs_everything(
    known: TestClient, folder: Path, headers: dict[str, str | None], status: int
) -> None:
    if "Cookie" in headers:
        known.cookies.clear()
    sent = {name: value for name, value in {**CHANGE, **headers}.items() if value is not None}
    body = json.dumps(EDIT).encode()
    assert known.post("/column/quay/edit", content=body, headers=sent).status_code == status
    assert (folder / "columns" / "quay.toml").read_text("utf-8") == COLUMN


def test_other_methods_are_refused(known: TestClient) -> None:
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"):
        assert known.request(method, "/column/quay", headers=CHANGE).status_code == 405


def test_a_large_body_is_refused_even_when_it_does_not_say_so(known: TestClient) -> None:
    def parts() -> Iterator[bytes]:
        for _ in range(guard.LARGEST_BODY // 1024 + 2):
            yield b" " * 1024

    assert known.post("/column/quay/edit", content=parts(), headers=CHANGE).status_code == 413


def test_a_slow_body_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "BODY_SECONDS", 0.05)
    sent: list[dict[str, Any]] = []

    async def never(*_: Any) -> None:
        raise AssertionError("the request was let in")

    async def receive() -> dict[str, Any]:
        await asyncio.sleep(5.0)
        return {"type": "http.request", "body": b"", "more_body": True}

    async def send(message: Any) -> None:
        sent.append(message)

    headers = {"host": f"127.0.0.1:{PORT}", "cookie": f"orthostat-{PORT}={TOKEN}", **CHANGE}
    scope = {
        "type": "http",
        "method": "POST",
        "path": "/column/quay/edit",
        "query_string": b"",
        "headers": [(name.lower().encode(), value.encode()) for name, value in headers.items()],
    }
    # In a thread of its own: a browser test in the same process keeps an event loop running here.
    with ThreadPoolExecutor(1) as apart:
        apart.submit(asyncio.run, Guard(never, port=PORT, token=TOKEN)(scope, receive, send)).result()
    assert sent[0]["status"] == 408


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b'"x"', b"[" * 100_000, b"\xff\xfe", b'{"edits": NaN'],
    ids=["empty", "cut", "list", "null", "text", "deep", "bytes", "not a number"],
)
def test_what_is_no_json_object_is_refused(known: TestClient, body: bytes) -> None:
    assert known.post("/column/quay/edit", content=body, headers=CHANGE).status_code == 400


@pytest.mark.parametrize(
    "edits",
    [
        None, [], "x", [1], [{}], [{"do": "set"}], [{"do": "set", "path": []}],
        [{"do": "set", "path": "height"}],
        [{"do": "set", "path": ["height"], "text": 5}], [{"do": "set", "path": ["no such key"], "text": "5"}],
        [{"do": "set", "path": ["plan"], "text": "5"}], [{"do": "explode", "path": ["height"]}],
        [{"do": "set", "path": ["height", "deeper"], "text": "1"}],
        [{"do": "set", "path": [True], "text": "1"}],
        [{"do": "append", "path": ["height"]}], [{"do": "set", "path": ["a"] * 99, "text": "1"}],
        [{"do": "set", "path": ["height"], "text": "9" * 30_000}], [{"do": "remove", "path": [-1]}],
        [{"do": "set", "path": ["height"], "text": "1"}] * 999,
    ],
)  # fmt: skip
def test_edits_that_the_page_never_sends_change_nothing(known: TestClient, folder: Path, edits: Any) -> None:
    answer = known.post("/column/quay/edit", json={"revision": "", "edits": edits}, headers=CHANGE)
    assert answer.status_code in (400, 422)
    assert (folder / "columns" / "quay.toml").read_text("utf-8") == COLUMN


@pytest.mark.parametrize(
    "name",
    ["..%2Fshop", "..%2f..%2fetc%2fpasswd", "%2e%2e%2fshop", "quay%00", "a:b", "con%0a", "C:%5Cx", "%2e%2e"],
)
def test_no_name_leads_out_of_the_folder(known: TestClient, name: str) -> None:
    for path in (f"/column/{name}", f"/column/{name}/scene", f"/column/{name}/history"):
        assert known.get(path).status_code in (404, 422)
    copied = known.post("/copy", json={"from": "quay", "name": "../out"}, headers=CHANGE)
    assert copied.status_code == 422
    assert known.get(f"/static/{name}").status_code in (307, 404)
    assert known.get(f"/fonts/{name}").status_code == 404
    assert known.get("/column/quay/compare", params={"state": f"../{name}"}).status_code in (404, 422)


def test_every_answer_carries_the_policy(known: TestClient) -> None:
    for path in ("/", "/column/quay", "/static/page.css", "/column/nobody", "/nothing", "/fonts/sans.ttf"):
        headers = known.get(path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cross-origin-resource-policy"] == "same-origin"
    assert known.get("/column/quay").headers["cache-control"] == "no-store"


HOSTILE = "<img src=x onerror=alert(1)><script>alert(2)</script>\"'`{{7*7}}"


def test_script_in_every_text_comes_back_as_text(known: TestClient, folder: Path) -> None:
    before = known.post("/column/quay/form", json={}, headers=CHANGE).json()
    paths = [
        ["name"],
        ["note"],
        ["machine"],
        ["plan", "shape"],
        ["height"],
        ["joint_friction"],
        ["build", HOSTILE],
    ]
    edits = [{"do": "set", "path": path, "text": HOSTILE} for path in paths]
    answer = known.post(
        "/column/quay/edit", json={"revision": before["revision"], "edits": edits}, headers=CHANGE
    ).json()
    shown = known.get("/column/quay/answers?after=0").json()
    tried = known.post(
        "/column/quay/try",
        json={"revision": answer["revision"], "edits": edits[:1], "tab": HOSTILE[:40], "key": 1},
        headers=CHANGE,
    )
    assert tried.headers["content-type"].startswith("text/event-stream")
    lines = [json.loads(line.removeprefix("data: ")) for line in tried.text.split("\n\n") if line]
    assert shown["head"]
    assert lines[0]["head"]
    for html in (
        answer["form"],
        *(html for each in (shown, *lines) for html in _html_of(each)),
        known.get("/column/quay").text,
        known.get("/").text,
    ):
        assert "<img" not in html.replace('<img src="/static/mark.svg"', "")
        assert "<script>" not in html
    assert "&lt;script&gt;alert(2)&lt;/script&gt;" in answer["form"]
    assert answer["unsaved"] is True
    assert (folder / "columns" / "quay.toml").read_text("utf-8") == COLUMN
    known.post("/column/quay/step", json={"do": "undo"}, headers=CHANGE)
    assert known.post("/column/quay/form", json={}, headers=CHANGE).json()["revision"] == before["revision"]


def _html_of(answer: dict[str, Any]) -> list[str]:
    cards = [card for part in answer["parts"].values() for card in part.get("cards", ())]
    return [
        answer["head"],
        *(html for card in cards for html in (card["html"], card["cells"][0], card["why"])),
    ]


@pytest.mark.parametrize(
    "text",
    ["a = " + "[" * 5000 + "]" * 5000, "x = 1\n" * 400_000, "\x00", "height = {{{{", "[[[[a]]]]"],
    ids=["deep", "enormous", "binary", "braces", "brackets"],
)
def test_a_document_nobody_wrote_is_a_problem_not_a_crash(tmp_path: Path, text: str) -> None:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "columns" / "odd.toml").write_text(text, encoding="utf-8")
    with TestClient(create_app(tmp_path, port=PORT, token=TOKEN), base_url=ORIGIN) as client:
        client.get(f"/enter?token={TOKEN}")
        for path in (
            "/",
            "/column/odd",
            "/column/odd/answers?after=0",
            "/column/odd/scene",
            "/column/odd/history",
        ):
            assert client.get(path).status_code in (200, 422)
