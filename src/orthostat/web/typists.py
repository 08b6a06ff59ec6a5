"""Answers while somebody types: two workers share the quick subjects of a design, one from each end.

One takes the cheapest that is left, the other the costliest, so the first answers do not wait for the slow
ones. What each costs is measured, and which results it needs: subjects that need the same costly result are
asked together, of one worker. Some subjects come before all others; after them one worker goes on with the
quick models, the other with the picture and then with the rest.
"""

from __future__ import annotations

import math
import os
import time
from collections import deque
from collections.abc import Callable, Collection, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Condition, Event

from orthostat.web.asking import Answer, Ask, Design
from orthostat.web.lanes import Lane, Stopped, Wish

QUICK = 0.5
"""What takes longer than this [s] is not answered while somebody types but beside the page."""
_SHARED = 0.5
"""What costs less than this share where a result is there already is left to the worker that has it."""
BATCH = 0.025
"""The cheapest are asked for together, as long as they take no more than this [s]: to show each by itself
costs a browser as much.
"""
_BATCH_OF_REST = 0.1
"""The same for what does not come first [s]."""
QUICK_MODEL = 3.0
"""The same for a quick model [s]."""
HURRY = 0.14
"""Where a key follows another sooner than this [s], models wait that long: begun at once they are cut off
by the next key, of which a worker in the midst of a factorisation hears late.
"""
_AT_ONCE = 64
"""How many tabs may wait for the workers, twice over."""
_PATIENCE = 0.1
"""How long the rest waits for the last of what comes first, where both want the same cores [s]."""
_SHOWING = 0.012
"""How long such an answer is on its way to the screen [s]."""
_SEEN = 8
"""Answers that count for what a subject costs."""

Came = Callable[[Answer | None], None]
"""Takes each answer as it comes, and `None` when no more will come."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What a subject costs [s]: the dearest of what was seen last."""

    own: float
    needs: Mapping[str, float] = field(default_factory=dict)
    """The results it asks for."""

    def after(self, has: Collection[str] = ()) -> float:
        """What it costs a worker that has some results already."""
        return self.own + sum(seconds for result, seconds in self.needs.items() if result not in has)


class Costs:
    """What each subject of each column costs, as measured by all workers.

    The first answer of each worker includes reading libraries, so it counts only while it is alone.
    """

    def __init__(self) -> None:
        self._first: dict[str, dict[Lane, float]] = {}
        self._seen: dict[tuple[str, str], deque[float]] = {}
        self._needs: dict[tuple[str, str], set[str]] = {}
        self._results: dict[tuple[str, str], deque[float]] = {}

    def learn(self, column: str, answer: Answer, lane: Lane) -> None:
        """Take in how long each subject of an answer took, where anything was worked out for it."""
        for subject, seconds in answer.seconds.items():
            first = self._first.setdefault(subject, {})
            if lane not in first:
                first[lane] = seconds
            elif answer.worked.get(subject, True):
                needs = answer.needs.get(subject, {})
                self._needs.setdefault((column, subject), set()).update(needs)
                for result, spent in needs.items():
                    if spent:
                        _note(self._results, (column, result), spent)
                _note(self._seen, (column, subject), seconds - sum(needs.values()))

    def of(self, column: str, subject: str) -> Cost | None:
        """What an answer costs; `None` before there was one."""
        seen = self._seen.get((column, subject))
        if seen:
            needs = self._needs[column, subject]
            return Cost(max(seen), {each: max(self._results.get((column, each), (0.0,))) for each in needs})
        first = self._first.get(subject)
        return Cost(min(first.values())) if first else None

    def quick(self, column: str, subjects: Iterable[str], limit: float = QUICK) -> dict[str, Cost]:
        """Those that are seen to take no longer than `limit`, the cheapest first."""
        known = {subject: cost for subject in subjects if (cost := self.of(column, subject)) is not None}
        kept = (subject for subject in known if known[subject].after() <= limit)
        return {subject: known[subject] for subject in sorted(kept, key=lambda each: known[each].after())}


def _note(of: dict[tuple[str, str], deque[float]], key: tuple[str, str], seconds: float) -> None:
    of.setdefault(key, deque(maxlen=_SEEN)).append(seconds)


class Run(Wish):
    """The quick subjects of one design, on their way."""

    def __init__(
        self,
        design: Design,
        costs: Mapping[str, Cost],
        models: Iterable[str],
        came: Came,
        first: Collection[str] = (),
        *,
        pictured: bool = False,
        hurried: bool = False,
        patience: float = 0.0,
    ) -> None:
        super().__init__()
        self.design = design
        self._pictured = pictured
        self._patience = patience
        self._costs = costs
        self._came = came
        self._first = [subject for subject in costs if subject in first]
        self._rest = [subject for subject in costs if subject not in first]
        self._models = deque(models)
        self._models_from = time.monotonic() + HURRY if hurried else -math.inf
        """When models may begin (monotonic) [s]."""
        self._asked = False
        self._has: dict[bool, set[str]] = {True: set(), False: set()}
        """Results that the worker at the cheap end has or is at, and that at the other end."""
        self._due: set[str] = set()
        """What comes first and is asked, but not answered."""
        self._answered = -math.inf
        """When some of what comes first was last answered (monotonic) [s]."""
        self._lock = Condition()
        self._workers = 0
        self._ended = False

    def take(self, *, cheapest: bool) -> Ask | None:
        """What is to be asked next; `None` where nothing is left for this end."""
        with self._lock:
            asked, self._asked = self._asked, self._asked or cheapest
            if self.over:
                return None
            # Even without any subject it is asked whether the document can be read.
            if not self._first and not self._rest and not self._models and not asked:
                return self._findings(()) if cheapest else None
            if (foremost := self._foremost(cheapest=cheapest)) is not None:
                return foremost
            self._wait_for_first()
            if cheapest and self._pictured:
                self._pictured = False
                return Ask("scene", self.design)
            self._wait_until_shown()
            rest = self._cheapest(self._rest, _BATCH_OF_REST) if cheapest else ()
            rest = rest or self._model() or self._costliest(self._rest)
            return self._findings(rest) if rest and not self.over else None

    def begin(self, workers: int) -> list[Ask | None]:
        """So many workers are at it: what each is to be asked at once of what comes first."""
        self._workers = workers
        with self._lock:
            asks = [self._foremost(cheapest=worker == 0) for worker in range(workers)]
            self._asked = asks[0] is not None
        return asks

    def _foremost(self, *, cheapest: bool) -> Ask | None:
        first = self._cheapest(self._first) if cheapest else self._costliest(self._first)
        self._due.update(first)
        return self._findings(first) if first else None

    def _wait_for_first(self) -> None:
        """Until all of that is answered, but not for long: the rest would take the processor from it, and so
        would the picture.
        """
        self._lock.wait_for(lambda: not self._due and not self._first, self._patience)

    def _wait_until_shown(self) -> None:
        """A little longer, so that the last of it is on its way through server and browser."""
        if self._patience:
            since = time.monotonic() - self._answered
            self._lock.wait_for(lambda: self.over, max(0.0, _SHOWING - since))

    def _findings(self, subjects: tuple[str, ...]) -> Ask:
        return Ask("findings", self.design, subjects=subjects)

    def _model(self) -> tuple[str, ...]:
        if self._models and (wait := self._models_from - time.monotonic()) > 0.0:
            self._lock.wait_for(lambda: self.over or not self._models, wait)
        return (self._models.popleft(),) if self._models else ()

    def _cheapest(self, left: list[str], batch: float = BATCH) -> tuple[str, ...]:
        """Those that cost least, but for what the other worker has half done."""
        mine, theirs = self._has[True], self._has[False]
        taken: list[str] = []
        spent = 0.0
        for subject in tuple(left):
            cost = self._costs[subject]
            here = cost.after(mine)
            if cost.after(theirs) < _SHARED * here:
                continue
            spent += here
            if taken and spent > batch:
                break
            self._take(subject, left, taken, mine)
        return tuple(taken)

    def _costliest(self, left: list[str]) -> tuple[str, ...]:
        """The one that costs most, and those that cost little once that is answered."""
        has = self._has[False]
        taken: list[str] = []
        if left:
            self._take(max(left, key=lambda each: self._costs[each].after(has)), left, taken, has)
        spent = 0.0
        for subject in tuple(left):
            more = self._costs[subject].after(has)
            if more < _SHARED * self._costs[subject].after() and spent + more <= BATCH:
                spent += more
                self._take(subject, left, taken, has)
        return tuple(taken)

    def _take(self, subject: str, left: list[str], taken: list[str], has: set[str]) -> None:
        left.remove(subject)
        taken.append(subject)
        has.update(self._costs[subject].needs)

    def tell(self, answer: Answer) -> None:
        """Hand an answer on; after a fault no more are asked for."""
        with self._lock:
            if self._due.intersection(answer.found):
                self._answered = time.monotonic()
            self._due.difference_update(answer.found)
            if answer.problems or answer.broke:
                self._pictured = False
                for left in (self._due, self._first, self._rest, self._models):
                    left.clear()
            self._lock.notify_all()
        if not self.over:
            self._came(answer)

    def leave(self) -> None:
        """One worker has ended; with the last one it is over."""
        with self._lock:
            self._workers -= 1
            self._due.clear()
            self._lock.notify_all()
            if self._workers:
                return
        self.end()

    def end(self) -> None:
        """Nothing more will come."""
        with self._lock:
            ended, self._ended, self.over = self._ended, True, True
            self._due.clear()
            self._lock.notify_all()
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
        cores = os.cpu_count() or 1
        self.lanes = (Lane(), Lane()) if cores > 1 else (Lane(),)
        self._patience = _PATIENCE if cores <= len(self.lanes) else 0.0
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
        *,
        pictured: bool = False,
        hurried: bool = False,
    ) -> Run:
        """Ask for subjects and of `models`, those of `first` before all others, and after those for the
        picture where it is wanted; the answers come from other threads. `hurried`: another key may follow
        at once.
        """
        self._end_rehearsal()
        run = Run(
            design, costs, models, came, first, pictured=pictured, hurried=hurried, patience=self._patience
        )
        # Sent from here: a thread of its own would first have to be woken, and wait for the interpreter. The
        # costliest goes first, as the last answer hangs on it.
        asked = list(zip(self.lanes, run.begin(len(self.lanes)), strict=True))
        sent = {lane: lane.at_once(ask, run) for lane, ask in reversed(asked) if ask is not None}
        for lane, ask in asked:
            self._threads.submit(self._work, run, lane, ask, sent.get(lane))
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

    def _work(self, run: Run, lane: Lane, ask: Ask | None, waited: Callable[[], Answer] | None) -> None:
        """Ask until nothing is left, `ask` first; where that was sent already, `waited` gives its answer."""
        first, last = lane is self.lanes[0], lane is self.lanes[-1]
        try:
            while (ask := ask or self._next(run, first=first, last=last)) is not None:
                answer = lane.ask(ask, wish=run) if waited is None else waited()
                ask = waited = None
                self.costs.learn(run.design.name, answer, lane)
                run.tell(answer)
        except Stopped:
            pass
        finally:
            run.leave()

    def _next(self, run: Run, *, first: bool, last: bool) -> Ask | None:
        """What a worker is to do; one that is alone works from both ends."""
        ask = run.take(cheapest=True) if first else None
        return run.take(cheapest=False) if ask is None and last else ask
