"""Answers while somebody types: two workers share the quick subjects of a design, one from each end.

One takes the cheapest that is left, the other the costliest. So the first answers do not wait for the
slow ones, and subjects that need the same costly result, which cost alike, come to the same worker.
What each costs is measured. Some subjects come before all others; after them one worker goes on with the
quick models, the other with the rest.
"""

from __future__ import annotations

import math
import os
from collections import deque
from collections.abc import Callable, Collection, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from threading import Event, Lock

from orthostat.web.asking import Answer, Ask, Design
from orthostat.web.lanes import Lane, Stopped, Wish

QUICK = 0.5
"""What takes longer than this [s] is not answered while somebody types but beside the page."""
_SHARED = 3.0
"""How many times as much as its cheapest answer the dearest one costs, where others need the same."""
BATCH = 0.02
"""The cheapest are asked for together, as long as they take no more than this [s]."""
QUICK_MODEL = 3.0
"""The same for a quick model [s]."""
_AT_ONCE = 64
"""How many tabs may wait for the workers, twice over."""
_SEEN = 8
"""Answers that count for what a subject costs."""

Came = Callable[[Answer | None], None]
"""Takes each answer as it comes, and `None` when no more will come."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What a subject costs [s]: the dearest of its last answers, as one that found what it needs worked out
    already says little.
    """

    seconds: float
    shared: bool = False
    """Whether others need the same: then its answers cost much or little, by who came first."""


class Costs:
    """What each subject of each column costs, as measured by all workers.

    The first answer of each worker includes reading libraries, so it counts only while it is alone.
    """

    def __init__(self) -> None:
        self._first: dict[str, dict[Lane, float]] = {}
        self._seen: dict[tuple[str, str], deque[float]] = {}

    def learn(self, column: str, answer: Answer, lane: Lane) -> None:
        """Take in how long each subject of an answer took, where anything was worked out for it."""
        for subject, seconds in answer.seconds.items():
            first = self._first.setdefault(subject, {})
            if lane not in first:
                first[lane] = seconds
            elif answer.worked.get(subject, True):
                self._seen.setdefault((column, subject), deque(maxlen=_SEEN)).append(seconds)

    def of(self, column: str, subject: str) -> Cost | None:
        """What an answer costs; `None` before there was one."""
        seen = self._seen.get((column, subject))
        if seen:
            return Cost(max(seen), _SHARED * min(seen) < max(seen))
        first = self._first.get(subject)
        return Cost(min(first.values())) if first else None

    def quick(self, column: str, subjects: Iterable[str], limit: float = QUICK) -> dict[str, Cost]:
        """Those that are seen to take no longer than `limit`, the cheapest first."""
        known = {subject: cost for subject in subjects if (cost := self.of(column, subject)) is not None}
        kept = (subject for subject in known if known[subject].seconds <= limit)
        return {subject: known[subject] for subject in sorted(kept, key=lambda each: known[each].seconds)}


class Run(Wish):
    """The quick subjects of one design, on their way."""

    def __init__(
        self,
        design: Design,
        costs: Mapping[str, Cost],
        models: Iterable[str],
        came: Came,
        first: Collection[str] = (),
    ) -> None:
        super().__init__()
        self.design = design
        self._costs = costs
        self._came = came
        self._first = [subject for subject in costs if subject in first]
        self._rest = [subject for subject in costs if subject not in first]
        self._models = deque(models)
        self._asked = False
        self._other_is_at = math.inf
        """What the other worker's subject costs [s]: what shares its result, perhaps, is left to it."""
        self._lock = Lock()
        self._workers = 0
        self._ended = False

    def begin(self, workers: int) -> None:
        """So many workers are at it."""
        self._workers = workers

    def take(self, *, cheapest: bool) -> tuple[str, ...] | None:
        """What is to be asked next; `None` where nothing is left for this end."""
        with self._lock:
            asked, self._asked = self._asked, self._asked or cheapest
            if self.over:
                return None
            # Even without any subject it is asked whether the document can be read.
            if not self._first and not self._rest and not self._models and not asked:
                return () if cheapest else None
            if cheapest:
                return (
                    self._cheapest(self._first)
                    or self._cheapest(self._rest)
                    or self._model()
                    or self._costliest(self._rest)
                    or None
                )
            return self._costliest(self._first) or self._model() or self._costliest(self._rest) or None

    def _model(self) -> tuple[str, ...]:
        return (self._models.popleft(),) if self._models else ()

    def _cheapest(self, left: list[str]) -> tuple[str, ...]:
        taken: list[str] = []
        spent = 0.0
        for subject in tuple(left):
            cost = self._costs[subject]
            spent += cost.seconds
            if taken and spent > BATCH:
                break
            if not cost.shared or cost.seconds < 0.5 * self._other_is_at:
                taken.append(subject)
                left.remove(subject)
        return tuple(taken)

    def _costliest(self, left: list[str]) -> tuple[str, ...]:
        if not left:
            return ()
        self._other_is_at = self._costs[left[-1]].seconds
        return (left.pop(),)

    def tell(self, answer: Answer) -> None:
        """Hand an answer on; after a fault no more are asked for."""
        if answer.problems or answer.broke:
            with self._lock:
                self._first.clear()
                self._rest.clear()
                self._models.clear()
        if not self.over:
            self._came(answer)

    def leave(self) -> None:
        """One worker has ended; with the last one it is over."""
        with self._lock:
            self._workers -= 1
            if self._workers:
                return
        self.end()

    def end(self) -> None:
        """Nothing more will come."""
        with self._lock:
            ended, self._ended, self.over = self._ended, True, True
        if not ended:
            self._came(None)


class Rehearsal(Wish):
    """All that is quick of one design, asked of both workers while nobody types.

    Whoever types next then meets libraries that are loaded and results that are remembered.
    """

    def __init__(self) -> None:
        super().__init__()
        self.given_up = Event()


class Typists:
    """The two workers, and the runs they share."""

    def __init__(self, costs: Costs) -> None:
        self.costs = costs
        # On a single core the costly would only slow the cheap down.
        self.lanes = (Lane(), Lane()) if (os.cpu_count() or 1) > 1 else (Lane(),)
        self._threads = ThreadPoolExecutor(2 * _AT_ONCE, "typists")
        self._rehearsal = Rehearsal()

    def close(self) -> None:
        """Stop the workers."""
        self._end_rehearsal()
        for lane in self.lanes:
            lane.close()
        self._threads.shutdown(wait=False, cancel_futures=True)

    def begin(
        self,
        design: Design,
        costs: Mapping[str, Cost],
        models: Iterable[str],
        came: Came,
        first: Collection[str] = (),
    ) -> Run:
        """Ask for subjects and of `models`, those of `first` before all others; the answers come from other
        threads.
        """
        self._end_rehearsal()
        run = Run(design, costs, models, came, first)
        run.begin(len(self.lanes))
        for lane in self.lanes:
            self._threads.submit(self._work, run, lane)
        return run

    def rehearse(self, design: Design, subjects: Iterable[str], after: float) -> None:
        """Ask both workers for all of `subjects` once nothing else has been asked for so long [s]."""
        self._end_rehearsal()
        rehearsal = self._rehearsal = Rehearsal()
        for lane in self.lanes:
            self._threads.submit(self._rehearse, rehearsal, lane, design, tuple(subjects), after)

    def _end_rehearsal(self) -> None:
        self._rehearsal.given_up.set()
        for lane in self.lanes:
            lane.leave(self._rehearsal, patient=True)

    def _rehearse(
        self, rehearsal: Rehearsal, lane: Lane, design: Design, subjects: tuple[str, ...], after: float
    ) -> None:
        if rehearsal.given_up.wait(after):
            return
        try:
            for subject in subjects:
                answer = lane.ask(Ask("findings", design, subjects=(subject,)), wish=rehearsal)
                self.costs.learn(design.name, answer, lane)
        except Stopped:
            pass

    def drop(self, run: Run) -> None:
        """Give up what is left of a run."""
        for lane in self.lanes:
            lane.leave(run)
        run.end()

    def _work(self, run: Run, lane: Lane) -> None:
        first, last = lane is self.lanes[0], lane is self.lanes[-1]
        try:
            while (subjects := self._next(run, first=first, last=last)) is not None:
                answer = lane.ask(Ask("findings", run.design, subjects=subjects), wish=run)
                self.costs.learn(run.design.name, answer, lane)
                run.tell(answer)
        except Stopped:
            pass
        finally:
            run.leave()

    def _next(self, run: Run, *, first: bool, last: bool) -> tuple[str, ...] | None:
        """What a worker is to do; one that is alone works from both ends."""
        subjects = run.take(cheapest=True) if first else None
        return run.take(cheapest=False) if subjects is None and last else subjects
