"""Documents with faults: one clear message a fault, all at once, with file, line and key."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

import orthostat
from orthostat import catalogue
from orthostat.base.problems import DocumentError, Problem

SHOP = """\
[units]
length = "mm"
[machines.alder]
x = 640
spindle_height = [70, 690]
nose_to_b = [120, 780]
[pallets.p]
width = 400
depth = 400
thickness = 75
[tools."mill"]
kind = "end mill"
diameter = 20
cutting_length = 30
"""
COLUMN = """\
machine = "alder"
pallet = "p"
height = 500
plan = { shape = "square", across_flats = 300 }
"""


def problems(tmp_path: Path, column: str = COLUMN, shop: str = SHOP) -> list[Problem]:
    """Every problem of a shop with one column."""
    (tmp_path / "columns").mkdir(exist_ok=True)
    (tmp_path / "shop.toml").write_text(shop, encoding="utf-8")
    (tmp_path / "columns" / "c.toml").write_text(column, encoding="utf-8")
    try:
        orthostat.open_shop(tmp_path).column("c").evaluate().findings(only="fit")
    except DocumentError as error:
        return list(error.problems)
    return []


def only(found: list[Problem], key: str) -> Problem:
    """The one problem at `key`."""
    (one,) = [problem for problem in found if problem.key == key]
    return one


def test_a_good_document_has_no_problems(tmp_path: Path) -> None:
    assert problems(tmp_path) == []


def test_all_faults_are_told_at_once_with_line_and_what_is_allowed(tmp_path: Path) -> None:
    column = 'machine = 3\nheigth = 500\nheight = "500"\nplan = { shape = "sqare", across_flats = "-3 in" }\nturn = "9 mm"\n'
    found = problems(tmp_path, column)
    assert {(p.key, p.line) for p in found} == {
        ("machine", 1), ("heigth", 2), ("plan.shape", 4), ("plan.across_flats", 4), ("turn", 5),
    }  # fmt: skip
    assert only(found, "heigth").message == "unknown key; did you mean `height`?"
    assert "`square`" in only(found, "plan.shape").message
    assert only(found, "plan.across_flats").message == "must be more than zero"
    assert "not a unit of angle" in only(found, "turn").message
    assert all(p.file == "columns/c.toml" for p in found)


@pytest.mark.parametrize(
    ("value", "part"),
    [
        ('"500 kg"', "not a unit of length"), ('"1 5/4 in"', "fraction"), ('"nan mm"', "finite"), ("nan", "finite"),
        ("inf", "finite"), ("-inf", "finite"), ('"inf in"', "finite"), ("0", "more than zero"), ("-1", "more than zero"),
        ("true", "a quantity is text"), ("[]", "a quantity is text"), ("{}", "a quantity is text"),
        ('"12,5 mm"', "decimal point"), ('""', "does not start with a number"), ("2026-01-01", "a quantity is text"),
    ],
)  # fmt: skip
def test_a_height_that_is_none(tmp_path: Path, value: str, part: str) -> None:
    found = problems(tmp_path, COLUMN.replace("height = 500", f"height = {value}"))
    assert part in only(found, "height").message


def test_a_bare_number_without_default_unit_is_refused(tmp_path: Path) -> None:
    found = problems(tmp_path, COLUMN, SHOP.replace('length = "mm"', "").replace("= 640", '= "640 mm"'))
    assert found
    assert all("has no unit" in problem.message for problem in found)


@pytest.mark.parametrize(
    ("line", "key", "part"),
    [
        ('machine = "aldre"', "machine", "did you mean `alder`"),
        ('pallet = "q"', "pallet", "no pallet of this name"),
        ('base = "b"', "base", "no intermediate base"),
        ('body = { kind = "solid", material = "unobtainium" }', "body.material", "no material"),
        ('body = { kind = "hollow", material = "steel", plate = 160 }', "body", "walls that meet"),
        ('body = { kind = "hollow", material = "steel", plate = 20, fill = "epoxy" }', "body.fill", "hollow"),
        ('body = { kind = "hollow", material = "steel", plates = [20, 20] }', "body.plates", "2 thicknesses for 4"),
        ('base_plate = { thickness = 600 }', "height", "leaves nothing"),
        ('lid = { thickness = 20, lip = { depth = 10 } }', "lid.lip", "no cavity"),
        ('studs = [{ thread = "M17", at = [0, 0] }]', "studs[0].thread", "not a thread"),
        ('studs = [{ thread = "M16", grade = "8.7", at = [0, 0] }]', "studs[0].grade", "grade"),
        ('studs = [{ thread = "M16" }]', "studs[0]", "nowhere"),
        ('studs = [{ thread = "M16", at = [0, 0], torque = "40 N" }]', "studs[0].torque", "not a unit of moment"),
        ('studs = [{ thread = "M16", at = [0, 0], seat = "base plate" }]', "studs[0].seat", "no base plate"),
        ('studs = [{ thread = "M16", at = [0, 0], torque = "9 N*m", preload = "9 kN" }]', "studs[0]", "both"),
        ('pins = [{ diameter = 12, at = [0, 0], kind = "relieved" }]', "pins[0].direction", "missing"),
        ('pins = [{ diameter = 12, at = [0, 0], fit_below = "H7/q9" }]', "pins[0].fit_below", "fit"),
        ('tubes = [{ name = "t", outside = 60 }]', "tubes[0]", "no fill"),
        ('anchors = [{ diameter = 12, length = 40, at = [0, 250] }]', "anchors[0]", "no fill"),
        ('patterns = [{ faces = 7, thread = "M10", depth = 10, at = [0, 250] }]', "patterns[0].faces", "no such face"),
        ('patterns = [{ faces = "ends", thread = "M10", depth = 10, at = [0, 250] }]', "patterns[0].faces", "no ends"),
        ('patterns = [{ faces = 1, depth = 10, at = [0, 250] }]', "patterns[0]", "neither thread nor bore"),
        ('patterns = [{ faces = 1, diameter = 12, fit = "H99", depth = 10, at = [0, 250] }]', "patterns[0].fit", "tolerance class"),
        ('patterns = [{ faces = 1, thread = "M10", fit = "H7", depth = 10, at = [0, 250] }]', "patterns[0].fit", "a thread has none"),
        ('pockets = [{ faces = 1, depth = 10, at = [0, 250], width = 10 }]', "pockets[0]", "width and height"),
        ('pour = { room = "20 degC" }', "pour", "no fill"),
        ('truing = { tools = ["mil"] }', "truing.tools[0]", "did you mean `mill`"),
        ('foot = { rim = 200 }', "foot.rim", "as wide as the foot"),
        ('position = [1, 2, 3]', "position", "two lengths"),
        ('units = { length = "kg" }', "units.length", "not a unit of length"),
    ],
)  # fmt: skip
def test_faults_that_only_show_when_names_and_shapes_meet(
    tmp_path: Path, line: str, key: str, part: str
) -> None:
    kept = [kept for kept in COLUMN.splitlines() if kept.split(" =")[0] != line.split(" =", maxsplit=1)[0]]
    found = problems(tmp_path, "\n".join([*kept, line]) + "\n")
    assert part in only(found, key).message
    assert only(found, key).line == len(kept) + 1 or key == "height"


@pytest.mark.parametrize(
    ("plan", "key", "part"),
    [
        ('{ shape = "square" }', "plan", "give one size"),
        ('{ shape = "square", across_flats = 300, face_width = 300 }', "plan", "2 times"),
        ('{ shape = "triangle", across_flats = 300 }', "plan.across_flats", "no opposite faces"),
        ('{ shape = "slab", width = 300 }', "plan.thickness", "missing"),
        ('{ shape = "square", across_flats = 300, points = [[0, 0], [1, 0], [0, 1]] }', "plan.points", "does not belong"),
        ('{ shape = "square", stand_off = -250 }', "plan.stand_off", "leaves no column"),
        ('{ shape = "polygon" }', "plan.points", "missing"),
        ('{ shape = "polygon", points = [[0, 0], [100, 0]] }', "plan.points", ""),
        ('{ shape = "polygon", points = [[0, 0], [100, 0], [50, 0]] }', "plan.points", "no area"),
        ('{ shape = "polygon", points = [[0, 0], [100, 0], [0, 0], [0, 100]] }', "plan.points", "same spot"),
        ('{ shape = "polygon", points = [[0, 0], [100, 0], [20, 20], [0, 100]] }', "plan.points", "not convex"),
        ('{ shape = "polygon", points = [[0, 100], [59, -81], [-95, 31], [95, 31], [-59, -81]] }', "plan.points", "not convex"),
    ],
)  # fmt: skip
def test_plans_that_are_none(tmp_path: Path, plan: str, key: str, part: str) -> None:
    column = COLUMN.replace('{ shape = "square", across_flats = 300 }', plan)
    assert part in only(problems(tmp_path, column), key).message


STATION = '[[stations]]\nname = "s"\nfaces = 1\nat = [0, 250]\n'


@pytest.mark.parametrize(
    ("text", "key", "part"),
    [
        (STATION + STATION, "stations[1].name", "this name already"),
        (STATION.replace("at = [0, 250]\n", ""), "stations[0]", "nowhere"),
        (STATION.replace("faces = 1", "faces = 5"), "stations[0].faces", "no such face"),
        (STATION.replace("faces = 1", 'faces = "al"'), "stations[0].faces", "faces are numbers"),
        (STATION + 'fixture = "v"\n', "stations[0].fixture", "no fixture"),
        (STATION + 'bodies = [{ what = "part" }]\n', "stations[0].bodies[0]", "give one shape"),
        (STATION + 'bodies = [{ what = "part", box = [9, 9, 9], stands_at = -5 }]\n', "stations[0].bodies[0].stands_at", "inside the column"),
        (STATION + 'cuts = [{ kind = "drill", tool = "mill", top = 9, depth = 9 }]\n', "stations[0].cuts[0]", "nowhere"),
        (STATION + 'cuts = [{ kind = "drill", tool = "mil", top = 9, depth = 9, at = [0, 0] }]\n', "stations[0].cuts[0].tool", "did you mean `mill`"),
        (STATION + 'cuts = [{ kind = "face", tool = "mill", top = 9, depth = 9 }]\n', "stations[0].cuts[0].region", "missing"),
        (STATION + 'cuts = [{ kind = "drill", tool = "mill", top = 9, depth = 9, at = [900, 0] }]\n', "stations[0].cuts[0].at", "lies off"),
        (STATION + 'cuts = [{ kind = "face", tool = "mill", top = 9, depth = 9, region = { u = [800, 900], v = [0, 1] } }]\n', "stations[0].cuts[0].region", "lies off"),
        (STATION + 'cuts = [{ kind = "face", tool = "mill", top = 9, depth = 9, region = { u = [9, 1], v = [0, 1] } }]\n', "stations[0].cuts[0].region", "wrong way round"),
        (STATION + 'cuts = [{ kind = "face", tool = "mill", top = 9, depth = 9, feed = "0.1 mm", region = { u = [0, 1], v = [0, 1] } }]\n', "stations[0].cuts[0].feed", "feed per tooth"),
    ],
)  # fmt: skip
def test_faults_of_stations(tmp_path: Path, text: str, key: str, part: str) -> None:
    assert part in only(problems(tmp_path, COLUMN + text), key).message


@pytest.mark.parametrize(
    ("old", "new", "key", "part"),
    [
        ("spindle_height = [70, 690]", "spindle_height = [690, 70]", "machines.alder.spindle_height", "wrong way round"),
        ("x = 640", "x = [320, -320]", "machines.alder.x", "wrong way round"),
        ("x = 640", "x = 640\ny = 500", "machines.alder.spindle_height", "not the stated y travel"),
        ("cutting_length = 30", "", "tools.mill.cutting_length", "missing"),
        ("diameter = 20", "diameter = 20\nlargest_diameter = 10", "tools.mill.largest_diameter", "smaller"),
        ("cutting_length = 30", "cutting_length = 30\nsteps = [{ diameter = 30, start = 20, end = 60 }]", "tools.mill.steps[0]", "overlaps"),
        ("cutting_length = 30", "cutting_length = 30\nsteps = [{ diameter = 30, start = 40, end = 60 }]", "tools.mill.steps[0]", "gap"),
        ("cutting_length = 30", "cutting_length = 30\nsteps = [{ diameter = 30 }]", "tools.mill.steps[0]", "no length"),
        ("cutting_length = 30", "cutting_length = 30\ngauge_length = 20", "tools.mill.gauge_length", "shorter"),
        ("cutting_length = 30", "cutting_length = 30\nsteps = [{ diameter = 30, length = 10 }]\ngauge_length = 50", "tools.mill.steps", "gap before the gauge line"),
        ('kind = "end mill"', 'kind = "tap"', "tools.mill.thread", "missing"),
        ("width = 400", "width = 400\ndiameter = 400", "pallets.p", "twice"),
        ("thickness = 75", 'thickness = 75\nholes = [{ kind = "tapped", at = [0, 0] }]', "pallets.p.holes[0].thread", "missing"),
        ("[units]", '[resins.r]\nratio = "2:1"\n[units]', "resins.r.ratio_by", "mass or by volume"),
        ("[units]", '[aggregates.a]\nparticle_density = "2600 kg/m^3"\nbulk_density = "2700 kg/m^3"\n[units]', "aggregates.a.bulk_density", "voids"),
        ("[units]", '[aggregates.a]\nmoisture = "-1 %"\n[units]', "aggregates.a.moisture", "negative"),
    ],
)  # fmt: skip
def test_faults_of_the_shop(tmp_path: Path, old: str, new: str, key: str, part: str) -> None:
    found = problems(tmp_path, COLUMN, SHOP.replace(old, new))
    assert part in only(found, key).message
    assert only(found, key).file == "shop.toml"


def test_duplicate_names_and_broken_toml(tmp_path: Path) -> None:
    (found,) = problems(tmp_path, COLUMN + "height = 3\n")
    assert "is not TOML" in found.message
    assert found.line == 5
    many = problems(tmp_path, 'height = \nplan = { shape = "square"\n\n\nbody = [\n')
    assert all("TOML" in problem.message for problem in many)


@pytest.mark.parametrize(
    ("raw", "part"),
    [
        (b"\xff\xfeh\x00", "UTF-16"), (b"height\x00", "binary"), (b"name = \"M\xfcller\"\n", "not UTF-8"),
        (b"#" * 10_000_000, "larger than"), (b"a = " + b"[" * 5000 + b"]" * 5000, "nested too deeply"), (b"", "missing"),
    ],
    ids=["utf-16", "binary", "latin-1", "10 MB", "deep", "empty"],
)  # fmt: skip
def test_files_that_are_no_documents(tmp_path: Path, raw: bytes, part: str) -> None:
    problems(tmp_path)
    (tmp_path / "columns" / "c.toml").write_bytes(raw)
    with pytest.raises(DocumentError) as caught:
        orthostat.open_shop(tmp_path).column("c")
    assert any(part in problem.message for problem in caught.value.problems)


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    problems(tmp_path)
    text = b"\xef\xbb\xbf" + COLUMN.replace("\n", "\r\n").encode()
    (tmp_path / "columns" / "c.toml").write_bytes(text)
    assert orthostat.open_shop(tmp_path).column("c").model.height == pytest.approx(0.5)


def test_missing_things_are_named(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="no such folder"):
        orthostat.open_shop(tmp_path / "nowhere")
    with pytest.raises(DocumentError, match=r"shop\.toml: there is no such file"):
        orthostat.open_shop(tmp_path)
    problems(tmp_path)
    with pytest.raises(DocumentError, match="no column of this name"):
        orthostat.open_shop(tmp_path).column("d")


@pytest.mark.parametrize("name", ["../shop", "a/b", "..", ".", "c\\d", "", "a\0b", "C:x", "x" * 200, " c"])
def test_a_column_name_can_not_leave_the_folder(tmp_path: Path, name: str) -> None:
    problems(tmp_path)
    with pytest.raises(DocumentError, match="not a name a column can have"):
        orthostat.open_shop(tmp_path).column(name)


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="permissions do not bind this user")
def test_a_file_without_permission(tmp_path: Path) -> None:
    problems(tmp_path)
    (tmp_path / "shop.toml").chmod(0)
    with pytest.raises(DocumentError, match="may not be read"):
        orthostat.open_shop(tmp_path)


def test_a_cut_material_that_is_none_lists_names_that_hold_commas_apart(tmp_path: Path) -> None:
    cut = '{ kind = "drill", tool = "mill", at = [0, 0], top = 5, depth = 5, material = "basalt" }'
    station = f'stations = [{{ name = "s", faces = 1, at = [0, 250], cuts = [{cut}] }}]'
    fault = only(problems(tmp_path, COLUMN + station + "\n"), "stations[0].cuts[0].material")
    assert "; aluminium, wrought, age-hardened; " in fault.allowed


def test_a_material_that_is_spelt_otherwise_is_guessed_by_its_other_names(tmp_path: Path) -> None:
    found = problems(tmp_path, COLUMN + 'body = { kind = "solid", material = "EN-GJL250" }\n')
    assert "did you mean `grey iron EN-GJL-250`" in only(found, "body.material").message


def test_a_material_under_a_catalogues_name_starts_from_its_row(tmp_path: Path) -> None:
    (tmp_path / "columns").mkdir()
    own = '[materials."grey iron"]\nprice = "3 EUR/kg"\ndensity = "7.3 g/cm^3"\n'
    (tmp_path / "shop.toml").write_text(SHOP + own, encoding="utf-8")
    body = 'body = { kind = "solid", material = "grey iron" }\n'
    (tmp_path / "columns/c.toml").write_text(COLUMN + body, encoding="utf-8")
    made = orthostat.open_shop(tmp_path).column("c").evaluate().column.bodies[0].material
    assert made is not None
    assert made.density == pytest.approx(7300.0)
    assert made.youngs_modulus == catalogue.material("grey iron").youngs_modulus


def test_prices_that_count_nothing_or_run_backwards_are_told(tmp_path: Path) -> None:
    shop = (
        SHOP
        + """
[aggregates.sand]
smallest = "1 mm"
largest = "2 mm"
price = "60 EUR/m^3"
[resins.epoxy]
price = { low = "90 EUR/kit", likely = "80 EUR/kit" }
[materials.ours]
like = "grey iron"
price = { likely = "3 EUR/kg", high = "2 EUR/kg" }
"""
    )
    found = problems(tmp_path, shop=shop)
    assert only(found, "aggregates.sand.price").message == "is of neither a bag nor a mass"
    assert "12 EUR/bag" in only(found, "aggregates.sand.price").allowed
    for key in ("resins.epoxy.price", "materials.ours.price"):
        assert "must rise" in only(found, key).message


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ('entering_angle = "0 deg"', "more than zero"), ('entering_angle = "180 deg"', "at most 170°"),
        ('point_angle = "200 deg"', "at most 180°"), ('helix_angle = "90 deg"', "at most 80°"),
        ("teeth = 0", "must be 1 or more"), ('gauge_length = "3 km"', "far too large"),
        ("gauge_length = 1e30", "far too large"),
        ('mode = { frequency = "9 Hz", stiffness = "1 N/um", damping = "150 %" }', "at most 100%"),
    ],
)  # fmt: skip
def test_what_no_tool_can_be_is_told_in_plain_words(tmp_path: Path, line: str, part: str) -> None:
    (fault,) = problems(tmp_path, shop=f"{SHOP}{line}\n")
    assert part in fault.message


def test_faults_that_no_single_key_shows_are_told_all_at_once(tmp_path: Path) -> None:
    shop = SHOP.replace(
        "x = 640", 'x = 640\nspindle_curve = [{ speed = "9 rpm" }, { speed = "6 rpm", power = "1 kW" }]'
    )
    shop += """
[tools.tap]
kind = "tap"
diameter = 8
cutting_length = 20
thread = "M99"
[margins]
findings = { "fit.swng" = "3 %" }
[rates.exchange]
QQQ = 3
[resins.r]
family = "nonsense"
"""
    column = (
        COLUMN
        + """\
body = { kind = "filled", material = "steel", plate = 20, fill = "shop mix" }
studs = [{ thread = "M16", at = [0, 0], seat = 900, sleeve = { outside = 20, inside = 28 } }]
pour = { lifts = [{ top = 300 }, { top = 200 }] }
"""
    )
    shop_faults = problems(tmp_path, column, shop)
    assert {fault.key for fault in shop_faults} == {
        "tools.tap.thread", 'margins.findings."fit.swng"', "rates.exchange.QQQ", "resins.r.family",
        "machines.alder.spindle_curve[0]", "machines.alder.spindle_curve[1].speed",
    }  # fmt: skip
    assert "fit.swing" in only(shop_faults, 'margins.findings."fit.swng"').message
    assert {fault.key for fault in problems(tmp_path, column)} == {
        "studs[0].seat", "studs[0].sleeve.inside", "pour.lifts[1].top",
    }  # fmt: skip


def test_a_default_unit_that_is_none_is_one_fault_and_not_one_a_number(tmp_path: Path) -> None:
    found = problems(tmp_path, shop=SHOP.replace('length = "mm"', 'length = "kg"'))
    assert [fault.key for fault in found] == ["units.length"]
