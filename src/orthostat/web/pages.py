"""The pages: what each shows and what each change does, as HTML and plain data."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any
from urllib.parse import quote

from orthostat import __version__
from orthostat.base.problems import DocumentError, Problem
from orthostat.document.defaults import default_units
from orthostat.document.differences import Difference, plain_text
from orthostat.document.reading import KeyPath
from orthostat.presentation.scene import Scene
from orthostat.web import requests
from orthostat.web.asides import Asides
from orthostat.web.asking import Design
from orthostat.web.board import Answers, Snapshot
from orthostat.web.choices import name_lists
from orthostat.web.desk import Desk, Held, Stale, data_of
from orthostat.web.files import Paper, Sent, digest
from orthostat.web.form import FormMaker, Group
from orthostat.web.guard import page_token
from orthostat.web.links import Links, links_of, place_of, section_of, sections
from orthostat.web.painting import Painter
from orthostat.web.rendering import counts, findings_html, news_of, render
from orthostat.web.scenes import scene_shown


class Elsewhere(Exception):
    """The answer is on another page."""

    def __init__(self, path: str) -> None:
        self.path = path


class Conflict(Exception):
    """A change was made on a state that is no more; nothing was changed."""

    def __init__(self, shown: dict[str, Any]) -> None:
        self.shown = shown


class Pages:
    """All pages of one shop folder."""

    def __init__(self, folder: Path, token: str) -> None:
        self.folder = folder
        self._token = page_token(token)
        self.desk = Desk(folder)
        self._answers = Answers(folder)
        self._answers.warm()
        self._asides = Asides()
        self._painter = Painter(self._answers.at_once)

    def close(self) -> None:
        """Stop the workers."""
        self._asides.close()
        self._painter.close()
        self._answers.close()

    # ---- whole pages

    def home(self) -> str:
        """The columns of the shop, each with its verdicts."""
        if self.desk.is_empty:
            raise Elsewhere("/start")
        shop = self.desk.held(None)
        rows: list[dict[str, Any]] = []
        for name in self.desk.columns():
            try:
                snapshot = self._answers.show(self.desk.design(name))
                title = self._data(name).get("name", "")
                picture = self._picture(name)
            except DocumentError as error:
                rows.append(
                    {"name": name, "title": "", "problems": error.problems, "counts": [], "picture": None}
                )
                continue
            rows.append(
                {
                    "name": name,
                    "title": plain_text(title),
                    "problems": snapshot.problems,
                    "counts": counts(snapshot),
                    "picture": picture,
                }
            )
        return self._page("home.html", title=self.shop_name(), rows=rows, problems=shop.problems, here="home")

    def sheet(self, name: str) -> str:
        """The sheet of one column."""
        held = self.desk.held(name)
        return self._page(
            "sheet.html",
            title=name,
            here="sheet",
            name=name,
            held=held,
            form=self._form_html(held, []),
            names=name_lists(self._data(None), self._data(name)),
            said_title=plain_text(self._data(name).get("name", "")),
            steps=self.desk.next_steps(name),
            picture=self._picture(name),
        )

    def shop(self, section: str) -> str:
        """One page of the shop's own document."""
        if self.desk.is_empty:
            raise Elsewhere("/start")
        known = [each[0] for each in sections()]
        if section not in known:
            raise Elsewhere(f"/shop/part/{known[0]}")
        held = self.desk.held(None)
        return self._page(
            "shop.html",
            title=self.shop_name(),
            here="shop",
            held=held,
            section=section,
            sections=sections(),
            form=self._form_html(held, [], section),
            names=name_lists(self._data(None)),
            steps=self.desk.next_steps(None),
        )

    def chapter(self, name: str, chapter: str) -> str:
        """The page of one chapter; its content follows."""
        self.desk.held(name)
        found = next((each for each in self._answers.there_is().chapters if each.slug == chapter), None)
        if found is None:
            raise DocumentError([Problem("chapter", "there is no such chapter", read=f"`{chapter[:60]}`")])
        return self._page(
            "chapter.html", title=found.title, here=chapter, name=name, chapter=chapter, bench=found.bench
        )

    def chapter_content(self, name: str, chapter: str, again: str) -> dict[str, Any]:
        """What a chapter says, or how far the work on it is."""
        return self._asides.chapter(self.desk.design(name), chapter, again=bool(again))

    def stop(self, body: dict[str, Any]) -> dict[str, Any]:
        """Stop what a page waits for."""
        self._asides.stop(requests.text(body, "job", longest=400))
        return {}

    def state(self, name: str) -> dict[str, Any]:
        """Which state the design is in: a page that shows an earlier one says so."""
        return {"state": digest(self.desk.design(name))}

    # ---- book and files

    def files(self, name: str, seen: str) -> dict[str, Any]:
        """The files of a column."""
        return self._asides.files(self.desk.design(name), self.desk.held(name).revision, seen[:80])

    def make_files(self, name: str, body: dict[str, Any]) -> dict[str, Any]:
        """Begin to make the files, or stop it."""
        design = self.desk.design(name)
        if requests.text(body, "do") == "stop":
            self._asides.stop_files(name)
        else:
            paper: Paper = "letter" if requests.text(body, "paper") == "letter" else "a4"
            self._asides.make_files(design, paper)
        return {}

    def file(self, name: str, state: str, file: str) -> Sent:
        """One file, of the design as it is now and no other."""
        held = self.desk.held(name)
        sent = self._asides.file(self.desk.design(name), state, file, held.revision)
        if sent is None:
            raise DocumentError([Problem("files", "there is no such file", read=f"`{file[:60]}`")])
        return sent

    def gone(self, name: str) -> str:
        """Said in the place of a file of an earlier state."""
        first = next((each.slug for each in self._answers.there_is().chapters if each.bench), "")
        return self._page("gone.html", title="Files", here="", name=name, chapter=first)

    # ---- the form and its changes

    def form(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """The form as it is now, with the keys that are about to be stated."""
        return self._state(name, requests.paths(body.get("opened", [])), _section(body))

    def preview(self, name: str, body: dict[str, Any]) -> dict[str, Any]:
        """Quick answers to edits that are not made yet."""
        design = self._tried(name, body)
        if design is None:
            return {"stale": True}
        snapshot = self._answers.preview(design, requests.whole(body, "step", most=60))
        faults: dict[str, list[str]] = {}
        for problem in snapshot.problems:
            said = problem.message + (f"; allowed: {problem.allowed}" if problem.allowed else "")
            faults.setdefault(problem.key, []).append(said)
        return {"faults": faults, **self._findings(name, snapshot)}

    def _tried(self, name: str, body: dict[str, Any]) -> Design | None:
        """The design with edits that are not made yet; `None` where it is another by now."""
        if requests.text(body, "revision") != self.desk.held(name).revision:
            return None
        return dataclasses.replace(self.desk.design(name), edits=requests.edits(body, "column"))

    def edit(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """Make edits, save, and answer."""
        edits = requests.edits(body, "shop" if name is None else "column")
        try:
            self.desk.edit(name, requests.text(body, "revision"), edits)
        except Stale as stale:
            raise self._conflict(stale) from None
        return self._state(name, requests.paths(body.get("opened", [])), _section(body))

    def step(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """Undo or redo."""
        step = self.desk.redo if requests.text(body, "do") == "redo" else self.desk.undo
        try:
            step(name)
        except Stale as stale:
            raise self._conflict(stale) from None
        return self._state(name, [], _section(body))

    def work(self, name: str, body: dict[str, Any]) -> dict[str, Any]:
        """Stop the work on one subject, or begin it again."""
        self.desk.held(name)
        subject = requests.text(body, "subject", longest=60)
        if requests.text(body, "do") == "stop":
            self._answers.stop(name, subject)
        else:
            self._answers.again(name, subject)
        return {}

    def answers(self, name: str, after: int) -> dict[str, Any]:
        """News of the answers of a column."""
        snapshot = self._answers.show(self.desk.design(name))
        if snapshot.version == after:  # asked often by every tab, so this must cost next to nothing
            running = [news_of(part) for part in snapshot.parts if part.status == "running"]
            return {
                "version": after,
                "of": self.desk.held(name).revision,
                "settled": snapshot.settled,
                "running": running,
            }
        return self._findings(name, snapshot)

    def scene(self, name: str) -> dict[str, Any]:
        """What the 3D picture is made of."""
        return scene_shown(self._scene(name))

    def scene_tried(self, name: str, body: dict[str, Any]) -> dict[str, Any]:
        """As `scene`, with edits that are not made yet."""
        design = self._tried(name, body)
        return {"stale": True} if design is None else scene_shown(self._answers.scene(design).scene)

    def picture(self, name: str, asked: dict[str, str]) -> dict[str, Any]:
        """What is laid over the picture: painted faces, the tool at a cut."""
        revision = self.desk.held(name).revision
        return {**self._painter.picture(self.desk.design(name), asked), "of": revision}

    # ---- history

    def history(self, name: str | None) -> str:
        """Every saved state, newest first, with what each changed."""
        held = self.desk.held(name)
        states = self.desk.states(name)[:100]
        shown = []
        for index, (state, text) in enumerate(states):
            before = states[index + 1][1] if index + 1 < len(states) else None
            shown.append(
                {
                    "state": state,
                    "time": _time_of(state),
                    "now": text == held.text,
                    "changed": [] if before is None else _differences(before, text, held.shown)[:6],
                    "first": before is None,
                }
            )
        return self._page("history.html", title="History", here="history", name=name, held=held, states=shown)

    def compare(self, name: str | None, state: str) -> str:
        """One saved state beside the present one: what changed, and which findings moved."""
        held = self.desk.held(name)
        then = self.desk.state(name, state)
        return self._page(
            "compare.html",
            title="Compare",
            here="history",
            name=name,
            held=held,
            state=state,
            time=_time_of(state),
            changed=_differences(then, held.text, held.shown),
        )

    def compare_content(self, name: str, state: str, again: str) -> dict[str, Any]:
        """The findings that moved since a saved state, worked out now."""
        now = self.desk.design(name)
        then = dataclasses.replace(now, text=self.desk.state(name, state))
        subjects = self._answers.there_is().subjects
        key = f"{name} compared with {state}"
        return self._asides.moved(key, (then, now), ("then", "now"), subjects, again=bool(again))

    def restore(self, name: str | None, body: dict[str, Any]) -> dict[str, Any]:
        """Bring a saved state back, as a new state."""
        text = self.desk.state(name, requests.text(body, "state", longest=80))
        try:
            self.desk.replace(name, requests.text(body, "revision"), text)
        except Stale as stale:
            raise self._conflict(stale) from None
        return {"go": "/shop" if name is None else f"/column/{quote(name, safe='')}"}

    def beside_content(self, chosen: dict[str, str]) -> dict[str, Any]:
        """The findings of two designs, worked out now."""
        left, right = self._pair(chosen)
        return self._asides.moved(
            f"{left} beside {right}",
            (self.desk.design(left), self.desk.design(right)),
            (left, right),
            self._answers.there_is().subjects,
            all_of_them=True,
            again=bool(chosen.get("again")),
        )

    def _pair(self, chosen: dict[str, str]) -> tuple[str, str]:
        names = self.desk.columns()
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
        names = self.desk.columns()
        left, right = self._pair(chosen)
        changed = _differences(self.desk.held(left).text, self.desk.held(right).text, "")
        return self._page(
            "beside.html",
            title="Side by side",
            here="beside",
            names=names,
            left=left,
            right=right,
            changed=changed,
            pictures=(self._picture(left), self._picture(right)),
        )

    def copy(self, body: dict[str, Any]) -> dict[str, Any]:
        """A new column from one that is there."""
        source, name = (
            requests.text(body, "from", longest=120),
            requests.text(body, "name", longest=120).strip(),
        )
        self.desk.create(name, self.desk.held(source).text)
        return {"go": f"/column/{quote(name, safe='')}"}

    # ---- pieces

    def shop_name(self) -> str:
        """What the shop calls itself."""
        return plain_text(self._data(None).get("name") or self.folder.resolve().name)

    def _page(self, template: str, **values: Any) -> str:
        chapters = self._answers.there_is().chapters if "name" in values else ()
        values.setdefault("name", None)
        return render(
            template,
            token=self._token,
            version=__version__,
            shop=self.shop_name() if not self.desk.is_empty else "",
            columns=self.desk.columns(),
            chapters=chapters,
            **values,
        )

    def _data(self, name: str | None) -> dict[str, Any]:
        held = self.desk.held(name)
        return data_of(held.text, held.shown)

    def _picture(self, name: str) -> Any:
        from orthostat.presentation.axonometric import axonometric

        scene = self._scene(name)
        return None if scene is None else axonometric(scene)

    def _scene(self, name: str) -> Scene | None:
        """The column as it is; while a fault keeps it from being read, as its file was last saved."""
        scene = self._answers.scene(self.desk.design(name)).scene
        if scene is None and self.desk.held(None).unsaved | self.desk.held(name).unsaved:
            scene = self._answers.scene(self.desk.saved_design(name)).scene
        return scene

    def _form_html(self, held: Held, opened: list[KeyPath], section: str = "") -> str:
        data = data_of(held.text, held.shown)
        units = default_units(data)
        if held.name is not None:
            units = default_units(data, default_units(self._data(None)))
        document = "shop" if held.name is None else "column"
        maker = FormMaker(document, held.text, data, held.problems, units, opened)
        keys = next((each[2] for each in sections() if each[0] == section), None)
        group: Group = maker.whole(keys if held.name is None else None)
        strays = [(key, said, _elsewhere(key, section)) for key, said in maker.strays()]
        return render("form.html", group=group, strays=strays if held.problems else [], held=held)

    def _state(self, name: str | None, opened: list[KeyPath], section: str) -> dict[str, Any]:
        held = self.desk.held(name)
        undo, redo = self.desk.next_steps(name)
        made: dict[str, Any] = {
            "revision": held.revision,
            "form": self._form_html(held, opened, section),
            "undo": undo,
            "redo": redo,
            "unsaved": held.unsaved,
        }
        if name is not None:
            made.update(self._findings(name, self._answers.show(self.desk.design(name), typed=True)))
        return made

    def _findings(self, name: str, snapshot: Snapshot) -> dict[str, Any]:
        held = self.desk.held(name)
        return {
            "version": snapshot.version,
            "of": held.revision,
            "findings": findings_html(snapshot, name, self._links(name)),
            "settled": snapshot.settled,
            "more": snapshot.more,
            "readable": not snapshot.problems,
        }

    def _links(self, name: str) -> Links:
        chapters = tuple((each.slug, each.title) for each in self._answers.there_is().chapters)
        return links_of(self.desk.held(name).text, self.desk.held(None).text, chapters)

    def _conflict(self, stale: Stale) -> Conflict:
        return Conflict(
            {
                "refused": f"{stale.held.shown} was changed elsewhere since you last saw it; "
                "nothing was overwritten.",
                "revision": stale.held.revision,
                "changed": [
                    {"key": each.key, "then": each.then[:120], "now": each.now[:120]}
                    for each in stale.changed[:20]
                ],
            }
        )

    # ---- beginning

    def start(self, units: str) -> str:
        """The guided start."""
        from orthostat.web.questions import questions

        shop = {} if self.desk.is_empty else self._data(None)
        return self._page(
            "start.html",
            title="A new column",
            here="start",
            questions=questions(shop),
            system="inch" if units == "inch" else "metric",
            names=name_lists(shop),
            problems=() if self.desk.is_empty else self.desk.held(None).problems,
        )

    def begin(self, body: dict[str, Any]) -> dict[str, Any]:
        """Write the documents of a guided start."""
        from orthostat.web.starting import begin

        return begin(self.desk, body)


def _elsewhere(key: str, section: str) -> str:
    """The address of a key of the shop that stands on another page than `section`."""
    if not key or not section or section_of(key) == section:
        return ""
    return place_of(Problem("shop.toml", "", key))


def _section(body: dict[str, Any]) -> str:
    return requests.text(body, "section", longest=40)


def _differences(then: str, now: str, shown: str) -> list[Difference]:
    from orthostat.document.differences import differences

    return list(differences(data_of(then, shown), data_of(now, shown)))


def _time_of(state: str) -> str:
    """`20261124T101530123456Z-…` as a time people read."""
    stamp = state.split("-", maxsplit=1)[0]
    return f"{stamp[0:4]}-{stamp[4:6]}-{stamp[6:8]} {stamp[9:11]}:{stamp[11:13]}:{stamp[13:15]} UTC"
