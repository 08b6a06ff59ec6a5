"""What is left out to be quick changes nothing: each short way beside the plain one, on example columns."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from orthostat.analyses.reach import maps, minkowski, positions
from orthostat.analyses.reach.obstacles import Obstacles, Task, obstacles
from orthostat.analyses.reach.solve import face_task
from orthostat.base.dimensions import Metre
from orthostat.evaluation import open_shop

EXAMPLES = Path(__file__).parents[3] / "examples"
COLUMNS = [("saltmarsh", "harbour"), ("saltmarsh", "skerry"), ("copperfield", "tern")]


@cache
def trued(shop: str, name: str) -> list[tuple[Task, shapely.Polygon, Obstacles]]:
    """Every mill over every face: the task, the axis positions looked at, and what stands in the way."""
    inputs = open_shop(EXAMPLES / shop).column(name).evaluate().reach.inputs
    made = []
    for face in inputs.faces:
        for tool in inputs.truing_mills:
            task = face_task(inputs, face, tool, Metre(-(inputs.truing_depth or 0.0)), loaded=False)
            window = maps.grown_box(maps.face_region(face), maps.CAP + tool.largest_radius + 0.003)
            made.append((task, window, obstacles(task, window)))
    return made


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_rows_that_another_row_covers_forbid_nothing_more(shop: str, name: str) -> None:
    fewer = 0
    for task, window, against in trued(shop, name):
        fewer += len(against.outlines) - len(against.undominated().outlines)
        ground = shapely.intersection(window, positions.travel(task.limits))
        plain = shapely.difference(ground, shapely.union_all(positions.forbidden(against)))
        short = positions.permitted(task, window, against)
        assert shapely.symmetric_difference(plain, short).area < 1e-12
    assert fewer > 0


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_clear_air_is_no_more_than_what_can_be_entered(
    shop: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = [
        (task, window, allowed, positions.entered(task, allowed, window))
        for task, window, against in trued(shop, name)
        if not (allowed := positions.permitted(task, window, against)).is_empty
    ]
    monkeypatch.setattr(positions, "_clear_air", lambda _, parts, __: np.zeros(len(parts), dtype=bool))
    assert found
    for task, window, allowed, quick in found:
        assert shapely.symmetric_difference(quick, positions.entered(task, allowed, window)).area < 1e-15


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_what_a_row_keeps_off_is_what_it_forbids_made_smaller(shop: str, name: str) -> None:
    for task, _, against in trued(shop, name):
        radius = np.full(len(against.outlines), task.tool.flat_radius)
        for kept, forbidden in zip(
            positions.kept_off(against, radius), positions.forbidden(against), strict=True
        ):
            if not forbidden.is_empty:
                plain = minkowski.shrunk(forbidden, task.tool.flat_radius)
                assert shapely.symmetric_difference(kept, plain).area < 1e-12


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_ground_along_arcs_is_covered_as_by_a_disc_on_every_triangle(shop: str, name: str) -> None:
    """The positions in triangles, each grown by a general buffer, which is exact but for chords on those."""
    for task, window, against in trued(shop, name):
        allowed = positions.permitted(task, window, against)
        radius, chord = task.tool.flat_radius, task.scene.chord
        parts = shapely.get_parts(shapely.constrained_delaunay_triangles(allowed))
        disc_on_each = shapely.union_all(shapely.buffer(parts, radius, quad_segs=300))
        ours = shapely.difference(window, minkowski.missed(allowed, radius, window, chord))
        theirs = shapely.intersection(window, disc_on_each)
        assert shapely.difference(ours, theirs).area < 2.0 * chord * window.length
        assert shapely.difference(theirs, ours).area < 2.0 * chord * window.length


def test_cuts_that_look_alike_are_worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    from orthostat.analyses.reach import cuts

    design = open_shop(EXAMPLES / "saltmarsh").column("harbour")
    asked: list[Task] = []
    plain = maps.grounds

    def counted(tasks: Sequence[Task], wanted: Sequence[shapely.Polygon], *, mill: bool) -> list[maps.Ground]:
        asked.extend(tasks)
        return plain(tasks, wanted, mill=mill)

    monkeypatch.setattr(maps, "grounds", counted)
    cuts._ANSWERS.forget()
    found = design.evaluate().reach.cuts
    assert len({id(each.ground.shared) for each in found if each.ground is not None}) == 1
    assert len(asked) == 1
    assert np.isfinite([each.share for each in found]).all()
