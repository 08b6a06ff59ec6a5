"""The shop folder on disk: which documents it holds, reading them, saving them safely.

shop.toml               machines, pallets, tools, materials, prices, wishes
columns/NAME.toml       one design each
history/                every state that was saved from here
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.column import Column
from orthostat.document.defaults import default_units, unit_problems
from orthostat.document.editing import Edits, edited
from orthostat.document.reading import Document, nearest, parse_toml, read_text, validate, with_parts_of
from orthostat.document.shop import Shop

_SAFE_NAME = re.compile(r"[^\x00-\x1f/\\:*?\"<>|.][^\x00-\x1f/\\:*?\"<>|]{0,99}")


class StaleRevision(Exception):
    """The file changed since the writer saw it; nothing was written."""

    def __init__(self, shown: str, current: str) -> None:
        self.current = current
        super().__init__(f"{shown} has changed since it was read; nothing was written")


@dataclass(frozen=True)
class Read:
    """A document as read: what it says, its text, and the revision it had."""

    document: Any
    text: str
    revision: str
    shown: str


class ShopFolder:
    """A shop folder. Reading raises `DocumentError` with every fault; nothing is written by reading."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @property
    def shop_file(self) -> Path:
        return self.path / "shop.toml"

    def column_file(self, name: str) -> Path:
        """The file of a column; raises `DocumentError` for a name that could leave the folder."""
        if not _SAFE_NAME.fullmatch(name) or name != name.strip() or name.endswith("."):
            raise DocumentError(
                [
                    Problem(
                        "columns",
                        "is not a name a column can have",
                        read=f"`{name}`",
                        allowed="letters, digits, spaces, - and _",
                    )
                ]
            )
        return self.path / "columns" / f"{name}.toml"

    def column_names(self) -> list[str]:
        """Names of the columns there are, in alphabetical order."""
        try:
            return sorted(file.stem for file in (self.path / "columns").glob("*.toml") if file.is_file())
        except OSError as fault:
            raise DocumentError(
                [Problem("columns", f"can't be listed ({fault.strerror or fault})")]
            ) from None

    def require_column(self, name: str) -> None:
        """Raise `DocumentError`, naming the nearest, when there is no such column."""
        if self.column_file(name).exists():
            return
        known = self.column_names()
        guess = nearest(name, known)
        hint = f"; did you mean `{guess}`?" if guess else ""
        raise DocumentError(
            [
                Problem(
                    "columns",
                    f"there is no column of this name{hint}",
                    read=f"`{name}`",
                    allowed=", ".join(known) or "none yet",
                )
            ]
        )

    @cached_property
    def shop(self) -> Read:
        """The shop document."""
        if not self.path.is_dir():
            raise DocumentError(
                [
                    Problem(
                        self.path.name or str(self.path),
                        "there is no such folder; make one with `orthostat new`",
                    )
                ]
            )
        return read_document(Shop, self.shop_file, "shop.toml", {})

    def column(self, name: str) -> Read:
        """One column document; bare numbers are read in its own units, else in the shop's."""
        self.require_column(name)
        return read_document(Column, self.column_file(name), f"columns/{name}.toml", self._shop_units())

    def faults_of_columns(self, names: Sequence[str] = ()) -> list[Problem]:
        """What is wrong with columns by themselves, in a shop that can't be read; all if none is named.

        Nothing where the shop is not even TOML: its default units are then not known.
        """
        try:
            units = default_units(parse_toml(read_text(self.shop_file, "shop.toml"), "shop.toml"))
            named = names or self.column_names()
        except DocumentError:
            return []
        problems: list[Problem] = []
        for name in named:
            try:
                self.require_column(name)
                read_document(Column, self.column_file(name), f"columns/{name}.toml", units)
            except DocumentError as error:
                problems += error.problems
        return problems

    def column_of(self, name: str, text: str, edits: Edits = ()) -> Read:
        """A column document from a text in hand, with `edits` made on its data."""
        self.column_file(name)
        return document_of(Column, text, f"columns/{name}.toml", self._shop_units(), edits)

    def _shop_units(self) -> dict[str, str]:
        return default_units(self.shop.document.model_dump(include={"units"}, exclude_none=True))

    def save(self, file: Path, text: str, seen: str | None) -> str:
        """Write `text` in one step and keep it in the history; returns the new revision.

        `seen` is the revision the writer last read, or `None` for a new file. Raises
        `StaleRevision` when the file is another by now: then nothing is written.
        """
        before = file.read_text("utf-8") if file.exists() else None
        current = None if before is None else revision_of(before)
        if current != seen:
            raise StaleRevision(file.name, current or "")
        if before is not None:  # a state written by hand is kept as well
            self.remember(file, before)
        self.remember(file, text)
        write_whole(file, text)
        return revision_of(text)

    def remember(self, file: Path, text: str) -> None:
        """Keep `text` in the history of `file`, unless it is what was kept last."""
        revision = revision_of(text)
        states = self.history(file)
        if states and states[-1].stem.endswith(revision[:12]):
            return
        stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%fZ")
        write_whole(self.history_of(file) / f"{stamp}-{revision[:12]}.toml", text)

    def history(self, file: Path) -> list[Path]:
        """Saved states of a file, oldest first."""
        return sorted(self.history_of(file).glob("*.toml"))

    def sweep(self) -> None:
        """Remove what a writer that was killed in the middle of a save left behind."""
        folders = [
            self.path,
            self.path / "columns",
            *(self.path / "history").rglob("*/"),
            self.path / "history",
        ]
        for folder in folders:
            for left in folder.glob(".*.part"):
                left.unlink(missing_ok=True)

    def history_of(self, file: Path) -> Path:
        """The folder that keeps the saved states of a file."""
        inside = file.relative_to(self.path)
        return self.path / "history" / inside.with_suffix("")


class TextFolder(ShopFolder):
    """A shop folder whose `shop.toml` is a text in hand, with `edits` made on its data."""

    def __init__(self, path: Path, text: str, edits: Edits = ()) -> None:
        super().__init__(path)
        self._text = text
        self._edits = edits

    @cached_property
    def shop(self) -> Read:
        """The shop document."""
        return document_of(Shop, self._text, "shop.toml", {}, self._edits)


def read_document(model: type[Document], file: Path, shown: str, inherited: dict[str, str]) -> Read:
    """Read, parse and validate one file; raises `DocumentError` with everything that is wrong."""
    return document_of(model, read_text(file, shown), shown, inherited)


def document_of(
    model: type[Document], text: str, shown: str, inherited: dict[str, str], edits: Edits = ()
) -> Read:
    """Parse and validate one text with `edits` made on its data; raises `DocumentError` as above."""
    data = edited(_parsed(text, shown), edits, shown)
    units = default_units(data, inherited)
    faults = unit_problems(data, text, shown)
    try:
        document = _document(model, data, text, shown, units)
    except DocumentError as error:
        raise DocumentError([*faults, *error.problems]) from None
    if faults:
        raise DocumentError(faults)
    return Read(document, text, revision_of(text), shown)


@lru_cache(maxsize=8)
def _parsed(text: str, shown: str) -> dict[str, Any]:
    """As `parse_toml`; kept, as every edit that is tried out is made on the same text. Not to be changed."""
    return parse_toml(text, shown)


def _document(
    model: type[Document], data: dict[str, Any], text: str, shown: str, units: dict[str, str]
) -> Document:
    """As `validate`, of `data` that is made from `text` by edits: what they did not touch is read once."""
    before: Document | None = _unedited(model, text, shown, tuple(units.items()))
    if before is not None:
        raw = _parsed(text, shown)
        if data is raw:
            return before
        try:
            return model.model_validate(with_parts_of(before, raw, data), context={"units": units})
        except ValidationError:
            pass  # told of the data as it was typed, so that each fault says what was read
    return validate(model, data, text=text, shown=shown, units=units)


@lru_cache(maxsize=8)
def _unedited(
    model: type[Document], text: str, shown: str, units: tuple[tuple[str, str], ...]
) -> Document | None:
    """What a text says before it is edited; `None` where it has faults."""
    try:
        return validate(model, _parsed(text, shown), text=text, shown=shown, units=dict(units))
    except DocumentError:
        return None


def revision_of(text: str) -> str:
    """A digest that tells one text from another."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def write_whole(file: Path, text: str) -> None:
    """Put `text` at `file` in one step: whoever reads sees the old text or the new, never a part."""
    file.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.stem}-", suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).replace(file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
