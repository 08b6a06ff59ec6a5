"""Pages of what was: saved states, what changed since, and bringing one back."""

from __future__ import annotations

import dataclasses
from typing import Any
from urllib.parse import quote

from orthostat.web import requests
from orthostat.web.desk import Stale
from orthostat.web.room import Conflict, Room, changes


class Histories:
    """The saved states of the shop and its columns."""

    def __init__(self, room: Room) -> None:
        self._room = room

    def history(self, name: str | None) -> str:
        """Every saved state, newest first, with what each changed."""
        held = self._room.desk.held(name)
        states = self._room.desk.states(name)[:100]
        shown = []
        for index, (state, text) in enumerate(states):
            before = states[index + 1][1] if index + 1 < len(states) else None
            shown.append(
                {
                    "state": state,
                    "time": _time_of(state),
                    "now": text == held.text,
                    "changed": [] if before is None else changes(before, text, held.shown)[:6],
                    "first": before is None,
                }
            )
        return self._room.page(
            "history.html", title="History", here="history", name=name, held=held, states=shown
        )

    def compare(self, name: str | None, state: str) -> str:
        """One saved state beside the present one: what changed, and which findings moved."""
        held = self._room.desk.held(name)
        then = self._room.desk.state(name, state)
        return self._room.page(
            "compare.html",
            title="Compare",
            here="history",
            name=name,
            held=held,
            state=state,
            time=_time_of(state),
            changed=changes(then, held.text, held.shown),
        )

    def compare_content(self, name: str, state: str, again: str) -> dict[str, Any]:
        """The findings that moved since a saved state, worked out now."""
        now = self._room.desk.design(name)
        then = dataclasses.replace(now, text=self._room.desk.state(name, state))
        subjects = self._room.answers.there_is().subjects
        key = f"{name} compared with {state}"
        return self._room.asides.moved(key, (then, now), ("then", "now"), subjects, again=bool(again))

    def restore(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """Bring a saved state back, as a new state."""
        text = self._room.desk.state(name, requests.text(body, "state", longest=80))
        try:
            self._room.desk.replace(name, requests.text(body, "revision"), text)
        except Stale as stale:
            raise Conflict(stale) from None
        return {"go": "/shop" if name is None else f"/column/{quote(name, safe='')}"}


def _time_of(state: str) -> str:
    """`20261124T101530123456Z-…` as a time people read."""
    stamp = state.split("-", maxsplit=1)[0]
    return f"{stamp[0:4]}-{stamp[4:6]}-{stamp[6:8]} {stamp[9:11]}:{stamp[11:13]}:{stamp[13:15]} UTC"
