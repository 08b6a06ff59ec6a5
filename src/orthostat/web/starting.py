"""The guided start: a few questions, and the documents of a first column out of the answers.

What is left as it stood is written down as assumed, and stays marked until somebody confirms it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from orthostat.base.problems import DocumentError, Problem
from orthostat.catalogue.joints import thread_friction
from orthostat.document.editing import Edit, with_edits
from orthostat.document.entry import value_of
from orthostat.document.fields import Shape, shape_at
from orthostat.document.reading import KeyPath, key_text
from orthostat.web import requests
from orthostat.web.form import echo
from orthostat.web.questions import NEW, STEPS, Question
from orthostat.web.refusals import BadRequest

if TYPE_CHECKING:
    from orthostat.web.desk import Desk


def begin(desk: Desk, body: dict[str, Any]) -> dict[str, Any]:
    """Write the documents and say where to go, or say which answers are at fault.

    Where the body says `look`, nothing is written: faults and the other system's sizes are said.
    """
    answers = Answers(body)
    faults = answers.faults or _faults(desk, answers)
    if body.get("look") is True:
        return {"faults": faults, "echoes": answers.echoes()}
    if faults:
        return {"faults": faults}
    shop_before, shop_text, column_text = _texts(desk, answers)
    if desk.is_empty:
        desk.create_shop(shop_text)
    elif shop_text != shop_before:
        desk.replace(None, desk.held(None).revision, shop_text)
    desk.create(answers.name, column_text)
    return {"go": f"/column/{quote(answers.name, safe='')}"}


def _faults(desk: Desk, answers: Answers) -> dict[str, str]:
    if not desk.is_empty and desk.held(None).problems:
        return {"shop": "The shop can't be read: mend what is said above first."}
    _, shop_text, column_text = _texts(desk, answers)
    try:
        problems = desk.try_out(answers.name, shop_text, column_text)
    except DocumentError as error:  # a name that is taken, or can't be one
        return {"name": "; ".join(problem.message for problem in error.problems)}
    return answers.blamed(problems)


def _texts(desk: Desk, answers: Answers) -> tuple[str, str, str]:
    """The shop as it is, the shop and the column as answered."""
    before = "" if desk.is_empty else desk.held(None).text
    shop = _written(before, answers.shop(), "shop.toml") if before else _new_shop(answers)
    return before, shop, _written("", answers.column(), "column")


def _new_shop(answers: Answers) -> str:
    return _written(_SHOP, [*answers.units(), *answers.shop()], "shop.toml")


_SHOP = "# Every key is explained in docs/document.md.\n"
_UNITS = {
    "metric": {"length": "mm", "mass": "kg", "moment": "N*m"},
    "inch": {"length": "in", "mass": "lb", "moment": "ft*lbf"},
}
"""What a number without a unit is read in."""

Stated = tuple[KeyPath, Any, bool]
"""Key path, value, and whether it is only assumed."""


class Answers:
    """The answers of one start, read and sorted into documents."""

    def __init__(self, body: dict[str, Any]) -> None:
        self._system = "inch" if body.get("units") == "inch" else "metric"
        given = body.get("answers")
        if not isinstance(given, dict):
            raise BadRequest("answers is an object.")
        self._given = {key: requests.text(given, key, longest=200) for key in given if isinstance(key, str)}
        touched = body.get("touched", [])
        self._touched = set(map(str, touched)) if isinstance(touched, list) else set()
        self._all = {question.id: question for step in STEPS for question in step.questions}
        self.faults: dict[str, str] = {}
        for question in self._all.values():
            if self.asked(question) and not self.text(question.id).strip():
                self.faults[question.id] = "is missing"

    @property
    def name(self) -> str:
        """Of the column."""
        return self.text("name").strip()

    def text(self, key: str) -> str:
        """One answer as typed."""
        return self._given.get(key, "")

    def asked(self, question: Question) -> bool:
        """Whether the question arises from the other answers."""
        wanted = (each.partition("=") for each in question.when.split(" & ") if each)
        return all(
            self.text(key) in values.split("|") and self.asked(self._all[key]) for key, _, values in wanted
        )

    def units(self) -> list[Stated]:
        """What numbers without a unit will be read in, on the sheet too: as this page says."""
        stated: list[Stated] = [(("units", kind), unit, False) for kind, unit in _UNITS[self._system].items()]
        return [*stated, (("units", "system"), self._system, False)]

    def echoes(self) -> dict[str, str]:
        """Quantities in the other system of units, by question."""
        found = {}
        for question in self._all.values():
            shape = self._shape(question)
            if shape is not None and self.asked(question):
                found[question.id] = echo(self._value(question.id), shape, {})
        return {key: said for key, said in found.items() if said}

    def shop(self) -> list[Stated]:
        """What goes into `shop.toml`."""
        found = list(self._plain("shop"))
        if self.text("pallet") == NEW:
            holes = {
                "kind": "tapped",
                "thread": self.text("thread"),
                "depth": self._value("thread_depth"),
                "grid": {"across": 5, "up": 5, "pitch": self._value("pitch"), "middle": ["0 mm", "0 mm"]},
            }
            assumed = not {"thread", "thread_depth", "pitch"} & self._touched
            found.append((("pallets", self._pallet, "holes"), [holes], assumed))
        return found

    def column(self) -> list[Stated]:
        """What goes into the column."""
        found: list[Stated] = [
            (("machine",), self._machine, False),
            (("pallet",), self._pallet, False),
            *self._plain("column"),
        ]
        material = self.text("material").strip()
        ends = [plate for plate in ("base_plate", "lid") if self.asked(self._all[plate])]
        found += [((plate, "material"), material, True) for plate in ends]
        if self.text("studs") == "4":
            sure = {"stud_at", "torque", "grade", "engagement", "tightening", "threads"} & self._touched
            found.append((("studs",), [self._stud()], not sure))
        how = _JOINED.get(self.text(self._joined))
        if how and self.asked(self._all[self._joined]):
            sure = {self._joined, "joint_thread", "joint_length", "joint_count"} & self._touched
            found.append((("joints",), [self._joint(how)], not sure))
        if self.text("hangs") == "a box":
            found.append(
                (("stations",), [self._station()], not {"box", "box_mass", "box_up"} & self._touched)
            )
        return found

    def blamed(self, problems: tuple[Problem, ...]) -> dict[str, str]:
        """Problems by the question whose answer they are about; others under no question."""
        places = {
            key_text(self._place(question)): question.id for question in self._all.values() if question.path
        }
        places |= {**_BLAMED, "joints": self._joined}
        places |= {f"pallets.{key_text((self._pallet,))}.holes": "thread"}
        faults: dict[str, str] = {}
        for problem in problems:
            near = [place for place in places if problem.key.startswith(place)]
            where = places[max(near, key=len)] if near else ""
            said = problem.message if where else problem.sentence()
            faults[where] = f"{faults[where]}; {said}" if where in faults else said
        return faults

    @property
    def _joined(self) -> str:
        """The question of how plates are joined that arises, if any does."""
        return "joined" if self.asked(self._all["joined"]) else "joined_aslant"

    @property
    def _machine(self) -> str:
        return self.text("machine_name").strip() if self.text("machine") == NEW else self.text("machine")

    @property
    def _pallet(self) -> str:
        return self.text("pallet_name").strip() if self.text("pallet") == NEW else self.text("pallet")

    def _place(self, question: Question) -> KeyPath:
        owner = self._machine if question.path[0] == "machines" else self._pallet
        return tuple(owner if part == "*" else part for part in question.path)

    def _plain(self, document: str) -> Iterator[Stated]:
        for question in self._all.values():
            if question.path and question.document == document and self.asked(question):
                yield self._place(question), self._value(question.id), question.id not in self._touched

    def _shape(self, question: Question) -> Shape | None:
        return (
            shape_at(question.document, self._place(question))
            if question.path
            else shape_at("column", question.like)
            if question.like
            else None
        )

    def _value(self, key: str) -> Any:
        """What a document holds for an answer; a number without a unit gets the one the page speaks of."""
        shape = self._shape(self._all[key])
        if shape is None:
            return None
        unit = next((_UNITS[self._system][kind] for kind in shape.kinds if kind in _UNITS[self._system]), "")
        value = value_of(self.text(key), shape)
        if isinstance(value, list):
            return [_with_unit(each, unit) for each in value]
        return _with_unit(value, unit) if unit else value

    def _stud(self) -> dict[str, Any]:
        away = self._value("stud_at")
        thread = self.text("thread") if self.text("pallet") == NEW else ""
        said = self.text("threads")
        rubs = thread_friction(said).likely if said in ("oiled", "dry") else None
        return {
            "thread": thread or "M16",
            "at": [[f"{a}{away}", f"{b}{away}"] for a, b in (("-", "-"), ("", "-"), ("", ""), ("-", ""))],
            "seat": "top",
            "grade": self.text("grade").strip(),
            "engagement": self._value("engagement"),
            "torque": self._value("torque"),
            "tightening": self.text("tightening").strip(),
            **({} if rubs is None else {"thread_friction": rubs, "head_friction": rubs}),
        }

    def _joint(self, how: str) -> dict[str, Any]:
        joint: dict[str, Any] = {"between": "corners", "how": how}
        if how == "screwed":
            count = self.text("joint_count").strip()
            joint |= {
                "thread": self.text("joint_thread").strip(),
                "length": self._value("joint_length"),
                "count": int(count) if count.isdecimal() else count,
                "end_distance": self._value("joint_length"),
            }
        return joint

    def _station(self) -> dict[str, Any]:
        body = {
            "what": "part",
            "name": "box",
            "box": self._value("box"),
            "mass": self._value("box_mass"),
        }
        return {
            "name": "first station",
            "faces": "all",
            "at": ["0 mm", self._value("box_up")],
            "bodies": [body],
        }


_JOINED = {"screws": "screwed", "welds": "welded", "glue": "glued"}
"""Answer to the document's word; nothing is written for what is not said yet."""
_BLAMED = {
    "machine": "machine", "pallet": "pallet", "studs": "stud_at", "studs[0].torque": "torque",
    "studs[0].grade": "grade", "studs[0].engagement": "engagement",
    "studs[0].tightening": "tightening", "studs[0].thread_friction": "threads",
    "studs[0].thread": "thread", "stations": "box", "stations[0].bodies[0].mass": "box_mass",
    "stations[0].at": "box_up", "joints[0].thread": "joint_thread",
    "joints[0].length": "joint_length", "joints[0].end_distance": "joint_length",
    "joints[0].count": "joint_count", "plan": "shape", "body": "kind",
}  # fmt: skip
"""Key path to the question that led to it, where the two are not one to one."""


def _written(text: str, stated: list[Stated], shown: str) -> str:
    """`text` with every value, the assumed ones marked on their line."""
    edits: list[Edit] = []
    for path, value, assumed in stated:
        if isinstance(value, list) and all(isinstance(item, dict) for item in value):
            edits += [Edit("append", path, item) for item in value]
        else:
            edits.append(Edit("set", path, value))
        if assumed:
            edits.append(Edit("assume", path))
    return with_edits(text, edits, shown)


def _with_unit(value: Any, unit: str) -> Any:
    """`300` and `1 1/4` with their unit; what has one, or is no number, as it is."""
    text = str(value)
    return f"{text} {unit}" if unit and re.fullmatch(r"[-+\d./⁄ ]+", text) else value
