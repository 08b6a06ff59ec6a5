"""Changing one value of a TOML text and nothing else: comments, order and spacing stay."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.reading import KeyPath, key_text


def with_values(text: str, changes: Mapping[KeyPath, Any], shown: str) -> str:
    """`text` with each key path set to a value (`None` removes it); comments are kept.

    Tables on the way are made as needed; list items must exist. Raises `DocumentError` for a path
    that leads through something that is not a table or list.
    """
    import tomlkit

    document = tomlkit.parse(text)
    for path, value in changes.items():
        _set(document, path, value, shown)
    return tomlkit.dumps(document)


def _set(document: Any, path: KeyPath, value: Any, shown: str) -> None:
    import tomlkit

    at = document
    for part in path[:-1]:
        try:
            at = at[part]
        except (KeyError, IndexError):
            if isinstance(part, int) or not hasattr(at, "add"):
                raise _lost(path, shown) from None
            at.add(part, tomlkit.table())
            at = at[part]
        except TypeError:
            raise _lost(path, shown) from None
    last = path[-1]
    try:
        if value is None:
            del at[last]
        else:
            at[last] = value
    except (KeyError, IndexError, TypeError, ValueError):
        if value is not None:
            raise _lost(path, shown) from None


def _lost(path: KeyPath, shown: str) -> DocumentError:
    return DocumentError([Problem(shown, "leads nowhere in this document", key_text(path))])
