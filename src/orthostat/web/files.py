"""Book and files of a design: made beside the page, kept while the design is what they were made of."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any, Literal

from orthostat.web.asking import Ask, Design
from orthostat.web.jobs import Job, Jobs

Paper = Literal["a4", "letter"]
ALL = "all-files.zip"
KINDS = {
    ".pdf": ("build book", "application/pdf"),
    ".zip": ("all of them", "application/zip"),
    ".step": ("solid", "model/step"),
    ".glb": ("3D picture", "model/gltf-binary"),
    ".dxf": ("drawing", "image/vnd.dxf"),
    ".csv": ("table", "text/csv; charset=utf-8"),
    ".xlsx": ("spreadsheet", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
}
"""What a file is, and its media type, by its ending."""
_OLD = (1980, 1, 1, 0, 0, 0)
"""The date of every file in the archive: none, so that the same design gives the same bytes."""


class Changed(Exception):
    """The files asked for are of a state of the column that is no more."""

    def __init__(self, name: str) -> None:
        self.name = name


@dataclass(frozen=True, slots=True)
class Sent:
    """A file to be sent, and the name it is saved under."""

    path: Path
    name: str
    media: str


@dataclass(frozen=True, slots=True)
class Saved:
    """A text to be saved as a file, and the name it is saved under."""

    text: str
    name: str
    media: str


class Files:
    """The files of the columns. Nothing is written into the shop folder."""

    def __init__(self, jobs: Jobs) -> None:
        self._jobs = jobs
        self._lock = Lock()
        self._root: tempfile.TemporaryDirectory[str] | None = None

    def make(self, design: Design, paper: Paper) -> None:
        """Begin to make the files of a design, unless they are there or on their way."""
        with self._lock:
            job = self._jobs.job(_key(design.name))
            if job is not None and job.status not in ("stopped", "broken"):
                ask = job.asks[0]
                if (ask.design, ask.paper) == (design, paper):
                    return
            if self._root is None:
                self._root = tempfile.TemporaryDirectory(prefix="orthostat-", ignore_cleanup_errors=True)
            to = tempfile.mkdtemp(dir=self._root.name)
            self._jobs.begin(_key(design.name), (Ask("files", design, to=to, paper=paper),))
            if job is not None:
                shutil.rmtree(job.asks[0].to, ignore_errors=True)

    def stop(self, name: str) -> None:
        """Stop making the files of a column."""
        self._jobs.stop(_key(name))

    def job(self, name: str) -> Job | None:
        """What was last asked for of a column."""
        return self._jobs.job(_key(name))

    def sent(self, design: Design, state: str, name: str, saved_as: str) -> Sent | None:
        """A file that was made of this very design; `None` where there is none of that name.

        Raises `Changed` where `state` is not the design's any more.
        """
        if state != digest(design):
            raise Changed(design.name)
        job = self.job(design.name)
        if job is None or job.status != "done" or job.asks[0].design != design:
            return None
        names = listed(job)
        if name not in names:  # a name of ours, never a path that somebody sent
            return None
        path = Path(job.asks[0].to) / name
        return Sent(path, saved_as, KINDS[path.suffix][1]) if path.is_file() else None

    def close(self) -> None:
        """Remove all files."""
        if self._root is not None:
            self._root.cleanup()


def listed(job: Job) -> tuple[str, ...]:
    """Names of a finished job's files, all in one first, then by kind."""
    kinds = list(KINDS)
    made = [name for answer in job.answers for name in answer.files if Path(name).suffix in KINDS]
    return tuple(sorted(made, key=lambda name: (kinds.index(Path(name).suffix), name)))


def digest(design: Design) -> str:
    """Tells a design from every other: the column's text and the shop's."""
    both = hashlib.sha256()
    for text in (design.text, design.shop):
        both.update(hashlib.sha256(text.encode("utf-8")).digest())
    return both.hexdigest()[:16]


def pack(folder: Path, names: tuple[str, ...]) -> str:
    """All files of a folder in one archive; its name."""
    with zipfile.ZipFile(folder / ALL, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in names:
            entry = zipfile.ZipInfo(name, _OLD)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, (folder / name).read_bytes())
    return ALL


def shown(job: Job | None, design: Design, revision: str) -> dict[str, Any]:
    """What the page shows of a column's files."""
    state = digest(design)
    if job is None:
        return {"status": "none", "state": state, "revision": revision[:8]}
    fresh = job.asks[0].design == design
    problems = [problem for answer in job.answers for problem in answer.problems]
    return {
        "status": "faulty" if problems else job.status,
        "state": state,
        "revision": revision[:8],
        "fresh": fresh,
        "paper": job.asks[0].paper,
        "problems": problems,
        "notes": [note for answer in job.answers for note in answer.notes],
        "broke": job.broke.strip().splitlines()[-1] if job.broke else "",
        "files": [_shown(Path(job.asks[0].to) / name) for name in listed(job)] if fresh else [],
    }


def _shown(path: Path) -> dict[str, Any]:
    try:
        size = path.stat().st_size
    except OSError:
        size = 0
    return {
        "name": path.name,
        "kind": KINDS[path.suffix][0],
        "ending": path.suffix[1:],
        "kib": max(1, round(size / 1024)),
    }


def _key(name: str) -> str:
    return f"files of {name}"
