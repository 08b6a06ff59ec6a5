"""What the browser is sent to draw: every shape once, edits before they are saved."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from columns import hexagon, slab, square_filled
from orthostat.model.column import Column
from orthostat.presentation.scene import scene_of
from orthostat.presentation.still import alone, standing
from orthostat.web.app import create_app
from orthostat.web.guard import page_token
from orthostat.web.scenes import scene_shown

PORT = 8124
ORIGIN = f"http://127.0.0.1:{PORT}"
TOKEN = "a-token-of-a-test"
CHANGE = {"Origin": ORIGIN, "X-Page-Token": page_token(TOKEN)}
SHOP = 'name = "Test"\n[units]\nlength = "mm"\n'
COLUMN = (
    "height = 500\n"
    'plan = { shape = "square", across_flats = 300 }\n'
    'body = { kind = "cored", material = "EN-GJL-250", plate = 22, floor = 40, roof = 25 }\n'
)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder: Path = tmp_path_factory.mktemp("shop")
    (folder / "columns").mkdir()
    (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    (folder / "columns" / "quay.toml").write_text(COLUMN, encoding="utf-8")
    with TestClient(create_app(folder, port=PORT, token=TOKEN), base_url=ORIGIN) as made:
        made.get(f"/enter?token={TOKEN}")
        yield made


def height_of(scene: dict[str, Any]) -> float:
    """The column's highest point [m]."""
    return float(
        max(
            piece["axes"][10] + x * piece["axes"][1] + y * piece["axes"][4] + level * piece["axes"][7]
            for piece in scene["pieces"]
            for low, high, rings in scene["shapes"][piece["shape"]]
            for level in (low, high)
            for x, y in rings[0]
        )
    )


def test_every_shape_is_sent_once_and_used() -> None:
    scene = scene_of(square_filled())
    shown = scene_shown(scene)
    used = [piece["shape"] for piece in shown["pieces"]]
    assert sorted(set(used)) == list(range(len(shown["shapes"])))
    assert len(shown["shapes"]) < len(used)
    for piece, sent in zip(scene.pieces, shown["pieces"], strict=True):
        layers = [[layer.low, layer.high, layer.rings] for layer in piece.layers]
        assert shown["shapes"][sent["shape"]] == layers
        assert (sent["name"], sent["axes"]) == (piece.name, piece.axes)


def test_a_column_that_cannot_be_read_has_no_scene() -> None:
    assert scene_shown(None) == {"none": True}


def test_edits_are_drawn_before_they_are_saved(client: TestClient) -> None:
    assert height_of(client.get("/column/quay/scene").json()) == pytest.approx(0.5, abs=1e-6)
    revision = client.get("/column/quay/answers?after=0").json()["of"]
    tried = {"revision": revision, "edits": [{"do": "set", "path": ["height"], "text": "23 1/2 in"}]}
    drawn = client.post("/column/quay/scene", json=tried, headers=CHANGE)
    assert height_of(drawn.json()) == pytest.approx(23.5 * 0.0254, abs=1e-6)
    assert height_of(client.get("/column/quay/scene").json()) == pytest.approx(0.5, abs=1e-6)
    tried["edits"] = [{"do": "set", "path": ["height"], "text": "5 parsecs"}]
    assert client.post("/column/quay/scene", json=tried, headers=CHANGE).json() == {"none": True}
    tried["revision"] = "an old one"
    assert client.post("/column/quay/scene", json=tried, headers=CHANGE).json() == {"stale": True}
    del tried["edits"]
    tried["revision"] = revision
    assert client.post("/column/quay/scene", json={**tried, "edits": 3}, headers=CHANGE).status_code == 400
    assert client.post("/column/quay/scene", json=tried).status_code == 403


def test_the_line_picture_is_of_the_design_as_it_is(client: TestClient) -> None:
    def drawn() -> str:
        return str(client.get("/column/quay/still").json()["svg"])

    before = drawn()
    assert "top at 500 mm" in before
    revision = client.get("/column/quay/answers?after=0").json()["of"]
    taller = {"revision": revision, "edits": [{"do": "set", "path": ["height"], "text": "520 mm"}]}
    assert client.post("/column/quay/edit", json=taller, headers=CHANGE).status_code == 200
    assert "top at 520 mm" in drawn()
    assert drawn() != before


@pytest.mark.parametrize("made", [square_filled, slab, hexagon])
def test_the_line_picture_shows_what_it_stands_on(made: Callable[[], Column]) -> None:
    column = made()
    on_pallet, by_itself = standing(column).svg, alone(column).svg
    assert 0 < by_itself.count("<polygon") < on_pallet.count("<polygon")
    assert column.platforms
