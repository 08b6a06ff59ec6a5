"""Saving: in one step, with comments kept, never over a version the writer has not seen."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from orthostat.document.editing import with_values
from orthostat.document.folder import ShopFolder, StaleRevision, revision_of, write_whole

TEXT = """\
# our first column
height = 500   # measured

[plan]
shape = "square"          # four faces
across_flats = "300 mm"

[[studs]]
thread = "M16"  # long ones
at = [0, 0]
"""


def test_changing_a_value_keeps_comments_and_order() -> None:
    changed = with_values(TEXT, {("plan", "across_flats"): "12 in", ("studs", 0, "grade"): "8.8"}, "c.toml")
    assert changed.replace('"12 in"', '"300 mm"').replace('grade = "8.8"\n', "") == TEXT
    assert (
        with_values(changed, {("studs", 0, "grade"): None, ("plan", "across_flats"): "300 mm"}, "c") == TEXT
    )


def test_new_tables_are_made_and_lost_paths_refused() -> None:
    assert "[truing]" in with_values(TEXT, {("truing", "depth"): "0.3 mm"}, "c.toml")
    with pytest.raises(Exception, match="leads nowhere"):
        with_values(TEXT, {("height", "x"): 1}, "c.toml")
    with pytest.raises(Exception, match="leads nowhere"):
        with_values(TEXT, {("studs", 7, "grade"): "8.8"}, "c.toml")


def test_a_save_is_kept_in_the_history_and_a_stale_one_refused(tmp_path: Path) -> None:
    folder = ShopFolder(tmp_path)
    file = folder.column_file("c")
    first = folder.save(file, TEXT, None)
    second = folder.save(file, TEXT + "#\n", first)
    with pytest.raises(StaleRevision):
        folder.save(file, "lost", first)
    with pytest.raises(StaleRevision):
        folder.save(file, "lost", None)
    assert file.read_text("utf-8") == TEXT + "#\n"
    assert [revision_of(old.read_text("utf-8")) for old in folder.history(file)] == [first, second]


def test_a_failed_write_leaves_the_old_file_and_no_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "shop.toml"
    write_whole(file, "old")
    monkeypatch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError("disk full")))
    with pytest.raises(OSError, match="disk full"):
        write_whole(file, "new")
    assert file.read_text("utf-8") == "old"
    assert list(tmp_path.iterdir()) == [file]


WRITER = """
import sys
from pathlib import Path
from orthostat.document.folder import write_whole
file = Path(sys.argv[1])
print("ready", flush=True)
while True:
    for letter in "ab":
        write_whole(file, letter * 200_000)
"""


def test_killing_the_writer_leaves_a_whole_file(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    write_whole(file, "a" * 200_000)
    source = str(Path(__file__).resolve().parents[3] / "src")
    pauses = random.Random(7)
    for _ in range(20):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(file)], stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": source},
        )  # fmt: skip
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(pauses.uniform(0.0, 0.02))
        writer.kill()
        writer.communicate()
        text = file.read_text("utf-8")
        assert len(text) == 200_000
        assert len(set(text)) == 1
