"""Worker processes from the page's side: ask one and wait, or stop it in the middle of its work."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from threading import Condition, Lock, Timer

from orthostat.web.asking import Answer, Ask, Told
from orthostat.web.worker import read_frame, write_frame

GRACE = 1.0
"""How long a worker that is told to stop may take to hear of it [s]; then its process is ended."""


class Stopped(Exception):
    """The worker was stopped before it answered."""


class Wish:
    """What some questions are asked for; when it is over, they are given up together."""

    def __init__(self) -> None:
        self.over = False


class Lane:
    """One worker process, started when first needed and again after it was ended.

    `behind` is how far it stands back, where there are more who want the processor than there are cores: 0
    to 19, as niceness on Unix. Windows knows only whether it does.
    """

    def __init__(self, behind: int = 0) -> None:
        self._behind = behind
        self._turn = Condition()
        self._busy = False
        self._wish: Wish | None = None
        self._guard = Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._number = 0
        """Of the question that is being answered, or was last."""
        self._unwanted = 0
        """Questions up to this one are not wanted any more."""
        self._ended = 0
        """How often the process was ended by us."""
        self._closed = False

    def ask(self, ask: Ask, told: Callable[[Told], None] | None = None, wish: Wish | None = None) -> Answer:
        """The answer; waits for its turn. Raises `Stopped` when it was stopped or its wish is over.

        `told` hears how far the work has come.
        """
        with self._turn:
            while self._busy and not (wish is not None and wish.over):
                self._turn.wait()
            if wish is not None and wish.over:
                self._turn.notify()  # the turn was perhaps passed to this one
                raise Stopped
            self._begin(wish)
        try:
            return self._answer(*self._sent(ask), told)
        finally:
            self._end_turn()

    def at_once(self, ask: Ask, wish: Wish) -> Callable[[], Answer] | None:
        """Send a question where the worker runs and is free. What comes back must be called once, and waits
        for the answer as `ask` does; `None` where it was not sent.
        """
        with self._turn:
            if self._busy or self._process is None:
                return None
            self._begin(wish)
        sent = None
        with suppress(Stopped):
            sent = self._sent(ask)
        if sent is None:
            self._end_turn()
            return None
        return partial(self._answer_at_last, *sent)

    def stop(self, *, patient: bool = False) -> None:
        """End what it is doing; whoever waits for that gets `Stopped`.

        `patient`: however long it takes to hear of it; else its process is ended after a while.
        """
        with self._guard:
            self._unwanted = self._number
            if self._process is None:
                return
            self._halt(self._process, self._number)
            if patient:
                return
            late = Timer(GRACE, self._end, (self._process, self._number))
        late.daemon = True
        late.start()

    def leave(self, wish: Wish, *, patient: bool = False) -> None:
        """Give up what is asked, or about to be asked, for a wish; `patient` as in `stop`."""
        with self._turn:
            wish.over = True
            self._turn.notify_all()
            if self._wish is wish:
                self.stop(patient=patient)

    def close(self) -> None:
        """Stop for good."""
        self._closed = True
        with self._guard:
            if self._process is not None:
                self._ended += 1
                self._process.kill()
                self._process.wait()
                _close(self._process)
                self._process = None

    # ---- inside

    def _begin(self, wish: Wish | None) -> None:
        """Take the turn, which is held; the lock of turns is held too."""
        self._busy, self._wish = True, wish
        with self._guard:
            self._number += 1

    def _end_turn(self) -> None:
        with self._turn:
            self._busy, self._wish = False, None
            self._turn.notify()

    def _answer_at_last(self, process: subprocess.Popen[bytes], ended: int) -> Answer:
        try:
            return self._answer(process, ended)
        finally:
            self._end_turn()

    def _answer(
        self, process: subprocess.Popen[bytes], ended: int, told: Callable[[Told], None] | None = None
    ) -> Answer:
        try:
            while process.stdout is not None and (back := read_frame(process.stdout)) is not None:
                said = pickle.loads(back)  # noqa: S301  # our own child wrote it
                if isinstance(said, Told):
                    if told is not None:
                        told(said)
                elif said is None:
                    raise Stopped
                else:
                    return said  # type: ignore[no-any-return]  # an `Answer`
        except (OSError, ValueError):
            pass  # the pipe broke: the process has ended
        self._forget(process)
        if self._ended == ended and not self._closed:
            return Answer(broke="the process that works answers out has ended by itself")
        raise Stopped

    def _sent(self, ask: Ask) -> tuple[subprocess.Popen[bytes], int]:
        """The process, with the question sent to it."""
        frame = pickle.dumps((self._number, ask), protocol=5)
        with self._guard:
            if self._closed or self._unwanted >= self._number:
                raise Stopped
            if self._process is None or self._process.poll() is not None:
                if self._process is not None:
                    _close(self._process)
                self._process = _start(self._behind)
            _send(self._process, frame)
            return self._process, self._ended

    def _halt(self, process: subprocess.Popen[bytes], number: int) -> None:
        _send(process, pickle.dumps((number, None), protocol=5))

    def _end(self, process: subprocess.Popen[bytes], number: int) -> None:
        """End the process if it is still at what it was told to leave: it is in the midst of library code."""
        with self._turn, self._guard:
            if self._busy and self._number == number and self._process is process:
                self._ended += 1
                process.kill()

    def _forget(self, process: subprocess.Popen[bytes]) -> None:
        with self._guard:
            if self._process is process:
                process.kill()
                process.wait()
                _close(process)
                self._process = None


def _send(process: subprocess.Popen[bytes], frame: bytes) -> None:
    """Write a frame; where the process has ended, whoever reads from it learns that."""
    if process.stdin is not None:
        with suppress(OSError, ValueError):
            write_frame(process.stdin, frame)


def _start(behind: int) -> subprocess.Popen[bytes]:
    # One thread each: the workers share the cores with one another and with the typist.
    threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    return subprocess.Popen(  # noqa: S603  # ourselves
        [sys.executable, "-m", "orthostat.web.worker", str(behind)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, **threads, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        creationflags=getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0) if behind else 0,
    )


def _close(process: subprocess.Popen[bytes]) -> None:
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            with suppress(OSError):
                stream.close()
