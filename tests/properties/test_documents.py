"""What must not matter: the system of units, the order of keys, which face is called the first."""

from __future__ import annotations

import random
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
import tomlkit

import orthostat
from orthostat.base.findings import Finding
from orthostat.base.units import KINDS, parse

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SUBJECTS = ("fit", "handling", "body")


def found(folder: Path, column: str) -> dict[str, Finding]:
    """Findings of the quick subjects by slug."""
    evaluation = orthostat.open_shop(folder).column(column).evaluate()
    return {f.slug: f for subject in SUBJECTS for f in evaluation.findings(only=subject)}


def assert_alike(one: dict[str, Finding], other: dict[str, Finding]) -> None:
    """Same verdicts, values and limits to rounding."""
    assert one.keys() == other.keys()
    for slug, finding in one.items():
        twin = other[slug]
        assert finding.verdict == twin.verdict, slug
        if finding.worst.value is not None:
            assert twin.worst.value == pytest.approx(finding.worst.value, rel=1e-7, abs=1e-9), slug
            assert twin.worst.limit == pytest.approx(finding.worst.limit, rel=1e-7, abs=1e-9), slug


def in_inches(value: Any, *, bare_is_length: bool = True) -> Any:
    """A document's values with every length in mm or as a bare number written in inches."""
    if isinstance(value, dict):
        return {key: in_inches(inner, bare_is_length=key not in _PURE) for key, inner in value.items()}
    if isinstance(value, list):
        return [in_inches(inner, bare_is_length=bare_is_length) for inner in value]
    if isinstance(value, str) and re.fullmatch(r"-?[\d.]+ mm", value):
        return f"{parse(value, 'length').si / 0.0254!r} in"
    if isinstance(value, int | float) and not isinstance(value, bool) and bare_is_length:
        return f"{float(value) / 25.4!r} in"
    return value


_PURE = {
    "across",
    "up",
    "count",
    "teeth",
    "number",
    "pockets",
    "people",
    "friction",
    "thread_friction",
    "head_friction",
    "nut_factor",
    "per_level",
    "slip_steady",
    "slip_reversing",
    "lift",
    "strength",
    "stock",
    "faces",
    "mc",
    "scatter",
}


@pytest.mark.parametrize("column", ["harbour", "groyne", "undertow"])
def test_an_inch_twin_gives_the_same_findings(tmp_path: Path, column: str) -> None:
    (tmp_path / "columns").mkdir()
    for name in ("shop.toml", f"columns/{column}.toml"):
        data = tomllib.loads((EXAMPLES / "saltmarsh" / name).read_text("utf-8"))
        data.get("units", {}).pop("length", None)
        (tmp_path / name).write_text(tomlkit.dumps(in_inches(data)), encoding="utf-8")
    assert "in" in KINDS["length"].inch
    assert_alike(found(EXAMPLES / "saltmarsh", column), found(tmp_path, column))


def shuffled(value: Any, chance: random.Random) -> Any:
    """The same tables with their keys in another order."""
    if isinstance(value, dict):
        keys = list(value)
        chance.shuffle(keys)
        return {key: shuffled(value[key], chance) for key in keys}
    return [shuffled(item, chance) for item in value] if isinstance(value, list) else value


@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_of_keys_does_not_matter(tmp_path: Path, seed: int) -> None:
    (tmp_path / "columns").mkdir()
    for name in ("shop.toml", "columns/lintel.toml"):
        data = tomllib.loads((EXAMPLES / "copperfield" / name).read_text("utf-8"))
        (tmp_path / name).write_text(tomlkit.dumps(shuffled(data, random.Random(seed))), encoding="utf-8")
    assert_alike(found(EXAMPLES / "copperfield", "lintel"), found(tmp_path, "lintel"))


@pytest.mark.parametrize(("shape", "step"), [("square", 90), ("hexagon", 60), ("triangle", 120)])
def test_turning_a_regular_column_by_one_face_changes_nothing(tmp_path: Path, shape: str, step: int) -> None:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text(
        '[machines.m]\nx = "700 mm"\nspindle_height = ["50 mm", "700 mm"]\nnose_to_b = ["100 mm", "800 mm"]\n'
        'swing = "800 mm"\nheight = "900 mm"\nload = "500 kg"\ninertia = "20 kg*m^2"\n'
        'eccentric_moment = "200 N*m"\n'
        '[pallets.p]\ndiameter = "450 mm"\nthickness = "60 mm"\n',
        encoding="utf-8",
    )
    for name, turn in (("one", 0), ("two", step)):
        (tmp_path / "columns" / f"{name}.toml").write_text(
            f'machine = "m"\npallet = "p"\nheight = "500 mm"\nturn = "{turn} deg"\n'
            f'plan = {{ shape = "{shape}", face_distance = "110 mm" }}\n'
            'body = { kind = "hollow", material = "steel", plate = "20 mm" }\n'
            '[[stations]]\nname = "s"\nfaces = "all"\nat = ["0 mm", "250 mm"]\n'
            'bodies = [{ what = "fixture", box = ["80 mm", "120 mm", "40 mm"], material = "steel" }]\n',
            encoding="utf-8",
        )
    assert_alike(found(tmp_path, "one"), found(tmp_path, "two"))
