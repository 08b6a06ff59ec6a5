"""The process that works answers out: questions on its input, answers on its output, until they end.

Started as `python -m orthostat.web.worker NICENESS`. Frames are a length and a pickle; only the page that
started it can write to it. Questions are read while the work goes on, so that it can be ended in the
middle without losing what is remembered.
"""

from __future__ import annotations

import gc
import os
import pickle
import re
import struct
import sys
import time
import traceback
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread
from typing import IO, TYPE_CHECKING

from orthostat.base.problems import DocumentError
from orthostat.base.progress import Progress, Tell
from orthostat.document.folder import TextFolder
from orthostat.evaluation import Evaluation, OpenColumn, OpenShop
from orthostat.evaluation.memory import Memory
from orthostat.web.asking import LONG, SCREENED, Answer, Ask, ChapterName, Design, Told, Wanted

if TYPE_CHECKING:
    from orthostat.base.findings import Finding
    from orthostat.presentation.blocks import Figure
    from orthostat.presentation.cards import Card
    from orthostat.presentation.scene import Scene

_TELLING = 0.1
"""Least time between two pieces of news of the work [s]."""
_KEPT = 12
"""Designs whose evaluation is kept."""
_PAUSES = (0.5, 5.0)
"""After how long without a question memory is tidied: what is new, then all of it [s]."""
_SELDOM = (200_000, 20, 100)
"""Thresholds of the collector of cyclic garbage, which halts answers; what is kept counts as well."""


@dataclass
class _Open:
    """A design that lies open, with the cards, the scene and the picture that were made of it."""

    column: OpenColumn
    evaluation: Evaluation
    found: dict[str, tuple[Card, ...]] = field(default_factory=dict)
    scene: Scene | None = None
    still: Figure | None = None


class Halted(BaseException):
    """The answer is not wanted any more. No fault, so what catches faults lets it through."""


def _goes_on() -> None:
    """Nobody ends the work."""


class Engine:
    """Answers questions about designs; remembers the shops and designs it saw last.

    `check` raises `Halted` where the work is to end; it is asked whenever something is told of the work
    and before each result is worked out.
    """

    def __init__(self, tell: Tell | None = None, check: Callable[[], None] = _goes_on) -> None:
        self._tell = tell
        self._check = check
        self._within = ("", 0.0)
        """What is written while results are worked out for it, and the share of that which is done."""
        self._memory = Memory(progress=Progress(None if tell is None else self._told), before=check)
        self._shops: OrderedDict[tuple[str, ...], OpenShop] = OrderedDict()
        self._open: OrderedDict[tuple[str, ...], _Open] = OrderedDict()

    def answer(self, ask: Ask) -> Answer:
        """The answer; faults of documents are in it, faults of ours as a traceback."""
        try:
            return self._answer(ask)
        except DocumentError as error:
            return Answer(problems=error.problems)
        except Exception:  # noqa: BLE001  # whatever breaks here must not end the page
            return Answer(broke=traceback.format_exc())

    def _answer(self, ask: Ask) -> Answer:
        if ask.design is None:
            return _get_ready() if ask.what == "ready" else _get_ready_to_draw()
        opened = self._evaluation(ask.design)
        column, evaluation = opened.column, opened.evaluation
        if ask.what == "findings":
            return self._findings(opened, ask.subjects)
        if ask.what == "chapter":
            from orthostat.presentation.chapters import chapters_of

            made = next(iter(chapters_of(evaluation, column.system, only=ask.chapter)), None)
            return Answer(system=column.system, chapter=made)
        if ask.what == "files":
            return self._files(column, evaluation, ask)
        if ask.what == "study" and ask.wanted is not None:
            return self._study(ask.design, ask.wanted, column)
        if ask.what == "scene":
            from orthostat.presentation.scene import scene_of

            if opened.scene is None:
                opened.scene = scene_of(column.model)
            return Answer(system=column.system, scene=opened.scene)
        if ask.what == "still":
            from orthostat.presentation.still import standing

            if opened.still is None:
                opened.still = standing(column.model)
            return Answer(system=column.system, still=opened.still)
        if ask.what == "picture" and ask.chosen is not None:
            from orthostat.presentation.picture import picture_of

            return Answer(system=column.system, picture=picture_of(evaluation, ask.chosen, column.system))
        return Answer(system=column.system)

    def _told(self, doing: str, share: float) -> None:
        """News of an analysis; where it is part of something larger, that says how far all is."""
        self._check()
        if self._tell is not None:
            whole, done = self._within
            self._tell(f"{whole}: {doing}" if whole else doing, done if whole else share)

    def _files(self, column: OpenColumn, evaluation: Evaluation, ask: Ask) -> Answer:
        from orthostat.book import write_all
        from orthostat.web.files import pack

        def told(doing: str, share: float) -> None:
            self._check()
            self._within = (doing, share)
            if self._tell is not None:
                self._tell(doing, share)

        title = column.document.name or column.name
        try:
            done = write_all(
                evaluation,
                column.revision,
                column.system,
                Path(ask.to),
                Progress(told),
                title=title,
                paper=ask.paper,
            )
        finally:
            self._within = ("", 0.0)
        names = tuple(path.name for path in done.files)
        return Answer(files=(*names, pack(Path(ask.to), names)), notes=tuple(done.notes))

    def _study(self, design: Design, wanted: Wanted, column: OpenColumn) -> Answer:
        from orthostat.presentation.blocks import Chapter
        from orthostat.presentation.study import study_blocks, study_csv
        from orthostat.studies import sweep
        from orthostat.studies.keeping import cache_folder
        from orthostat.studies.sweeping import ranked

        study = sweep(
            self._shop(design),
            design.name,
            wanted.axes,
            by=wanted.by,
            best=wanted.best,
            folder=cache_folder(),
            progress=Progress(self._told),
            text=design.text,
        )
        blocks = study_blocks(study, ranked(study.rows, wanted.by))
        return Answer(
            system=column.system, chapter=Chapter("study", "Study", blocks), designs=study_csv(study)
        )

    def _findings(self, opened: _Open, subjects: tuple[str, ...]) -> Answer:
        from orthostat.presentation.cards import cards

        column = opened.column

        found = {}
        seconds: dict[str, float] = {}
        worked: dict[str, bool] = {}
        needs: dict[str, dict[str, float]] = {}
        for subject in subjects:
            self._check()
            before, started = self._memory.solved, time.process_time()
            if subject not in opened.found:
                findings = _findings_of(opened.evaluation, subject, needs.setdefault(subject, {}))
                opened.found[subject] = cards(findings, column.system)
            found[subject] = opened.found[subject]
            seconds[subject] = time.process_time() - started
            worked[subject] = self._memory.solved > before
        return Answer(system=column.system, found=found, seconds=seconds, worked=worked, needs=needs)

    def _evaluation(self, design: Design) -> _Open:
        key = (*_shop_key(design), design.name, design.text, repr(design.edits))
        kept = self._open.get(key)
        if kept is None:
            shop = self._shop(design)
            read = shop.folder.column_of(design.name, design.text, design.edits)
            column = shop.column_as(design.name, read)
            kept = _Open(column, column.evaluate())
            self._open[key] = kept
        self._open.move_to_end(key)
        while len(self._open) > _KEPT:
            self._open.popitem(last=False)
        return kept

    def _shop(self, design: Design) -> OpenShop:
        key = _shop_key(design)
        kept = self._shops.get(key)
        if kept is None:
            folder = TextFolder(Path(design.folder), design.shop, design.shop_edits)
            kept = self._shops[key] = OpenShop(folder, self._memory)
        self._shops.move_to_end(key)
        while len(self._shops) > 4:
            self._shops.popitem(last=False)
        return kept


def _shop_key(design: Design) -> tuple[str, ...]:
    """What tells shops apart. Values of edits may be lists, which have no hash; their text has."""
    return design.folder, design.shop, repr(design.shop_edits)


def _findings_of(evaluation: Evaluation, subject: str, needs: dict[str, float]) -> tuple[Finding, ...]:
    if subject.endswith(SCREENED):
        return evaluation.findings(only=subject.removesuffix(SCREENED), screened=True, needs=needs)
    if subject.endswith(LONG):
        return evaluation.findings(only=subject.removesuffix(LONG), long=True, needs=needs)
    return evaluation.findings(only=subject, quick=True, needs=needs)


def _get_ready() -> Answer:
    """Import what the first answer will need, before anybody waits for it; what there is to ask."""
    from orthostat.checks import FIRST, all_rules
    from orthostat.presentation.chapters import BENCH, makers

    subjects = tuple(dict.fromkeys(rule.subject + LONG * rule.long for rule in all_rules()))
    screens = tuple(dict.fromkeys(rule.subject + LONG for rule in all_rules() if rule.screened))
    chapters = tuple(
        ChapterName(maker.slug, maker.title, maker.short or maker.title, maker.order >= BENCH)
        for maker in makers()
    )
    return Answer(subjects=subjects, first=FIRST, screens=screens, chapters=chapters)


def _get_ready_to_draw() -> Answer:
    from orthostat.presentation import scene, still

    del scene, still  # imported, before anybody waits for them
    return Answer()


def read_frame(stream: IO[bytes]) -> bytes | None:
    """The next frame; `None` where the stream ends, in the middle of one too."""
    head = stream.read(8)
    if len(head) < 8:
        return None
    (size,) = struct.unpack("<Q", head)
    body = stream.read(size)
    return body if len(body) == size else None


def write_frame(stream: IO[bytes], body: bytes) -> None:
    """Write one frame and push it out."""
    stream.write(struct.pack("<Q", len(body)) + body)
    stream.flush()


class Teller:
    """Writes news of the work before its answer: a new step at once, its count as often as can be read."""

    def __init__(self, answers: IO[bytes]) -> None:
        self._answers = answers
        self._last = 0.0
        self._step = ""

    def __call__(self, doing: str, share: float) -> None:
        now, step = time.monotonic(), re.sub(r"\d+", "", doing)
        if step == self._step and now - self._last < _TELLING:
            return
        self._last, self._step = now, step
        write_frame(self._answers, pickle.dumps(Told(doing, share), protocol=5))


class Questions:
    """The questions in their order, read beside the work."""

    def __init__(self, stream: IO[bytes]) -> None:
        self._stream = stream
        self._asked: SimpleQueue[tuple[int, Ask] | None] = SimpleQueue()
        self._now = 0
        self._unwanted = 0
        Thread(target=self._read, name="questions", daemon=True).start()

    def next(self) -> Ask | None:
        """The next question; `None` where they end. Memory is tidied while there is none."""
        asked = self._waited()
        if asked is None:
            return None
        self._now, ask = asked
        return ask

    def check(self) -> None:
        """Raise `Halted` where nobody wants the present question answered any more."""
        if self._unwanted >= self._now:
            raise Halted

    def _waited(self) -> tuple[int, Ask] | None:
        for pause, tidy in zip(_PAUSES, (_tidy, _tidy_all), strict=True):
            try:
                return self._asked.get(timeout=pause)
            except Empty:
                tidy()
        return self._asked.get()

    def _read(self) -> None:
        while (frame := read_frame(self._stream)) is not None:
            number, ask = pickle.loads(frame)  # noqa: S301  # written by the page that started this process
            if ask is None:
                self._unwanted = number
            else:
                self._asked.put((number, ask))
        self._unwanted = sys.maxsize
        self._asked.put(None)


def _tidy() -> None:
    """Collect garbage among what is new; what stays is not looked through again until `_tidy_all`."""
    gc.collect()
    gc.freeze()


def _tidy_all() -> None:
    gc.unfreeze()
    _tidy()


def main() -> None:
    """Answer until the questions end."""
    gc.set_threshold(*_SELDOM)
    if hasattr(os, "nice"):
        os.nice(int(sys.argv[1]))
    answers = sys.stdout.buffer
    sys.stdout = sys.stderr  # a stray print must not stand among the answers
    questions = Questions(sys.stdin.buffer)
    engine = Engine(Teller(answers), questions.check)
    while (ask := questions.next()) is not None:
        try:
            answer = engine.answer(ask)
        except Halted:
            answer = None
        try:
            write_frame(answers, pickle.dumps(answer, protocol=5))
        except BrokenPipeError:
            os._exit(0)  # nobody listens; the thread that reads would keep an orderly end waiting


if __name__ == "__main__":
    main()
