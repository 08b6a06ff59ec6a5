"""Every key that a finding names is a key one can write."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import orthostat
from orthostat.base.findings import Finding
from orthostat.checks import all_rules
from orthostat.document.column import Column
from orthostat.document.reading import keys_at
from orthostat.document.shop import Shop

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
BARE_SHOP = """\
[machines.m]
[pallets.p]
width = "400 mm"
depth = "400 mm"
[tools.t]
kind = "drill"
diameter = "8 mm"
cutting_length = "50 mm"
"""
ODD_SHOP = """\
[machines.m]
x = "700 mm"
spindle_height = ["50 mm", "700 mm"]
nose_to_b = ["100 mm", "900 mm"]
b_acceleration = "2 rad/s^2"
head_cylinders = []
[pallets.p]
width = "500 mm"
depth = "500 mm"
thickness = "60 mm"
[bases.b]
width = "450 mm"
depth = "450 mm"
thickness = "40 mm"
material = "steel S355"
studs = [{ thread = "M12", at = ["150 mm", "150 mm"], engagement = "20 mm" }]
pins = [{ diameter = "10 mm", at = [["0 mm", "0 mm"], ["90 mm", "0 mm"]], length_below = "9 mm" }]
[tools.f]
kind = "face mill"
diameter = "63 mm"
cutting_length = "6 mm"
[tools."f 2"]
kind = "face mill"
diameter = "80 mm"
cutting_length = "6 mm"
steps = [{ diameter = "50 mm", length = "94 mm" }]
gauge_length = "100 mm"
[materials."own iron"]
density = "7.1 g/cm^3"
[cut_materials.wood]
kc11 = "20 MPa"
mc = 0.3
"""
"""Studs and dowels that fix nothing, a material without strength, a tool that is wrong for its cut."""
ODD_COLUMN = """\
machine = "m"
pallet = "p"
base = "b"
height = "400 mm"
plan = { shape = "hexagon", across_flats = "250 mm" }
body = { kind = "solid", material = "own iron" }
studs = [{ thread = "M12", at = ["0 mm", "0 mm"], preload = "20 kN", tightening = "torque wrench" }]
[[stations]]
name = "s"
faces = [1, 4]
at = ["0 mm", "250 mm"]
bodies = [{ what = "part", box = ["90 mm", "90 mm", "30 mm"], material = "own iron" }]
dowels = [{ diameter = "8 mm", at = ["0 mm", "20 mm"], fit = "H7/h6" }]
cuts = [{ kind = "bore", tool = "f", at = ["0 mm", "0 mm"], top = "4 mm", depth = "9 mm", material = "wood" }]
[[stations]]
name = "t"
faces = 2
at = ["0 mm", "250 mm"]
bodies = [{ what = "fixture", box = ["90 mm", "90 mm", "30 mm"], material = "own iron" }]
screws = [{ thread = "M8", at = ["0 mm", "20 mm"], torque = "20 N*m", tightening = "torque wrench" }]
dowels = [{ diameter = "8 mm", at = ["0 mm", "-20 mm"], fit = "H7/h6" }]
"""
FILLED_COLUMN = """\
machine = "m"
pallet = "p"
height = "400 mm"
plan = { shape = "square", across_flats = "250 mm" }
body = { kind = "filled", material = "steel S355", plate = "20 mm", fill = "shop mix" }
tubes = [{ name = "tube å 1", outside = "90 mm", wall = "3 mm", material = "PVC" }]
truing = { depth = "0.3 mm" }
"""
BARE_COLUMN = """\
machine = "m"
pallet = "p"
height = "500 mm"
plan = { shape = "square", across_flats = "300 mm" }
body = { kind = "filled", plate = "20 mm" }
studs = [{ thread = "M16", at = ["0 mm", "0 mm"] }]
pins = [{ diameter = "12 mm", at = ["50 mm", "0 mm"] }]
[[stations]]
name = "s"
faces = "all"
at = ["0 mm", "250 mm"]
bodies = [{ what = "fixture", box = ["90 mm", "90 mm", "30 mm"] }]
screws = [{ thread = "M10", at = ["0 mm", "30 mm"] }]
dowels = [{ diameter = "10 mm", at = ["0 mm", "-30 mm"] }]
cuts = [{ kind = "drill", tool = "t", at = ["0 mm", "0 mm"], top = "40 mm", depth = "20 mm" }]
"""


def parts_of(path: str) -> list[str | int]:
    """`machines."my mill".x[0]` as a key path."""
    found: list[str | int] = []
    for quoted, plain, index in re.findall(r'"([^"]*)"|([^.\[\]"]+)|\[(\d+)\]', path):
        found.append(int(index) if index else quoted or plain)
    return found


def writable(path: str) -> bool:
    """Whether some document has a key at this path, quoted where it must be."""
    bare = re.sub(r'"[^"]*"|\[\d+\]', "", path.split(" (", 1)[0])
    if re.search(r"[^A-Za-z0-9_.-]", bare):
        return False
    parts = parts_of(path.split(" (", 1)[0])  # what it must be of may follow in brackets
    of_column = parts[0] == "columns"
    model: type[Shop | Column] = Column if of_column else Shop
    parts = parts[2:] if of_column else parts
    if not parts:
        return False
    *above, last = parts
    allowed = keys_at(model, tuple(above))
    return isinstance(last, int) or last in allowed or (not allowed and writable_name(model, above))


def writable_name(model: type[Shop | Column], above: list[str | int]) -> bool:
    """Whether the last part is a name of the shop's own choosing, such as a machine's."""
    return bool(above) and bool(keys_at(model, (*above, "any name")))


@pytest.fixture(scope="module", params=["bare", "odd", "saltmarsh", "copperfield"])
def found(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[Finding]:
    """Findings of a bare shop, where most is missing, of an odd one, and of the examples."""
    folder = EXAMPLES / request.param
    if not folder.exists():
        folder = tmp_path_factory.mktemp(request.param)
        (folder / "columns").mkdir()
        for file, text in {
            "bare": {"shop": BARE_SHOP, "columns/c": BARE_COLUMN},
            "odd": {"shop": ODD_SHOP, "columns/c": ODD_COLUMN, "columns/ö d": FILLED_COLUMN},
        }[request.param].items():
            (folder / f"{file}.toml").write_text(text, encoding="utf-8")
    shop = orthostat.open_shop(folder)
    return [finding for name in shop.columns for finding in shop.column(name).evaluate().findings(quick=True)]


def test_keys_that_answers_name_can_be_written(found: list[Finding]) -> None:
    named = {key for finding in found for row in finding.rows for key in row.depends_on}
    assert named
    assert sorted(key for key in named if not writable(key)) == []


def test_every_open_answer_says_what_to_write(found: list[Finding]) -> None:
    silent = [
        f"{finding.slug}, {row.subject}: {row.why}"
        for finding in found
        for row in finding.rows
        if row.value is None and not (row.depends_on and all(key in row.why for key in row.depends_on))
    ]
    assert silent == []


def test_levers_and_places_can_be_written() -> None:
    wrong = {
        f"{rule.slug}: {key}"
        for rule in all_rules()
        for key in (*rule.levers, rule.hangs_on)
        if not (leads(Shop, key) or leads(Column, key))
    }
    assert sorted(wrong) == []


def leads(model: type[Shop | Column], key: str) -> bool:
    """Whether a lever such as `stations.cuts.feed` or `machines.*.swing` names a key, lists entered."""
    ways: list[tuple[str | int, ...]] = [()]
    for part in key.replace("[]", "").split("."):
        named: list[str | int] = ["any name" if part == "*" else part]
        ways = [(*way, *between, *named) for way in ways for between in ((), (0,), ("any name",))]
    return any(way[-1] in keys_at(model, way[:-1]) or keys_at(model, way) for way in ways)
