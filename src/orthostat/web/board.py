"""The answers of the designs that are open: which are fresh, which are stale, which are on their way.

Subjects that were seen to be quick are answered while somebody types, in one worker; the others
follow one by one in a second worker, and can be stopped. How quick a subject is, is measured.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from threading import Condition, Thread
from typing import Literal

from orthostat.base.problems import Problem
from orthostat.base.showing import System
from orthostat.presentation.cards import Card
from orthostat.web.asking import Answer, Ask, Design, Told
from orthostat.web.lanes import Lane, Stopped

QUICK = 0.5
"""Time [s] for what is answered while somebody types; subjects beyond it are answered beside the page."""
STEP = 0.06
"""Time [s] after which what was found so far is shown, and the rest follows in a step of its own."""
_REST = 0.3
"""How long a design must be left alone before long work on it begins [s]."""

Status = Literal["fresh", "waiting", "running", "stopped", "broken"]


@dataclass(frozen=True, slots=True)
class Part:
    """The answers of one subject."""

    subject: str
    status: Status = "waiting"
    cards: tuple[Card, ...] = ()
    known: bool = False
    """Whether there are answers at all, of this design or of one before it."""
    since: float = 0.0
    """When it began to run (monotonic) [s]."""
    took: float | None = None
    """How long it took last time [s]."""
    broke: str = ""
    told: Told | None = None
    """How far it has come while it runs."""

    @property
    def stale(self) -> bool:
        """Whether its answers are of a design before this one."""
        return self.status != "fresh"


@dataclass(frozen=True, slots=True)
class Snapshot:
    """All answers of one column at one moment."""

    version: int
    design: Design
    system: System
    problems: tuple[Problem, ...]
    parts: tuple[Part, ...]
    more: bool = False
    """Whether the next step of quick answers is to be asked for at once."""

    @property
    def settled(self) -> bool:
        """Whether nothing more will come by itself."""
        return bool(self.problems) or all(
            part.status in ("fresh", "stopped", "broken") for part in self.parts
        )


@dataclass
class _Board:
    design: Design
    parts: dict[str, Part]
    system: System = "metric"
    problems: tuple[Problem, ...] = ()
    broke: bool = False
    """Whether a step of quick answers broke: what is left is answered beside the page, each by itself."""
    version: int = 0
    changed: float = field(default_factory=time.monotonic)


class Answers:
    """The boards of all open columns, and the workers that fill them."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._boards: dict[str, _Board] = {}
        self._news = Condition()
        self._costs: dict[tuple[bool, str], list[float]] = {}
        self._typing, self._long = Lane(), Lane()
        self._running: tuple[str, str] | None = None
        self._closed = False
        self._there_is: Answer | None = None
        self._thread = Thread(target=self._work, name="long answers", daemon=True)
        self._thread.start()

    def warm(self) -> None:
        """Start the workers before anybody asks."""
        for lane in (self._long, self._typing):
            Thread(target=partial(_quietly, lane), daemon=True).start()

    def close(self) -> None:
        """Stop all work."""
        with self._news:
            self._closed = True
            self._news.notify_all()
        for lane in (self._typing, self._long):
            lane.close()

    def there_is(self) -> Answer:
        """The subjects and chapters there are."""
        if self._there_is is None:
            self._there_is = self._typing.ask(Ask("ready"))
        return self._there_is

    def show(self, design: Design, *, typed: bool = False) -> Snapshot:
        """Begin answering `design`; what is quick is answered at once.

        `typed`: somebody is still at it, so long work waits for a rest.
        """
        self.there_is()
        with self._news:
            board = self._boards.get(design.name)
            superseded = False
            begun = board is None or board.design != design
            if board is None or begun:
                superseded = self._runs_long(design.name)
                board = self._begin(board, design, typed=typed)
        if superseded:
            self._long.stop()
        asked = self._next_step(board)
        if asked or begun:  # at the beginning it is also seen whether the document can be read
            answer = self._ask(self._typing, Ask("findings", design, subjects=asked))
            self._publish(board, design, answer, typing=True)
        with self._news:
            return self._snapshot(board)

    def preview(self, design: Design, step: int = 0) -> Snapshot:
        """The quick answers to a design that is only being tried out; the rest is shown as stale.

        The cheapest come in the first step, more in each further one.
        """
        steps = self._steps(self._quick())
        asked = tuple(subject for each in steps[: step + 1] for subject in each)
        answer = self._ask(self._typing, Ask("findings", design, subjects=asked))
        self._learn(answer, typing=True)
        with self._news:
            board = self._boards.get(design.name)
            old = dict(board.parts) if board is not None else {}
            version = board.version if board is not None else 0
        parts = tuple(
            Part(subject, "fresh", answer.found[subject], known=True)
            if subject in answer.found
            else replace(old.get(subject, Part(subject)), status="waiting")
            for subject in self.there_is().subjects
        )
        more = step + 1 < len(steps) and not answer.problems and not answer.broke
        return Snapshot(version, design, answer.system, answer.problems, parts, more)

    def stop(self, name: str, subject: str) -> None:
        """Stop the work on one subject; it stays stopped until it is asked for again."""
        with self._news:
            board = self._boards.get(name)
            if board is None or subject not in board.parts:
                return
            part = board.parts[subject]
            if part.status in ("waiting", "running"):
                board.parts[subject] = replace(part, status="stopped")
                self._changed(board)
            running = self._running == (name, subject)
        if running:
            self._long.stop()

    def again(self, name: str, subject: str) -> None:
        """Begin again what was stopped or broke."""
        with self._news:
            board = self._boards.get(name)
            if board is None or subject not in board.parts:
                return
            part = board.parts[subject]
            if part.status in ("stopped", "broken"):
                board.parts[subject] = replace(part, status="waiting", broke="")
                board.changed = 0.0
                self._changed(board)

    def scene(self, design: Design) -> Answer:
        """The scene of a design."""
        return self._ask(self._typing, Ask("scene", design))

    def at_once(self, ask: Ask) -> Answer:
        """Answer one question that costs next to nothing, where the typing is answered."""
        return self._ask(self._typing, ask)

    # ---- inside

    def _begin(self, board: _Board | None, design: Design, *, typed: bool) -> _Board:
        """All answers stale, none under way; the lock is held."""
        if board is None:
            board = self._boards[design.name] = _Board(design, {})
        parts = board.parts
        board.design = design
        board.problems = ()
        board.broke = False
        board.parts = {
            subject: replace(parts.get(subject, Part(subject)), status="waiting", broke="")
            for subject in self.there_is().subjects
        }
        board.changed = time.monotonic() if typed else 0.0
        self._changed(board)
        return board

    def _runs_long(self, name: str) -> bool:
        """Whether work on a design's last state is under way."""
        return self._running is not None and self._running[0] == name

    def _changed(self, board: _Board) -> None:
        board.version += 1
        self._news.notify_all()

    def _snapshot(self, board: _Board) -> Snapshot:
        more = bool(self._next_step(board))
        parts = tuple(board.parts.values())
        return Snapshot(board.version, board.design, board.system, board.problems, parts, more)

    def _quick(self) -> tuple[str, ...]:
        """The cheapest subjects that together keep within the time of a key stroke."""
        subjects = self.there_is().subjects
        costs = {subject: cost for subject in subjects if (cost := self._cost(subject)) is not None}
        chosen: set[str] = set()
        total = 0.0
        for subject in sorted(costs, key=lambda each: costs[each]):
            total += costs[subject]
            if total > QUICK and chosen:
                break
            chosen.add(subject)
        return tuple(subject for subject in subjects if subject in chosen)

    def _cost(self, subject: str) -> float | None:
        """What an answer costs [s], in the worker that would give it where that is known.

        The first answer of each worker includes reading libraries, so it counts only while it is alone.
        """
        for typing in (True, False):
            seen = self._costs.get((typing, subject), [])
            if len(seen) > 1:
                return min(seen[1:])
        return next(iter(self._costs.get((False, subject), [])), None)

    def _learn(self, answer: Answer, *, typing: bool) -> None:
        for subject, seconds in answer.seconds.items():
            seen = self._costs.setdefault((typing, subject), [])
            if answer.worked.get(subject, True) or not seen:
                seen.append(seconds)
                del seen[1:-3]

    def _steps(self, subjects: tuple[str, ...]) -> list[tuple[str, ...]]:
        """Subjects in steps of about the time of a key stroke, the cheapest first."""
        steps: list[list[str]] = []
        spent = STEP
        for subject in sorted(subjects, key=lambda each: self._cost(each) or 0.0):
            cost = self._cost(subject) or 0.0
            if spent + cost > STEP:
                steps.append([])
                spent = 0.0
            steps[-1].append(subject)
            spent += cost
        return [tuple(step) for step in steps]

    def _next_step(self, board: _Board) -> tuple[str, ...]:
        """What is to be answered next of what is quick and waits."""
        if board.problems or board.broke:
            return ()
        parts = board.parts
        waiting = tuple(each for each in self._quick() if each in parts and parts[each].status == "waiting")
        return next(iter(self._steps(waiting)), ())

    def _publish(self, board: _Board, design: Design, answer: Answer, *, typing: bool) -> None:
        self._learn(answer, typing=typing)
        with self._news:
            if board.design != design:
                return
            board.problems = answer.problems
            board.broke = board.broke or bool(answer.broke)
            board.system = answer.system
            for subject, found in answer.found.items():
                took = answer.seconds.get(subject)
                board.parts[subject] = Part(subject, "fresh", found, known=True, took=took)
            self._changed(board)

    def _ask(self, lane: Lane, ask: Ask) -> Answer:
        try:
            return lane.ask(ask)
        except Stopped:
            return Answer(broke="stopped")

    def _work(self) -> None:
        while True:
            with self._news:
                while (task := self._next()) is None and not self._closed:
                    self._news.wait(0.1 if self._resting() else None)
                if self._closed or task is None:
                    return
                board, design, subject = task
                self._running = (design.name, subject)
                before = board.parts[subject]
                board.parts[subject] = replace(before, status="running", since=time.monotonic(), told=None)
                self._changed(board)
            self._run(board, design, subject)

    def _run(self, board: _Board, design: Design, subject: str) -> None:
        try:
            answer: Answer | None = self._long.ask(
                Ask("findings", design, subjects=(subject,)), partial(self._tell, board, subject)
            )
        except Stopped:
            answer = None
        with self._news:
            self._running = None
            part = board.parts[subject]
            if board.design == design and part.status == "running":
                if answer is None:
                    board.parts[subject] = replace(part, status="waiting")
                elif answer.broke:
                    board.parts[subject] = replace(part, status="broken", broke=answer.broke)
                self._changed(board)
        if answer is not None and not answer.broke:
            self._publish(board, design, answer, typing=False)

    def _tell(self, board: _Board, subject: str, told: Told) -> None:
        """News of the work is not a new version: what is shown of it is asked for by itself."""
        with self._news:
            part = board.parts[subject]
            if part.status == "running":
                board.parts[subject] = replace(part, told=told)

    def _resting(self) -> bool:
        """Whether something waits that will be due by itself."""
        return any(
            part.status == "waiting" for board in self._boards.values() for part in board.parts.values()
        )

    def _next(self) -> tuple[_Board, Design, str] | None:
        now = time.monotonic()
        for board in sorted(self._boards.values(), key=lambda board: -board.changed):
            if board.problems or now - board.changed < _REST:
                continue
            waiting = [part.subject for part in board.parts.values() if part.status == "waiting"]
            if waiting:
                subject = min(waiting, key=lambda each: self._cost(each) or 0.0)
                return board, board.design, subject
        return None


def _quietly(lane: Lane) -> None:
    try:
        lane.ask(Ask("ready"))
    except Stopped:
        return
