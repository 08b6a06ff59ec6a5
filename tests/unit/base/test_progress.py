"""How far work has come, told along stretches of a whole."""

from __future__ import annotations

from functools import lru_cache

import pytest

from orthostat.base.progress import SILENT, Progress

Said = list[tuple[str, float]]


@pytest.fixture
def said() -> Said:
    return []


@pytest.fixture
def progress(said: Said) -> Progress:
    return Progress(lambda doing, share: said.append((doing, share)))


def test_a_stretch_within_a_stretch(said: Said, progress: Progress) -> None:
    second = progress.step(1, 4, "second of four")
    second.at(1, 2, "half way")
    second.step(1, 2, "the rest").at(1, 1)
    assert said == [
        ("second of four", 0.25),
        ("second of four, half way", 0.375),
        ("second of four, the rest", 0.375),
        ("second of four, the rest", 0.5),
    ]


def test_shares_stay_within_the_whole(said: Said, progress: Progress) -> None:
    progress.at(7, 5)
    progress.at(-1, 5)
    progress.at(0, 0)
    assert [share for _, share in said] == [1.0, 0.0, 1.0]


def test_silence_costs_nothing() -> None:
    SILENT.at(1, 2, "nobody hears")
    assert SILENT.step(0, 2, "nobody") is SILENT


def test_who_is_told_does_not_change_what_is_kept(progress: Progress) -> None:
    runs = []

    @lru_cache
    def kept(size: int, progress: Progress) -> int:
        runs.append(size)
        return size * size

    assert kept(3, progress) == kept(3, SILENT) == 9
    assert runs == [3]
