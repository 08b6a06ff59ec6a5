"""A worker tells how far it is before it answers, and can be stopped in the middle."""

from __future__ import annotations

import io
import pickle
from collections.abc import Iterator
from pathlib import Path

import pytest

from orthostat.web.asking import LONG, Answer, Ask, Design, Told
from orthostat.web.board import Answers, Part
from orthostat.web.lanes import Lane, Stopped
from orthostat.web.rendering import news_of
from orthostat.web.worker import Teller, read_frame

ROOT = Path(__file__).parents[2]


@pytest.fixture
def lane() -> Iterator[Lane]:
    made = Lane()
    yield made
    made.close()


@pytest.fixture
def design() -> Design:
    shop = ROOT / "examples" / "saltmarsh"
    text = (shop / "columns" / "harbour.toml").read_text("utf-8")
    return Design(str(shop), "harbour", (shop / "shop.toml").read_text("utf-8"), text)


def test_news_comes_before_the_answer(lane: Lane, design: Design) -> None:
    news: list[Told] = []
    answer = lane.ask(Ask("findings", design, subjects=("pour" + LONG,)), news.append)
    assert answer.found["pour" + LONG]
    assert {"as planned", "cold end", "warm end"} <= {
        part for told in news for part in told.doing.split(", ")
    }
    assert all(0.0 <= told.share <= 1.0 for told in news)
    assert lane.ask(Ask("findings", design, subjects=("fit",))).found["fit"]  # nothing was left in the pipe


def test_work_is_stopped_by_whoever_hears_of_it(lane: Lane, design: Design) -> None:
    with pytest.raises(Stopped):
        lane.ask(Ask("findings", design, subjects=("pour" + LONG,)), lambda _: lane.stop())
    assert lane.ask(Ask("ready")).subjects


def test_a_new_step_is_told_at_once_and_its_count_at_intervals(monkeypatch: pytest.MonkeyPatch) -> None:
    now = 10.0
    monkeypatch.setattr("orthostat.web.worker.time.monotonic", lambda: now)
    stream = io.BytesIO()
    tell = Teller(stream)
    for doing, later in (
        ("meshing", 0.0),
        ("modes 1 of 9", 0.0),
        ("modes 2 of 9", 0.01),
        ("modes 8 of 9", 0.2),
    ):
        now += later
        tell(doing, 0.5)
    stream.seek(0)
    heard = [pickle.loads(frame).doing for frame in iter(lambda: read_frame(stream), None)]  # ours
    assert heard == ["meshing", "modes 1 of 9", "modes 8 of 9"]


def test_news_of_a_subject_is_no_new_version(tmp_path: Path, design: Design) -> None:
    answers = Answers(tmp_path)
    answers._there_is = Answer(subjects=("fit",))
    try:
        snapshot = answers.show(design, typed=True)
        board = answers._boards["harbour"]
        board.parts["fit"] = Part("fit", "running")
        answers._tell(board, "fit", Told("modes 3 of 9", 0.25))
        assert board.version == snapshot.version
        assert (news_of(board.parts["fit"])["doing"], news_of(board.parts["fit"])["share"]) == (
            "modes 3 of 9",
            0.25,
        )
    finally:
        answers.close()
