"""Where a key of the documents is edited: pages of the shop, and links from findings to fields."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple
from urllib.parse import quote

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.differences import plain_text
from orthostat.document.editing import Edits, edited
from orthostat.document.fields import keys_of
from orthostat.document.reading import key_text
from orthostat.web.desk import data_of
from orthostat.web.form import summary

SECTIONS = (
    ("general", "The shop", ("name", "note", "units", "margins", "limits", "clearances", "room")),
    ("machines", "Machines", ("machines",)),
    ("platforms", "Pallets and bases", ("pallets", "bases")),
    ("tools", "Tools", ("tools", "bench")),
    ("fixtures", "Fixtures", ("fixtures",)),
    ("materials", "Materials", ("materials", "cut_materials")),
    ("casting", "Casting", ("aggregates", "resins", "mixers")),
)
"""Pages of the shop: slug, title and keys; keys named nowhere here stand on a last page."""


class Link(NamedTuple):
    """A document path of a finding, where it can be edited, and what stands there."""

    text: str
    href: str
    value: str


@dataclass(frozen=True, slots=True, eq=False)
class Links:
    """Links of one column's findings."""

    name: str
    """Of the column."""
    column: dict[str, Any]
    shop: dict[str, Any]
    chapters: dict[str, str]
    """Title by slug."""
    _known: dict[str, Link] = field(default_factory=dict)
    """Answers so far: every step of answers asks for the same again."""

    def tried(self, edits: Edits) -> Links:
        """As these, of the column with edits that are not made yet."""
        try:
            column = edited(self.column, edits, self.name)
        except DocumentError:
            return self
        kept = {path: link for path, link in self._known.items() if not _touched(link, edits)}
        return Links(self.name, column, self.shop, self.chapters, kept)

    def link(self, path: str) -> Link:
        """Where a finding's document path can be edited, and what stands there."""
        if path not in self._known:
            self._known[path] = self._link(path)
        return self._known[path]

    def _link(self, path: str) -> Link:
        shown, path = path, re.sub(r"^columns\.[^.]+\.", "", path)
        for data, document in ((self.column, "column"), (self.shop, "shop")):
            found = _resolve(path, data, {key.name for key in keys_of(document)})
            if found is not None:
                at, value = found
                href = f"#{at}" if document == "column" else f"/shop/part/{section_of(at)}#{at}"
                said = summary(value) if isinstance(value, Mapping) else plain_text(value)[:60]
                return Link(shown, href, said)
        return Link(shown, "", "")


def _touched(link: Link, edits: Edits) -> bool:
    """Whether what a link says may be another after edits of the column."""
    if link.href.startswith("/"):
        return False
    keys = [key_text(edit.path) for edit in edits if edit.do == "set"]
    at = link.href.removeprefix("#")
    return len(keys) < len(edits) or any(key.startswith(at) or at.startswith(key) for key in keys)


@lru_cache(maxsize=16)
def links_of(name: str, column: str, shop: str, chapters: tuple[tuple[str, str], ...]) -> Links:
    """The links for two texts; `chapters` are slugs and titles. Read once for all answers."""
    return Links(name, data_of(column, "column"), data_of(shop, "shop.toml"), dict(chapters))


def sections() -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """The pages of the shop."""
    placed = {key for _, _, keys in SECTIONS for key in keys}
    rest = tuple(key.name for key in keys_of("shop") if key.name not in placed)
    return (*SECTIONS, ("prices", "Prices and rates", rest)) if rest else SECTIONS


def place_of(problem: Problem) -> str:
    """The address of the field that a fault can be mended in; empty where there is none."""
    if not problem.key:
        return ""
    if problem.file == "shop.toml":
        return f"/shop/part/{section_of(problem.key)}#{quote(problem.key)}"
    name = problem.file.removeprefix("columns/").removesuffix(".toml")
    return f"/column/{quote(name, safe='')}#{quote(problem.key)}" if name != problem.file else ""


def section_of(path: str) -> str:
    """The page of the shop that a key stands on."""
    first = path.replace("[", ".").split(".")[0].strip('"')
    return next((slug for slug, _, keys in sections() if first in keys), "general")


def _resolve(path: str, data: dict[str, Any], keys: set[str]) -> tuple[str, Any] | None:
    """A finding's document path as our own spelling of it and what stands there; names may hold dots."""
    first = path.replace("[", ".").split(".")[0]
    if first not in keys:
        return None
    at: Any = data
    rest = path
    found: list[str | int] = []
    while rest:
        if rest.startswith("["):
            index, _, rest = rest[1:].partition("]")
            if not isinstance(at, list) or not index.isdigit() or int(index) >= len(at):
                return key_text(tuple(found)), None
            at = at[int(index)]
            found.append(int(index))
        else:
            rest = rest.removeprefix(".")
            names = sorted(at, key=len, reverse=True) if isinstance(at, dict) else []
            name = next((each for each in names if _begins(rest, each)), None)
            if name is None:
                plain = [part for part in rest.replace("[", ".").split(".") if part]
                return key_text((*found, *plain)), None
            rest = rest.removeprefix('"').removeprefix(name).removeprefix('"')
            at = at[name]
            found.append(name)
        rest = rest.removeprefix(".") if not rest.startswith("[") else rest
    return key_text(tuple(found)), at


def _begins(rest: str, name: str) -> bool:
    bare = rest.removeprefix('"')
    return bare.startswith(name) and (len(bare) == len(name) or bare[len(name)] in '.["')
