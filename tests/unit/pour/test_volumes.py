"""Volumes add up, agree with the solids, and come back from heights."""

import random
from dataclasses import replace
from itertools import compress
from math import pi

import pytest
import shapely

from orthostat.analyses import solids
from orthostat.analyses.pour import Inputs, inputs_from
from orthostat.analyses.pour.inputs import Former
from orthostat.analyses.pour.volumes import Volumes, volumes
from orthostat.base.dimensions import CubicMetre, Metre
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Disc, Polygon, Prism, Role
from pours import poured

INPUTS = inputs_from(poured())


def _tube(radius: float, bottom: float = 0.02, top: float = 0.518) -> Former:
    return Former(
        "tube",
        "tubes[0]",
        "tube",
        Disc((0.0, 0.0), Metre(radius)),
        Metre(0.003),
        Metre(bottom),
        Metre(top),
        None,
    )


def _bare(**changes: object) -> Inputs:
    return replace(INPUTS, formers=(), bars=(), **changes)  # type: ignore[arg-type]  # tests name their fields


def test_cavity_is_net_and_displaced() -> None:
    found = volumes(INPUTS)
    assert found.cavity == pytest.approx(0.25**2 * 0.498)
    assert found.net + sum(each.volume for each in found.displaced) == pytest.approx(found.cavity, rel=1e-9)


def test_net_is_the_fill_body_of_the_solids() -> None:
    column = poured()
    pieces = solids.solve(solids.inputs_from(column)).own
    fill = sum(piece.volume for piece in pieces if piece.body.name == "fill")
    assert volumes(INPUTS).net == pytest.approx(fill, rel=1e-6)


def test_the_lip_of_a_lid_takes_its_room() -> None:
    strip = Polygon(((-0.12, 0.12), (0.12, 0.12), (0.12, 0.124), (-0.12, 0.124)))
    lip = Prism(strip, Metre(0.506), Metre(0.53))
    column = poured()
    bodies = tuple(
        replace(body, adds=(*body.adds, lip)) if body.role is Role.LID else body for body in column.bodies
    )
    found = volumes(inputs_from(replace(column, bodies=bodies)))
    assert volumes(INPUTS).net - found.net == pytest.approx(0.24 * 0.004 * (0.518 - 0.506), rel=1e-6)
    assert "lip of the lid" in {each.name for each in found.displaced}
    assert found.net + sum(each.volume for each in found.displaced) == pytest.approx(found.cavity, rel=1e-9)


def test_a_tube_and_an_anchor_by_hand() -> None:
    found = {each.name: each.volume for each in volumes(INPUTS).displaced}
    assert found["tube"] == pytest.approx(pi * 0.065**2 * 0.498, rel=1e-9)
    assert found["anchors"] == pytest.approx(12 * pi * 0.006**2 * 0.04, rel=1e-9)


def test_a_short_tube_only_counts_where_it_stands() -> None:
    inputs = replace(_bare(), formers=(_tube(0.05, 0.02, 0.20),))
    found = volumes(inputs)
    assert [layer.high for layer in found.layers] == [0.20, 0.518]
    low, high = found.below(Metre(0.20)), found.below(Metre(0.518)) - found.below(Metre(0.20))
    assert low == pytest.approx((0.0625 - pi * 0.05**2) * 0.18, rel=1e-9)
    assert high == pytest.approx(0.0625 * 0.318)


def test_tubes_that_overlap_are_not_taken_off_twice() -> None:
    one = volumes(replace(_bare(), formers=(_tube(0.05),))).net
    two = volumes(replace(_bare(), formers=(_tube(0.05), _tube(0.05)))).net
    assert two == pytest.approx(one)


def test_tubes_at_random_against_a_union_of_all() -> None:
    """Some overlap, some stand in the wall, some above others: level by level, as polygons of 512 sides."""
    draw = random.Random(4)
    cavity = shapely.Polygon(INPUTS.cavity.points)
    for _ in range(15):
        tubes, rounds = [], []
        for _ in range(5):
            low, high = sorted(draw.choices((0.02, 0.1, 0.2, 0.35, 0.518), k=2))
            place, radius = (draw.uniform(-0.13, 0.13), draw.uniform(-0.13, 0.13)), draw.uniform(0.01, 0.05)
            tubes.append(replace(_tube(radius, low, high), section=Disc(place, Metre(radius))))
            rounds.append(shapely.Point(place).buffer(radius, quad_segs=128))
        found = volumes(replace(_bare(), formers=tuple(tubes)))
        for layer in found.layers:
            stands = [tube.bottom < layer.high and tube.top > layer.low for tube in tubes]
            taken = shapely.union_all(list(compress(rounds, stands)))
            assert layer.area == pytest.approx(cavity.difference(taken).area, rel=1e-4)
        for each, tube, disc in zip(found.displaced, tubes, rounds, strict=True):
            own = disc.intersection(cavity).area * (tube.top - tube.bottom)
            assert each.volume == pytest.approx(own, rel=2e-3)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.37, 0.8, 1.0])
def test_heights_come_back(share: float) -> None:
    found: Volumes = volumes(INPUTS)
    volume = CubicMetre(share * found.net)
    assert found.below(found.height_of(volume)) == pytest.approx(volume, abs=1e-9)


def test_a_cavity_full_of_tube_has_nothing_to_pour() -> None:
    with pytest.raises(NotStated, match="nothing to pour"):
        volumes(replace(_bare(), formers=(_tube(0.3),)))


def test_a_cavity_without_height_is_named() -> None:
    with pytest.raises(NotStated, match="no height") as caught:
        volumes(_bare(top=INPUTS.bottom))
    assert caught.value.missing == ("columns.square.body",)


def test_a_column_without_fill_has_nothing_to_pour() -> None:
    column = poured()
    bare = replace(column, bodies=tuple(body for body in column.bodies if body.name != "fill"))
    with pytest.raises(NotStated, match="no fill"):
        inputs_from(bare)


def test_a_fill_without_a_pour_names_the_key() -> None:
    with pytest.raises(NotStated, match=r"columns\.square\.pour"):
        inputs_from(replace(poured(), pour=None))


def test_a_polygon_tube_displaces_its_area() -> None:
    box = Polygon(((-0.04, -0.03), (0.04, -0.03), (0.04, 0.03), (-0.04, 0.03)))
    tube = replace(_tube(0.05), section=box)
    found = volumes(replace(_bare(), formers=(tube,)))
    assert found.cavity - found.net == pytest.approx(0.08 * 0.06 * 0.498)
