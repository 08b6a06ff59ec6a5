"""What must be true of reach whatever the design: turning, more room, fewer bodies, other units."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import shapely

import orthostat
from orthostat.analyses import reach
from orthostat.analyses.reach.inverse import of_diameter
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Polygon
from orthostat.model.column import Column
from reach_scenes import column, turned

CLEARANCES = reach.Clearances(Metre(0.0015), Metre(0.001), Metre(0.0), Metre(0.001))
SEEDS = range(0, 48, 2)
TINY = 2e-6
"""Share that chords of 5 µm may make of a face when the scene changes under them."""
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def ground(made: Column, seed: int) -> shapely.Geometry:
    face = made.faces[seed % len(made.faces)]
    found = reach.solve(reach.inputs_from(made, CLEARANCES))
    return found.face_map(face.number, "tool", Metre(0.004 * (seed % 5)), loaded=True).ground.machinable


def never_less(more: shapely.Geometry, less: shapely.Geometry) -> bool:
    return bool(shapely.difference(less, more).area <= TINY * max(less.area, 1e-3))


@pytest.mark.parametrize("seed", SEEDS)
def test_turning_the_whole_scene_changes_nothing(seed: int) -> None:
    straight, spun = ground(column(seed), seed), ground(turned(column(seed), 0.7), seed)
    assert shapely.symmetric_difference(straight, spun).area <= 2e-6


@pytest.mark.parametrize("seed", SEEDS)
def test_more_travel_never_reaches_less(seed: int) -> None:
    made = column(seed)
    machine = made.machine
    assert machine is not None
    assert machine.x_low is not None
    assert machine.y_low is not None
    wider = replace(machine, x_low=Metre(machine.x_low - 0.05), y_low=Metre(machine.y_low - 0.03))
    assert never_less(ground(replace(made, machine=wider), seed), ground(made, seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_slimmer_holder_never_reaches_less(seed: int) -> None:
    made = column(seed)
    tool = made.tools[0]
    steps = tuple(s if s.cuts else replace(s, radius=Metre(0.7 * s.radius)) for s in tool.steps)
    assert never_less(ground(replace(made, tools=(replace(tool, steps=steps),)), seed), ground(made, seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_smaller_pallet_never_reaches_less(seed: int) -> None:
    made = column(seed)
    (pallet,) = made.platforms
    (prism,) = pallet.adds
    if isinstance(prism.section, Polygon):
        section = Polygon(tuple((0.8 * x, 0.8 * z) for x, z in prism.section.points))
        smaller = replace(pallet, adds=(replace(prism, section=section),))
    else:
        smaller = replace(
            pallet,
            adds=(replace(prism, section=replace(prism.section, radius=Metre(0.8 * prism.section.radius))),),
        )
    assert never_less(ground(replace(made, platforms=(smaller,)), seed), ground(made, seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_removing_a_body_never_reaches_less(seed: int) -> None:
    made = column(seed)
    fewer = replace(made, bodies=made.bodies[:2], stations=made.stations[1:])
    assert never_less(ground(fewer, seed), ground(made, seed))


def test_one_tool_changed_leaves_other_answers_as_they_are() -> None:
    made = column(3)
    other = replace(made.tools[0], name="other")
    first = reach.solve(reach.inputs_from(replace(made, tools=(made.tools[0], other)), CLEARANCES))
    changed = of_diameter(other, Metre(0.04))
    second = reach.solve(reach.inputs_from(replace(made, tools=(made.tools[0], changed)), CLEARANCES))
    assert first.face_map(1, "tool").ground is second.face_map(1, "tool").ground
    assert first.face_map(1, "other").ground is not second.face_map(1, "other").ground


def test_inch_and_millimetre_twins_agree(tmp_path: Path) -> None:
    """The same shop typed in the other system: every length written as inches with all its figures."""
    import re

    for system in ("metric", "inch"):
        (tmp_path / system / "columns").mkdir(parents=True)
    shop = (EXAMPLES / "saltmarsh" / "shop.toml").read_text("utf-8")
    text = (EXAMPLES / "saltmarsh" / "columns" / "spindrift.toml").read_text("utf-8")
    keys = "radial|axial|x|spindle_height|nose_to_b|diameter|largest_diameter|cutting_length|gauge_length"
    lengths = re.compile(rf"^({keys}|across_flats) = (.*?)(\s*#.*)?$", re.MULTILINE)

    def inches(match: re.Match[str]) -> str:
        bare = match.group(2).replace(" mm", "").replace('"', "")
        return f"{match.group(1)} = " + re.sub(
            r"-?\d+(\.\d+)?", lambda n: f'"{float(n.group()) / 25.4!r} in"', bare
        )

    for system, given in (
        ("metric", (shop, text)),
        ("inch", (lengths.sub(inches, shop), lengths.sub(inches, text))),
    ):
        (tmp_path / system / "shop.toml").write_text(given[0], encoding="utf-8")
        (tmp_path / system / "columns" / "spindrift.toml").write_text(given[1], encoding="utf-8")
    assert '"1.968503937007874 in"' in (tmp_path / "inch" / "shop.toml").read_text("utf-8")
    shares = []
    for system in ("metric", "inch"):
        found = orthostat.open_shop(tmp_path / system).column("spindrift").evaluate().reach
        shares.append([m.ground.share for row in found.overview for m in row] + [c.share for c in found.cuts])
    assert shares[0] == pytest.approx(shares[1], abs=1e-9)
