"""Joints of every plan and corner: holes are told once, nothing overlaps, a turn changes nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import orthostat

SHOP = '[machines.m]\n[pallets.p]\nwidth = "500 mm"\ndepth = "500 mm"\n'
PLANS = {
    "square": '{ shape = "square", across_flats = "300 mm" }',
    "hexagon": '{ shape = "hexagon", across_flats = "300 mm" }',
    "triangle": '{ shape = "triangle", face_width = "300 mm" }',
    "slab": '{ shape = "slab", width = "300 mm", thickness = "160 mm" }',
    "polygon": (
        '{ shape = "polygon", points = [["-150 mm", "-120 mm"], ["150 mm", "-120 mm"], ["180 mm", "40 mm"], '
        '["40 mm", "150 mm"], ["-150 mm", "130 mm"]] }'
    ),
}
ROW = 'grade = "10.9"\nspacing = "90 mm"\nend_distance = "45 mm"\n'


def joined(folder: Path, plan: str, corners: str, fit: str, turn: str) -> Any:
    """A hollow column with screws along every seam and dowels at its corners."""
    (folder / "columns").mkdir(parents=True)
    (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    gap = ', clearance = "0.2 mm"' if fit == "between" else ""
    end = f'{{ thickness = "22 mm", material = "steel", fit = "{fit}"{gap} }}'
    joints = "".join(
        f'[[joints]]\nbetween = "{kind}"\nhow = "screwed"\nthread = "M6"\nlength = "35 mm"\n{ROW}'
        for kind in ("corners", "base plate", "lid")
    )
    joints += (
        '[[joints]]\nbetween = "corners"\nhow = "dowelled"\ndiameter = "6 mm"\nlength = "45 mm"\n'
        'count = 2\nend_distance = "20 mm"\n'
    )
    (folder / "columns" / "c.toml").write_text(
        f'machine = "m"\npallet = "p"\nheight = "500 mm"\nturn = "{turn}"\nposition = ["20 mm", "-10 mm"]\n'
        f"plan = {PLANS[plan]}\n"
        f'body = {{ kind = "hollow", material = "aluminium 6082", plate = "25 mm", corners = "{corners}" }}\n'
        f"base_plate = {end}\nlid = {end}\n{joints}",
        encoding="utf-8",
    )
    return orthostat.open_shop(folder).column("c").evaluate()


@pytest.mark.parametrize("fit", ["across", "between"])
@pytest.mark.parametrize("corners", ["butt", "alternate"])
@pytest.mark.parametrize("plan", PLANS)
def test_joints_of_any_plan(tmp_path: Path, plan: str, corners: str, fit: str) -> None:
    straight = joined(tmp_path / "a", plan, corners, fit, "0 deg")
    turned = joined(tmp_path / "b", plan, corners, fit, "25 deg")
    for evaluation in (straight, turned):
        drawn = evaluation.pieces.drawn
        told = sum(part.count for part in drawn for hole in part.holes)
        recesses = sum(part.count for part in drawn for hole in part.holes if hole.purpose.recess is not None)
        assert told + recesses == sum(len(body.cuts) for part in drawn for body in part.bodies)
        (clash,) = [f for f in evaluation.findings(only="body") if f.slug == "body.clash"]
        assert clash.verdict.value == "holds", clash.worst
        covered = evaluation.joining.coverage
        assert [each.kind for each in covered] == ["corners", "base plate", "lid"]
        assert not any(each.left for each in covered)
    assert [part.name for part in straight.pieces.drawn] == [part.name for part in turned.pieces.drawn]
    for one, other in zip(straight.joining.groups, turned.joining.groups, strict=True):
        assert one.count == other.count
        assert one.wall == pytest.approx(other.wall, abs=1e-9)
        assert one.joiner.engaged == pytest.approx(other.joiner.engaged, abs=1e-9)
