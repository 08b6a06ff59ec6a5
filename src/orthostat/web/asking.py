"""What a worker process can be asked, and what it answers: plain frozen values that can be pickled."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from orthostat.base.problems import Problem
from orthostat.base.showing import System
from orthostat.document.editing import Edit
from orthostat.presentation.blocks import Chapter, Figure
from orthostat.presentation.cards import Card
from orthostat.presentation.painting import Chosen, Picture
from orthostat.presentation.scene import Scene
from orthostat.studies.varying import Axis

LONG = ", in full"
"""Ending of the name under which the rules of a subject that take seconds are asked for."""
SCREENED = ", quick model"
"""Ending of the name under which those of them that a quick model can answer are asked of it."""


@dataclass(frozen=True, slots=True)
class Design:
    """A column as two texts, with edits that are only being tried out."""

    folder: str
    name: str
    shop: str
    """Text of `shop.toml`."""
    text: str
    """Text of the column."""
    edits: tuple[Edit, ...] = ()
    shop_edits: tuple[Edit, ...] = ()


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is wanted of a study: the fields to vary, what to rank by, how many of the best to verify."""

    axes: tuple[Axis, ...]
    by: str
    best: int


@dataclass(frozen=True, slots=True)
class Ask:
    """One question: the findings of some subjects, one chapter, the scene, its line picture, what lies over
    it, files, a study, or only to get ready.
    """

    what: Literal["findings", "chapter", "scene", "still", "picture", "files", "study", "ready"]
    design: Design | None = None
    subjects: tuple[str, ...] = ()
    chapter: str = ""
    chosen: Chosen | None = None
    """What is to be laid over the picture."""
    to: str = ""
    """Folder that files are written into."""
    paper: Literal["a4", "letter"] = "a4"
    wanted: Wanted | None = None
    """Of a study."""


class ChapterName(NamedTuple):
    """A chapter as links to it need it."""

    slug: str
    title: str
    short: str
    """For the line of chapters."""
    bench: bool
    """Whether it is taken to the bench: its page offers the files."""


@dataclass(frozen=True, slots=True)
class Told:
    """How far a question's work has come; any number of these come before its answer."""

    doing: str
    share: float
    """Of the steps there are, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found; `problems` alone where the document can't be read."""

    problems: tuple[Problem, ...] = ()
    system: System = "metric"
    found: dict[str, tuple[Card, ...]] = field(default_factory=dict)
    """Cards by subject."""
    seconds: dict[str, float] = field(default_factory=dict)
    """How long each subject took."""
    worked: dict[str, bool] = field(default_factory=dict)
    """Whether anything was really worked out for it, or all was remembered."""
    needs: dict[str, dict[str, float]] = field(default_factory=dict)
    """Which results each asked for, and how much of its time those took [s]."""
    subjects: tuple[str, ...] = ()
    """Every subject there are rules for, in the order a shop asks; what takes seconds by itself (`LONG`)."""
    first: frozenset[str] = frozenset()
    """Those of the subjects that come before the others while somebody types."""
    screens: tuple[str, ...] = ()
    """Those of the subjects that a quick model can answer in part."""
    chapters: tuple[ChapterName, ...] = ()
    """Every chapter there is, in order."""
    chapter: Chapter | None = None
    """The one asked for, or what a study found."""
    designs: str = ""
    """Every design of a study, as comma-separated values."""
    scene: Scene | None = None
    still: Figure | None = None
    """The scene as a line picture."""
    picture: Picture | None = None
    files: tuple[str, ...] = ()
    """Names of the files that were written."""
    notes: tuple[str, ...] = ()
    """What could not be written, or wants a look."""
    broke: str = ""
    """A fault of the program itself, as a traceback."""
