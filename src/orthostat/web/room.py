"""What all pages share: the documents, the answers, and the frame every page stands in."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from orthostat import __version__
from orthostat.document.differences import Difference, differences, plain_text
from orthostat.presentation.blocks import Figure
from orthostat.presentation.scene import Scene
from orthostat.web.answers import Answers
from orthostat.web.asides import Asides
from orthostat.web.asking import Answer, Ask, Design
from orthostat.web.desk import Desk, Stale, data_of
from orthostat.web.guard import page_token
from orthostat.web.links import Links, links_of
from orthostat.web.rendering import render


class Elsewhere(Exception):
    """The answer is on another page."""

    def __init__(self, path: str) -> None:
        self.path = path


class Conflict(Exception):
    """A change was made on a state that is no more; nothing was changed."""

    def __init__(self, stale: Stale) -> None:
        self.shown = {
            "refused": f"{stale.held.shown} was changed elsewhere since you last saw it; "
            "nothing was overwritten.",
            "revision": stale.held.revision,
            "changed": [
                {"key": each.key, "then": each.then[:120], "now": each.now[:120]}
                for each in stale.changed[:20]
            ],
        }


class Room:
    """One shop folder, open."""

    def __init__(self, folder: Path, token: str) -> None:
        self.folder = folder
        self._token = page_token(token)
        self.desk = Desk(folder)
        self.answers = Answers(folder)
        self.answers.warm()
        self.asides = Asides()

    def close(self) -> None:
        """Stop the workers."""
        self.asides.close()
        self.answers.close()

    def page(self, template: str, **values: Any) -> str:
        """A whole page: a template with its values, and those of the frame."""
        chapters = self.answers.there_is().chapters if "name" in values else ()
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

    def shop_name(self) -> str:
        """What the shop calls itself."""
        return plain_text(self.data(None).get("name") or self.folder.resolve().name)

    def data(self, name: str | None) -> dict[str, Any]:
        """A document's data; an empty table where it is not TOML."""
        held = self.desk.held(name)
        return data_of(held.text, held.shown)

    def links(self, design: Design) -> Links:
        """Where what the findings of a column name can be edited; edits of `design` are left out."""
        chapters = tuple((each.slug, each.title) for each in self.answers.there_is().chapters)
        return links_of(design.name, design.text, design.shop, chapters)

    def scene(self, name: str) -> Scene | None:
        """The column as it is; while a fault keeps it from being read, as its file was last saved."""
        return self._readable(name, "scene").scene

    def still(self, name: str) -> Figure | None:
        """The same as a line picture."""
        return self._readable(name, "still").still

    def _readable(self, name: str, what: Literal["scene", "still"]) -> Answer:
        answer = self.answers.at_once(Ask(what, self.desk.design(name)))
        if answer.problems and self.desk.held(None).unsaved | self.desk.held(name).unsaved:
            return self.answers.at_once(Ask(what, self.desk.saved_design(name)))
        return answer


def changes(then: str, now: str, shown: str) -> list[Difference]:
    """What differs between two texts of a document."""
    return list(differences(data_of(then, shown), data_of(now, shown)))
