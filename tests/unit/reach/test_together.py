"""Several tasks at once say what each says by itself, and what was asked before changes nothing."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from orthostat.analyses.reach import Reach, cuts, maps, minkowski, positions
from orthostat.analyses.reach.inputs import CHORD, outer_bodies
from orthostat.analyses.reach.obstacles import obstacles
from orthostat.analyses.reach.scene import vertices
from orthostat.analyses.reach.solve import face_task
from orthostat.base.dimensions import Metre
from orthostat.base.kept import Kept
from orthostat.document.editing import Edit
from orthostat.evaluation import open_shop
from orthostat.web.asking import Ask, Design
from orthostat.web.worker import Engine

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*/columns/*.toml"))
every_column = pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)


def reach_of(file: Path) -> Reach:
    """Reach of an example column."""
    return open_shop(file.parents[1]).column(file.stem).evaluate().reach


def forget() -> None:
    """Leave reach nothing that it kept."""
    for name, module in list(sys.modules.items()):
        if name.startswith("orthostat.analyses.reach"):
            for value in vars(module).values():
                for way in ("cache_clear", "forget"):
                    if hasattr(value, way) and not isinstance(value, type):
                        getattr(value, way)()


@every_column
@pytest.mark.parametrize("mill", [True, False])
def test_several_tasks_at_once_say_what_each_says(file: Path, mill: bool) -> None:
    inputs = reach_of(file).inputs
    asked = [
        (face_task(inputs, face, tool, Metre(-0.0002), loaded=loaded), maps.face_region(face))
        for face in inputs.faces[:3]
        for tool in inputs.tools
        for loaded in (False, True)
    ]
    tasks, wanted = [task for task, _ in asked], [region for _, region in asked]
    together = maps.grounds(tasks, wanted, mill=mill)
    for (task, region), found in zip(asked, together, strict=True):
        alone = maps.ground(task, region, mill=mill)
        assert shapely.symmetric_difference(found.lost, alone.lost).area < 1e-15
        assert shapely.symmetric_difference(found.permitted, alone.permitted).area < 1e-15
        assert found.overrun == pytest.approx(alone.overrun, abs=1e-12)
        assert found.against.member.tolist() == alone.against.member.tolist()
        assert found.against.owner.tolist() == alone.against.owner.tolist()


@every_column
@pytest.mark.parametrize("way_in", ["as it is", "looked for outside"])
def test_a_cut_among_what_is_near_it_says_what_it_says_among_all(
    file: Path, way_in: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where no way in is found beside the cut, so that what stands further off has a say."""
    if way_in != "as it is":
        monkeypatch.setattr(positions, "_clear_air", lambda _, parts, __: np.zeros(len(parts), dtype=bool))
        monkeypatch.setattr(positions, "enterable", lambda part, _: part.area > 0.05)
    forget()
    for found in reach_of(file).cuts:
        asked = cuts._Asked(found.task, cuts._ground(found.cut), found.cut.region is not None)
        planned = cuts.Planned(found.station, found.cut, found.task, found.b_angle)
        plain = cuts._named(planned, cuts._answered([asked])[0], None)
        assert found.share == pytest.approx(plain.share, abs=1e-12)
        assert [(b.name, b.member) for b in found.blockers] == [(b.name, b.member) for b in plain.blockers]
        assert found.missed == plain.missed
        for room, other in ((found.holder, plain.holder), (found.head, plain.head)):
            assert (room is None) == (other is None)
            if room is not None and other is not None:
                assert room.clearance == pytest.approx(other.clearance, abs=1e-12)
                assert room.nearest == other.nearest
        if found.ground is not None and plain.ground is not None:
            here, there = found.ground.permitted, plain.ground.permitted
            assert shapely.symmetric_difference(here, there).area < 1e-12
    forget()


@every_column
def test_what_was_asked_before_changes_nothing(file: Path) -> None:
    shop, text = (file.parents[1] / "shop.toml").read_text("utf-8"), file.read_text("utf-8")
    height = tomllib.loads(text)["height"]
    engine = Engine()

    def asked(engine: Engine, *values: float) -> Any:
        edits = tuple(Edit("set", ("height",), value) for value in values)
        answer = engine.answer(
            Ask("findings", Design(str(file.parents[1]), file.stem, shop, text, edits), ("reach",))
        )
        assert not answer.broke
        assert not answer.problems
        return answer.found

    warm = [asked(engine, 1.01 * height), asked(engine), asked(engine, 1.02 * height)][-1]
    forget()
    assert asked(Engine(), 1.02 * height) == warm


@every_column
def test_bodies_left_out_are_those_inside_corner_by_corner(file: Path) -> None:
    column = open_shop(file.parents[1]).column(file.stem).model
    outline = shapely.Polygon(column.outline.points).buffer(1e-9, join_style="mitre")
    kept = {id(body) for body in outer_bodies(column)}
    for body in column.bodies:
        corners = np.concatenate([vertices(prism, CHORD) for prism in body.adds])
        inside = shapely.contains_xy(outline, corners[:, 0], corners[:, 2]).all()
        inside &= corners[:, 1].min() >= column.base_height - 1e-9
        inside &= corners[:, 1].max() <= column.height + 1e-9
        assert id(body) in kept or inside


@every_column
def test_rows_near_lost_ground_are_found_without_drawing_them(file: Path) -> None:
    reach = reach_of(file)
    for trued in reach.truing:
        for found in trued.maps:
            against = found.ground.against
            radius = np.full(len(against.outlines), found.ground.radius)
            for part in found.ground.lost_parts:
                drawn = positions.forbidden(against)
                plain = np.flatnonzero(shapely.dwithin(part, drawn, radius))
                parts = np.array([part] * len(radius), dtype=object)
                near = positions.near(against, parts, radius)
                assert near.tolist() == plain.tolist()
                every = shapely.area(shapely.intersection(part, positions.kept_off(against, radius)))
                some = shapely.area(shapely.intersection(part, positions.kept_off(against, radius, parts)))
                assert some == pytest.approx(every, abs=1e-15)


@pytest.mark.parametrize("radius", [0.01, 0.025, 0.04, 0.0635])
def test_ground_along_an_arc_of_the_cutters_own_radius_is_that_of_its_edges(radius: float) -> None:
    """Round a corner a cutter moves on an arc of its own radius, whose inner edges meet in one point."""
    block = shapely.Polygon([(-0.05, 0.0), (0.03, 0.0), (0.05, 0.013), (0.02, 0.07), (-0.05, 0.061)])
    [round_it] = minkowski.rounded(np.array([block], dtype=object), radius, CHORD)
    around = shapely.box(-0.3, -0.3, 0.3, 0.3)
    allowed = np.array([shapely.difference(around, round_it)], dtype=object)
    edges = minkowski._edges(allowed, np.array([radius]), shapely.bounds(np.array([around])))
    strips, _ = minkowski._strips(edges)
    out = radius * edges.outward
    ends = edges.starts[edges.after]
    corners = np.stack((edges.starts, edges.starts + out, ends + out, ends), axis=1)
    assert len(strips) < len(corners) / 5
    assert shapely.is_valid(strips).all()
    plain, short = shapely.union_all(shapely.polygons(corners)), shapely.union_all(strips)
    assert shapely.symmetric_difference(plain, short).area < 1e-11


def test_a_memo_works_out_what_it_has_not_kept_and_keeps_so_many() -> None:
    worked: list[list[int]] = []

    def square(asked: list[int]) -> list[int]:
        worked.append(asked)
        return [each * each for each in asked]

    kept: Kept[int, int] = Kept(3)

    def memo(asked: list[int]) -> list[int]:
        return kept.answers(asked, square)

    assert memo([2, 3, 2]) == [4, 9, 4]
    assert memo([3, 4, 5, 6]) == [9, 16, 25, 36]
    assert memo([3, 6]) == [9, 36]
    assert worked == [[2, 3], [4, 5, 6], [3]]


def test_obstacles_of_no_window_are_none() -> None:
    reach = reach_of(EXAMPLES[0])
    face, tool = reach.inputs.faces[0], reach.inputs.tools[0]
    task = face_task(reach.inputs, face, tool, Metre(0.0), loaded=False)
    assert len(obstacles(task, shapely.box(50.0, 50.0, 51.0, 51.0)).outlines) == 0
