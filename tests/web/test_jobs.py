"""Work of pages: done last asked first, watched, stopped, taken over by newer questions."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from functools import partial
from threading import Event
from typing import Any

import pytest

from orthostat.web.asking import Answer, Ask, Told
from orthostat.web.jobs import _KEPT, Job, Jobs
from orthostat.web.lanes import Lane, Stopped, Wish


class SlowLane(Lane):
    """A worker that answers a chapter when it is let go, and may be stopped before."""

    def __init__(self) -> None:
        super().__init__()
        self.let_go: dict[str, Event] = {}
        self.begun: list[str] = []
        self.stopped = Event()

    def ask(self, ask: Ask, told: Callable[[Told], None] | None = None, wish: Wish | None = None) -> Answer:
        self.stopped.clear()
        self.begun.append(ask.chapter)
        if told is not None:
            told(Told(f"on {ask.chapter}", 0.5))
        go = self.let_go.setdefault(ask.chapter, Event())
        while not go.wait(0.005):
            if self.stopped.is_set():
                raise Stopped
        return Answer(broke="Traceback\nboom" if ask.chapter == "bad" else "", notes=(ask.chapter,))

    def stop(self, *, patient: bool = False) -> None:
        self.stopped.set()

    def go(self, *chapters: str) -> None:
        for each in chapters:
            self.let_go.setdefault(each, Event()).set()


@pytest.fixture
def lane() -> SlowLane:
    return SlowLane()


@pytest.fixture
def jobs(lane: SlowLane) -> Iterator[Jobs]:
    made = Jobs(lane)
    yield made
    made.close()
    lane.stop()


def ask(*chapters: str) -> tuple[Ask, ...]:
    return tuple(Ask("chapter", chapter=each) for each in chapters)


def until(seen: Callable[[], Any]) -> None:
    end = time.monotonic() + 20.0
    while not seen():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.003)


def status(jobs: Jobs, key: str) -> str:
    job = jobs.job(key)
    return "" if job is None else job.status


def _is_done(jobs: Jobs, key: str) -> bool:
    return status(jobs, key) == "done"


def running(jobs: Jobs, key: str) -> Job:
    until(lambda: (job := jobs.job(key)) is not None and job.told is not None)
    job = jobs.job(key)
    assert job is not None
    return job


def test_a_job_tells_how_far_it_is_and_keeps_its_answers(jobs: Jobs, lane: SlowLane) -> None:
    assert jobs.begin("a", ask("x", "y")).status == "waiting"
    assert running(jobs, "a").told == Told("on x", 0.5)
    lane.go("x", "y")
    until(lambda: status(jobs, "a") == "done")
    done = jobs.begin("a", ask("x", "y"))
    assert [answer.notes for answer in done.answers] == [("x",), ("y",)]
    assert lane.begun == ["x", "y"]  # asked again, not worked out again


def test_the_last_asked_is_done_first(jobs: Jobs, lane: SlowLane) -> None:
    jobs.begin("first", ask("first"))
    running(jobs, "first")
    for each in ("old", "older", "newest", "old"):  # somebody still looks at the old one
        jobs.begin(each, ask(each))
    lane.go("first", "old", "older", "newest")
    until(lambda: status(jobs, "older") == "done")
    assert lane.begun == ["first", "old", "newest", "older"]


def test_a_stopped_job_stays_stopped_until_it_is_wanted_again(jobs: Jobs, lane: SlowLane) -> None:
    jobs.begin("a", ask("x"))
    running(jobs, "a")
    jobs.stop("a")
    assert jobs.begin("a", ask("x")).status == "stopped"
    lane.go("x")
    time.sleep(0.05)
    assert status(jobs, "a") == "stopped"
    jobs.begin("a", ask("x"), again=True)
    until(lambda: status(jobs, "a") == "done")
    jobs.stop("a")  # too late
    jobs.stop("never begun")
    assert status(jobs, "a") == "done"


def test_stopping_one_that_waits_leaves_the_running_one_alone(jobs: Jobs, lane: SlowLane) -> None:
    jobs.begin("a", ask("x"))
    running(jobs, "a")
    jobs.begin("b", ask("y"))
    jobs.stop("b")
    lane.go("x")
    until(lambda: status(jobs, "a") == "done")
    assert lane.begun == ["x"]


def test_newer_questions_take_the_place_of_older_ones(jobs: Jobs, lane: SlowLane) -> None:
    jobs.begin("a", ask("x"))
    running(jobs, "a")
    jobs.begin("a", ask("z"))
    lane.go("z")
    until(lambda: status(jobs, "a") == "done")
    assert lane.begun == ["x", "z"]


def test_a_worker_that_was_ended_by_others_is_asked_again(jobs: Jobs, lane: SlowLane) -> None:
    jobs.begin("a", ask("x"))
    running(jobs, "a")
    lane.stop()
    until(lambda: len(lane.begun) == 2)
    lane.go("x")
    until(lambda: status(jobs, "a") == "done")


def test_what_breaks_says_so_and_can_be_tried_again(jobs: Jobs, lane: SlowLane) -> None:
    lane.go("bad", "x")
    jobs.begin("a", ask("bad", "x"))
    until(lambda: status(jobs, "a") == "broken")
    job = jobs.job("a")
    assert job is not None
    assert job.broke.endswith("boom")
    assert lane.begun == ["bad"]
    jobs.begin("a", ask("bad", "x"), again=True)
    until(lambda: len(lane.begun) == 2)


def test_only_the_newest_answers_are_kept(jobs: Jobs, lane: SlowLane) -> None:
    for number in range(2 * _KEPT):
        lane.go(str(number))
        jobs.begin(str(number), ask(str(number)))
        until(partial(_is_done, jobs, str(number)))
    jobs.begin("last", ask("last"))
    assert [number for number in range(2 * _KEPT) if status(jobs, str(number))] == list(
        range(_KEPT, 2 * _KEPT)
    )
