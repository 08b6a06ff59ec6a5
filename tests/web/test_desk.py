"""Documents on the desk: edits, undo, staleness, drafts, history, and being killed in the middle."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from orthostat.base.problems import DocumentError
from orthostat.document.editing import Edit
from orthostat.document.folder import revision_of
from orthostat.web.desk import Desk, Held, Stale

SHOP = '# the shop\nname = "Test"\n[units]\nlength = "mm"\n'
COLUMN = '# kept\nheight = 500  # and this\nplan = { shape = "square", across_flats = 300 }\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "columns" / "quay.toml").write_text(COLUMN, encoding="utf-8")
    return tmp_path


def height(desk: Desk, value: object) -> Held:
    return desk.edit("quay", desk.held("quay").revision, (Edit("set", ("height",), value),))


def on_disk(folder: Path) -> str:
    return (folder / "columns" / "quay.toml").read_text("utf-8")


def test_an_edit_is_saved_at_once_and_keeps_comments(folder: Path) -> None:
    held = height(Desk(folder), "20 1/2 in")
    assert held.problems == ()
    assert not held.unsaved
    assert on_disk(folder) == COLUMN.replace("500", '"20 1/2 in"')


def test_a_fault_keeps_the_file_as_it_was_and_survives_the_page(folder: Path) -> None:
    held = height(Desk(folder), "5 parsecs")
    assert held.unsaved
    assert [problem.key for problem in held.problems] == ["height"]
    assert on_disk(folder) == COLUMN
    again = Desk(folder)
    assert again.held("quay").text == held.text
    assert not height(again, "510 mm").unsaved
    assert '"510 mm"' in on_disk(folder)
    assert not (folder / "history" / "columns" / "quay" / "unsaved.txt").exists()


def test_undo_and_redo_go_back_and_forth(folder: Path) -> None:
    desk = Desk(folder)
    states = [on_disk(folder)]
    states += [height(desk, value).text for value in (510, "5 parsecs", 520)]
    assert desk.next_steps("quay")[0] == "height: 5 parsecs → 520"
    for state in reversed(states[:-1]):
        assert desk.undo("quay").text == state
    assert desk.next_steps("quay") == ("", "height: 500 → 510")
    for state in states[1:]:
        assert desk.redo("quay").text == state
    assert on_disk(folder) == states[-1]


def test_a_change_of_the_shop_is_undone_from_the_column(folder: Path) -> None:
    desk = Desk(folder)
    height(desk, 510)
    desk.edit(None, desk.held(None).revision, (Edit("set", ("name",), "Other"),))
    desk.undo("quay")
    assert desk.held(None).text == SHOP
    desk.undo("quay")
    assert on_disk(folder) == COLUMN


def test_a_stale_edit_is_refused_with_what_changed(folder: Path) -> None:
    desk = Desk(folder)
    seen = desk.held("quay").revision
    height(desk, 510)
    with pytest.raises(Stale) as refused:
        desk.edit("quay", seen, (Edit("set", ("height",), 520),))
    assert [(each.key, each.then, each.now) for each in refused.value.changed] == [("height", "500", "510")]
    assert "510" in on_disk(folder)


def test_what_somebody_else_wrote_is_taken_over_and_a_draft_is_set_aside(folder: Path) -> None:
    desk = Desk(folder)
    draft = height(desk, "5 parsecs")
    theirs = COLUMN.replace("500", "640")
    (folder / "columns" / "quay.toml").write_text(theirs, encoding="utf-8")
    assert desk.held("quay").text == theirs
    with pytest.raises(Stale):
        desk.undo("quay")
    assert draft.text in [text for _, text in desk.states("quay")]


def test_every_saved_state_can_be_seen_and_brought_back(folder: Path) -> None:
    desk = Desk(folder)
    for value in (510, 520, 530):
        height(desk, value)
    states = desk.states("quay")
    assert [text for _, text in states] == [
        COLUMN.replace("500", str(value)) for value in (530, 520, 510, 500)
    ]
    desk.replace("quay", desk.held("quay").revision, desk.state("quay", states[-1][0]))
    assert on_disk(folder) == COLUMN
    with pytest.raises(DocumentError):
        desk.state("quay", "../../shop")


def test_items_are_added_copied_and_taken_away(folder: Path) -> None:
    desk = Desk(folder)

    def edit(*edits: Edit) -> Held:
        return desk.edit("quay", desk.held("quay").revision, edits)

    held = edit(Edit("append", ("tubes",), {}))
    assert [problem.key for problem in held.problems] == ["tubes[0].name"]
    held = edit(Edit("set", ("tubes", 0, "name"), "void"), Edit("set", ("tubes", 0, "outside"), "80 mm"))
    edit(Edit("copy", ("tubes", 0)), Edit("set", ("tubes", 1, "name"), "second"))
    assert desk.held("quay").text.count("[[tubes]]") == 2
    edit(Edit("remove", ("tubes", 0)))
    assert "second" in desk.held("quay").text
    assert '"void"' not in desk.held("quay").text


def test_ten_writers_lose_nothing(folder: Path) -> None:
    desk = Desk(folder)
    made: list[int] = []

    def write(start: int) -> None:
        for value in range(start, start + 8):
            while True:
                try:
                    height(desk, value)
                except Stale:
                    continue
                made.append(value)
                break

    threads = [threading.Thread(target=write, args=(1000 + 100 * index,)) for index in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = [text for _, text in desk.states("quay")]
    assert len(made) == 80
    assert all(any(f"height = {value} " in text for text in kept) for value in made)


KILLS = 1000 if os.environ.get("CI") else 60
SAVER = """
import sys
from pathlib import Path
from orthostat.document.folder import ShopFolder, revision_of
folder = ShopFolder(Path(sys.argv[1])); file = folder.column_file("quay")
text = file.read_text("utf-8"); number = int(sys.argv[2])
print("ready", flush=True)
while True:
    number += 1
    new = f"# {number} " + "x" * 200_000 + "\\n"
    folder.save(file, new, revision_of(text))
    text = new
    print(number, flush=True)
"""


def test_a_kill_at_any_instant_loses_no_saved_state(folder: Path) -> None:
    """Each round saves without rest and is killed a little later than the one before."""
    file = folder / "columns" / "quay.toml"
    file.write_text("# 0 " + "x" * 200_000 + "\n", encoding="utf-8")
    rounds, kills, last = 0, 0, 0
    while kills < KILLS:
        process = subprocess.Popen(
            [sys.executable, "-c", SAVER, str(folder), str(last)],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
            encoding="utf-8",
        )
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        time.sleep(0.003 + 0.0007 * (rounds % 40))
        process.kill()
        said = [line for line in process.stdout.read().split("\n") if line.strip().isdigit()]
        process.stdout.close()
        process.wait()
        rounds, kills = rounds + 1, kills + 1
        text = file.read_text("utf-8")
        number = int(text.split()[1])
        assert text == f"# {number} " + "x" * 200_000 + "\n"
        assert number >= max([last, *map(int, said[:-1])], default=0)
        last = number
        history = folder / "history" / "columns" / "quay"
        for kept in history.glob("*.toml"):
            assert kept.stem.endswith(revision_of(kept.read_text("utf-8"))[:12])
            kept.unlink()
    Desk(folder)
    assert list(folder.rglob("*.part")) == []
