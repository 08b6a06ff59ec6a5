"""Worker processes from the page's side: ask one and wait, or stop it in the middle of its work."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from threading import Lock

from orthostat.web.asking import Answer, Ask, Told
from orthostat.web.worker import read_frame, write_frame


class Stopped(Exception):
    """The worker was stopped before it answered."""


class Lane:
    """One worker process, started when first needed and again after it was stopped."""

    def __init__(self) -> None:
        self._turn = Lock()
        self._guard = Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._stops = 0
        self._closed = False

    @property
    def busy(self) -> bool:
        """Whether somebody is waiting for an answer."""
        return self._turn.locked()

    def ask(self, ask: Ask, told: Callable[[Told], None] | None = None) -> Answer:
        """The answer; waits for its turn. Raises `Stopped` when it was stopped meanwhile.

        `told` hears how far the work has come.
        """
        frame = pickle.dumps(ask, protocol=5)
        with self._turn:
            process, stops = self._running()
            try:
                if process.stdin is None or process.stdout is None:
                    raise Stopped
                write_frame(process.stdin, frame)
                while (back := read_frame(process.stdout)) is not None:
                    said = pickle.loads(back)  # noqa: S301  # our own child wrote it
                    if isinstance(said, Answer):
                        return said
                    if told is not None:
                        told(said)
            except (OSError, ValueError):
                pass  # the pipe broke: the process has ended
            self._forget(process)
            if self._stops == stops and not self._closed:
                return Answer(broke="the process that works answers out has ended by itself")
            raise Stopped

    def stop(self) -> None:
        """End what it is doing; whoever waits gets `Stopped`."""
        with self._guard:
            self._stops += 1
            if self._process is not None:
                self._process.kill()

    def close(self) -> None:
        """Stop for good."""
        self._closed = True
        self.stop()
        with self._guard:
            if self._process is not None:
                self._process.wait()
                _close(self._process)
                self._process = None

    def _running(self) -> tuple[subprocess.Popen[bytes], int]:
        with self._guard:
            if self._closed:
                raise Stopped
            if self._process is None or self._process.poll() is not None:
                if self._process is not None:
                    _close(self._process)
                self._process = _start()
            return self._process, self._stops

    def _forget(self, process: subprocess.Popen[bytes]) -> None:
        with self._guard:
            if self._process is process:
                process.kill()
                process.wait()
                _close(process)
                self._process = None


def _start() -> subprocess.Popen[bytes]:
    # One thread each: the workers share the cores with one another and with the typist.
    threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    return subprocess.Popen(
        [sys.executable, "-m", "orthostat.web.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, **threads, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )


def _close(process: subprocess.Popen[bytes]) -> None:
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            with suppress(OSError):
                stream.close()
