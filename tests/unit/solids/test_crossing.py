"""Cuts that cross one another: by hand, by a polygon library, and by counting points."""

from __future__ import annotations

import random
from itertools import chain, pairwise
from math import acos, pi, sqrt

import pytest
import shapely

from orthostat.analyses.solids import body_moments, prism_moments
from orthostat.analyses.solids.crossing import union_moments
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import PLAN, Frame, face_frame
from orthostat.model.bodies import Body, Disc, Polygon, Prism, Role


def box(
    a: float, b: float, width: float, height: float, low: float, high: float, frame: Frame = PLAN
) -> Prism:
    u, v = 0.5 * width, 0.5 * height
    corners = ((a - u, b - v), (a + u, b - v), (a + u, b + v), (a - u, b + v))
    return Prism(Polygon(corners), Metre(low), Metre(high), frame)


def hole(a: float, b: float, radius: float, low: float, high: float, frame: Frame = PLAN) -> Prism:
    return Prism(Disc((a, b), Metre(radius)), Metre(low), Metre(high), frame)


def test_holes_in_a_pocket_are_taken_off_beneath_it_only() -> None:
    """A plate 100 × 100 × 20 mm, a pocket 40 × 40 × 8 and a hole through it: by hand."""
    frame = face_frame(Radian(0.7), Metre(0.2))
    plate = box(0.0, 0.3, 0.1, 0.1, -0.02, 0.0, frame)
    pocket, through = box(0.0, 0.3, 0.04, 0.04, -0.008, 0.0, frame), hole(0.01, 0.3, 0.005, -0.02, 0.0, frame)
    for cuts in ((pocket, through), (through, pocket)):
        left = body_moments(Body("plate", Role.PLATE, (plate,), cuts))
        assert left.total == pytest.approx(0.1 * 0.1 * 0.02 - 0.04 * 0.04 * 0.008 - pi * 0.005**2 * 0.012)
        short = hole(0.01, 0.3, 0.005, -0.02, -0.008, frame)
        assert left == pytest.approx(
            prism_moments(plate).plus(prism_moments(pocket), -1.0).plus(prism_moments(short), -1.0)
        )


def test_a_hole_across_the_edge_of_a_pocket() -> None:
    """Its centre on the edge: half the circle lies within."""
    shared = 0.008 * 0.5 * pi * 0.005**2
    found = union_moments((box(0.0, 0.0, 0.04, 0.04, -0.008, 0.0), hole(0.02, 0.0, 0.005, -0.02, 0.0)))
    assert found.total == pytest.approx(0.04 * 0.04 * 0.008 + pi * 0.005**2 * 0.02 - shared, rel=1e-6)


def test_two_round_pockets_share_a_lens() -> None:
    """Circles of radius r whose centres stand d apart share 2 r² acos(d/2r) - d/2 √(4r² - d²)."""
    r, d = 0.02, 0.025
    lens = 2 * r * r * acos(0.5 * d / r) - 0.5 * d * sqrt(4 * r * r - d * d)
    found = union_moments((hole(0.0, 0.0, r, 0.0, 0.01), hole(d, 0.0, r, 0.0, 0.01)))
    assert found.total == pytest.approx(0.01 * (2 * pi * r * r - lens), rel=1e-4)


def test_what_only_touches_or_stands_in_another_frame_is_a_plain_sum() -> None:
    one, beside = box(0.0, 0.0, 0.02, 0.02, 0.0, 0.01), box(0.02, 0.0, 0.02, 0.02, 0.0, 0.01)
    above = box(0.0, 0.0, 0.02, 0.02, 0.01, 0.02)
    tangent = hole(0.0, 0.02, 0.01, 0.0, 0.01)
    elsewhere = box(0.0, 0.0, 0.02, 0.02, 0.0, 0.01, face_frame(Radian(0.3), Metre(0.1)))
    cuts = (one, beside, above, tangent, elsewhere)
    assert union_moments(cuts).total == pytest.approx(4 * 4e-6 + pi * 1e-4 * 0.01, rel=1e-9)


def test_many_cuts_at_random_against_a_polygon_library() -> None:
    """Volume and first moments of the union, slab by slab, circles as 1440-gons there."""
    draw = random.Random(7)
    for _ in range(12):
        cuts = []
        for _ in range(7):
            a, b = draw.uniform(-0.03, 0.03), draw.uniform(-0.03, 0.03)
            low, high = sorted((draw.uniform(-0.02, 0.0), draw.uniform(-0.02, 0.0)))
            size = draw.uniform(0.005, 0.02)
            round_ = draw.random() < 0.5
            cuts.append(hole(a, b, size, low, high) if round_ else box(a, b, size, 2 * size, low, high))
        volume, first = by_slabs(cuts)
        found = union_moments(cuts)
        assert found.total == pytest.approx(volume, rel=2e-4)
        assert found.y == pytest.approx(first, rel=2e-4)


def test_cuts_of_two_frames_at_random_against_a_polygon_library() -> None:
    """Those of each frame cross one another, not those of the other."""
    draw = random.Random(11)
    for number in range(1, 6):
        cuts: list[list[Prism]] = []
        for frame in (PLAN, face_frame(Radian(0.4), Metre(0.5))):
            made = []
            for _ in range(number):
                a, b, size = draw.uniform(-0.02, 0.02), draw.uniform(-0.02, 0.02), draw.uniform(0.005, 0.01)
                made.append(hole(a, b, size, -0.02, draw.uniform(-0.01, 0.0), frame))
                made.append(box(a + 0.01, b, size, size, -0.02, 0.0, frame))
            cuts.append(made)
        block = box(0.1, 0.0, 1.0, 1.0, -1.0, 1.0)
        left = body_moments(Body("block", Role.SOLID, (block,), tuple(chain.from_iterable(cuts))))
        assert 2.0 - left.total == pytest.approx(sum(by_slabs(each)[0] for each in cuts), rel=2e-4)


def by_slabs(cuts: list[Prism]) -> tuple[float, float]:
    """Volume [m³] and its first moment along the axis [m⁴]."""
    flat = {
        cut: shapely.Point(cut.section.centre).buffer(cut.section.radius, quad_segs=360)
        if isinstance(cut.section, Disc)
        else shapely.Polygon(cut.section.points)
        for cut in cuts
    }
    ends = sorted({end for cut in cuts for end in (cut.low, cut.high)})
    volume = first = 0.0
    for low, high in pairwise(ends):
        here = [flat[cut] for cut in cuts if cut.low <= low and cut.high >= high]
        area = float(shapely.union_all(here).area)
        volume += area * (high - low)
        first += area * 0.5 * (high * high - low * low)
    return volume, first
