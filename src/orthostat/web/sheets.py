"""The sheet of a column and the form of the shop: what they show, and the changes made on them."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from orthostat.base.problems import Problem
from orthostat.document.defaults import default_units
from orthostat.document.differences import plain_text
from orthostat.document.fields import shape_at
from orthostat.document.folder import revision_of
from orthostat.document.reading import KeyPath, key_text
from orthostat.web import requests
from orthostat.web.asking import Design
from orthostat.web.board import Snapshot
from orthostat.web.choices import name_lists
from orthostat.web.desk import Held, Stale, data_of
from orthostat.web.form import FormMaker, Group, echo
from orthostat.web.links import Links, place_of, section_of, sections
from orthostat.web.painting import Painter
from orthostat.web.rendering import figure_markup, findings_shown, news_of, render
from orthostat.web.room import Conflict, Elsewhere, Room
from orthostat.web.scenes import scene_shown

_MOST_CARDS = 1000
"""Findings that a page may say it has."""


class Sheets:
    """The documents as forms, with their answers and pictures."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._painter = Painter(room.answers.at_once)

    def close(self) -> None:
        """Stop the workers."""
        self._painter.close()

    def sheet(self, name: str) -> str:
        """The sheet of one column."""
        held = self._room.desk.held(name)
        return self._room.page(
            "sheet.html",
            title=name,
            here="sheet",
            name=name,
            held=held,
            form=self._form_html(held, []),
            names=name_lists(self._room.data(None), self._room.data(name)),
            said_title=plain_text(self._room.data(name).get("name", "")),
            steps=self._room.desk.next_steps(name),
            picture=self._room.still(name),
        )

    def shop(self, section: str) -> str:
        """One page of the shop's own document."""
        if self._room.desk.is_empty:
            raise Elsewhere("/start")
        known = [each[0] for each in sections()]
        if section not in known:
            raise Elsewhere(f"/shop/part/{known[0]}")
        held = self._room.desk.held(None)
        return self._room.page(
            "shop.html",
            title=self._room.shop_name(),
            here="shop",
            held=held,
            section=section,
            sections=sections(),
            form=self._form_html(held, [], section),
            names=name_lists(self._room.data(None)),
            steps=self._room.desk.next_steps(None),
        )

    # ---- the form and its changes

    def form(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """The form as it is now, with the keys that are about to be stated."""
        return self._state(name, requests.paths(body.get("opened", [])), _section(body))

    def preview(self, name: str, body: dict[str, Any]) -> Iterator[dict[str, Any]]:
        """Quick answers to edits that are not made yet, as they come."""
        design = self._tried(name, body)
        if design is None:
            return iter(({"stale": True},))
        tab, key = requests.text(body, "tab", longest=40), requests.whole(body, "key", most=1_000_000_000)
        held = requests.texts(body, "held", most=_MOST_CARDS)
        pieces = self._room.answers.preview(design, tab, key, pictured=body.get("picture") is True)
        links = self._room.links(design).tried(design.edits)  # meanwhile
        return (self._previewed(design, each, links, held) for each in pieces)

    def _previewed(
        self, design: Design, snapshot: Snapshot, links: Links, held: dict[str, str]
    ) -> dict[str, Any]:
        shown = findings_shown(snapshot, snapshot.version - 1, links, held)
        if snapshot.scene is not None:
            shown["scene"] = scene_shown(snapshot.scene)
        if snapshot.version == 1:
            faults: dict[str, list[str]] = {}
            for problem in snapshot.problems:
                said = problem.message + (f"; allowed: {problem.allowed}" if problem.allowed else "")
                faults.setdefault(problem.key, []).append(said)
            shown["faults"] = faults
            shown["echoes"] = _echoes(design)
        return shown

    def _tried(self, name: str, body: dict[str, Any]) -> Design | None:
        """The design with edits that are not made yet; `None` where it is another by now."""
        design = self._room.desk.design(name)
        if requests.text(body, "revision") != revision_of(design.text):
            return None
        return dataclasses.replace(design, edits=requests.edits(body, "column"))

    def edit(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """Make edits, save, and answer."""
        edits = requests.edits(body, "shop" if name is None else "column")
        try:
            self._room.desk.edit(name, requests.text(body, "revision"), edits)
        except Stale as stale:
            raise Conflict(stale) from None
        return self._state(name, requests.paths(body.get("opened", [])), _section(body))

    def step(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """Undo or redo."""
        step = self._room.desk.redo if requests.text(body, "do") == "redo" else self._room.desk.undo
        try:
            step(name)
        except Stale as stale:
            raise Conflict(stale) from None
        return self._state(name, [], _section(body))

    def work(self, name: str, body: dict[str, Any]) -> dict[str, Any]:
        """Stop the work on one subject, or begin it again."""
        self._room.desk.held(name)
        subject = requests.text(body, "subject", longest=60)
        if requests.text(body, "do") == "stop":
            self._room.answers.stop(name, subject)
        else:
            self._room.answers.again(name, subject)
        return {}

    def answers(self, name: str, after: int) -> dict[str, Any]:
        """News of the answers of a column."""
        design = self._room.desk.design(name)
        snapshot = self._room.answers.show(design, after or None, watched=True)
        news: dict[str, Any] = {"of": revision_of(design.text)}
        if snapshot.version == after:  # asked often by every tab, so this must cost next to nothing
            running = [news_of(part) for part in snapshot.parts if part.status == "running"]
            settled, more = snapshot.settled, snapshot.more
            return {**news, "version": after, "settled": settled, "more": more, "running": running}
        return {**news, **findings_shown(snapshot, after, self._room.links(design))}

    def scene(self, name: str) -> dict[str, Any]:
        """What the 3D picture is made of."""
        return scene_shown(self._room.scene(name))

    def still(self, name: str) -> dict[str, Any]:
        """The line picture, for paper and where there is no 3D."""
        figure = self._room.still(name)
        return {"svg": "" if figure is None else figure_markup(figure.svg, "still")}

    def scene_tried(self, name: str, body: dict[str, Any]) -> dict[str, Any]:
        """As `scene`, with edits that are not made yet."""
        design = self._tried(name, body)
        return {"stale": True} if design is None else scene_shown(self._room.answers.scene(design).scene)

    def picture(self, name: str, asked: dict[str, str]) -> dict[str, Any]:
        """What is laid over the picture: painted faces, the tool at a cut."""
        revision = self._room.desk.held(name).revision
        return {**self._painter.picture(self._room.desk.design(name), asked), "of": revision}

    # ---- inside

    def _form_html(self, held: Held, opened: list[KeyPath], section: str = "") -> str:
        data = data_of(held.text, held.shown)
        units = self._units(data, held.name)
        document = "shop" if held.name is None else "column"
        maker = FormMaker(document, held.text, data, held.problems, units, opened)
        keys = next((each[2] for each in sections() if each[0] == section), None)
        group: Group = maker.whole(keys if held.name is None else None)
        strays = [(key, said, _elsewhere(key, section)) for key, said in maker.strays()]
        return render("form.html", group=group, strays=strays if held.problems else [], held=held)

    def _units(self, data: dict[str, Any], name: str | None) -> dict[str, str]:
        """What numbers without a unit are read in."""
        return default_units(data, None if name is None else default_units(self._room.data(None)))

    def _state(self, name: str | None, opened: list[KeyPath], section: str) -> dict[str, Any]:
        held = self._room.desk.held(name)
        undo, redo = self._room.desk.next_steps(name)
        made: dict[str, Any] = {
            "revision": held.revision,
            "form": self._form_html(held, opened, section),
            "undo": undo,
            "redo": redo,
            "unsaved": held.unsaved,
        }
        if name is not None:  # the page asks for the answers by itself
            self._room.answers.begin(self._room.desk.design(name), typed=True)
        return made


@lru_cache(maxsize=16)
def _units_of(text: str, shop: str) -> tuple[tuple[str, str], ...]:
    """What numbers without a unit are read in, by kind: kept, as it is asked at every key."""
    return tuple(default_units(data_of(text, ""), default_units(data_of(shop, ""))).items())


def _echoes(design: Design) -> dict[str, str]:
    """What is typed in the other system of units, by key."""
    units = dict(_units_of(design.text, design.shop))
    found = {}
    for each in design.edits:
        shape = shape_at("column", each.path)
        if each.do == "set" and shape is not None:
            found[key_text(each.path)] = echo(each.value, shape, units)
    return found


def _elsewhere(key: str, section: str) -> str:
    """The address of a key of the shop that stands on another page than `section`."""
    if not key or not section or section_of(key) == section:
        return ""
    return place_of(Problem("shop.toml", "", key))


def _section(body: dict[str, Any]) -> str:
    return requests.text(body, "section", longest=40)
