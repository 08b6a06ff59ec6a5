"""A worker tells how far it is before it answers, and can be stopped in the middle."""

from __future__ import annotations

import io
import os
import pickle
import signal
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from orthostat.web import lanes
from orthostat.web.answers import Answers
from orthostat.web.asking import LONG, Answer, Ask, Design, Told
from orthostat.web.board import Part
from orthostat.web.lanes import GRACE, Lane, Stopped, Wish
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


def test_stopped_work_leaves_its_process_with_all_it_remembers(lane: Lane, design: Design) -> None:
    slow = Ask("findings", design, subjects=("pour" + LONG,))
    quick = Ask("findings", design, subjects=("pour",))
    assert lane.ask(quick).worked["pour"]
    process = lane._process
    with pytest.raises(Stopped):
        lane.ask(slow, lambda _: lane.stop())
    assert lane._process is process
    assert not lane.ask(quick).worked["pour"]
    time.sleep(GRACE + 0.3)  # nor is the process ended later, when it has long been at something else
    assert not lane.ask(quick).worked["pour"]
    assert lane._process is process


@pytest.mark.skipif(sys.platform == "win32", reason="no signal halts a process there")
def test_a_process_that_does_not_hear_of_it_is_ended(lane: Lane, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lanes, "GRACE", 0.05)
    lane.ask(Ask("ready"))
    monkeypatch.setattr(lane, "_halt", lambda *_: None)
    process = lane._process
    assert process is not None
    os.kill(process.pid, signal.SIGSTOP)
    with ThreadPoolExecutor(1) as apart:
        asked = apart.submit(lane.ask, Ask("ready"))
        while not lane._busy:
            time.sleep(0.001)
        lane.stop()
        with pytest.raises(Stopped):
            asked.result(30.0)
    assert process.poll() is not None
    assert lane.ask(Ask("ready")).subjects


def test_what_is_wished_no_more_leaves_the_queue_and_the_worker(lane: Lane, design: Design) -> None:
    slow = Ask("findings", design, subjects=("pour" + LONG,))
    under_way, kept, dropped = threading.Event(), Wish(), Wish()
    with ThreadPoolExecutor(3) as apart:
        first = apart.submit(lane.ask, slow, lambda _: under_way.set(), kept)
        assert under_way.wait(60.0)
        waits = apart.submit(lane.ask, slow, None, dropped)
        stays = apart.submit(lane.ask, Ask("ready"))
        lane.leave(dropped)
        with pytest.raises(Stopped):
            waits.result(30.0)
        assert not first.done()
        lane.leave(kept)
        with pytest.raises(Stopped):
            first.result(30.0)
        assert stays.result(30.0).subjects
    with pytest.raises(Stopped):
        lane.ask(Ask("ready"), None, kept)


def test_a_question_is_sent_at_once_where_the_worker_runs_and_is_free(lane: Lane, design: Design) -> None:
    ready = Ask("ready")
    assert lane.at_once(ready, Wish()) is None  # no worker yet
    lane.ask(ready)
    waited = lane.at_once(ready, Wish())
    assert waited is not None
    assert lane.at_once(ready, Wish()) is None  # not its turn
    with ThreadPoolExecutor(1) as apart:
        after = apart.submit(lane.ask, ready)
        assert waited().subjects
        assert after.result(30.0).subjects
    wish = Wish()
    waited = lane.at_once(Ask("findings", design, subjects=("pour" + LONG,)), wish)
    assert waited is not None
    lane.leave(wish)
    with pytest.raises(Stopped):
        waited()
    assert lane.ask(ready).subjects
    lane.close()
    assert lane.at_once(ready, Wish()) is None


def test_a_worker_ends_with_the_page_that_asked(design: Design) -> None:
    lane = Lane()
    lane.ask(Ask("ready"))
    process = lane._process
    assert process is not None
    slow = Ask("findings", design, subjects=("pour" + LONG,))

    def hang_up(_: Told) -> None:
        assert process.stdin is not None
        process.stdin.close()

    with pytest.raises(Stopped):
        lane.ask(slow, hang_up)
    assert process.wait(10.0) == 0
    lane.close()


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
        snapshot = answers.show(design)
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
