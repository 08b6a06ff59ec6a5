"""Work of pages that takes a while: one piece after another beside the page, watched and stopped."""

from __future__ import annotations

import itertools
import time
from collections import OrderedDict
from dataclasses import dataclass, field, replace
from functools import partial
from threading import Condition, Thread
from typing import Literal

from orthostat.web.asking import Answer, Ask, Told
from orthostat.web.lanes import Lane, Stopped

Status = Literal["waiting", "running", "done", "stopped", "broken"]
_KEPT = 12
"""Finished jobs that are kept, with their answers."""


@dataclass(frozen=True, slots=True)
class Job:
    """Some questions asked together, how far the work on them is, and their answers when it is done."""

    key: str
    number: int
    """Unlike that of any job before it."""
    asks: tuple[Ask, ...]
    status: Status = "waiting"
    answers: tuple[Answer, ...] = ()
    told: Told | None = None
    since: float = field(default_factory=time.monotonic)
    """When it was asked for, or began to run (monotonic) [s]."""
    broke: str = ""

    @property
    def over(self) -> bool:
        """Whether nothing more will come of it by itself."""
        return self.status in ("done", "stopped", "broken")


class Jobs:
    """The jobs of one worker. What is asked for last is done first: somebody is looking at it."""

    def __init__(self, lane: Lane) -> None:
        self._lane = lane
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._numbers = itertools.count(1)
        self._news = Condition()
        self._thread: Thread | None = None
        self._closed = False

    def begin(self, key: str, asks: tuple[Ask, ...], *, again: bool = False) -> Job:
        """The job of `key`, begun unless the same was asked already.

        Other questions under the same key take its place. One that was stopped or broke is only begun
        anew where `again` is asked for.
        """
        with self._news:
            job = self._jobs.get(key)
            if job is None or job.asks != asks or (again and job.status in ("stopped", "broken")):
                if job is not None:
                    self._end(job)
                job = Job(key, next(self._numbers), asks)
                self._jobs[key] = job
                self._start()
            self._jobs.move_to_end(key)
            self._drop()
            self._news.notify_all()
            return job

    def job(self, key: str) -> Job | None:
        """What became of a job; `None` where it was never begun or is kept no more."""
        with self._news:
            return self._jobs.get(key)

    def stop(self, key: str) -> None:
        """Stop a job; it stays stopped until it is begun again."""
        with self._news:
            job = self._jobs.get(key)
            if job is not None and not job.over:
                self._end(job)
                self._jobs[key] = replace(job, status="stopped", told=None)

    def close(self) -> None:
        """Begin nothing more."""
        with self._news:
            self._closed = True
            self._news.notify_all()

    # ---- inside; the lock is held

    def _end(self, job: Job) -> None:
        # Under the lock, so that the worker can't have begun another job meanwhile.
        if job.status == "running":
            self._lane.stop()

    def _drop(self) -> None:
        over = [key for key, job in self._jobs.items() if job.over]
        for key in over[: max(0, len(over) - _KEPT)]:
            del self._jobs[key]

    def _start(self) -> None:
        if self._thread is None:
            self._thread = Thread(target=self._work, name="jobs of pages", daemon=True)
            self._thread.start()

    def _next(self) -> Job | None:
        return next((job for job in reversed(self._jobs.values()) if job.status == "waiting"), None)

    def _change(self, job: Job, **to: object) -> Job | None:
        """The job with changes, if it is still the one of its key and runs."""
        now = self._jobs.get(job.key)
        if now is None or now.number != job.number or now.status != "running":
            return None
        changed = self._jobs[job.key] = replace(now, **to)  # type: ignore[arg-type]  # fields of a job
        return changed

    # ---- the worker's thread

    def _work(self) -> None:
        while True:
            with self._news:
                while (job := self._next()) is None and not self._closed:
                    self._news.wait()
                if self._closed or job is None:
                    return
                job = self._jobs[job.key] = replace(job, status="running", since=time.monotonic())
            self._run(job)

    def _run(self, job: Job) -> None:
        answers: list[Answer] = []
        for ask in job.asks:
            try:
                answers.append(self._lane.ask(ask, partial(self._tell, job)))
            except Stopped:
                with self._news:  # not by us: somebody ended the worker, so it is done again
                    self._change(job, status="stopped" if self._closed else "waiting", told=None)
                return
            if answers[-1].broke:
                break
        with self._news:
            broke = answers[-1].broke
            self._change(
                job, status="broken" if broke else "done", broke=broke, answers=tuple(answers), told=None
            )

    def _tell(self, job: Job, told: Told) -> None:
        with self._news:
            self._change(job, told=told)
