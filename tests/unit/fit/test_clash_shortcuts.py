"""Clashes are sought where boxes meet, many at once: beside every pair measured by itself."""

from __future__ import annotations

from itertools import chain, combinations
from pathlib import Path

import pytest

from orthostat.analyses.fit.clashes import (
    CONTACT,
    body_clearances,
    box_gaps,
    overlapping_or_nearest,
    room_in_cuts,
)
from orthostat.analyses.fit.separation import separation, separations
from orthostat.analyses.solids.extents import prism_extents
from orthostat.evaluation import open_shop
from orthostat.model.bodies import Body, Prism

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*/columns/*.toml"))


def plain_clearance(one: Body, other: Body) -> float:
    """Every prism of the one with every prism of the other, all cuts looked at."""

    def room(a: Prism, b: Prism) -> float:
        in_hole = max(room_in_cuts(b, a, one.cuts), room_in_cuts(a, b, other.cuts))
        return in_hole if in_hole >= 0.0 else max(in_hole, separation(a, b))

    return min(room(a, b) for a in one.adds for b in other.adds)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_rooms_between_bodies_are_those_of_all_their_prisms(file: Path) -> None:
    column = open_shop(file.parents[1]).column(file.stem).model
    bodies = [*column.bodies, *column.platforms, *chain.from_iterable(s.bodies for s in column.stations)]
    pairs = list(combinations(bodies, 2))[::3]
    for (one, other), found in zip(pairs, body_clearances(pairs), strict=True):
        plain = plain_clearance(one, other)
        assert found == pytest.approx(plain, abs=1e-12), (one.name, other.name)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_the_pairs_that_overlap_or_the_nearest_are_found(file: Path) -> None:
    column = open_shop(file.parents[1]).column(file.stem).model
    prisms = [prism for body in column.bodies for prism in body.adds][:60]
    every = list(combinations(range(len(prisms)), 2))
    distances = dict(zip(every, separations([(prisms[i], prisms[j]) for i, j in every]), strict=True))
    found = overlapping_or_nearest(
        box_gaps([prism_extents(prism)[:6] for prism in prisms]),
        lambda pairs: separations([(prisms[i], prisms[j]) for i, j in pairs]),
    )
    overlaps = {pair for pair, distance in distances.items() if distance < -CONTACT}
    assert {(i, j) for i, j, _ in found} == overlaps or not overlaps
    assert min(distance for *_, distance in found) == pytest.approx(min(distances.values()), abs=1e-12)
