"""The boards of the designs that are open, and the workers that fill them.

What was seen to be quick is answered while somebody types (`typists`); the rest follows piece by piece
in a worker of its own, and can be stopped.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from queue import SimpleQueue
from threading import Condition, Thread

from orthostat.web.asking import LONG, SCREENED, Answer, Ask, Design, Told
from orthostat.web.board import Board, Part, Snapshot
from orthostat.web.lanes import Lane, Stopped
from orthostat.web.typists import HURRY, QUICK_MODEL, Came, Cost, Costs, Run, Typists

STEP = 0.06
"""How long news of quick answers is waited for [s]."""
_REST = 0.3
"""How long a design must be left alone before long work on it begins [s]."""
_QUIET = 1.0
"""How long nobody must have typed before long work on any design begins [s]."""
_BEHIND = 10
"""How far long work stands back behind what somebody waits for."""
_PATIENCE = 30.0
"""How long the first answer to a design is waited for [s]: workers that start take seconds."""


class Answers:
    """The boards of all open columns, and the workers that fill them."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._boards: dict[str, Board] = {}
        self._news = Condition()
        self._costs = Costs()
        self._typists = Typists(self._costs)
        self._long, self._scenes = Lane(behind=_BEHIND), Lane()
        self._running: tuple[str, str] | None = None
        self._gives_way = False
        """Whether what is running was told to make room for a design that is looked at."""
        self._tried: dict[str, tuple[int, Run]] = {}
        """What each tab tries out, by the number of the key."""
        self._typed = -math.inf
        """When a key was last pressed (monotonic) [s]."""
        self._closed = False
        self._there_is: Answer | None = None
        self._thread = Thread(target=self._work, name="long answers", daemon=True)
        self._thread.start()

    def warm(self) -> None:
        """Start the workers before anybody asks: those that the first page needs, then the others."""
        Thread(target=partial(_quietly, (self._scenes,), Ask("scene")), daemon=True).start()
        lanes = (*self._typists.lanes, self._long)
        Thread(target=partial(_quietly, lanes, Ask("ready")), daemon=True).start()

    def close(self) -> None:
        """Stop all work."""
        with self._news:
            self._closed = True
            self._news.notify_all()
        self._typists.close()
        for lane in (self._long, self._scenes):
            lane.close()

    def there_is(self) -> Answer:
        """The subjects and chapters there are."""
        if self._there_is is None:
            self._there_is = self._typists.lanes[0].ask(Ask("ready"))
        return self._there_is

    def begin(self, design: Design, *, typed: bool = False) -> None:
        """Begin answering `design` unless that is done already; what is quick comes first.

        `typed`: somebody is still at it, so long work waits for a rest.
        """
        self.there_is()
        with self._news:
            board = self._boards.get(design.name)
            if board is None or board.design != design:
                self._begin(board, design, typed=typed)

    def show(self, design: Design, after: int | None = None, *, watched: bool = False) -> Snapshot:
        """The answers to `design`. While quick ones come, a version newer than `after` is waited for, but
        not for long; without `after`, the first answer.

        `watched`: somebody looks at this design, so its answers come before those of others.
        """
        self.begin(design)
        with self._news:
            board = self._boards[design.name]
            if watched:
                self._prefer(board)
            if after is None:
                self._news.wait_for(lambda: not board.coming or board.answered, _PATIENCE)
            else:
                self._news.wait_for(lambda: not board.coming or board.version != after, STEP)
            return self._snapshot(board)

    def preview(self, design: Design, tab: str, key: int, *, pictured: bool = False) -> Iterator[Snapshot]:
        """The quick answers to a design that is only being tried out, as they come, and its picture where
        that is wanted; a newer key of the same tab ends them. Each snapshot is numbered, and its parts by
        the one they came with.
        """
        self.there_is()
        news: SimpleQueue[Answer | None] = SimpleQueue()

        def came(answer: Answer | None) -> None:
            news.put(answer)
            if answer is None:
                with self._news:
                    if self._tried.get(tab, (0, None))[0] == key:
                        del self._tried[tab]

        with self._news:
            newest, before = self._tried.get(tab, (-1, None))
            if key <= newest:
                return iter(())
            now = time.monotonic()
            hurried, self._typed = before is not None and now - self._typed < HURRY, now
            if before is not None:
                self._typists.drop(before)
            shown = self._boards.get(design.name)
            board = Board(design, {} if shown is None else dict(shown.parts))
            run = self._ask(board, came, pictured=pictured, hurried=hurried)
            self._tried[tab] = (key, run)
        for part in board.parts.values():
            board.parts[part.subject] = replace(part, version=0)
        return self._previews(board, news, run)

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
        return _asked(self._scenes, Ask("scene", design))

    def at_once(self, ask: Ask) -> Answer:
        """Answer one question that costs next to nothing."""
        return _asked(self._scenes, ask)

    # ---- inside

    def _begin(self, board: Board | None, design: Design, *, typed: bool) -> Board:
        """All answers stale, the quick ones on their way; the lock is held."""
        if board is None:
            board = self._boards[design.name] = Board(design, {})
        if self._running is not None and self._running[0] == design.name:
            self._long.stop()
        if board.run is not None:
            self._typists.drop(board.run)
        board.design = design
        board.rehearsed = False
        board.changed = time.monotonic() if typed else 0.0
        board.run = self._ask(board, partial(self._came, board, design))
        self._changed(board)
        return board

    def _ask(self, board: Board, came: Came, *, pictured: bool = False, hurried: bool = False) -> Run:
        """All answers stale, the quick ones on their way; the lock is held."""
        there_is = self.there_is()
        quick, models = self._quick(board.design.name)
        coming = {*quick, *(model.removesuffix(SCREENED) + LONG for model in models)}
        board.problems = ()
        board.parts = {
            subject: replace(
                board.parts.get(subject, Part(subject)),
                status="coming" if subject in coming else "waiting",
                screened=(),
                broke="",
            )
            for subject in there_is.subjects
        }
        board.coming, board.answered = True, False
        board.offered = frozenset(quick)
        return self._typists.begin(
            board.design, quick, models, came, there_is.first, pictured=pictured, hurried=hurried
        )

    def _quick(self, name: str) -> tuple[dict[str, Cost], dict[str, Cost]]:
        """What is known to be quick of a column: subjects, and quick models."""
        there_is = self.there_is()
        quick = self._costs.quick(name, (each for each in there_is.subjects if not each.endswith(LONG)))
        models = (subject.removesuffix(LONG) + SCREENED for subject in there_is.screens)
        return quick, self._costs.quick(name, models, QUICK_MODEL)

    def _prefer(self, board: Board) -> None:
        """Somebody looks at a design: what is known to be quick by now is answered at once, and long work
        on what nobody looks at gives way. The lock is held.
        """
        board.watched = time.monotonic()
        waiting = {each.subject for each in board.parts.values() if each.status == "waiting"}
        left = [each for each in waiting - board.offered if not each.endswith(LONG)]
        quick = self._costs.quick(board.design.name, left)
        if quick and not board.coming and not board.problems:
            for subject in quick:
                board.parts[subject] = replace(board.parts[subject], status="coming")
            board.offered |= set(quick)
            board.coming = True
            came = partial(self._came, board, board.design)
            board.run = self._typists.begin(board.design, quick, (), came, self.there_is().first)
        if all(subject.endswith(LONG) for subject in waiting):
            self._rehearse(board)
        if waiting and self._running is not None:
            name, subject = self._running
            if subject.endswith(LONG) and not self._boards[name].is_watched and not self._gives_way:
                self._gives_way = True
                self._long.stop()

    def _rehearse(self, board: Board) -> None:
        """Once for a design that is looked at, when all that is quick of it is answered; the lock is held."""
        if board.rehearsed or board.coming or board.problems:
            return
        board.rehearsed = True
        quick, models = self._quick(board.design.name)
        self._typists.rehearse(board.design, (*quick, *models), _REST)

    def _changed(self, board: Board) -> None:
        board.version += 1
        self._news.notify_all()

    def _snapshot(self, board: Board) -> Snapshot:
        parts = tuple(board.parts.values())
        return Snapshot(board.version, board.design, board.problems, parts, board.coming)

    def _came(self, board: Board, design: Design, answer: Answer | None) -> None:
        """A quick answer to a design that is shown; `None` where no more come."""
        with self._news:
            if board.design != design:
                return
            if answer is not None:
                self._put(board, answer)
                return
            board.coming = False
            for subject, part in board.parts.items():
                if part.status == "coming":  # what broke is asked again beside the page, each by itself
                    board.parts[subject] = replace(part, status="waiting")
            self._changed(board)

    def _put(self, board: Board, answer: Answer) -> None:
        """Take an answer over; the lock is held."""
        board.answered = True
        board.problems = answer.problems
        version = board.version + 1
        for subject, found in answer.found.items():
            if subject.endswith(SCREENED):
                of = subject.removesuffix(SCREENED) + LONG
                if board.parts[of].status != "fresh":
                    board.parts[of] = replace(board.parts[of], screened=found, version=version)
                    if board.parts[of].status == "coming":
                        board.parts[of] = replace(board.parts[of], status="waiting")
                continue
            took = answer.seconds.get(subject)
            board.parts[subject] = Part(subject, "fresh", found, known=True, took=took, version=version)
        self._changed(board)

    def _previews(self, board: Board, news: SimpleQueue[Answer | None], run: Run) -> Iterator[Snapshot]:
        try:
            number = 0
            while board.coming:
                came = [news.get()]
                while not news.empty():
                    came.append(news.get())
                with self._news:
                    for answer in came:
                        board.version = number
                        if answer is None:
                            board.coming = False
                        else:
                            self._put(board, answer)
                number = board.version = number + 1
                scene = next((each.scene for each in came if each is not None and each.scene), None)
                yield replace(self._snapshot(board), scene=scene)
        finally:  # whoever asked has perhaps gone
            self._typists.drop(run)

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
                asked = subject
                if subject in self.there_is().screens and not before.screened:
                    asked = subject.removesuffix(LONG) + SCREENED
                self._changed(board)
            self._run(board, design, subject, asked)

    def _run(self, board: Board, design: Design, subject: str, asked: str) -> None:
        try:
            answer: Answer | None = self._long.ask(
                Ask("findings", design, subjects=(asked,)), partial(self._tell, board, subject)
            )
        except Stopped:
            answer = None
        if answer is not None:
            self._costs.learn(design.name, answer, self._long)
        with self._news:
            self._running, self._gives_way = None, False
            part = board.parts[subject]
            if board.design != design:
                return
            if part.status == "running":
                if answer is None or (asked != subject and not answer.broke):
                    board.parts[subject] = replace(part, status="waiting")
                elif answer.broke:
                    board.parts[subject] = replace(part, status="broken", broke=answer.broke)
                self._changed(board)
            if answer is not None and not answer.broke:
                self._put(board, answer)

    def _tell(self, board: Board, subject: str, told: Told) -> None:
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

    def _next(self) -> tuple[Board, Design, str] | None:
        now = time.monotonic()
        if now - self._typed < _QUIET:
            return None
        beside: tuple[Board, Design, str] | None = None
        for board in sorted(self._boards.values(), key=lambda board: -max(board.changed, board.watched)):
            if board.problems or now - board.changed < _REST:
                continue
            waiting = [
                part.subject
                for part in board.parts.values()
                if part.status == "waiting" and (board.was_opened or not part.subject.endswith(LONG))
            ]
            if not waiting:
                continue
            subject = min(waiting, key=partial(self._expected, board.design.name))
            if board.is_watched or not subject.endswith(LONG):
                return board, board.design, subject
            beside = beside or (board, board.design, subject)
        return beside

    def _expected(self, column: str, subject: str) -> float:
        """What an answer is expected to cost [s]."""
        cost = self._costs.of(column, subject)
        return cost.after() if cost is not None else math.inf if subject.endswith(LONG) else 0.0


def _asked(lane: Lane, ask: Ask) -> Answer:
    try:
        return lane.ask(ask)
    except Stopped:
        return Answer(broke="stopped")


def _quietly(lanes: Iterable[Lane], ask: Ask) -> None:
    for lane in lanes:
        try:
            lane.ask(ask)
        except Stopped:
            return
