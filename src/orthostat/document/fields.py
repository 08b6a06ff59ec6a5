"""What can be written where: the documents' keys as plain descriptions, for surfaces that edit them.

A `Shape` says what one key holds; `shape_at` finds it for a key path. Everything is read off the
document models, so a new key is known here without another line.
"""

from __future__ import annotations

import datetime as dt
import types
import typing
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Literal

from pydantic import BaseModel

from orthostat.document.parts import QuotedPrice
from orthostat.document.quantities import Of, Typed
from orthostat.document.reading import KeyPath
from orthostat.document.schema import DOCUMENTS, key_texts

Sort = Literal[
    "quantity", "numbers", "points", "words", "whole", "yes or no", "choice", "faces", "date", "text",
    "table", "list", "named", "price",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shape:
    """What a key holds.

    `kinds` of quantity; `choices` to pick from; `inside` for tables (`part`), lists and named tables.
    """

    sort: Sort
    kinds: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    part: str = ""
    """Name of the document part whose keys a table has; see `keys_of`."""
    item: Shape | None = None
    """Of a list or of named entries."""
    long: bool = False
    """Text of several lines."""
    single: bool = False
    """Numbers or points that may stand alone, without a list around them."""
    count: tuple[int, int | None] = (0, None)
    """How many numbers there may be."""


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a document part."""

    name: str
    shape: Shape
    required: bool
    says: str
    """What the key means, where its name does not say it all."""
    default: Any = field(default=None, compare=False)
    """What is taken when it is left out, where that is a plain value."""
    words: str = ""
    """The key as people say it, where its name is not that."""

    @property
    def label(self) -> str:
        """The key as people say it."""
        return self.words or self.name.replace("_", " ")


_WORDS = {
    ("Machine", "x"): "X travel",
    ("Machine", "y"): "Y travel",
    ("Machine", "z"): "Z travel",
    ("Machine", "spindle_height"): "spindle above pallet",
    ("Machine", "nose_to_b"): "spindle nose to B axis",
    ("Machine", "swing"): "largest swing",
    ("Machine", "height"): "largest height",
    ("Machine", "load"): "heaviest load",
    ("Machine", "load_includes_pallet"): "load includes the pallet",
    ("Machine", "inertia"): "largest inertia about B",
    ("Machine", "eccentric_moment"): "largest moment off centre",
    ("Machine", "changer"): "pallet changer",
    ("Machine", "b_positive"): "+B turns",
    ("Machine", "b_step"): "smallest step of B",
    ("Machine", "b_acceleration"): "acceleration of B",
    ("Machine", "b_torque"): "torque B holds clamped",
    ("Machine", "axis_acceleration"): "acceleration of the axes",
    ("Machine", "stop_acceleration"): "deceleration in a stop",
    ("Machine", "pallet_moves"): "the pallet moves",
    ("Machine", "clamp_force"): "pallet clamping force",
    ("Machine", "clamp_moment"): "pallet clamping moment",
    ("Machine", "table_stiffness"): "stiffness of the table",
    ("Machine", "table_tilt_stiffness"): "stiffness against tilting",
    ("Machine", "table_turn_stiffness"): "stiffness against turning",
    ("Machine", "table_loss_factor"): "loss factor of the table",
    ("Machine", "spindle_curve"): "torque and power by speed",
    ("Machine", "spindle_efficiency"): "efficiency of the spindle",
    ("Machine", "spindle_speed_limit"): "highest spindle speed",
    ("Machine", "head_cylinders"): "round parts of the head",
    ("Machine", "head_boxes"): "square parts of the head",
    ("Machine", "magazine"): "tool magazine",
    ("Machine", "pallet_change_time"): "time to change pallets",
    ("Machine", "tool_change_time"): "time to change tools",
    ("Machine", "rate"): "hourly rate",
    ("Changer", "b"): "B angles while changing",
    ("Magazine", "diameter"): "largest tool diameter",
    ("Magazine", "diameter_beside_empty"): "diameter beside empty pockets",
    ("Magazine", "length"): "longest tool",
    ("Magazine", "mass"): "heaviest tool",
    ("Magazine", "moment"): "largest tool moment",
    ("Tool", "plunges"): "enters straight along Z",
    ("Tool", "steps"): "shank, holder, flange",
    ("Tool", "mode"): "first mode at the tip",
    ("Tool", "number"): "number in the magazine",
    ("Material", "youngs_modulus"): "Young's modulus",
    ("Material", "poissons_ratio"): "Poisson's ratio",
    ("Resin", "poissons_ratio"): "Poisson's ratio",
    ("CutMaterial", "kc11"): "kc1.1",
    ("Rates", "as_of"): "day of the prices",
    ("Column", "v_from"): "heights v from",
    ("Joints", "how"): "joined by",
}
"""Words for keys whose names read oddly, by the part of the document they stand in."""


_PARTS: dict[str, type[BaseModel]] = {}


def keys_of(part: str) -> tuple[Key, ...]:
    """The keys of `shop`, `column` or a part named by a `Shape`, in the order of the document."""
    if part in DOCUMENTS:
        return _keys(DOCUMENTS[part])
    return _keys(_PARTS[part])


def shape_at(document: str, path: KeyPath) -> Shape | None:
    """What the key at `path` of `shop` or `column` holds; `None` where no key of ours is."""
    shape: Shape | None = Shape("table", part=document)
    for part in path:
        if shape is None:
            return None
        if shape.sort == "price":
            shape = Shape("table", part=shape.part)
        if shape.sort == "table":
            shape = next((key.shape for key in keys_of(shape.part) if key.name == part), None)
        elif (shape.sort == "list" and isinstance(part, int)) or (
            shape.sort == "named" and isinstance(part, str)
        ):
            shape = shape.item
        else:
            return None
    return shape


@cache
def _keys(model: type[BaseModel]) -> tuple[Key, ...]:
    texts = key_texts(model)
    hints = typing.get_type_hints(model, include_extras=True)
    found = []
    for name, info in model.model_fields.items():
        default = info.default if isinstance(info.default, str | int | float | bool) else None
        words = _WORDS.get((model.__name__, name), "")
        found.append(Key(name, _shape(hints[name]), info.is_required(), texts.get(name, ""), default, words))
    return tuple(found)


def _shape(annotation: Any, metadata: tuple[Any, ...] = ()) -> Shape:
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        base, *more = typing.get_args(annotation)
        return _shape(base, (*metadata, *more))
    of = next((each for each in metadata if isinstance(each, Of)), None)
    if annotation is Typed and of is not None:
        return Shape("quantity", kinds=of.kinds)
    if origin in (typing.Union, types.UnionType):
        return _union([part for part in typing.get_args(annotation) if part is not types.NoneType], metadata)
    if origin is Literal:
        return Shape("choice", choices=tuple(str(word) for word in typing.get_args(annotation)))
    if origin is tuple:
        return _tuple(typing.get_args(annotation), metadata)
    if origin is dict:
        return Shape("named", item=_shape(typing.get_args(annotation)[1]))
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        _PARTS[annotation.__name__] = annotation
        sort: Sort = "price" if annotation is QuotedPrice else "table"
        kinds = _kinds_of_price() if annotation is QuotedPrice else ()
        return Shape(sort, part=annotation.__name__, kinds=kinds)
    return _scalar(annotation, metadata)


def _scalar(annotation: Any, metadata: tuple[Any, ...]) -> Shape:
    if annotation is bool:
        return Shape("yes or no")
    if annotation is int:
        return Shape("whole")
    if annotation is dt.date:
        return Shape("date")
    longest = max((getattr(each, "max_length", 0) or 0 for each in metadata), default=0)
    return Shape("text", long=longest > 1000)


def _kinds_of_price() -> tuple[str, ...]:
    hints = typing.get_type_hints(QuotedPrice, include_extras=True)
    return _shape(hints["likely"]).kinds


def _union(parts: list[Any], metadata: tuple[Any, ...]) -> Shape:
    shapes = [_shape(part, metadata if len(parts) == 1 else ()) for part in parts]
    if len(shapes) == 1:
        return shapes[0]
    words = tuple(word for shape in shapes for word in shape.choices)
    quantity = next((shape for shape in shapes if shape.sort == "quantity"), None)
    if quantity is not None:
        return Shape("quantity", kinds=quantity.kinds, choices=words)
    return Shape("faces", choices=words)


def _tuple(arguments: tuple[Any, ...], metadata: tuple[Any, ...]) -> Shape:
    item = _shape(arguments[0])
    names = {getattr(getattr(each, "func", None), "__name__", "") for each in metadata}
    single = bool(names & {"one_or_more", "_points", "_films"})
    if item.sort == "quantity":
        most = next((each.max_length for each in metadata if getattr(each, "max_length", None)), None)
        count = (1, most) if arguments[-1] is Ellipsis else (len(arguments), len(arguments))
        return Shape("numbers", kinds=item.kinds, single=single, count=count)
    if item.sort == "numbers":
        return Shape("points", kinds=item.kinds, single=single)
    if item.sort == "text":
        return Shape("words")
    return Shape("list", item=item)
