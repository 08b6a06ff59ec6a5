"""The documents that lie open: what each says now, edits made on them, undo, redo and history.

A change that leaves a document readable is saved at once, and kept in the history; one that does
not is held here (and beside the history) until the fault is mended, and the file stays as it was.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from threading import RLock
from typing import Any

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.differences import Difference, differences
from orthostat.document.editing import Edit, with_edits
from orthostat.document.folder import ShopFolder, StaleRevision, TextFolder, revision_of, write_whole
from orthostat.document.reading import parse_toml, read_text
from orthostat.evaluation import OpenShop
from orthostat.web.asking import Design

_REMEMBERED = 400
"""Texts kept by revision, to show what changed since somebody last looked."""
_STEPS = 300
"""Changes that can be undone."""


@dataclass(frozen=True, slots=True)
class Held:
    """A document as it lies on the desk."""

    name: str | None
    """Of the column; `None` for the shop."""
    text: str
    revision: str
    saved: str | None
    """Revision of the file; differs from `revision` while a fault keeps the text from being saved."""
    problems: tuple[Problem, ...] = ()

    @property
    def shown(self) -> str:
        """The document's file within the folder."""
        return "shop.toml" if self.name is None else f"columns/{self.name}.toml"

    @property
    def unsaved(self) -> bool:
        """Whether the file says something else."""
        return self.saved != self.revision


class Stale(Exception):
    """The document is another by now; nothing was changed."""

    def __init__(self, held: Held, changed: tuple[Difference, ...]) -> None:
        self.held = held
        self.changed = changed
        super().__init__(f"{held.shown} has changed meanwhile")


@dataclass(frozen=True, slots=True)
class Change:
    """One step that can be undone."""

    name: str | None
    before: str
    after: str
    said: str


class Desk:
    """A shop folder's documents. Safe to use from several threads; each change is one step."""

    def __init__(self, folder: Path) -> None:
        self.folder = ShopFolder(folder)
        self._lock = RLock()
        self._held: dict[str | None, Held] = {}
        self._texts: OrderedDict[str, str] = OrderedDict()
        self._done: list[Change] = []
        self._undone: list[Change] = []
        self._shops: OrderedDict[str, OpenShop | tuple[Problem, ...]] = OrderedDict()
        self._judgements: OrderedDict[tuple[str | None, str, str], tuple[Problem, ...]] = OrderedDict()
        if folder.is_dir():
            self.folder.sweep()

    @property
    def is_empty(self) -> bool:
        """Whether there is no shop yet."""
        return not self.folder.shop_file.is_file()

    def columns(self) -> list[str]:
        """Names of the columns."""
        return self.folder.column_names() if self.folder.path.is_dir() else []

    def held(self, name: str | None) -> Held:
        """The document as it is now. Raises `DocumentError` for one that is not there."""
        with self._lock:
            return self._sync(name)

    def design(self, name: str) -> Design:
        """The column with its shop, as the workers want it."""
        with self._lock:
            return Design(str(self.folder.path), name, self._sync(None).text, self._sync(name).text)

    def saved_design(self, name: str) -> Design:
        """As `design`, of the files: their last good state while a fault keeps a text from being saved."""
        with self._lock:
            self._sync(name)
            texts = [read_text(self._file(each), self._shown(each)) for each in (None, name)]
            return Design(str(self.folder.path), name, texts[0], texts[1])

    def edit(self, name: str | None, revision: str, edits: tuple[Edit, ...]) -> Held:
        """Make edits on the state of `revision`. Raises `Stale`, or `DocumentError` for a lost path."""
        with self._lock:
            held = self._fresh(name, revision)
            return self._put(name, with_edits(held.text, edits, held.shown))

    def replace(self, name: str | None, revision: str, text: str) -> Held:
        """Put a whole text in the place of the state of `revision`. Raises `Stale`."""
        with self._lock:
            self._fresh(name, revision)
            return self._put(name, text)

    def create(self, name: str, text: str) -> Held:
        """A new column. Raises `DocumentError` for a name that is taken or can't be one."""
        with self._lock:
            self._free(name)
            self.folder.save(self.folder.column_file(name), text, None)
            return self._sync(name)

    def create_shop(self, text: str) -> Held:
        """The shop document of an empty folder."""
        with self._lock:
            self.folder.save(self.folder.shop_file, text, None)
            return self._sync(None)

    def try_out(self, name: str, shop_text: str, text: str) -> tuple[Problem, ...]:
        """What would be wrong with a new column and its shop; nothing is written."""
        with self._lock:
            self._free(name)
            shop = self._open(shop_text)
            return shop if isinstance(shop, tuple) else _judged(shop, name, text)

    def undo(self, name: str | None) -> Held:
        """Take back the last change of this document or the shop. Raises `Stale` as `edit` does."""
        return self._step(name, self._done, self._undone, lambda change: (change.after, change.before))

    def redo(self, name: str | None) -> Held:
        """Make again what was undone last."""
        return self._step(name, self._undone, self._done, lambda change: (change.before, change.after))

    def next_steps(self, name: str | None) -> tuple[str, str]:
        """What undo and redo would do, in words; empty where there is nothing."""
        with self._lock:
            undo, redo = self._last(self._done, name), self._last(self._undone, name)
            return ("" if undo is None else undo.said, "" if redo is None else redo.said)

    def states(self, name: str | None) -> list[tuple[str, str]]:
        """Saved states, newest first: id and text."""
        return [
            (path.stem, path.read_text("utf-8")) for path in reversed(self.folder.history(self._file(name)))
        ]

    def state(self, name: str | None, state: str) -> str:
        """The text of one saved state; raises `DocumentError` where there is none."""
        for path in self.folder.history(self._file(name)):
            if path.stem == state:
                return path.read_text("utf-8")
        raise DocumentError(
            [Problem(self._shown(name), "there is no such saved state", read=f"`{state[:60]}`")]
        )

    def since(self, name: str | None, revision: str) -> tuple[Difference, ...]:
        """What changed since `revision`; empty where that state is not known any more."""
        with self._lock:
            then = self._text_of(name, revision)
            return () if then is None else _changed(then, self._sync(name).text, self._shown(name))

    # ---- inside; the lock is held

    def _free(self, name: str) -> None:
        """Raise `DocumentError` for a name that is taken or can't be a column's."""
        self.folder.column_file(name)
        if name.casefold() in {each.casefold() for each in self.columns()}:
            raise DocumentError([Problem("columns", "there is a column of this name", read=f"`{name}`")])

    def _file(self, name: str | None) -> Path:
        return self.folder.shop_file if name is None else self.folder.column_file(name)

    def _shown(self, name: str | None) -> str:
        return "shop.toml" if name is None else f"columns/{name}.toml"

    def _sync(self, name: str | None) -> Held:
        """The document on the desk, taking over what somebody else wrote into its file."""
        if name is not None:
            self.folder.require_column(name)
        file = self._file(name)
        text = read_text(file, self._shown(name))
        on_disk = revision_of(text)
        held = self._held.get(name)
        if held is not None and held.saved == on_disk:
            held = self._held[name] = self._judged(held)
            return held
        if held is None and (draft := self._draft(file, on_disk)) is not None:
            held = self._judged(Held(name, draft, revision_of(draft), on_disk))
        else:
            if held is not None and held.unsaved:
                self.folder.remember(file, held.text)  # another writer came first: set aside, not lost
            held = self._judged(Held(name, text, on_disk, on_disk))
        self._held[name] = held
        self._note(held.text)
        return held

    def _judged(self, held: Held) -> Held:
        return replace(held, problems=self._problems(held.name, held.text))

    def _fresh(self, name: str | None, revision: str) -> Held:
        held = self._sync(name)
        if held.revision != revision:
            raise Stale(held, self.since(name, revision))
        return held

    def _put(self, name: str | None, text: str, *, step: bool = True) -> Held:
        before = self._sync(name)
        if text == before.text:
            return before
        problems = self._problems(name, text)
        saved = before.saved
        file = self._file(name)
        if not problems:
            try:
                saved = self.folder.save(file, text, before.saved)
            except StaleRevision:
                raise Stale(self._sync(name), self.since(name, before.revision)) from None
            self._draft_file(file).unlink(missing_ok=True)
        else:
            write_whole(self._draft_file(file), f"{saved}\n{text}")
        held = Held(name, text, revision_of(text), saved, problems)
        self._held[name] = held
        self._note(text)
        if step:
            said = _said(_changed(before.text, text, held.shown))
            self._done.append(Change(name, before.text, text, said))
            del self._done[:-_STEPS]
            self._undone = [change for change in self._undone if change.name != name]
        return held

    def _step(
        self,
        name: str | None,
        source: list[Change],
        target: list[Change],
        ends: Callable[[Change], tuple[str, str]],
    ) -> Held:
        with self._lock:
            change = self._last(source, name)
            if change is None:
                return self._sync(name)
            here, there = ends(change)
            held = self._sync(change.name)
            if held.text != here:
                raise Stale(held, _changed(here, held.text, held.shown))
            self._put(change.name, there, step=False)
            del source[max(index for index, each in enumerate(source) if each is change)]
            target.append(change)
            return self._sync(name)

    def _last(self, changes: list[Change], name: str | None) -> Change | None:
        return next((change for change in reversed(changes) if change.name in (name, None)), None)

    def _problems(self, name: str | None, text: str) -> tuple[Problem, ...]:
        key = (name, text if name is None else self._sync(None).text, text)
        if key not in self._judgements:
            self._judgements[key] = self._judge(name, text)
            while len(self._judgements) > 32:
                self._judgements.popitem(last=False)
        return self._judgements[key]

    def _judge(self, name: str | None, text: str) -> tuple[Problem, ...]:
        shop = self._open(text if name is None else self._sync(None).text)
        if isinstance(shop, tuple):
            # A column can be judged again when its shop can be read.
            return shop if name is None else ()
        return () if name is None else _judged(shop, name, text)

    def _open(self, text: str) -> OpenShop | tuple[Problem, ...]:
        if text not in self._shops:
            try:
                self._shops[text] = OpenShop(TextFolder(self.folder.path, text))
            except DocumentError as error:
                self._shops[text] = error.problems
            while len(self._shops) > 4:
                self._shops.popitem(last=False)
        return self._shops[text]

    def _draft_file(self, file: Path) -> Path:
        return self.folder.history_of(file) / "unsaved.txt"

    def _draft(self, file: Path, on_disk: str) -> str | None:
        """A text that a fault kept from being saved when the page was last open."""
        try:
            base, _, text = self._draft_file(file).read_text("utf-8").partition("\n")
        except (OSError, UnicodeDecodeError):
            return None
        return text if base == on_disk else None

    def _note(self, text: str) -> None:
        self._texts[revision_of(text)] = text
        while len(self._texts) > _REMEMBERED:
            self._texts.popitem(last=False)

    def _text_of(self, name: str | None, revision: str) -> str | None:
        if revision in self._texts:
            return self._texts[revision]
        for path in self.folder.history(self._file(name)):
            if path.stem.endswith(revision[:12]):
                return path.read_text("utf-8")
        return None


def _judged(shop: OpenShop, name: str, text: str) -> tuple[Problem, ...]:
    try:
        shop.column_as(name, shop.folder.column_of(name, text))
    except DocumentError as error:
        return error.problems
    return ()


@lru_cache(maxsize=8)
def data_of(text: str, shown: str) -> dict[str, Any]:
    """A text's data; an empty table where it is not TOML. Kept, and not to be changed."""
    try:
        return parse_toml(text, shown)
    except DocumentError:
        return {}


def _changed(then: str, now: str, shown: str) -> tuple[Difference, ...]:
    return differences(data_of(then, shown), data_of(now, shown))


def _said(changed: tuple[Difference, ...]) -> str:
    """Changes in a few words, for the buttons."""
    if not changed:
        return "spacing and comments"
    first = changed[0]
    more = f" and {len(changed) - 1} more" if len(changed) > 1 else ""
    if not first.then:
        return f"{first.key} stated{more}"
    if not first.now:
        return f"{first.key} left out{more}"
    return f"{first.key}: {first.then[:40]} → {first.now[:40]}{more}"
