"""Holding a file so that two runs do not install into one environment at the same time."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

_PAUSE = 0.5
"""Seconds between two tries."""


@contextmanager
def exclusive(path: Path) -> Iterator[None]:
    """Hold `path` for as long as the block runs; wait, and say so, while another run holds it.

    The system lets go of it when the process ends, however that comes about.
    """
    with path.open("a+b") as file:
        told = False
        while not _take(file):
            if not told:
                print("Waiting for another run that is installing ...", file=sys.stderr, flush=True)
                told = True
            time.sleep(_PAUSE)
        yield


if sys.platform == "win32":
    import msvcrt

    def _take(file: IO[bytes]) -> bool:
        file.seek(0)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _take(file: IO[bytes]) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:  # a file system that knows no locks, such as some network drives
            return True
        return True
