"""A new shop folder: an invented example to learn from, or an empty one."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from orthostat.base.problems import DocumentError, Problem
from orthostat.document.folder import write_whole

STARTS = {"metric": "saltmarsh", "inch": "copperfield"}
"""Which invented shop each start copies."""


def new_shop(folder: Path, start: str) -> list[str]:
    """Write a new shop folder; returns the files made.

    `start` is `metric`, `inch` or `empty`. Raises `DocumentError` when the folder already holds
    something or can't be written; nothing that is there is changed.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise DocumentError([Problem(str(folder), "is there already and not empty; choose another name")])
    texts = {"shop.toml": _EMPTY} if start == "empty" else dict(_files(_shipped(STARTS[start]), ""))
    try:
        for name, text in texts.items():
            write_whole(folder / name, text)
        (folder / "columns").mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise DocumentError([Problem(str(folder), f"can't be written ({fault.strerror or fault})")]) from None
    return sorted(texts)


def _shipped(name: str) -> Traversable:
    """An example shop: inside the installed package, or beside the source it is run from."""
    inside = resources.files("orthostat") / "examples" / name
    if inside.is_dir():
        return inside
    beside = Path(__file__).resolve().parents[3] / "examples" / name
    if beside.is_dir():
        return beside
    raise DocumentError([Problem(name, "this example shop is not part of the installation")])


def _files(folder: Traversable, prefix: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for item in sorted(folder.iterdir(), key=lambda each: each.name):
        if item.is_dir():
            found += _files(item, f"{prefix}{item.name}/")
        elif item.name.endswith((".toml", ".csv", ".md")):
            found.append((prefix + item.name, item.read_text(encoding="utf-8")))
    return found


_EMPTY = """\
# An empty shop. docs/document.md explains every key; leave out what you do not know.
name = "My shop"

# [machines.first]
# x = "600 mm"                              # X travel, shared equally about the B axis
# spindle_height = ["50 mm", "650 mm"]      # centre line above the pallet top, lowest and highest
# nose_to_b = ["150 mm", "800 mm"]          # spindle nose to B axis, nearest and farthest
# swing = "750 mm"                          # largest diameter that may turn
# height = "900 mm"
# load = "400 kg"

# [pallets.standard]
# width = "400 mm"
# depth = "400 mm"
"""
