"""What is left out to be quick changes nothing: each short way beside the plain one, on example columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from orthostat.analyses.reach import maps, minkowski, positions
from orthostat.analyses.reach.inputs import CHORD
from orthostat.analyses.reach.obstacles import Obstacles, Task, obstacles
from orthostat.analyses.reach.scene import (
    Scene,
    _clipped,
    _hulls,
    around,
    segments,
    upright_boxes,
    view,
)
from orthostat.analyses.reach.solve import _merit, face_task, solve
from orthostat.base.dimensions import Metre, Radian
from orthostat.evaluation import open_shop
from orthostat.model.bodies import Disc

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
def test_an_upright_rectangle_is_rounded_as_any_outline_is(shop: str, name: str) -> None:
    upright = 0
    for task, window, against in trued(shop, name):
        rows = np.flatnonzero(np.isfinite(against.radii()))
        outlines, radii = against.outlines[rows], (against.radii() + against.room())[rows]
        chosen, bounds = upright_boxes(outlines)
        upright += int(chosen.sum())
        count = [segments(Metre(radius), task.scene.chord) for radius in radii.tolist()]
        for boxes in (None, np.tile(window.bounds, (len(rows), 1))):
            plain = minkowski._rounded(outlines, bounds, radii, count, boxes)
            quick = minkowski.rounded(outlines, radii, task.scene.chord, looked_at=boxes)
            more = shapely.symmetric_difference(plain, quick)
            if boxes is not None:  # outside them no more than a rough shape is drawn
                more = shapely.intersection(more, window)
            assert shapely.area(more).max(initial=0.0) < 1e-15
    assert upright > 0


def test_only_an_upright_rectangle_is_one() -> None:
    box = shapely.box(0.01, -0.2, 0.31, 0.07)
    a_little_off = [(0.01, -0.2), (0.31, -0.2), (0.31, 0.07 - 1e-11), (0.01, 0.07)]
    others = [
        shapely.Polygon([(0.0, 0.0), (0.1, 0.0), (0.1, 0.1)]),
        shapely.Polygon([(0.0, 0.0), (0.1, 0.0), (0.1, 0.1), (0.1, 0.1)]),
        shapely.Polygon([(0.0, 0.0), (0.1, 0.0), (0.1, 0.1), (0.05, 0.12), (0.0, 0.1)]),
        shapely.affinity.rotate(box, 1e-6),
        shapely.Polygon(a_little_off),
    ]
    upright, _ = upright_boxes(np.array([box, *others], dtype=object))
    assert upright.tolist() == [True, False, False, False, False, False]


def test_an_upright_rectangle_grows_by_a_box_as_any_outline_does() -> None:
    outlines = np.array([shapely.box(0.01, -0.2, 0.31, 0.07), shapely.box(-0.1, 0.3, 0.1, 0.4)], dtype=object)
    low, high = (-0.12, -0.1), (0.16, 0.2)
    quick, plain = minkowski.sums(outlines, low, high), minkowski._summed(outlines, low, high)
    assert shapely.bounds(quick) == pytest.approx(shapely.bounds(plain), abs=1e-15)
    assert shapely.area(quick) == pytest.approx(shapely.area(plain), abs=1e-15)


@pytest.mark.parametrize("wanted", [(-0.1, -0.3, 0.1, 0.3), (-0.5, -0.02, 0.5, 0.01), (-0.3, -0.3, 0.3, 0.3)])
def test_round_a_rectangle_of_positions_a_disc_covers_what_it_covers_from_its_halves(
    wanted: tuple[float, float, float, float],
) -> None:
    """Cut aslant the same positions are no rectangles any more, and corners and edges are looked at."""
    ground, radius = shapely.box(*wanted), Metre(0.05)
    lower = shapely.Polygon([(-0.2, -0.1), (0.2, -0.1), (0.2, 0.05), (-0.2, -0.05)])
    upper = shapely.Polygon([(-0.2, -0.05), (0.2, 0.05), (0.2, 0.1), (-0.2, 0.1)])
    quick = minkowski.missed(shapely.union(lower, upper), radius, ground, CHORD)
    plain = ground
    for half in (lower, upper):
        plain = shapely.intersection(plain, minkowski.missed(half, radius, ground, CHORD))
    assert quick.area > 0.0
    assert shapely.symmetric_difference(quick, plain).area < 1e-9


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_projections_are_hulls_of_what_is_in_the_slab(shop: str, name: str) -> None:
    for task, _, _ in trued(shop, name):
        seen = view(task.scene, task.angle)
        low, high = np.full(len(seen.along), task.tip), np.full(len(seen.along), task.tip + 0.01)
        inside = (seen.high[:, 2] > low + 1e-6) & (seen.low[:, 2] < high - 1e-6)
        solids = np.flatnonzero(inside & ~seen.along)
        points, owner = _clipped(seen, solids, low[solids], high[solids])
        plain = shapely.convex_hull(shapely.linestrings(points, indices=owner))
        assert (
            shapely.area(shapely.symmetric_difference(_hulls(points, owner), plain)).max(initial=0.0) < 1e-15
        )


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_the_bare_column_looks_as_if_there_were_no_stations(shop: str, name: str) -> None:
    """Its views are taken from those of the loaded one."""
    inputs = open_shop(EXAMPLES / shop).column(name).evaluate().reach.inputs
    alone = Scene(inputs.bare.solids, inputs.bare.chord)
    assert inputs.bare.whole is inputs.loaded
    assert replace(inputs.bare, solids=inputs.bare.solids[1:]).whole is None
    for angle in (0.0, 0.7, *(face.angle for face in inputs.faces)):
        seen, plain = view.__wrapped__(inputs.bare, Radian(angle)), view.__wrapped__(alone, Radian(angle))
        for part in ("points", "first", "low", "high", "along", "holed", "next_corner"):
            assert np.array_equal(getattr(seen, part), getattr(plain, part))


@pytest.mark.parametrize(("shop", "name"), COLUMNS)
def test_vertices_of_all_solids_at_once_are_those_of_each(shop: str, name: str) -> None:
    inputs = open_shop(EXAMPLES / shop).column(name).evaluate().reach.inputs
    points, _, _ = inputs.loaded.shapes()
    rest = points
    for solid in inputs.loaded.solids:
        prism, section = solid.prism, solid.prism.section
        if isinstance(section, Disc):
            ring = around(section.centre, section.radius, inputs.chord)
        else:
            ring = list(section.points)
        mine = [prism.frame.point(a, b, level) for level in (prism.low, prism.high) for a, b in ring]
        assert rest[: len(mine)] == pytest.approx(np.array(mine), abs=1e-15)
        rest = rest[len(mine) :]
    assert not len(rest)


def test_a_change_to_a_station_leaves_truing_as_it_was() -> None:
    reach = open_shop(EXAMPLES / "saltmarsh").column("harbour").evaluate().reach
    fewer = replace(reach.inputs, loaded=reach.inputs.loaded.first(30), stations=reach.inputs.stations[1:])
    assert solve(fewer).truing is reach.truing
    deeper = replace(reach.inputs, truing_depth=Metre(0.001))
    assert solve(deeper).truing[0].depth == 0.001


def test_of_mills_that_do_as_well_but_for_rounding_the_first_by_name_is_the_best() -> None:
    reach = open_shop(EXAMPLES / "saltmarsh").column("harbour").evaluate().reach
    found = reach.truing[0].maps[0]

    def mill(name: str, more: float) -> maps.FaceMap:
        ground = replace(found.ground, overrun=Metre(found.ground.overrun + more))
        return replace(found, tool=replace(found.tool, name=name), ground=ground)

    tried = [mill("c", 1e-6), mill("b", 0.0), mill("a", -1e-15), mill("d", 1e-15)]
    assert [each.tool.name for each in sorted(tried, key=_merit)] == ["c", "a", "b", "d"]


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
