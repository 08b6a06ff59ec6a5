"""The pages of the house: the columns of the shop, chapters, files, two designs, the guided start."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import quote

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.differences import plain_text
from orthostat.web import requests
from orthostat.web.choices import name_lists
from orthostat.web.files import Paper, Sent, digest
from orthostat.web.histories import Histories
from orthostat.web.rendering import counts
from orthostat.web.room import Elsewhere, Room, changes
from orthostat.web.sheets import Sheets
from orthostat.web.studying import Studies


class Pages:
    """All pages of one shop folder."""

    def __init__(self, folder: Path, token: str) -> None:
        self._room = Room(folder, token)
        self.sheets = Sheets(self._room)
        self.histories = Histories(self._room)
        self.studies = Studies(self._room)

    def close(self) -> None:
        """Stop the workers."""
        self.sheets.close()
        self._room.close()

    # ---- whole pages

    def home(self) -> str:
        """The columns of the shop, each with its verdicts."""
        if self._room.desk.is_empty:
            raise Elsewhere("/start")
        shop = self._room.desk.held(None)
        rows: list[dict[str, Any]] = []
        unfinished = False
        for name in self._room.desk.columns():
            try:
                title = self._room.data(name).get("name", "")
                picture = self._room.still(name)  # drawn while another worker gets ready to answer
                snapshot = self._room.answers.show(self._room.desk.design(name))
            except DocumentError as error:
                rows.append(
                    {"name": name, "title": "", "problems": error.problems, "counts": [], "picture": None}
                )
                continue
            unfinished |= not snapshot.settled
            rows.append(
                {
                    "name": name,
                    "title": plain_text(title),
                    "problems": snapshot.problems,
                    "counts": counts(snapshot),
                    "picture": picture,
                }
            )
        return self._room.page(
            "home.html",
            title=self._room.shop_name(),
            rows=rows,
            unfinished=unfinished,
            problems=shop.problems,
            here="home",
        )

    def chapter(self, name: str, chapter: str) -> str:
        """The page of one chapter; its content follows."""
        self._room.desk.held(name)
        found = next((each for each in self._room.answers.there_is().chapters if each.slug == chapter), None)
        if found is None:
            raise DocumentError([Problem("chapter", "there is no such chapter", read=f"`{chapter[:60]}`")])
        return self._room.page(
            "chapter.html", title=found.title, here=chapter, name=name, chapter=chapter, bench=found.bench
        )

    def chapter_content(self, name: str, chapter: str, again: str) -> dict[str, Any]:
        """What a chapter says, or how far the work on it is."""
        return self._room.asides.chapter(self._room.desk.design(name), chapter, again=bool(again))

    def stop(self, body: dict[str, Any]) -> dict[str, Any]:
        """Stop what a page waits for."""
        self._room.asides.stop(requests.text(body, "job", longest=400))
        return {}

    def state(self, name: str) -> dict[str, Any]:
        """Which state the design is in: a page that shows an earlier one says so."""
        return {"state": digest(self._room.desk.design(name))}

    # ---- book and files

    def files(self, name: str, seen: str) -> dict[str, Any]:
        """The files of a column."""
        return self._room.asides.files(
            self._room.desk.design(name), self._room.desk.held(name).revision, seen[:80]
        )

    def make_files(self, name: str, body: dict[str, Any]) -> dict[str, Any]:
        """Begin to make the files, or stop it."""
        design = self._room.desk.design(name)
        if requests.text(body, "do") == "stop":
            self._room.asides.stop_files(name)
        else:
            paper: Paper = "letter" if requests.text(body, "paper") == "letter" else "a4"
            self._room.asides.make_files(design, paper)
        return {}

    def file(self, name: str, state: str, file: str) -> Sent:
        """One file, of the design as it is now and no other."""
        held = self._room.desk.held(name)
        sent = self._room.asides.file(self._room.desk.design(name), state, file, held.revision)
        if sent is None:
            raise DocumentError([Problem("files", "there is no such file", read=f"`{file[:60]}`")])
        return sent

    def gone(self, name: str) -> str:
        """Said in the place of a file of an earlier state."""
        first = next((each.slug for each in self._room.answers.there_is().chapters if each.bench), "")
        return self._room.page("gone.html", title="Files", here="", name=name, chapter=first)

    # ---- two designs

    def beside_content(self, chosen: dict[str, str]) -> dict[str, Any]:
        """The findings of two designs, worked out now."""
        left, right = self._pair(chosen)
        return self._room.asides.moved(
            f"{left} beside {right}",
            (self._room.desk.design(left), self._room.desk.design(right)),
            (left, right),
            self._room.answers.there_is().subjects,
            all_of_them=True,
            again=bool(chosen.get("again")),
        )

    def _pair(self, chosen: dict[str, str]) -> tuple[str, str]:
        names = self._room.desk.columns()
        left = chosen.get("left", names[0] if names else "")
        right = chosen.get("right", names[1] if len(names) > 1 else left)
        unknown = [each for each in (left, right) if each not in names]
        if unknown:
            raise DocumentError(
                [Problem("columns", "there is no column of this name", read=f"`{unknown[0][:60]}`")]
            )
        return left, right

    def beside(self, chosen: dict[str, str]) -> str:
        """Two designs side by side; their findings follow."""
        names = self._room.desk.columns()
        left, right = self._pair(chosen)
        changed = changes(self._room.desk.held(left).text, self._room.desk.held(right).text, "")
        return self._room.page(
            "beside.html",
            title="Side by side",
            here="beside",
            names=names,
            left=left,
            right=right,
            changed=changed,
            pictures=(self._room.still(left), self._room.still(right)),
        )

    def copy(self, body: dict[str, Any]) -> dict[str, Any]:
        """A new column from one that is there."""
        source, name = (
            requests.text(body, "from", longest=120),
            requests.text(body, "name", longest=120).strip(),
        )
        self._room.desk.create(name, self._room.desk.held(source).text)
        return {"go": f"/column/{quote(name, safe='')}"}

    # ---- beginning

    def start(self, units: str) -> str:
        """The guided start."""
        from orthostat.web.questions import questions

        shop = {} if self._room.desk.is_empty else self._room.data(None)
        return self._room.page(
            "start.html",
            title="A new column",
            here="start",
            questions=questions(shop),
            system="inch" if units == "inch" else "metric",
            names=name_lists(shop),
            problems=() if self._room.desk.is_empty else self._room.desk.held(None).problems,
        )

    def begin(self, body: dict[str, Any]) -> dict[str, Any]:
        """Write the documents of a guided start."""
        from orthostat.web.starting import begin

        return begin(self._room.desk, body)
