"""Learnt models between runs: what comes back is what was kept, or nothing."""

import os
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import columns
from orthostat.analyses.stiffness.inputs import JointSprings
from orthostat.analyses.stiffness.study import Ranges, StudyDesign, StudyModel, answer, learn
from orthostat.base.dimensions import Metre, PascalPerMetre
from orthostat.studies.keeping import KEPT, cache_folder, keep, kept, key_of

SLAB = StudyDesign(
    corners=((-0.15, 0.05), (-0.15, -0.05), (0.15, -0.05), (0.15, 0.05)), height=Metre(0.5),
    wall=columns.IRON, joint=JointSprings(PascalPerMetre(3e11), PascalPerMetre(2.4e11)),
)  # fmt: skip


@cache
def slabs() -> StudyModel:
    return learn(Ranges(4, ("solid",), bases=(False,), lids=(False,)), columns=3, tried=1, modes=60)


def test_a_model_comes_back_and_answers_alike(tmp_path: Path) -> None:
    key = key_of([SLAB])
    assert keep(tmp_path, key, slabs())
    found = kept(tmp_path, key)
    assert found is not None
    assert found.ranges == slabs().ranges
    assert (found.learnt, found.worst_first) == (slabs().learnt, slabs().worst_first)
    assert np.array_equal(found.trials[0].exact.compliance, slabs().trials[0].exact.compliance)
    assert np.array_equal(answer(found, SLAB).squares, answer(slabs(), SLAB).squares)
    assert [file.name for file in tmp_path.iterdir()] == [f"study-{key}.npz"]


def test_the_key_hangs_on_every_design() -> None:
    keys = {
        key_of(each)
        for each in (
            [SLAB],
            [SLAB, SLAB],
            [replace(SLAB, height=Metre(0.5001))],
            [replace(SLAB, wall=columns.STEEL)],
        )
    }
    assert len(keys) == 4
    assert key_of([SLAB]) == key_of([SLAB])


def test_a_damaged_or_foreign_file_is_passed_over(tmp_path: Path) -> None:
    key = key_of([SLAB])
    file = tmp_path / f"study-{key}.npz"
    assert kept(tmp_path, key) is None
    keep(tmp_path, key, slabs())
    whole = file.read_bytes()
    for broken in (
        b"", b"not an archive", whole[: len(whole) // 2],
        whole[:3000] + bytes(byte ^ 255 for byte in whole[3000:3010]) + whole[3010:],
    ):  # fmt: skip
        file.write_bytes(broken)
        assert kept(tmp_path, key) is None
    other = tmp_path / "study-0.npz"
    other.write_bytes(whole)
    assert kept(tmp_path, "0") is None
    np.savez(file, digest=np.array([{"code": "evil"}], dtype=object))
    assert kept(tmp_path, key) is None
    file.write_bytes(whole)
    assert kept(tmp_path, key) is not None


def test_only_so_many_are_kept_and_a_folder_that_refuses_costs_nothing(tmp_path: Path) -> None:
    for number in range(KEPT + 2):
        keep(tmp_path, f"{number}", slabs())
        os.utime(tmp_path / f"study-{number}.npz", (1e9 + number, 1e9 + number))
    keep(tmp_path, "last", slabs())
    names = {file.name for file in tmp_path.iterdir()}
    assert len(names) == KEPT
    assert "study-last.npz" in names
    assert "study-0.npz" not in names
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert not keep(tmp_path / "file", "key", slabs())


def test_each_system_has_its_own_folder(tmp_path: Path) -> None:
    assert cache_folder({"XDG_CACHE_HOME": str(tmp_path)}, "linux") == tmp_path / "orthostat"
    assert cache_folder({"LOCALAPPDATA": str(tmp_path)}, "win32") == tmp_path / "orthostat" / "Cache"
    assert cache_folder({}, "darwin").parts[-3:] == ("Library", "Caches", "orthostat")
    assert cache_folder({"XDG_CACHE_HOME": "relative"}, "linux").parts[-2:] == (".cache", "orthostat")


@pytest.mark.parametrize("platform", ["linux", "win32", "darwin"])
def test_without_a_word_from_the_system_it_lies_at_home(platform: str) -> None:
    assert cache_folder({}, platform).is_relative_to(Path.home())
