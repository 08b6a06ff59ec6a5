"""The JSON Schema of each document, with the keys' own explanations."""

from __future__ import annotations

import ast
import inspect
import textwrap
from itertools import pairwise
from typing import Any

from pydantic import BaseModel

from orthostat.document.column import Column
from orthostat.document.shop import Shop

DOCUMENTS: dict[str, type[BaseModel]] = {"shop": Shop, "column": Column}


def schema_of(name: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of `shop` or `column`; raises `KeyError` for another name."""
    model = DOCUMENTS[name]
    schema = model.model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = f"{name}.toml" if name == "shop" else "columns/NAME.toml"
    for definition, described in [(schema, model), *_definitions(schema)]:
        for key, text in key_texts(described).items():
            if key in definition.get("properties", {}):
                definition["properties"][key]["description"] = text
    return schema


def _definitions(schema: dict[str, Any]) -> list[tuple[dict[str, Any], type[BaseModel]]]:
    by_name: dict[str, type[BaseModel]] = {}
    pending = list(DOCUMENTS.values())
    classes = _subclasses(BaseModel)
    for cls in (*pending, *classes):
        by_name.setdefault(cls.__name__, cls)
        by_name[f"{cls.__module__}.{cls.__name__}".replace(".", "__")] = cls
    return [(part, by_name[name]) for name, part in schema.get("$defs", {}).items() if name in by_name]


def _subclasses(cls: type[BaseModel]) -> list[type[BaseModel]]:
    found = []
    for sub in cls.__subclasses__():
        if sub.__module__.startswith("orthostat.") or sub is cls:
            found.append(sub)
        found += _subclasses(sub)
    return found


def key_texts(model: type[BaseModel]) -> dict[str, str]:
    """The strings written beneath the keys of a document part, its bases included."""
    texts: dict[str, str] = {}
    for cls in reversed(model.__mro__):
        if not issubclass(cls, BaseModel) or cls is BaseModel:
            continue
        tree = ast.parse(textwrap.dedent(inspect.getsource(cls)))
        body = tree.body[0].body if isinstance(tree.body[0], ast.ClassDef) else []
        for statement, after in pairwise(body):
            if (
                isinstance(statement, ast.AnnAssign)
                and isinstance(statement.target, ast.Name)
                and isinstance(after, ast.Expr)
                and isinstance(after.value, ast.Constant)
                and isinstance(after.value.value, str)
            ):
                texts[statement.target.id] = inspect.cleandoc(after.value.value)
    return texts
