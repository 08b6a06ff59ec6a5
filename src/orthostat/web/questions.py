"""What the guided start asks, with the usual answers that are offered.

The usual sizes are round numbers of common shop practice, not of any machine.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from orthostat.document.reading import KeyPath

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
    """`id=value` or `id=value|value`: asked only then; several with ` & ` between them."""
    list: str = ""
    like: KeyPath = ()
    """The column's key whose entry it is read as, where `path` does not say it."""

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
_LENGTH, _BODY = ("height",), ("stations", 0, "bodies", 0)
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
            _Q("thread_depth", "their depth", "30 mm", "1 1/4 in", when=_NEW_PALLET, like=_LENGTH),
            _Q("pitch", "their pitch", "80 mm", "3 in", says="a square grid about the middle",
               when=_NEW_PALLET, like=_LENGTH),
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
               choices=("screws", "welds", "glue", "not said yet"),
               when="kind=hollow|filled & shape=square|slab"),
            _Q("joined_aslant", "plates joined at the corners by", "welds",
               choices=("welds", "glue", "not said yet"),
               says="screws find no room where usual plates meet at this angle",
               when="kind=hollow|filled & shape=hexagon|triangle"),
            _Q("joint_thread", "screw", "M8", "5/16-18 UNC", when="joined=screws", list="names-threads"),
            _Q("joint_length", "its length", "40 mm", "1 1/2 in", says="under its head",
               when="joined=screws", like=_LENGTH),
            _Q("joint_count", "screws at each corner", "5", when="joined=screws"),
            _Q("studs", "held down by", "4", choices=("4", "0"),
               says="studs through the column into the pallet"),
            _Q("stud_at", "studs from the middle", "80 mm", "3 in", says="in x and in z", when="studs=4",
               like=_LENGTH),
            _Q("grade", "their grade", "8.8", "B7", when="studs=4", list="names-property_classes"),
            _Q("engagement", "in the pallet's thread", "24 mm", "1 in", says="length of thread engaged",
               when="studs=4", like=_LENGTH),
            _Q("torque", "tightened to", "150 N*m", "100 ft*lbf", when="studs=4",
               like=("studs", 0, "torque")),
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
               when="hangs=a box", like=(*_BODY, "box")),
            _Q("box_mass", "its mass", "8 kg", "18 lb", when="hangs=a box", like=(*_BODY, "mass")),
            _Q("box_up", "its middle above the pallet", "280 mm", "11 in", when="hangs=a box", like=_LENGTH),
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
