"""How near its face a tool gets, place by place; and how many of the shop's tools get to each place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from orthostat.analyses.reach.maps import Blocker, FaceMap, face_region, keeping_off, without_slivers
from orthostat.analyses.reach.solve import Reach
from orthostat.base.dimensions import Metre, Ratio

_GRID = 1e-8
"""Areas are joined and cut on a lattice this fine [m], so that no slivers arise between them."""


@dataclass(frozen=True)
class NearBand:
    """Ground that a tool reaches with its tip at `tip` over the face, but no nearer [m]."""

    tip: Metre
    ground: shapely.Geometry
    share: Ratio
    lowest_line: Metre | None
    """Lowest height at which the whole width is reached with the tip there [m]."""


@dataclass(frozen=True)
class Nearness:
    """One tool over one face at several heights, the nearest first, and the ground left out by all."""

    found: FaceMap
    """At the nearest height."""
    bands: tuple[NearBand, ...]
    lost: shapely.Geometry
    lost_share: Ratio
    blockers: tuple[Blocker, ...]
    """What keeps the tool from ground at the nearest height, the greatest share first."""


def nearness(
    reach: Reach, number: int, tool: str, heights: Sequence[Metre], *, loaded: bool = False
) -> Nearness:
    """One tool over a face: at its usual depth (see `Reach.face_map`), then at each of some growing `heights`
    over it.

    Ground counts to the nearest height at which the tool reaches it.
    """
    nearest = reach.face_map(number, tool, loaded=loaded)
    maps = [nearest, *(reach.face_map(number, tool, tip, loaded=loaded) for tip in heights)]
    wanted = nearest.ground.wanted
    left = wanted
    bands = []
    for each in maps:
        here = _shared(left, each.ground.machinable)
        left = _cut(left, each.ground.machinable)
        share = Ratio(here.area / wanted.area)
        bands.append(NearBand(each.tip, here, share, each.ground.lowest_line))
    return Nearness(
        nearest, tuple(bands), left, Ratio(left.area / wanted.area), keeping_off(reach.blamed(nearest))
    )


@dataclass(frozen=True)
class CountBand:
    """Ground that exactly `count` tools reach."""

    count: int
    ground: shapely.Geometry
    share: Ratio


def counted(
    reach: Reach, number: int, tools: Sequence[str], *, loaded: bool = False
) -> tuple[CountBand, ...]:
    """A face by how many of `tools` reach each place at their usual depth, from none to all of them."""
    wanted = face_region(reach.face(number))
    grounds: list[shapely.Geometry] = [wanted]
    for tool in tools:
        there = reach.face_map(number, tool, loaded=loaded).ground.machinable
        stays = [_cut(each, there) for each in grounds]
        goes_up = [_shared(each, there) for each in grounds]
        joined = [_joined(up, stay) for up, stay in zip(goes_up[:-1], stays[1:], strict=True)]
        grounds = [stays[0], *joined, goes_up[-1]]
    return tuple(
        CountBand(count, ground, Ratio(ground.area / wanted.area)) for count, ground in enumerate(grounds)
    )


# Only polygons are kept at each step: an overlay may leave lines, which the next one refuses.


def _shared(a: shapely.Geometry, b: shapely.Geometry) -> shapely.Geometry:
    return without_slivers(shapely.intersection(a, b, grid_size=_GRID))


def _cut(a: shapely.Geometry, b: shapely.Geometry) -> shapely.Geometry:
    return without_slivers(shapely.difference(a, b, grid_size=_GRID))


def _joined(a: shapely.Geometry, b: shapely.Geometry) -> shapely.Geometry:
    return without_slivers(shapely.union(a, b, grid_size=_GRID))
