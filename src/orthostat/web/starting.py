"""The guided start: a few questions, and the documents of a first column out of the answers.

What is left as it stood is written down as assumed, and stays marked until somebody confirms it.
The usual sizes offered are round numbers of common shop practice, not of any machine.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from orthostat.base.problems import Problem
from orthostat.catalogue.joints import thread_friction
from orthostat.document.editing import Edit, with_edits
from orthostat.document.entry import value_of
from orthostat.document.fields import shape_at
from orthostat.document.reading import KeyPath, key_text
from orthostat.web import requests

if TYPE_CHECKING:
    from orthostat.web.desk import Desk

NEW = "a new one"


@dataclass(frozen=True, slots=True)
class Question:
    """One question of the start."""

    id: str
    label: str
    metric: str
    inch: str = ""
    choices: tuple[str, ...] = ()
    says: str = ""
    path: KeyPath = ()
    """Where the answer goes; `*` stands for the machine's or pallet's name."""
    document: str = "column"
    when: str = ""
    """`id=value` or `id=value|value`: asked only then."""
    list: str = ""

    def usual(self, system: str) -> str:
        """What stands in the field at first."""
        return self.inch if system == "inch" and self.inch else self.metric


@dataclass(frozen=True, slots=True)
class Step:
    """Questions that belong together."""

    title: str
    questions: tuple[Question, ...]


_Q = Question
_M, _P = ("machines", "*"), ("pallets", "*")
_NEW_MACHINE, _NEW_PALLET = f"machine={NEW}", f"pallet={NEW}"
STEPS = (
    Step(
        "The machine",
        (
            _Q("machine", "machine", NEW),
            _Q("machine_name", "its name", "first machine", when=_NEW_MACHINE),
            _Q("x", "X travel", "600 mm", "24 in", says="shared equally about the B axis", path=(*_M, "x"),
               document="shop", when=_NEW_MACHINE),
            _Q("spindle", "spindle above pallet", "80 mm, 680 mm", "3 in, 27 in", says="lowest, highest",
               path=(*_M, "spindle_height"), document="shop", when=_NEW_MACHINE),
            _Q("nose", "spindle nose to B axis", "120 mm, 780 mm", "5 in, 31 in", says="nearest, farthest",
               path=(*_M, "nose_to_b"), document="shop", when=_NEW_MACHINE),
            _Q("swing", "largest swing", "750 mm", "30 in", says="a diameter", path=(*_M, "swing"),
               document="shop", when=_NEW_MACHINE),
            _Q("room", "largest height", "900 mm", "36 in", path=(*_M, "height"), document="shop",
               when=_NEW_MACHINE),
            _Q("load", "heaviest load", "400 kg", "900 lb", path=(*_M, "load"), document="shop",
               when=_NEW_MACHINE),
        ),
    ),
    Step(
        "The pallet",
        (
            _Q("pallet", "pallet", NEW),
            _Q("pallet_name", "its name", "first pallet", when=_NEW_PALLET),
            _Q("width", "width", "400 mm", "16 in", path=(*_P, "width"), document="shop", when=_NEW_PALLET),
            _Q("depth", "depth", "400 mm", "16 in", path=(*_P, "depth"), document="shop", when=_NEW_PALLET),
            _Q("thickness", "thickness", "75 mm", "3 in", path=(*_P, "thickness"), document="shop",
               when=_NEW_PALLET),
            _Q("pallet_material", "material", "grey iron", path=(*_P, "material"), document="shop",
               when=_NEW_PALLET, list="names-materials"),
            _Q("thread", "threads in its top", "M16", "5/8-11 UNC", when=_NEW_PALLET, list="names-threads"),
            _Q("thread_depth", "their depth", "30 mm", "1 1/4 in", when=_NEW_PALLET),
            _Q("pitch", "their pitch", "80 mm", "3 in", says="a square grid about the middle",
               when=_NEW_PALLET),
        ),
    ),
    Step(
        "The shape",
        (
            _Q("name", "name of the column", "column 1"),
            _Q("shape", "shape", "square", choices=("square", "slab", "hexagon", "triangle"),
               path=("plan", "shape")),
            _Q("across", "across flats", "300 mm", "12 in", path=("plan", "across_flats"),
               when="shape=square|hexagon"),
            _Q("face", "width of a face", "260 mm", "10 in", path=("plan", "face_width"),
               when="shape=triangle"),
            _Q("slab_width", "width", "300 mm", "12 in", path=("plan", "width"), when="shape=slab"),
            _Q("slab_thickness", "thickness", "150 mm", "6 in", path=("plan", "thickness"),
               when="shape=slab"),
            _Q("height", "height", "500 mm", "20 in", path=("height",)),
        ),
    ),
    Step(
        "The body",
        (
            _Q("kind", "made as", "hollow", choices=("hollow", "filled", "cored", "solid"),
               path=("body", "kind")),
            _Q("material", "material", "steel S355", path=("body", "material"), list="names-materials"),
            _Q("plate", "plate or wall thickness", "25 mm", "1 in", path=("body", "plate"),
               when="kind=hollow|filled|cored"),
            _Q("base_plate", "base plate", "25 mm", "1 in", says="its thickness",
               path=("base_plate", "thickness"), when="kind=hollow|filled"),
            _Q("lid", "lid", "20 mm", "3/4 in", says="its thickness", path=("lid", "thickness"),
               when="kind=hollow|filled"),
            _Q("floor", "floor", "40 mm", "1 1/2 in", says="its thickness", path=("body", "floor"),
               when="kind=cored"),
            _Q("roof", "roof", "25 mm", "1 in", says="its thickness", path=("body", "roof"),
               when="kind=cored"),
            _Q("fill", "fill", "mineral casting", path=("body", "fill"), when="kind=filled",
               list="names-materials"),
            _Q("joined", "plates joined at the corners by", "screws",
               choices=("screws", "welds", "glue", "not said yet"), when="kind=hollow|filled"),
            _Q("joint_thread", "screw", "M8", "5/16-18 UNC", when="joined=screws", list="names-threads"),
            _Q("joint_length", "its length", "40 mm", "1 1/2 in", says="under its head",
               when="joined=screws"),
            _Q("joint_count", "screws at each corner", "5", when="joined=screws"),
            _Q("studs", "held down by", "4", choices=("4", "0"),
               says="studs through the column into the pallet"),
            _Q("stud_at", "studs from the middle", "80 mm", "3 in", says="in x and in z", when="studs=4"),
            _Q("grade", "their grade", "8.8", "B7", when="studs=4", list="names-property_classes"),
            _Q("engagement", "in the pallet's thread", "24 mm", "1 in", says="length of thread engaged",
               when="studs=4"),
            _Q("torque", "tightened to", "150 N*m", "100 ft*lbf", when="studs=4"),
            _Q("tightening", "with a", "torque wrench", when="studs=4", list="names-tightening_methods"),
            _Q("threads", "threads and nuts are", "oiled", choices=("oiled", "dry", "not said yet"),
               says="friction as published for that", when="studs=4"),
        ),
    ),
    Step(
        "What hangs on it",
        (
            _Q("hangs", "on every face", "a box", choices=("a box", "nothing yet")),
            _Q("box", "box: across, up, outward", "120 mm, 160 mm, 80 mm", "5 in, 6 in, 3 in",
               when="hangs=a box"),
            _Q("box_mass", "its mass", "8 kg", "18 lb", when="hangs=a box"),
            _Q("box_up", "its middle above the pallet", "280 mm", "11 in", when="hangs=a box"),
        ),
    ),
)  # fmt: skip


def questions(shop: Mapping[str, Any]) -> tuple[Step, ...]:
    """The steps, with the machines and pallets that are there already to choose from."""
    machines = (*map(str, shop.get("machines", {})), NEW)
    pallets = (*map(str, shop.get("pallets", {})), NEW)
    filled = {
        "machine": {"choices": machines, "metric": machines[0]},
        "pallet": {"choices": pallets, "metric": pallets[0]},
    }
    return tuple(
        Step(
            step.title,
            tuple(
                replace(question, **filled[question.id])  # type: ignore[arg-type]  # fields of Question
                if question.id in filled
                else question
                for question in step.questions
            ),
        )
        for step in STEPS
    )


def begin(desk: Desk, body: dict[str, Any]) -> dict[str, Any]:
    """Write the documents and say where to go, or say which answers are at fault."""
    answers = Answers(body)
    if answers.faults:
        return {"faults": answers.faults}
    if not desk.is_empty and desk.held(None).problems:
        return {"faults": {"shop": "The shop can't be read: mend what is said above first."}}
    name = answers.text("name").strip()
    shop_before = "" if desk.is_empty else desk.held(None).text
    shop_text = _written(shop_before or _SHOP, answers.shop(), "shop.toml")
    column_text = _written("", answers.column(), "column")
    problems = desk.try_out(name, shop_text, column_text)
    if problems:
        return {"faults": answers.blamed(problems)}
    if desk.is_empty:
        desk.create_shop(shop_text)
    elif shop_text != shop_before:
        desk.replace(None, desk.held(None).revision, shop_text)
    desk.create(name, column_text)
    return {"go": f"/column/{quote(name, safe='')}"}


_SHOP = "# Every key is explained in docs/document.md.\n"

Stated = tuple[KeyPath, Any, bool]
"""Key path, value, and whether it is only assumed."""


class Answers:
    """The answers of one start, read and sorted into documents."""

    def __init__(self, body: dict[str, Any]) -> None:
        given = body.get("answers")
        if not isinstance(given, dict):
            raise requests.BadRequest("answers is an object.")
        self._given = {key: requests.text(given, key, longest=200) for key in given if isinstance(key, str)}
        touched = body.get("touched", [])
        self._touched = set(map(str, touched)) if isinstance(touched, list) else set()
        self._all = {question.id: question for step in STEPS for question in step.questions}
        self.faults: dict[str, str] = {}
        for question in self._all.values():
            if self.asked(question) and not self.text(question.id).strip():
                self.faults[question.id] = "is missing"

    def text(self, key: str) -> str:
        """One answer as typed."""
        return self._given.get(key, "")

    def asked(self, question: Question) -> bool:
        """Whether the question arises from the other answers."""
        if not question.when:
            return True
        key, _, values = question.when.partition("=")
        return self.text(key) in values.split("|") and self.asked(self._all[key])

    def shop(self) -> list[Stated]:
        """What goes into `shop.toml`."""
        found = list(self._plain("shop"))
        if self.text("pallet") == NEW:
            holes = {
                "kind": "tapped",
                "thread": self.text("thread"),
                "depth": self._number("thread_depth"),
                "grid": {"across": 5, "up": 5, "pitch": self._number("pitch"), "middle": ["0 mm", "0 mm"]},
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
        how = _JOINED.get(self.text("joined")) if self.asked(self._all["joined"]) else None
        if how:
            sure = {"joined", "joint_thread", "joint_length", "joint_count"} & self._touched
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
        places |= _BLAMED
        places |= {f"pallets.{key_text((self._pallet,))}.holes": "thread"}
        faults: dict[str, str] = {}
        for problem in problems:
            near = [place for place in places if problem.key.startswith(place)]
            where = places[max(near, key=len)] if near else ""
            said = problem.message if where else problem.sentence()
            faults[where] = f"{faults[where]}; {said}" if where in faults else said
        return faults

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
                place = self._place(question)
                shape = shape_at(document, place)
                if shape is not None:
                    yield place, value_of(self.text(question.id), shape), question.id not in self._touched

    def _number(self, key: str) -> Any:
        shape = shape_at("column", ("height",))
        return value_of(self.text(key), shape) if shape is not None else None

    def _stud(self) -> dict[str, Any]:
        away = self.text("stud_at").strip()
        thread = self.text("thread") if self.text("pallet") == NEW else ""
        said = self.text("threads")
        rubs = thread_friction(said).likely if said in ("oiled", "dry") else None
        return {
            **({} if rubs is None else {"thread_friction": rubs, "head_friction": rubs}),
            "thread": thread or "M16",
            "at": [[f"{a}{away}", f"{b}{away}"] for a, b in (("-", "-"), ("", "-"), ("", ""), ("-", ""))],
            "seat": "top",
            "grade": self.text("grade").strip(),
            "engagement": self._number("engagement"),
            "torque": self.text("torque").strip(),
            "tightening": self.text("tightening").strip(),
        }

    def _joint(self, how: str) -> dict[str, Any]:
        joint: dict[str, Any] = {"between": "corners", "how": how}
        if how == "screwed":
            count = self.text("joint_count").strip()
            joint |= {
                "thread": self.text("joint_thread").strip(),
                "length": self._number("joint_length"),
                "count": int(count) if count.isdecimal() else count,
                "end_distance": self._number("joint_length"),
            }
        return joint

    def _station(self) -> dict[str, Any]:
        size = shape_at("column", ("stations", 0, "bodies", 0, "box"))
        box = value_of(self.text("box"), size) if size is not None else None
        body = {"what": "part", "name": "box", "box": box, "mass": self.text("box_mass").strip()}
        return {
            "name": "first station",
            "faces": "all",
            "at": ["0 mm", self._number("box_up")],
            "bodies": [body],
        }


_JOINED = {"screws": "screwed", "welds": "welded", "glue": "glued"}
"""Answer to the document's word; nothing is written for what is not said yet."""
_BLAMED = {
    "machine": "machine", "pallet": "pallet", "studs": "stud_at", "studs[0].torque": "torque",
    "studs[0].grade": "grade", "studs[0].engagement": "engagement",
    "studs[0].tightening": "tightening", "studs[0].thread_friction": "threads",
    "studs[0].thread": "thread", "stations": "box", "stations[0].bodies[0].mass": "box_mass",
    "stations[0].at": "box_up", "joints": "joined", "joints[0].thread": "joint_thread",
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
